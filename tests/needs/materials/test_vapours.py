"""Vapours against limits, airing, drying."""

from math import nextafter

import pytest

from argentry.errors import BadInput
from argentry.needs.materials.vapours import drying, room_vapours
from argentry.physics.vapour.iodine import headspace_loss_mg
from argentry.physics.vapour.room_vapour import open_tray_mg_s, ppm_of, room_mg_m3

I2 = 253.80


def only(found):
    (one,) = found.vapours
    return one


def test_openings_sweep_out_the_headspace():
    found = room_vapours(20.0, headspace_l=2.0, openings=6, room_m3=15.0)
    iodine = only(found)
    assert iodine.released_mg == pytest.approx(6 * float(headspace_loss_mg(2.0, 20.0)))
    assert iodine.mg_m3 == pytest.approx(iodine.released_mg / 15.0)
    assert iodine.ppm == pytest.approx(float(ppm_of(iodine.mg_m3, I2, 20.0)), rel=1e-3)
    assert iodine.near_ppm == pytest.approx(3.0 * iodine.ppm)


def test_open_crystals_are_a_source_while_they_lie_open():
    iodine = only(room_vapours(20.0, open_s=60.0, tray_cm2=400.0, room_m3=15.0, air_changes_h=1.0))
    rate = float(open_tray_mg_s(400.0, 20.0))
    assert iodine.released_mg == pytest.approx(60.0 * rate)
    assert iodine.mg_m3 == pytest.approx(float(room_mg_m3(rate, 60.0, 15.0, 1.0)))
    both = only(
        room_vapours(20.0, open_s=60.0, tray_cm2=400.0, headspace_l=2.0, room_m3=15.0,
                     air_changes_h=1.0)
    )  # fmt: skip
    puff = float(headspace_loss_mg(2.0, 20.0))
    assert both.mg_m3 == pytest.approx(float(room_mg_m3(rate, 60.0, 15.0, 1.0, puff / 15.0)))


def test_a_leak_is_weighed():
    found = room_vapours(20.0, box_lost_g=0.6, box_days=30.0, hours=1e4, room_m3=15.0,
                         air_changes_h=0.5)  # fmt: skip
    assert found.box_loss_mg_day == pytest.approx(20.0)
    assert only(found).mg_m3 == pytest.approx(20.0 / 24.0 / (0.5 * 15.0))
    assert any("20.0 mg a day" in words for words in found.advice)
    short = room_vapours(20.0, box_lost_g=0.6, box_days=30.0, hours=1.0, room_m3=15.0)
    assert only(short).mg_m3 < only(found).mg_m3
    assert room_vapours(20.0, box_lost_g=0.0).vapours == ()


def test_airing_ends_at_the_strictest_working_limit():
    found = room_vapours(20.0, headspace_l=4.0, room_m3=15.0, airing_changes_h=6.0)
    iodine = only(found)
    strict = max(one.minutes_to_air for one in iodine.limits if one.kind != "escape")
    assert iodine.minutes_to_air == found.minutes_to_air == strict
    low = min(one.ppm for one in iodine.limits)
    left = float(room_mg_m3(0.0, strict * 60.0, 15.0, 6.0, iodine.ppm))
    assert left == pytest.approx(low)
    for one in iodine.limits:
        assert one.passed == (iodine.ppm > one.ppm) == (one.minutes_to_air > 0.0)
        assert one.passed_near == (iodine.near_ppm > one.ppm)
    assert any(f"{strict:.0f} minutes at 6 changes" in words for words in found.advice)


@pytest.mark.parametrize(
    ("how", "name", "mg"),
    [
        ({"alcohol_ml": 10.0}, "alcohol", 7890.0),
        ({"acetone_ml": 10.0}, "acetone", 7910.0),
        ({"acid_g": 1.0}, "sulfur dioxide", 258.1),
    ],
)
def test_the_other_vapours(how, name, mg):
    found = room_vapours(20.0, room_m3=15.0, **how)
    one = only(found)
    assert one.name == name
    assert one.released_mg == pytest.approx(mg, rel=1e-3)
    assert one.mg_m3 == pytest.approx(mg / 15.0, rel=0.01)
    assert len({limit.by for limit in one.limits}) >= 2
    slow = only(room_vapours(20.0, room_m3=15.0, minutes=120.0, **how))
    assert slow.mg_m3 < 0.7 * one.mg_m3


