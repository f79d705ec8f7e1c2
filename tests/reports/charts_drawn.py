"""Charts of the forecast by hand, drawn, and a reader of PNG files for the tests."""

from __future__ import annotations

import struct
import zlib
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from forecast_by_hand import build_bulls, build_forecast, build_other, build_trace

from sunup.reports.charts.calving import calving_chart
from sunup.reports.charts.heats import heats_chart
from sunup.reports.charts.pregnancy import pregnancy_chart
from sunup.reports.charts.season_dots import dots_of
from sunup.reports.charts.trace import trace_chart
from sunup.reports.charts.waterfall import waterfall_chart

DENVER = ZoneInfo("America/Denver")
CLOCK_UTC = datetime(2027, 5, 24, 14, tzinfo=UTC)  # 08:00 in Denver
KEYS = ("heats", "heats_by_hours", "pregnancy", "waterfall", "calving", "trace")


def make_chart(key, fmt):
    forecast = build_forecast()
    if key == "heats":
        return heats_chart(forecast, fmt, clock_utc=CLOCK_UTC, zone=DENVER)
    if key == "heats_by_hours":
        return heats_chart(forecast, fmt)
    if key == "pregnancy":
        rows = [dots_of(forecast, note="chosen"), dots_of(build_other()), dots_of(build_bulls())]
        return pregnancy_chart(rows, fmt, group="Cows")
    if key == "waterfall":
        return waterfall_chart(forecast, fmt)
    if key == "calving":
        return calving_chart(forecast, fmt)
    return trace_chart(build_trace(), fmt)


def layers_of(chart):
    """Every layer of a chart by name; layers of several plots with one name are joined."""
    spec = chart.spec
    found = {}
    for view in spec.get("vconcat", [spec]):
        for layer in view["layer"]:
            found.setdefault(layer["name"], []).append(layer)
    return found


def rows_of(chart, name):
    return [row for layer in layers_of(chart)[name] for row in layer["data"]["values"]]


def read_png(png):
    """Return a PNG of 8-bit RGBA as an array (high, wide, 4): PNG specification, filters 0 to 4."""
    at, packed, wide, high = 8, b"", 0, 0
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        kind, body = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        if kind == b"IHDR":
            wide, high, depth, colour = struct.unpack_from(">IIBB", body)
            assert (depth, colour) == (8, 6)
        elif kind == b"IDAT":
            packed += body
        at += 12 + length
    raw = np.frombuffer(zlib.decompress(packed), np.uint8).reshape(high, 1 + 4 * wide)
    out = np.zeros((high, 4 * wide), np.uint8)
    above = np.zeros(4 * wide, np.int64)
    for y in range(high):
        above = _unfiltered(int(raw[y, 0]), raw[y, 1:].astype(np.int64), above)
        out[y] = above
    return out.reshape(high, wide, 4)


def _unfiltered(kind, line, above):
    if kind == 0:
        return line
    if kind == 1:
        return np.cumsum(line.reshape(-1, 4), axis=0).reshape(-1) % 256
    if kind == 2:
        return (line + above) % 256
    done = line.copy()
    for i in range(len(line)):
        left = int(done[i - 4]) if i >= 4 else 0
        up, corner = int(above[i]), int(above[i - 4]) if i >= 4 else 0
        if kind == 3:
            guess = (left + up) // 2
        else:
            p = left + up - corner
            guess = min((left, up, corner), key=lambda value: abs(p - value))
        done[i] = (int(line[i]) + guess) % 256
    return done


def grey_luminance(rgb):
    """Return the relative luminance (WCAG 2.2) of 8-bit colours, as a grey print keeps it."""
    c = np.asarray(rgb, float) / 255
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def contrast(one, other):
    """Return the contrast ratio of two luminances (WCAG 2.2)."""
    lighter, darker = np.maximum(one, other), np.minimum(one, other)
    return (lighter + 0.05) / (darker + 0.05)
