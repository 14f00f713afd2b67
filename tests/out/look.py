"""Where the words of a drawing stand, measured with Pillow's FreeType: not with our own measure."""

from __future__ import annotations

import re
from functools import cache
from importlib.resources import files
from typing import NamedTuple
from xml.etree import ElementTree as ET

from PIL import ImageFont

SVG = "{http://www.w3.org/2000/svg}"
EM = 1000


class Word(NamedTuple):
    words: str
    left: float
    right: float
    baseline: float
    size: float
    face: str = ""


@cache
def _font(face: str) -> ImageFont.FreeTypeFont:
    path = files("argentry.out") / "fonts" / f"B612-{face}.otf"
    return ImageFont.truetype(str(path), EM, layout_engine=ImageFont.Layout.BASIC)


def wide(words: str, size: float, *, bold: bool = False) -> float:
    return _font("Bold" if bold else "Regular").getlength(words) / EM * size


def placed(svg: str) -> list[Word]:
    """Return every word of the drawing where it stands on it."""
    found: list[Word] = []

    def walk(node: ET.Element, dx: float, dy: float) -> None:
        shift = re.match(r"translate\(([-\d.e]+),([-\d.e]+)\)", node.get("transform", ""))
        if shift:
            dx, dy = dx + float(shift[1]), dy + float(shift[2])
        if node.tag == f"{SVG}text":
            size, words = float(node.get("font-size")), node.text or ""
            length = wide(words, size, bold=node.get("font-weight") == "bold")
            back = {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor", "start")]
            left = float(node.get("x")) + dx - back * length
            found.append(Word(words, left, left + length, float(node.get("y")) + dy, size))
        for child in node:
            walk(child, dx, dy)

    walk(ET.fromstring(svg), 0.0, 0.0)
    return found


def sizes_of(svg: str) -> set[float]:
    return {word.size for word in placed(svg)}


def cut(svg: str) -> list[Word]:
    """Return the words that reach beyond the drawing's edges."""
    root = ET.fromstring(svg)
    width, height = float(root.get("width")), float(root.get("height"))
    return [
        word for word in placed(svg)
        if word.left < -0.5 or word.right > width + 0.5
        or word.baseline - 0.7 * word.size < -0.5 or word.baseline + 0.2 * word.size > height + 0.5
    ]  # fmt: skip


def overlapping(svg: str) -> list[tuple[Word, Word]]:
    """Return pairs of words that run into each other."""
    words = placed(svg)
    return [
        (one, other)
        for place, one in enumerate(words)
        for other in words[place + 1 :]
        if abs(one.baseline - other.baseline) < 0.6 * min(one.size, other.size)
        and one.left < other.right - 0.5
        and other.left < one.right - 0.5
    ]
