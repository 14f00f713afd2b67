"""A reader of undamaged QR codes after ISO/IEC 18004, independent of what drew them.

Reads the dark squares of an SVG path, or finds codes in the pixels of a picture; then format, mask,
codewords and bytes. No error correction: what it gets is exact. Versions 1 to 10, error level M.
"""

from __future__ import annotations

import io
import re
from itertools import pairwise

import numpy as np
from PIL import Image

RATIO = (1, 1, 3, 1, 1)
# Blocks of level M by version: (blocks, data codewords in each), of one or two groups (table 9).
BLOCKS = {
    1: [(1, 16)], 2: [(1, 28)], 3: [(1, 44)], 4: [(2, 32)], 5: [(2, 43)], 6: [(4, 27)],
    7: [(4, 31)], 8: [(2, 38), (2, 39)], 9: [(3, 36), (2, 37)], 10: [(4, 43), (1, 44)],
}  # fmt: skip
# Centres of the alignment patterns by version (annex E).
CENTRES = {
    1: [], 2: [6, 18], 3: [6, 22], 4: [6, 26], 5: [6, 30], 6: [6, 34], 7: [6, 22, 38],
    8: [6, 24, 42], 9: [6, 26, 46], 10: [6, 28, 50],
}  # fmt: skip
MASKS = [
    lambda r, c: (r + c) % 2 == 0,
    lambda r, c: r % 2 == 0,
    lambda r, c: c % 3 == 0,
    lambda r, c: (r + c) % 3 == 0,
    lambda r, c: (r // 2 + c // 3) % 2 == 0,
    lambda r, c: r * c % 2 + r * c % 3 == 0,
    lambda r, c: (r * c % 2 + r * c % 3) % 2 == 0,
    lambda r, c: ((r + c) % 2 + r * c % 3) % 2 == 0,
]


def dark_squares(svg):
    """Return the matrix of dark squares of a path drawn in strokes, each one square high."""
    path = re.search(r'\bd="([^"]+)"', svg)[1]
    x = y = 0.0
    found = set()
    for step, numbers in re.findall(r"([Mmhv])([-\d. ]+)", path):
        values = [float(n) for n in re.findall(r"-?\d*\.?\d+", numbers)]
        if step == "M":
            x, y = values
        elif step == "m":
            x, y = x + values[0], y + values[1]
        elif step == "h":
            found |= {(int(y), int(x) + n) for n in range(int(values[0]))}
            x += values[0]
        else:
            y += values[0]
    top, left = min(r for r, _ in found), min(c for _, c in found)
    side = max(r for r, _ in found) - top + 1
    return [[(r + top, c + left) in found for c in range(side)] for r in range(side)]


def finders(dark):
    """Return the centres of the finder patterns of a picture, and the width of a square. [px].

    A row and a column through one are dark, light, dark, light, dark as 1:1:3:1:1 (6.3.3.1).
    """
    found = []
    for row in range(0, dark.shape[0], 4):
        for middle, square in _finder_runs(dark[row]):
            for centre, other in _finder_runs(dark[:, int(middle)]):
                near = abs(centre - row) <= square and abs(other - square) <= 0.25 * square
                if near and all(abs(middle - x) + abs(centre - y) > square for x, y, _ in found):
                    found.append((middle, centre, square))
    return found


def _finder_runs(line):
    edges = [0, *(np.flatnonzero(np.diff(line.astype(np.int8))) + 1).tolist(), len(line)]
    runs = [b - a for a, b in pairwise(edges)]
    for n in range(len(runs) - 4):
        five = runs[n : n + 5]
        square = sum(five) / 7.0
        alike = all(abs(w - s * square) <= 0.35 * square for w, s in zip(five, RATIO, strict=True))
        if line[edges[n]] and square >= 2.0 and alike:
            yield edges[n] + sum(five) / 2.0, square


def codes_in(png):
    """Return the texts of all codes in a picture, each with three finder patterns upright."""
    dark = np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 128
    every = finders(dark)
    out = []
    for x, y, square in every:  # upper left: one to its right, one below it, as far away
        right = [p for p in every if abs(p[1] - y) < square and p[0] > x + 10 * square]
        below = [p for p in every if abs(p[0] - x) < square and p[1] > y + 10 * square]
        for a in right:
            for b in below:
                wide, high = a[0] - x, b[1] - y
                if abs(wide - high) > square:
                    continue
                side = 17 + 4 * round((wide / square - 10) / 4)
                each = wide / (side - 7)
                cols = (x + (np.arange(side) - 3) * each).astype(int)
                rows = (y + (np.arange(side) - 3) * each).astype(int)
                matrix = dark[np.ix_(rows, cols)]
                # the timing patterns alternate all the way, or these three are not of one code
                timing = np.arange(8, side - 7) % 2 == 0
                if all((line[8 : side - 7] == timing).all() for line in (matrix[6], matrix[:, 6])):
                    out.append(_read(matrix.tolist()))
    return out


def read_qr(svg):
    """Return the text of a code in byte mode."""
    return _read(dark_squares(svg))


def _read(matrix):
    side = len(matrix)
    version = (side - 17) // 4
    assert side == 17 + 4 * version
    # bits 14 to 10 of the format, read along row 8 from the left: level, then mask (figure 25)
    bits = [matrix[8][c] for c in (0, 1, 2, 3, 4)]
    word = sum(bit << (4 - n) for n, bit in enumerate(bits)) ^ 0b10101
    assert word >> 3 == 0b00, "the level is not M"
    mask = MASKS[word & 7]
    taken = _function_squares(side, version)
    stream, row, up = [], side - 1, True
    for right in range(side - 1, 0, -2):
        column = right if right > 6 else right - 1
        for step in range(side):
            row = side - 1 - step if up else step
            stream += [
                matrix[row][c] ^ mask(row, c) for c in (column, column - 1) if not taken[row][c]
            ]
        up = not up
    words = [
        sum(bit << (7 - n) for n, bit in enumerate(stream[i : i + 8]))
        for i in range(0, len(stream) - 7, 8)
    ]
    return _bytes(_in_order(words, version), version).decode()


def _function_squares(side, version):
    taken = [[r == 6 or c == 6 for c in range(side)] for r in range(side)]

    def fill(top, left, high, wide):
        for r in range(max(top, 0), min(top + high, side)):
            for c in range(max(left, 0), min(left + wide, side)):
                taken[r][c] = True

    fill(0, 0, 9, 9)
    fill(0, side - 8, 9, 8)
    fill(side - 8, 0, 8, 9)
    centres = CENTRES[version]
    for r in centres:
        for c in centres:
            corner = (r, c) in {(6, 6), (6, centres[-1]), (centres[-1], 6)}
            if not corner:
                fill(r - 2, c - 2, 5, 5)
    if version >= 7:
        fill(0, side - 11, 6, 3)
        fill(side - 11, 0, 3, 6)
    return taken


def _in_order(words, version):
    """Undo the interleaving of the blocks; error correction is left out."""
    sizes = [size for count, size in BLOCKS[version] for _ in range(count)]
    blocks = [[] for _ in sizes]
    at = 0
    for place in range(max(sizes)):
        for block, size in zip(blocks, sizes, strict=True):
            if place < size:
                block.append(words[at])
                at += 1
    return [word for block in blocks for word in block]


def _bytes(words, version):
    bits = "".join(f"{word:08b}" for word in words)
    assert bits[:4] == "0100", "not in byte mode"
    wide = 8 if version < 10 else 16
    count = int(bits[4 : 4 + wide], 2)
    body = bits[4 + wide : 4 + wide + 8 * count]
    return bytes(int(body[i : i + 8], 2) for i in range(0, len(body), 8))
