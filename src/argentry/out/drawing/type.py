"""How wide words are in the vendored face, so that none is cut and none runs into the next."""

from __future__ import annotations

import struct
from functools import cache, lru_cache
from importlib.resources import files

BROWSER = 0.97  # share of a line that is filled


@cache
def _advances(face: str) -> tuple[dict[int, float], float]:
    """Return each character's advance in em, and that of one the face lacks.

    Reads the tables ``head``, ``hhea``, ``hmtx`` and ``cmap`` (format 4) of an OpenType file
    (ISO/IEC 14496-22).
    """
    data = (files("argentry.out") / "fonts" / f"B612-{face}.otf").read_bytes()
    tables: dict[bytes, int] = {}
    for place in range(struct.unpack_from(">H", data, 4)[0]):
        tag, _, start, _ = struct.unpack_from(">4sIII", data, 12 + 16 * place)
        tables[tag] = start
    em: int = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    measured = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]

    def advance(glyph: int) -> float:
        place = tables[b"hmtx"] + 4 * min(glyph, measured - 1)
        units: int = struct.unpack_from(">H", data, place)[0]
        return units / em

    table = _format_4(data, tables[b"cmap"])
    twice = struct.unpack_from(">H", data, table + 6)[0]
    ends, starts, shifts, ranges = (table + 14, table + 16 + twice, table + 16 + 2 * twice,
                                    table + 16 + 3 * twice)  # fmt: skip
    found: dict[int, float] = {}
    for place in range(0, twice, 2):
        last, first = (struct.unpack_from(">H", data, row + place)[0] for row in (ends, starts))
        shift = struct.unpack_from(">h", data, shifts + place)[0]
        jump = struct.unpack_from(">H", data, ranges + place)[0]
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = code
            if jump:
                row = ranges + place + jump + 2 * (code - first)
                glyph = struct.unpack_from(">H", data, row)[0]
            if glyph or not jump:
                found[code] = advance((glyph + shift) & 0xFFFF)
    return found, advance(0)


def _format_4(data: bytes, cmap: int) -> int:
    """Return where the table of the basic plane begins."""
    for place in range(struct.unpack_from(">H", data, cmap + 2)[0]):
        start: int = cmap + struct.unpack_from(">HHI", data, cmap + 4 + 8 * place)[2]
        if struct.unpack_from(">H", data, start)[0] == 4:
            return start
    raise ValueError("the vendored face has no table of the basic plane")


def width(words: str, size: float, *, bold: bool = False) -> float:
    """Return how wide words are set at a size, in the unit of the size."""
    return size * _ems(words, "Bold" if bold else "Regular")


@lru_cache(maxsize=4096)  # a drawing sets the same words again and again
def _ems(words: str, face: str) -> float:
    known, missing = _advances(face)
    return sum(known.get(ord(letter), missing) for letter in words)


def wrap(words: str, room: float, size: float) -> list[str]:
    """Return words in lines no wider than `room`; a single word that is wider stands alone.

    A browser that sets letters on whole points makes a line up to a thirtieth wider.
    """
    room *= BROWSER
    lines: list[str] = []
    wide = 0.0
    for word in words.split():
        more = width(f" {word}", size)
        if lines and wide + more <= room:
            lines[-1] += f" {word}"
            wide += more
        else:
            lines.append(word)
            wide = width(word, size)
    return lines or [""]
