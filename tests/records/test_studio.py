"""What a studio's records say of themselves."""

import pytest

from argentry.records.instruments import IodineBox


@pytest.mark.parametrize(("crystals", "share"), [(45.0, 0.25), (180.0, 1.0), (200.0, 1.0)])
def test_crystals_cover_at_most_the_whole_floor(crystals, share):
    box = IodineBox("box", gap_mm=20.0, crystal_area_cm2=crystals, floor_area_cm2=180.0)
    assert box.cover_share == pytest.approx(share)


def test_a_box_follows_the_room_unless_it_is_held():
    follows = IodineBox("box", 20.0, 100.0, 180.0)
    held = IodineBox("box", 20.0, 100.0, 180.0, temperature_c=24.0)
    assert (follows.held_c(17.0), held.held_c(17.0)) == (17.0, 24.0)
