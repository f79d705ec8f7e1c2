"""A square code for a sheet's id: ISO/IEC 18004, version 3, error level M, bytes, mask 0.

One size is enough: an id of 36 characters and a sheet number. The standard lets any of eight masks
be read; the one here is fixed, because a sheet's id looks random anyway.
"""

from __future__ import annotations

from itertools import groupby

from sunup.base.problems import DomainError

SIZE = 29  # modules a side of version 3
MOST_BYTES = 42  # what version 3-M holds in byte mode
_DATA, _CHECK = 44, 26  # codewords of version 3-M, one block
_FORMAT = 0x5412  # level M (00), mask 0 (000), their BCH remainder 0, over the fixed pattern
_FIELD = 0x11D  # the polynomial of the field, x^8+x^4+x^3+x^2+1


class TooLongForCodeError(DomainError):
    """The text does not fit the one size of code we draw."""

    def __init__(self, text: str) -> None:
        super().__init__(f"'{text}' is longer than {MOST_BYTES} bytes")


def code_rows(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the modules of the code, True for dark, without the quiet zone.

    Parameters
    ----------
    text : str
        42 bytes of UTF-8 at most.

    Returns
    -------
    tuple of tuple of bool, shape (29, 29)

    Raises
    ------
    TooLongForCodeError
        If the text is longer.
    """
    grid = _fixed_parts()
    words = codewords(text)
    bits = [word >> shift & 1 for word in words for shift in range(7, -1, -1)]
    for (x, y), bit in zip(_data_places(grid), bits + [0] * 7, strict=True):
        grid[y][x] = bool(bit) ^ ((x + y) % 2 == 0)
    return tuple(tuple(bool(cell) for cell in row) for row in grid)


def codewords(text: str) -> list[int]:
    """Return the 44 data and 26 check codewords of a text."""
    raw = text.encode()
    if len(raw) > MOST_BYTES:
        raise TooLongForCodeError(text)
    number = 0b0100 << 8 | len(raw)
    for byte in raw:
        number = number << 8 | byte
    number <<= 4  # the terminator; with the mode's four bits the whole is now in bytes
    data = list(number.to_bytes(len(raw) + 2, "big"))
    data += [0xEC, 0x11] * _DATA
    return data[:_DATA] + _check_words(data[:_DATA])


def dark_runs(text: str) -> list[tuple[int, int, int]]:
    """Return the code as dark bars of one module's height: column, row, length."""
    runs = []
    for y, row in enumerate(code_rows(text)):
        x = 0
        for dark, cells in groupby(row):
            length = len(list(cells))
            if dark:
                runs.append((x, y, length))
            x += length
    return runs


def _times(a: int, b: int) -> int:
    """Multiply in the field of 256."""
    product = 0
    while b:
        if b & 1:
            product ^= a
        a = a << 1 ^ (_FIELD if a & 0x80 else 0)
        b >>= 1
    return product


def _check_words(data: list[int]) -> list[int]:
    """Return the remainder of the data over the generator with roots 2^0 to 2^25."""
    generator, root = [1], 1
    for _ in range(_CHECK):
        longer = [*generator, 0]
        for i, term in enumerate(generator):
            longer[i + 1] ^= _times(term, root)
        generator, root = longer, _times(root, 2)
    rest = data + [0] * _CHECK
    for i in range(len(data)):
        for j, term in enumerate(generator):
            rest[i + j] ^= _times(term, rest[i]) if j else 0
    return rest[len(data) :]


def _fixed_parts() -> list[list[bool | None]]:
    """Return the finders, timing, alignment and format; None where data goes."""
    grid: list[list[bool | None]] = [[None] * SIZE for _ in range(SIZE)]
    for i in range(SIZE):
        grid[6][i] = grid[i][6] = i % 2 == 0
    for cx, cy in ((3, 3), (SIZE - 4, 3), (3, SIZE - 4)):
        for y in range(max(0, cy - 4), min(SIZE, cy + 5)):
            for x in range(max(0, cx - 4), min(SIZE, cx + 5)):
                grid[y][x] = max(abs(x - cx), abs(y - cy)) not in {2, 4}
    for y in range(20, 25):
        for x in range(20, 25):
            grid[y][x] = max(abs(x - 22), abs(y - 22)) != 1
    for i, (first, second) in enumerate(_format_places()):
        dark = bool(_FORMAT >> i & 1)
        grid[first[1]][first[0]] = grid[second[1]][second[0]] = dark
    grid[SIZE - 8][8] = True
    return grid


def _format_places() -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Return the two places (x, y) of each format bit, least first."""
    first = [(8, y) for y in (0, 1, 2, 3, 4, 5, 7, 8)] + [(x, 8) for x in (7, 5, 4, 3, 2, 1, 0)]
    second = [(SIZE - 1 - i, 8) for i in range(8)] + [(8, SIZE - 15 + i) for i in range(8, 15)]
    return list(zip(first, second, strict=True))


def _data_places(grid: list[list[bool | None]]) -> list[tuple[int, int]]:
    """Return the free places (x, y) in reading order: pairs of columns, up and down in turn."""
    places: list[tuple[int, int]] = []
    for pair, right in enumerate([*range(SIZE - 1, 6, -2), 5, 3, 1]):
        ys = range(SIZE) if pair % 2 else range(SIZE - 1, -1, -1)
        places.extend((x, y) for y in ys for x in (right, right - 1) if grid[y][x] is None)
    return places
