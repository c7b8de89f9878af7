"""Reads the square code on a page back from its drawn squares, by the standard (ISO/IEC 18004), repairs and all checked.

No library: what is proved is that another reader than the one that drew it finds the address. Level M, versions 1 to 12.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from pypdf.generic import ContentStream

# Version: repair codewords of each block, and (how many blocks, data codewords in each).
BLOCKS = {
    1: (10, [(1, 16)]), 2: (16, [(1, 28)]), 3: (26, [(1, 44)]), 4: (18, [(2, 32)]), 5: (24, [(2, 43)]),
    6: (16, [(4, 27)]), 7: (18, [(4, 31)]), 8: (22, [(2, 38), (2, 39)]), 9: (22, [(3, 36), (2, 37)]),
    10: (26, [(4, 43), (1, 44)]), 11: (30, [(1, 50), (4, 51)]), 12: (22, [(6, 36), (2, 37)]),
}  # fmt: skip
ALIGNMENTS = {
    1: (), 2: (6, 18), 3: (6, 22), 4: (6, 26), 5: (6, 30), 6: (6, 34), 7: (6, 22, 38), 8: (6, 24, 42), 9: (6, 26, 46),
    10: (6, 28, 50), 11: (6, 30, 54), 12: (6, 32, 58),
}  # fmt: skip
MASKS = (
    lambda r, c: (r + c) % 2, lambda r, c: r % 2, lambda r, c: c % 3, lambda r, c: (r + c) % 3,
    lambda r, c: (r // 2 + c // 3) % 2, lambda r, c: r * c % 2 + r * c % 3, lambda r, c: (r * c % 2 + r * c % 3) % 2,
    lambda r, c: ((r + c) % 2 + r * c % 3) % 2,
)  # fmt: skip


def squares(reader, page: int = 0) -> list[list[bool]]:
    """The dark squares of the only figure on a page, as rows."""
    rectangles, inside = [], False
    for operands, operator in ContentStream(reader.pages[page].get_contents(), reader).operations:
        if operator == b"BDC":
            inside = operands[0] == "/Figure"
        elif operator == b"EMC":
            inside = False
        elif operator == b"re" and inside:
            rectangles.append([float(n) for n in operands])
    one = rectangles[0][3]
    left, top = min(x for x, *_ in rectangles), max(y for _, y, *_ in rectangles)
    side = round(max(x + width - left for x, _, width, _ in rectangles) / one)
    found = [[False] * side for _ in range(side)]
    for x, y, width, height in rectangles:
        assert abs(height - one) < 0.001
        start = round((x - left) / one)
        for column in range(start, start + round(width / one)):
            found[round((top - y) / one)][column] = True
    return found


def decode(dark: list[list[bool]]) -> str:
    version = (len(dark) - 17) // 4
    told = [dark[8][c] for c in (0, 1, 2, 3, 4, 5, 7, 8)] + [dark[r][8] for r in (7, 5, 4, 3, 2, 1, 0)]
    form = int("".join("01"[bit] for bit in told), 2) ^ 0b101010000010010
    assert form >> 13 == 0, "not level M"
    bits = "".join("01"[bit] for bit in _data(dark, version, MASKS[form >> 10 & 7]))
    codewords = [int(bits[at : at + 8], 2) for at in range(0, len(bits) - 7, 8)]
    data = "".join(f"{word:08b}" for word in _joined(codewords, version))
    size = 8 if version < 10 else 16
    assert data[:4] == "0100", "not bytes"
    length = int(data[4 : 4 + size], 2)
    return bytes(int(data[at : at + 8], 2) for at in range(4 + size, 4 + size + 8 * length, 8)).decode()


def _data(dark: list[list[bool]], version: int, mask) -> Iterator[bool]:
    """The squares that carry data, from the lower right corner up and down in pairs of columns."""
    side, upward = len(dark), True
    taken = _function_squares(side, version)
    for right in (*range(side - 1, 6, -2), 5, 3, 1):
        for row in reversed(range(side)) if upward else range(side):
            for column in (right, right - 1):
                if (row, column) not in taken:
                    yield dark[row][column] != (mask(row, column) == 0)
        upward = not upward


def _function_squares(side: int, version: int) -> set[tuple[int, int]]:
    taken = {(r, c) for r in range(9) for c in range(9)}
    taken |= {(r, c) for r in range(9) for c in range(side - 8, side)}
    taken |= {(c, r) for r in range(9) for c in range(side - 8, side)}
    taken |= {(6, n) for n in range(side)} | {(n, 6) for n in range(side)}
    centres = ALIGNMENTS[version]
    corners = {(6, 6), (6, side - 7), (side - 7, 6)}
    for r, c in ((r, c) for r in centres for c in centres if (r, c) not in corners):
        taken |= {(r + i, c + j) for i in range(-2, 3) for j in range(-2, 3)}
    if version >= 7:
        taken |= {(n, side - 11 + i) for n in range(6) for i in range(3)}
        taken |= {(side - 11 + i, n) for n in range(6) for i in range(3)}
    return taken


def _joined(codewords: list[int], version: int) -> list[int]:
    """The data codewords in order; every block's repair codewords have to fit."""
    repairs, groups = BLOCKS[version]
    sizes = list(chain.from_iterable([size] * count for count, size in groups))
    source = iter(codewords)
    blocks: list[list[int]] = [[] for _ in sizes]
    for at in range(max(sizes)):
        for block, size in zip(blocks, sizes, strict=True):
            if at < size:
                block.append(next(source))
    data = list(chain.from_iterable(blocks))
    for _ in range(repairs):
        for block in blocks:
            block.append(next(source))
    assert all(_fits(block, repairs) for block in blocks), "the repair codewords do not fit"
    return data


def _fits(block: list[int], repairs: int) -> bool:
    powers = [1]
    for _ in range(254):
        powers.append(powers[-1] << 1 ^ (0x11D if powers[-1] & 0x80 else 0))
    logs = {power: at for at, power in enumerate(powers)}

    def at_power(exponent: int) -> int:
        value = 0
        for word in block:
            value = (powers[(logs[value] + exponent) % 255] if value else 0) ^ word
        return value

    return not any(at_power(exponent) for exponent in range(repairs))