def test_each_vapour_has_limits_of_several_regulators_with_their_years():
    every = room_vapours(20.0, headspace_l=1.0, alcohol_ml=1.0, acetone_ml=1.0, acid_g=1.0)
    assert [one.name for one in every.vapours] == [
        "iodine", "sulfur dioxide", "alcohol", "acetone",
    ]  # fmt: skip
    for one in every.vapours:
        assert len({limit.by for limit in one.limits}) >= 2
        assert all(1970 < limit.year < 2027 for limit in one.limits)


def test_what_is_said():
    fled = room_vapours(25.0, open_s=1800.0, room_m3=10.0)
    assert "leave the room" in fled.advice[0]
    assert "is above 0.01 ppm (ACGIH 2008, day)" in fled.advice[1]
    near = room_vapours(20.0, alcohol_ml=5.0, room_m3=30.0)
    assert "near the source it may pass 200 ppm" in near.advice[0]
    faint = room_vapours(20.0, alcohol_ml=0.1, room_m3=30.0)
    assert "the lowest limit here is 200 ppm" in faint.advice[0]
    assert faint.minutes_to_air == 0.0
    assert len(faint.advice) == 2
    assert "No figure here says that a room is safe" in faint.advice[-1]
    none = room_vapours(20.0, headspace_l=0.0, open_s=0.0)
    assert (none.vapours, none.minutes_to_air) == ((), 0.0)


def test_drying_and_the_gel():
    dry = drying(20.0, 50.0)
    assert dry.shelf_minutes == pytest.approx(4.0 * dry.plate_minutes)
    assert dry.gel_g is None
    assert drying(20.0, 99.0) is None
    assert drying(-5.0, 50.0) is None
    assert drying(50.0, 50.0) is None
    assert drying(20.0, 50.0, 5.0, 20).gel_g > drying(20.0, 50.0, 5.0, 1).gel_g > 10.0
    assert drying(20.0, 50.0, 5.0) == drying(20.0, 50.0, 5.0, 1)


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"room_m3": 0.0}, "--room-m3"),
        ({"air_changes_h": 0.0}, "--air-changes"),
        ({"airing_changes_h": 1e3}, "--airing"),
        ({"open_s": -1.0}, "--open-s"),
        ({"headspace_l": float("nan")}, "--headspace-l"),
        ({"openings": -1}, "--openings"),
        ({"alcohol_ml": -1.0}, "--alcohol-ml"),
        ({"minutes": 0.0}, "--minutes"),
        ({"box_lost_g": -0.5}, "the box gained 0.5 g"),
        ({"box_lost_g": 0.5, "box_days": 0.0}, "--box-days"),
        ({"hours": -1.0}, "--hours"),
        ({"tray_cm2": -1.0}, "--tray-cm2"),
    ],
)
def test_bad_input(how, words):
    with pytest.raises(BadInput, match=words):
        room_vapours(20.0, **how)


@pytest.mark.parametrize(
    ("name", "most"),
    [
        ("open_s", 1e5), ("tray_cm2", 1e4), ("headspace_l", 1e3), ("openings", 10_000),
        ("hours", 1e4), ("acid_g", 1e4), ("alcohol_ml", 1e5), ("acetone_ml", 1e5),
        ("minutes", 1e4), ("box_lost_g", 1e4), ("room_m3", 2000.0), ("air_changes_h", 30.0),
        ("airing_changes_h", 60.0),
    ],
)  # fmt: skip
def test_each_amount_has_its_most(name, most):
    assert room_vapours(20.0, **{name: most}).room_m3 > 0.0
    with pytest.raises(BadInput, match="out of range"):
        room_vapours(
            20.0, **{name: nextafter(most, 2.0 * most) if isinstance(most, float) else most + 1}
        )


def test_a_box_of_no_size():
    assert drying(20.0, 50.0, 1e4).gel_g > 0.0
    for litres in (0.0, nextafter(1e4, 2e4)):
        with pytest.raises(BadInput, match="--box-l"):
            drying(20.0, 50.0, litres)
