"""Cautions go with the light of the work; the lights are the trade's own words for lamps."""

from __future__ import annotations

from dataclasses import replace

from tests.needs.light_fixture import STUDIO

from argentry import trade
from argentry.needs.frame import (
    cautions_here,
    development_cautions,
)
from argentry.records.instruments import Lamp
from argentry.trade.steps import cautions, step


def lit(kind=None, **subject):
    """Return the studio with a lamp over its frame, or none."""
    lamp = None if kind is None else Lamp(power_w=200.0, distance_m=0.3, kind=kind)
    frames = (replace(STUDIO.frames[0], lamp=lamp),)
    return replace(STUDIO, frames=frames, subject=replace(STUDIO.subject, **subject))


def keys(studio, name):
    return [one.key for one in cautions_here(studio, step(name))]


def test_no_lamp_caution_without_a_lamp():
    assert keys(lit(), "develop") == ["sun"]


def test_no_sun_caution_under_a_lamp():
    assert keys(lit("halogen"), "develop") == ["lamp"]
    assert keys(lit("bare halogen"), "develop") == ["lamp"]


def test_a_red_lamp_has_a_caution_of_its_own():
    # it told of a hot halogen bulb and of the sun in `develop`, and of nothing on the sheet
    assert keys(lit("red led"), "develop") == ["red_lamp"]
    for kind, own in (("red led", "red lamp"), ("halogen", "halogen lamp"), (None, "the sun")):
        made = lit(kind)
        told = [one.text for one in development_cautions(made.frames[0].lamp)]
        assert len(told) == 2
        assert own in told[0]


def test_the_camera_stands_in_the_sun_unless_at_a_window():
    assert keys(lit("halogen", plane="sun"), "expose") == ["sun"]
    assert keys(lit("halogen", plane="window"), "expose") == []


def test_each_frame_has_its_own_light():
    both = lit()
    under = replace(both.frames[0], name="lamp frame", lamp=Lamp(200.0, 0.3))
    both = replace(both, frames=(*both.frames, under))
    told = [[one.key for one in cautions_here(both, step("develop"), kind)] for kind in (0, 1)]
    assert told == [["sun"], ["lamp"]]


def test_other_cautions_do_not_ask_for_the_light():
    assert keys(lit("red led"), "iodise") == ["iodine_vapour", "iodine_health", "iodine_ammonia"]


def test_every_light_of_a_caution_is_one_that_there_is():
    known = {"sun", *trade.toml("development")["lamp"]}
    assert {light for one in cautions().values() for light in one.under} <= known
