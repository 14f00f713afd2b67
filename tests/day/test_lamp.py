"""A lamp where the sun will not do: what it does with its hours, or what one would do."""

import re
from dataclasses import replace
from datetime import date

import pytest
from tests.day.test_plan import plan, studio

from argentry.desk.wishes import OPTIONS
from argentry.needs.development_time import development_dose
from argentry.needs.lamp import lamp_of
from argentry.records import studio as rec
from argentry.records.instruments import DevelopmentFrame, Lamp
from argentry.records.wishes import Wishes
from argentry.studio.today import studio_today

COAST = rec.Site("Invented coast", 59.0, -3.0, 10.0, "Europe/London")
DARK = date(2026, 12, 21)
QUICK = {"effort": 0.5, "simulated_days": 20}


def told(made, words):
    return [note for note in made.warnings if words in note]


def test_a_studio_without_a_lamp_hears_what_one_would_do_and_it_does_it():
    made = studio(site=COAST)
    without = plan(DARK, made=made, plates=2, **QUICK)
    assert without.plates_placed < 2
    (note,) = told(without, "A lamp would do")
    power, distance, hours = (
        float(re.search(words, note)[1])
        for words in (r"lamp of ([\d.]+) W", r"at ([\d.]+) m", r"([\d.]+) h each")
    )
    assert f"power_w = {power:g} and distance_m = {distance:g} in studio.toml" in note
    frame = made.frames[0]
    lit = lamp_of(made, frame, Lamp(power, distance))
    needed = development_dose(made.habits).middle
    assert hours == pytest.approx(needed / lit.development_w_m2 / 3600.0, abs=0.05)
    # said is done: with as many such frames the plates are placed
    count = 1 if "one frame" in note else int(re.search(r"with (\d+) frames", note)[1])
    lamp = replace(frame, name="lamp frame", lamp=Lamp(power, distance), count=count)
    lamplit = plan(DARK, made=studio(site=COAST, frames=(frame, lamp)), plates=2, **QUICK)
    assert lamplit.plates_placed == 2
    assert not told(lamplit, "A lamp would do")


def test_the_plate_under_the_lamp_is_told_with_its_hours():
    made = studio_today(studio(site=COAST), Wishes(lamp=Lamp(500.0, 0.3)), OPTIONS)
    lamplit = plan(DARK, made=made, plates=1, **QUICK)
    (under,) = [step for step in lamplit.steps if step.step == "develop"]
    assert under.resource == made.frames[-1].name == "Lamp of today"
    (note,) = told(lamplit, "lies under the lamp")
    span = f"from {under.start:%H:%M} to {under.end:%H:%M}"
    assert note.startswith(f"Plate 1 lies under the lamp (Lamp of today) {span}: in the sun")


def test_a_bright_day_needs_no_lamp():
    lamp = DevelopmentFrame("lamp frame", 590.0, lamp=Lamp(200.0, 0.3))
    for made in (studio(), studio(frames=(*studio().frames, lamp))):
        bright = plan(date(2026, 6, 21), made=made, plates=1, **QUICK)
        assert not told(bright, "lamp would")
        assert not told(bright, "under the lamp")


def test_no_lamp_helps_where_nothing_can_be_exposed():
    night = rec.Site("Invented fell", 69.0, 25.0, 100.0, "Europe/Helsinki")
    made = plan(DARK, made=studio(site=night), plates=1, **QUICK)
    assert made.warnings[0].endswith("no hour lets an exposure end within 60 min.")
    assert not told(made, "lamp would")


def test_a_lamp_has_its_remedy_only_where_there_is_none():
    lamp = DevelopmentFrame("lamp frame", 590.0, lamp=Lamp(500.0, 0.3))
    site = replace(COAST, latitude_deg=57.0)  # two plates have the light of a clear day
    for frames, named in ((studio().frames, True), ((*studio().frames, lamp), False)):
        made = plan(DARK, made=studio(site=site, frames=frames), plates=2, **QUICK)
        (note,) = told(made, "the light is too weak")
        assert ("--lamp" in note) == named
