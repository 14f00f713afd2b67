"""The band of an open run: what is planned as outline, what was done as ink, light above."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest
from tests.bench_studio import Table, studio
from tests.out.look import SVG, cut, overlapping, placed

from argentry.bench.opening import hours_expected, hours_told
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.out.colours import INK
from argentry.out.day.page import DRAWN
from argentry.out.plates.run_band import run_band

_spec = spec_from_file_location("day_fixture", Path(__file__).parents[1] / "day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)
PLAN = fixture.make_plan(2, weather_file=True)
ZONE = ZoneInfo("Europe/Madrid")


@pytest.fixture
def table(tmp_path):
    book = open_book(tmp_path)
    yield Table(book, studio(), datetime(2026, 6, 14, 5, 30, tzinfo=UTC))
    close_book(book)


def boxes(svg):
    return [one for one in ET.fromstring(svg).iter(f"{SVG}rect") if one.get("stroke") == INK]


def inked(svg):
    return [one for one in ET.fromstring(svg).iter(f"{SVG}rect") if one.get("fill") == INK]


@pytest.mark.parametrize(("width", "size"), DRAWN)
def test_every_planned_step_is_an_outline_and_nothing_is_cut(table, width, size):
    long = "Grandmother-in-the-garden-2027-no-4"  # left the hours a third of a phone
    state = table.open("2026-06-21/1", long, plan=PLAN)
    svg = run_band(state, ZONE, width, size)
    planned = [s for one in state.plates for s in one.steps if s.plan and s.state != "skipped"]
    in_key = 2  # planned; waiting
    assert len(boxes(svg)) == len(planned) + in_key
    assert len(inked(svg)) == 1  # of the key: nothing is done yet
    words = placed(svg)
    assert {"2026-06-21/1", "…en-2027-no-4"} <= {one.words for one in words}
    assert cut(svg) == []
    assert overlapping(svg) == []


def test_what_is_done_is_ink_up_to_now(table):
    state = table.open("Q-1", plan=PLAN)
    caution = [one.key for one in state.cautions_unread()]
    table.say("cautions_read", cautions=caution)
    first = state.plates[0].steps[0].key
    table.say("step_begun", state.plates[0].id, first)
    table.wait(600)
    short = float(inked(run_band(table.state(), ZONE, 700.0, 12.5))[0].get("width"))
    table.wait(600)
    longer = float(inked(run_band(table.state(), ZONE, 700.0, 12.5))[0].get("width"))
    assert longer == pytest.approx(2.0 * short, rel=0.02)


def test_a_run_without_plan_or_work_has_none(table):
    assert run_band(table.open("Q-1", "Q-2"), ZONE, 700.0, 12.5) == ""


def test_the_light_is_that_of_the_plan():
    told = hours_told(hours_expected(PLAN))
    assert len(told) == len(PLAN.hours)
    for (start, violet, red), hour in zip(told, PLAN.hours, strict=True):
        assert start == hour.time
        for light, planned in ((violet, hour.exposure_w_m2), (red, hour.development_w_m2)):
            assert light.middle == planned.middle
            if planned.low > 0.0:
                assert light.high / light.low == pytest.approx(planned.high / planned.low, rel=1e-3)
