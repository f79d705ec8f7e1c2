"""The square code against the field's algebra and the standard's fixed places.

ISO/IEC 18004 from memory. A separate reader program read codes of this module from a picture once
(the sheet id of the first cow sheet); that is not repeated here.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sunup.reports.qr import MOST_BYTES, SIZE, TooLongForCodeError, code_rows, codewords, dark_runs

ID = "5f0c1d2e-7a41-4b6c-9d3e-000000000001/3"


def power_tables():
    """Powers of two in the field of 256, by shifting: not the module's way."""
    powers = [1]
    while len(powers) < 255:
        nxt = powers[-1] * 2
        powers.append(nxt ^ 0x11D if nxt > 255 else nxt)
    return powers, {value: i for i, value in enumerate(powers)}


@given(st.binary(max_size=20).map(bytes.hex))
def test_the_code_polynomial_has_the_26_roots(text):
    """A Reed-Solomon word is zero at 2^0 to 2^25: what every reader checks first."""
    powers, logs = power_tables()
    words = codewords(text)
    for root in range(26):
        total = 0
        for i, word in enumerate(reversed(words)):
            if word:
                total ^= powers[(logs[word] + root * i) % 255]
        assert total == 0


def test_the_data_words_hold_mode_length_and_text():
    """Byte mode 0100, eight bits of length, then the bytes."""
    bits = "".join(f"{word:08b}" for word in codewords(ID)[:44])
    assert bits[:4] == "0100"
    assert int(bits[4:12], 2) == len(ID)
    read = bytes(int(bits[12 + 8 * i : 20 + 8 * i], 2) for i in range(len(ID)))
    assert read.decode() == ID


def test_finders_stand_in_three_corners_and_timing_alternates():
    rows = code_rows(ID)
    finder = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]
    for top, left in ((0, 0), (0, SIZE - 7), (SIZE - 7, 0)):
        drawn = ["".join("01"[rows[top + y][left + x]] for x in range(7)) for y in range(7)]
        assert drawn == finder
    assert [rows[6][x] for x in range(8, SIZE - 8)] == [x % 2 == 0 for x in range(8, SIZE - 8)]


def test_both_copies_of_the_format_say_level_m_and_mask_0():
    """The bits for level M and mask 0 after the fixed pattern: 101010000010010."""
    rows = code_rows(ID)
    beside = [rows[8][x] for x in (0, 1, 2, 3, 4, 5, 7, 8)] + [
        rows[y][8] for y in (7, 5, 4, 3, 2, 1, 0)
    ]
    assert "".join("01"[bit] for bit in beside) == "101010000010010"
    apart = [rows[y][8] for y in range(SIZE - 1, SIZE - 8, -1)] + [
        rows[8][x] for x in range(SIZE - 8, SIZE)
    ]
    assert "".join("01"[bit] for bit in apart) == "101010000010010"


def read_back(rows):
    """A reader of version 3 written apart from the module: marks what is fixed, walks, unmasks."""
    fixed = [[False] * SIZE for _ in range(SIZE)]
    areas = [(0, 0, 9, 9), (SIZE - 8, 0, 8, 9), (0, SIZE - 8, 9, 8), (20, 20, 5, 5)]
    areas += [(6, 0, 1, SIZE), (0, 6, SIZE, 1)]
    for left, top, wide, high in areas:
        for y in range(top, top + high):
            for x in range(left, left + wide):
                fixed[y][x] = True
    bits, x, up = [], SIZE - 1, True
    while x > 0:
        if x == 6:  # the upright timing line is stepped over
            x -= 1
        for step in range(SIZE):
            y = SIZE - 1 - step if up else step
            bits.extend(rows[y][c] ^ ((y + c) % 2 == 0) for c in (x, x - 1) if not fixed[y][c])
        x, up = x - 2, not up
    return [int("".join("01"[bit] for bit in bits[i : i + 8]), 2) for i in range(0, 560, 8)]


def test_a_reader_gets_the_words_back_from_the_squares():
    """70 codewords of 8 bits, then 7 bits over, fill version 3."""
    assert read_back(code_rows(ID)) == codewords(ID)


def test_runs_draw_the_same_squares_as_the_rows():
    drawn = {(x + i, y) for x, y, length in dark_runs(ID) for i in range(length)}
    rows = code_rows(ID)
    assert drawn == {(x, y) for y in range(SIZE) for x in range(SIZE) if rows[y][x]}


def test_a_text_that_does_not_fit_is_refused():
    code_rows("x" * MOST_BYTES)
    with pytest.raises(TooLongForCodeError, match="42 bytes"):
        code_rows("x" * (MOST_BYTES + 1))
