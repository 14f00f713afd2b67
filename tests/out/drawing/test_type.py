from __future__ import annotations

import pytest
from tests.out.look import wide

from argentry.out.drawing.type import width, wrap


# outside: Pillow's FreeType on the same file, kerning off
@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize(
    "words", ["exposure light, W/m²", "07:30–12:05", "Peñalarga", "µm × °C − é", "AVAVAV", ""]
)
def test_words_are_as_wide_as_freetype_says(words, bold):
    assert width(words, 13.0, bold=bold) == pytest.approx(wide(words, 13.0, bold=bold), rel=0.02)


def test_a_letter_the_face_lacks_still_takes_room():
    assert width("漢", 10.0) > 2.0


def test_lines_are_no_wider_than_the_room():
    words = "stops more or less light than the day plan gives"
    lines = wrap(words, 120.0, 12.0)
    assert " ".join(lines) == words
    assert all(wide(line, 12.0) <= 120.0 for line in lines)
    full = width("one two", 12.0)
    assert wrap("one two", 1.01 * full, 12.0) == ["one", "two"], "a browser sets it wider"
    assert wrap("one two", 1.04 * full, 12.0) == ["one two"]
    assert wrap("unbreakable", 5.0, 12.0) == ["unbreakable"]
    assert wrap("", 5.0, 12.0) == [""]
