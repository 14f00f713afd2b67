"""Readings in the book go before the forecast, at every door the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.readings import add_readings
from argentry.day.setting import setting_of
from argentry.desk.bench import as_read
from argentry.desk.bench.as_read import outlook_now, outlook_read
from argentry.desk.wishes import plan_day
from argentry.keeping.forecast import record
from argentry.keeping.forecast.fetch import fetch
from argentry.keeping.studio import load_studio
from argentry.needs.camera import Camera
from argentry.needs.develop import develop
from argentry.needs.expose import expose
from argentry.needs.frame import Frame
from argentry.needs.light import light_report
from argentry.needs.numbers import studio_now
from argentry.records.ids import new_id
from argentry.records.plate import Reading
from argentry.records.weather import NO_OUTLOOK
from argentry.sky.clear_day import clear_day
from argentry.sky.place import resolve_place

DAY = date(2026, 6, 21)
AT = datetime(2026, 6, 21, 8, 40, tzinfo=UTC)
NOW = AT + timedelta(minutes=10)
QUICK = {"simulated_days": 20, "effort": 0.1}


def read(folder, share, at=AT, doubt=""):
    """Keep what a sensor read: this share of the clear sky's light at the subject."""
    studio = load_studio(folder)
    day = clear_day(studio, studio.frames[0], at)
    lux = share * float(day.lux_subject[int(day.index(at))])
    book = open_book(folder)
    add_readings(book, [Reading(new_id(), "light_lx", lux, "lx", at, "post", doubt=doubt)])
    close_book(book)


def known(folder, **more):
    return outlook_read(folder, load_studio(folder), DAY, now=more.pop("now", NOW), **more)


@pytest.fixture
def forecast(willing):
    """A clear day is forecast (the sample's), and known the evening before."""
    fetch(willing, load_studio(willing), now=datetime(2026, 6, 21, 8, 0, tzinfo=UTC))
    return willing


@pytest.fixture
def dim(forecast):
    """Half of the clear light was read."""
    read(forecast, 0.5)
    return SimpleNamespace(folder=forecast, studio=load_studio(forecast), outlook=known(forecast))


def test_without_readings_the_forecast_stands(forecast):
    assert known(forecast).read is None
    open_book(forecast).engine.dispose()
    assert known(forecast).read is None


def test_a_reading_of_today_rules_today_only(dim):
    read_then = dim.outlook.read
    assert read_then.of_expected == pytest.approx(0.5, abs=0.1)
    tomorrow = outlook_read(dim.folder, dim.studio, DAY + timedelta(days=1), now=NOW)
    assert tomorrow.read is None
    assert known(dim.folder, now=read_then.until + timedelta(minutes=1)).read is None
    book = open_book(dim.folder)
    assert outlook_now(book, known(dim.folder), dim.studio, DAY, NOW).read == read_then
    close_book(book)


def test_a_doubted_reading_is_left_out(forecast):
    read(forecast, 0.5, doubt="stuck")
    assert known(forecast).read is None


def test_the_day_is_lit_as_it_was_read_and_by_evening_as_forecast(dim):
    how = {"haze": None, "learned": None, "as_written": False, "now": NOW, "seed": 1}
    bare = replace(dim.outlook, read=None)
    was, now = (setting_of(dim.studio, DAY, outlook=o, **how) for o in (bare, dim.outlook))
    was, now = (one.lit.needs.by_filter[dim.studio.frames[0].through] for one in (was, now))
    hour = 60
    day = slice(0, 7 * hour)
    ratio = now.exposure_w_m2[0, day] / was.exposure_w_m2[0, day]
    assert 0.53 < ratio[0] < 0.75  # ten minutes after, part of it the minutes' own
    assert (np.diff(ratio) > -0.01).all()
    assert ratio[-1] > 0.97
    assert now.development_w_m2[0, 0] / was.development_w_m2[0, 0] == pytest.approx(
        ratio[0], abs=0.1
    )

    def spread(light, first):
        mean = light.exposure_w_m2[1:, first : first + hour].mean(axis=1)
        return np.ptp(np.log2(np.quantile(mean, (0.1, 0.9))))

    assert spread(now, 6 * hour) == pytest.approx(spread(was, 6 * hour), rel=0.15)


