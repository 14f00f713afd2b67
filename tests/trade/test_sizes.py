"""Plate sizes are found by the names makers use."""

import pytest

from argentry.errors import BadInput
from argentry.trade.steps import plate_size, plate_sizes


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("quarter", "quarter"),
        ("Quarter plate", "quarter"),
        (" SIXTH ", "sixth"),
        ("half-plate", "half"),
        ("4x5", "4x5 in"),
        ("4×5 in", "4x5 in"),
        ("9 x 12 cm", "9x12 cm"),
        ("9x12", "9x12 cm"),
    ],
)
def test_names_as_said(said, name):
    assert plate_size(said).name == name


@pytest.mark.parametrize("said", ["", "plate", "third", "0", "nan"])
def test_unknown_size_lists_the_known_ones(said):
    with pytest.raises(BadInput, match="use one of sixteenth, ninth"):
        plate_size(said)


def test_every_size_is_found_by_its_own_name_only():
    for size in plate_sizes():
        assert plate_size(size.name) is size
        assert size.area_cm2 == pytest.approx(size.width_mm * size.height_mm / 100)
        assert size.source
