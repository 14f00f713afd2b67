"""Plate sizes against published tables.

Sources
-------
Collectors: "19th Century Photographic Plate Sizes", cwfp.biz, whose inch and centimetre columns
are both given (read there). Library of Congress, Prints and Photographs Reading Room, "Popular
Photographic Print Processes: Daguerreotypes": typical dimensions from the sixteenth plate
(1-3/8 x 1-5/8 inches) to the whole plate (6-1/2 x 8-1/2 inches) (read there).
"""

import pytest

from argentry.trade.steps import plate_size

INCH_MM = 25.4  # exact since the international agreement of 1959


@pytest.mark.parametrize(
    ("name", "inches", "centimetres"),
    [
        ("whole", (6.5, 8.5), (16.5, 21.5)),
        ("half", (4.25, 5.5), (11, 14)),
        ("quarter", (3.25, 4.25), (8, 11)),
        ("sixth", (2.75, 3.25), (7, 8)),
        ("ninth", (2, 2.5), (5, 6)),
        ("sixteenth", (1.375, 1.625), (3.5, 4)),
    ],
)
def test_collectors_table(name, inches, centimetres):
    size = plate_size(name)
    assert size.width_mm == pytest.approx(inches[0] * INCH_MM)
    assert size.height_mm == pytest.approx(inches[1] * INCH_MM)
    # the source rounds its centimetres to halves
    assert size.width_mm == pytest.approx(centimetres[0] * 10, abs=3.6)
    assert size.height_mm == pytest.approx(centimetres[1] * 10, abs=3.6)


def test_library_of_congress_sixteenth_and_whole():
    assert plate_size("sixteenth").width_mm / INCH_MM == pytest.approx(1 + 3 / 8)
    assert plate_size("sixteenth").height_mm / INCH_MM == pytest.approx(1 + 5 / 8)
    assert plate_size("whole").width_mm / INCH_MM == pytest.approx(6 + 1 / 2)
    assert plate_size("whole").height_mm / INCH_MM == pytest.approx(8 + 1 / 2)


@pytest.mark.parametrize(
    ("name", "share"), [("half", 2), ("quarter", 4), ("sixth", 6), ("eighth", 8)]
)
def test_each_name_says_its_share_of_a_whole_plate(name, share):
    # cwfp.biz: sizes were named after how many are cut from a whole plate; trimming costs a fifth
    cut = plate_size("whole").area_cm2 / plate_size(name).area_cm2
    assert cut == pytest.approx(share, rel=0.20)