def test_commands_and_plan_see_the_same_sky_and_say_so(dim):
    """Camera and development times of the plan's first plate are those of the commands."""
    plan = plan_day(dim.studio, DAY, outlook=dim.outlook, plates=1, now=NOW, **QUICK)
    assert dim.outlook.read.sentence in plan.warnings
    assert plan.light_read == dim.outlook.read
    step = {s.step: s for s in plan.steps}
    place, now = resolve_place(dim.studio), studio_now(dim.studio, None)
    shown = expose(place, step["expose"].start.astimezone(UTC), Camera(), now, outlook=dim.outlook)
    assert shown.minutes == pytest.approx(step["expose"].minutes.middle, rel=0.01)
    waited = (step["develop"].start - step["expose"].end).total_seconds() / 60.0
    begun = step["develop"].start.astimezone(UTC)
    ripe = develop(place, begun, Frame(waited_min=waited), now, outlook=dim.outlook)
    assert ripe.minutes == pytest.approx(step["develop"].minutes.middle, rel=0.01)
    for one in (shown, ripe):
        assert any(dim.outlook.read.sentence in words for words in one.warnings)
        assert any("CC BY 4.0" in words for words in one.warnings)


@pytest.mark.parametrize("span", [False, True])
def test_light_by_itself_is_as_it_was_read(dim, span):
    whole = {"start": AT, "end": AT + timedelta(hours=9), "step_minutes": 30.0}
    times = whole if span else {"at": AT}
    lit, clear = (light_report(dim.studio, outlook=o, **times) for o in (dim.outlook, NO_OUTLOOK))
    assert lit.actinic_w_m2[0] / clear.actinic_w_m2[0] == pytest.approx(0.55, abs=0.07)
    assert lit.actinic_low_w_m2[0] < lit.actinic_w_m2[0] < lit.actinic_high_w_m2[0]
    assert dim.outlook.read.sentence in lit.notes
    if span:
        bare = light_report(dim.studio, outlook=replace(dim.outlook, read=None), **times)
        assert lit.actinic_w_m2[-1] > 0.95 * bare.actinic_w_m2[-1]


def test_without_a_forecast_a_reading_stands_on_the_season(folder):
    """Cloud that was read makes a clear day unlikely: the usual clouds of the season follow."""
    read(folder, 0.3)
    outlook = known(folder)
    assert outlook.weather is None
    assert "usual at this season" in outlook.read.sentence
    how = {"haze": None, "learned": None, "as_written": False, "now": NOW, "seed": 1}
    lit = setting_of(load_studio(folder), DAY, outlook=outlook, **how)
    assert lit.lit.needs.varied  # its times are not those of a clear sky
    opening = np.searchsorted(lit.sky.times_utc, lit.clock.times_utc()[0])
    noon = int(np.argmax(lit.sky.path.elevation_deg)) - opening
    assert 0.4 < lit.skies.middle_global[noon] < 0.95
    assert "usual at this latitude" in lit.skies.note


def test_what_forecasts_are_worth_is_worked_out_when_it_is_due(dim, monkeypatch):
    """Once: afterwards it is not due that day."""
    begun = []
    monkeypatch.setattr(record, "work_out", lambda folder, *_: begun.append(folder))
    monkeypatch.setattr(as_read, "_record_due", lambda *_: NOW if not begun else None)
    book = open_book(dim.folder)
    for day in (DAY, DAY + timedelta(days=1)):
        outlook_now(book, known(dim.folder), dim.studio, day, NOW)
    assert begun == [dim.folder]
    close_book(book)
