"""Where the words of a PDF page stand, from its operators and widths (ISO 32000-1, 9.4 and 9.7).

Not by the program that set them: the page's content is read again, glyph by glyph.
"""

from __future__ import annotations

import re
from itertools import pairwise

from pypdf.generic import ContentStream
from tests.out.look import Word

SAME_LINE = 0.4  # of the type: baselines closer than this are one line


def _times(one, other):
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k,
            e * h + f * j + m)  # fmt: skip


class _Font:
    def __init__(self, font):
        self.name = str(font["/BaseFont"])
        inner = font["/DescendantFonts"][0].get_object()
        self.usual = float(inner.get("/DW", 1000))
        self.widths = {}
        row = [one.get_object() for one in inner["/W"].get_object()]
        while row:
            first, second = row[0], row[1]
            if isinstance(second, list):
                self.widths |= {int(first) + n: float(w) for n, w in enumerate(second)}
                row = row[2:]
            else:
                wide = float(row[2])
                self.widths |= dict.fromkeys(range(int(first), int(second) + 1), wide)
                row = row[3:]
        self.letters = {}
        table = font["/ToUnicode"].get_object().get_data().decode("latin-1")
        for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
            for code, text in re.findall(r"<(\w+)>\s*<(\w+)>", block):
                self.letters[int(code, 16)] = bytes.fromhex(text).decode("utf-16-be")

    def codes(self, shown):
        raw = bytes(shown) if isinstance(shown, bytes) else shown.original_bytes
        return [int.from_bytes(raw[at : at + 2], "big") for at in range(0, len(raw), 2)]


def words_on(page):
    """Return every run of glyphs of a page as a `Word`, y upward from the foot. [pt]."""
    fonts = {key: _Font(font.get_object()) for key, font in page["/Resources"]["/Font"].items()}
    unit = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    kept, now, place, font, size = [], unit, unit, None, 0.0
    found = []
    for operands, operator in ContentStream(page["/Contents"], page.pdf).operations:
        if operator == b"q":
            kept.append(now)
        elif operator == b"Q":
            now = kept.pop()
        elif operator == b"cm":
            now = _times([float(one) for one in operands], now)
        elif operator == b"Tf":
            font, size = fonts[operands[0]], float(operands[1])
        elif operator == b"Tm":
            place = tuple(float(one) for one in operands)
        elif operator in {b"Tj", b"TJ"}:
            shown = operands[0] if operator == b"TJ" else [operands[0]]
            text, wide, inked = "", 0.0, 0.0  # up to the end of the last letter that is seen
            for part in shown:
                if isinstance(part, (int, float)):
                    wide -= float(part) / 1000.0 * size
                    continue
                for code in font.codes(part):
                    text += font.letters.get(code, "")
                    wide += font.widths.get(code, font.usual) / 1000.0 * size
                    inked = wide if text.strip() and not text[-1:].isspace() else inked
            at = _times(place, now)
            scale = (at[0] ** 2 + at[1] ** 2) ** 0.5
            found.append(Word(text, at[4], at[4] + inked * scale, at[5], size * scale, font.name))
            place = _times((1.0, 0.0, 0.0, 1.0, wide, 0.0), place)
    return found


def lines_of(words):
    """Return the words line by line from the top, each line from left to right."""
    lines = []
    for word in sorted(words, key=lambda one: -one.baseline):
        if lines and abs(lines[-1][0].baseline - word.baseline) < SAME_LINE * word.size:
            lines[-1].append(word)
        else:
            lines.append([word])
    return [sorted(line, key=lambda one: one.left) for line in lines]


def beyond(words, page, margin):
    """Return the words that reach into the margin of their page."""
    width, height = float(page.mediabox.width), float(page.mediabox.height)
    return [
        word for word in words
        if word.words.strip() and (
            word.left < margin - 0.5 or word.right > width - margin + 0.5
            or word.baseline < margin - 0.5
            or word.baseline + 0.7 * word.size > height - margin + 0.5
        )
    ]  # fmt: skip


def run_together(words):
    """Return pairs of words of one line that run into each other, and lines that touch."""
    solid = [word for word in words if word.words.strip()]
    beside = [
        (one, other)
        for line in lines_of(solid)
        for one, other in pairwise(line)
        if other.left < one.right - 0.5
    ]
    over = [
        (one, other)
        for one in solid
        for other in solid
        if 0.6 * min(one.size, other.size) > one.baseline - other.baseline
        > SAME_LINE * min(one.size, other.size)
        and one.left < other.right - 0.5 and other.left < one.right - 0.5
    ]  # fmt: skip
    return beside + over
