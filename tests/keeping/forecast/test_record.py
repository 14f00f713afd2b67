"""What services said is kept and held against the light that was read; a bad one is left out."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from argentry.desk.forecasts import compare
from argentry.keeping.forecast import record, said
from argentry.keeping.forecast.fetch import fetch
from argentry.keeping.forecast.outlook import kept_weather, outlook_of
from argentry.keeping.forecast.states import service_states
from argentry.keeping.studio import load_studio
from argentry.records.run import RunReading
from argentry.sky.clear_day import clear_day
from argentry.sky.weather.usual import usual_cloud

NOW = datetime(2026, 6, 20, 12, 20, tzinfo=UTC)
DAY = date(2026, 6, 21)
KEY = "open-meteo"


def readings(studio, first, days, share):
    """Light at three hours of so many days, as shares of the clear sky's."""
    found = []
    for number in range(days):
        for hour in (8, 11, 14):
            at = first.replace(hour=hour, minute=20) + timedelta(days=number)
            day = clear_day(studio, studio.frames[0], at)
            lux = share(number, hour) * float(day.lux_subject[int(day.index(at))])
            found.append(RunReading("light_lx", lux, "lx", "post", at))
    return found


def tell(folder, first, days, okta):
    """Keep that a service said so of each day, the day before."""
    file = said.said_file(folder, KEY)
    file.parent.mkdir(exist_ok=True)
    with file.open("a", encoding="utf-8") as out:
        for number in range(days):
            start = first.replace(hour=18, minute=0) + timedelta(days=number - 1)
            line = {
                "fetched": start.isoformat(), "start": start.isoformat(),
                "okta": [okta(number)] * 30,
            }  # fmt: skip
            out.write(json.dumps(line) + "\n")


@pytest.fixture
def studio(willing):
    return load_studio(willing)


@pytest.fixture
def blind(willing, studio):
    """A service that said the opposite on twenty days."""
    first = NOW - timedelta(days=20)
    tell(willing, first, 20, lambda n: 8.0 * (n % 2))
    read = readings(studio, first, 20, lambda n, _: 1.0 if n % 2 else 0.2)
    fetch(willing, studio, now=NOW)
    record.work_out(willing, studio, read, NOW)
    return willing


def test_what_a_forecast_says_is_kept_once_in_six_hours(willing, studio, stub):
    fetch(willing, studio, now=NOW)
    (one,) = said.read_said(willing, KEY)
    assert one.fetched == NOW
    tomorrow = [k for k in one.okta[12:36] if k is not None]  # the sample is a clear day
    assert len(tomorrow) > 12
    assert np.mean(tomorrow) < 1.5
    stub.body = stub.body + b" "
    fetch(willing, studio, now=NOW + timedelta(hours=2))
    assert len(list(said.read_said(willing, KEY))) == 1
    fetch(willing, studio, now=NOW + timedelta(hours=7))
    assert len(list(said.read_said(willing, KEY))) == 2


def test_lines_that_cannot_be_read_are_passed_by(willing, studio):
    fetch(willing, studio, now=NOW)
    file = said.said_file(willing, KEY)
    good = file.read_text(encoding="utf-8")
    file.write_text("{\n[1]\n" + '{"fetched": 3}\n' + good + "\x00\n", encoding="utf-8")
    assert len(list(said.read_said(willing, KEY))) == 1


def test_a_lead_counts_from_when_the_answer_came(willing, studio):
    fetch(willing, studio, now=NOW)
    weather = kept_weather(willing, studio, KEY, NOW).weather
    assert weather.issued_utc == np.datetime64("2026-06-20T12:20")
    assert weather.widened == 1.0


def test_a_good_record_narrows_and_is_told(willing, studio):
    first = NOW - timedelta(days=20)
    tell(willing, first, 20, lambda n: 8.0 * (n % 2))
    read = readings(studio, first, 20, lambda n, _: 0.2 if n % 2 else 1.0)
    fetch(willing, studio, now=NOW)
    found = record.work_out(willing, studio, read, NOW)[KEY]
    assert found.days == 20
    assert not found.worse
    assert found.brier < found.brier_season
    assert found.widened < 0.9
    assert kept_weather(willing, studio, KEY, NOW).weather.widened == found.widened
    state = next(s for s in service_states(willing, studio, NOW).services if s.record)
    assert state.record == found
    assert "on 20 days: Brier score 0." in state.record_words
    assert outlook_of(willing, studio, DAY, NOW).weather is not None


def test_a_source_worse_than_the_season_is_not_used_and_that_is_said(blind, studio, monkeypatch):
    outlook = outlook_of(blind, studio, DAY, NOW)
    assert outlook.weather is None
    assert outlook.usual
    (words,) = outlook.said
    assert words.startswith("Open-Meteo is not used: on 20 days with light read here it was worse")
    monkeypatch.setattr("argentry.desk.forecasts._odds", lambda *_: 0.5)  # not asked here
    found = compare(blind, studio, DAY, NOW)
    assert found.used == "none"
    assert found.forecasts[0].record_words == words


def test_a_folder_that_cannot_be_written_is_still_planned_in(blind, studio, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(record, "write_whole", full)
    assert record.work_out(blind, studio, [], NOW)[KEY].days == 20
    said.said_file(blind, KEY).unlink()
    said.said_file(blind, KEY).mkdir()
    weather = kept_weather(blind, studio, KEY, NOW).weather
    said.note_said(blind, studio, KEY, weather, NOW)
    assert list(said.read_said(blind, KEY)) == []


def test_records_are_worked_out_twice_a_day_and_remember_the_light(blind, studio):
    assert record.due_since(blind, NOW + timedelta(hours=11)) is None
    assert record.due_since(blind, NOW + timedelta(hours=13)) == NOW - timedelta(hours=1)
    again = record.work_out(blind, studio, [], NOW + timedelta(hours=13))
    assert again[KEY].days == 20
    said.record_file(blind).write_text("{", encoding="utf-8")
    assert record.records_of(blind) == {}
    assert record.due_since(blind, NOW) == NOW - timedelta(days=30)


def test_what_was_said_of_the_place_tells_how_cloudy_it_is_there(willing, studio):
    first = NOW - timedelta(days=20)
    tell(willing, first, 20, lambda _: 7.0)
    found = record.work_out(willing, studio, [], NOW)[KEY]
    assert found.days == 0  # no light was read: nothing is known of its misses
    days = [first.date() + timedelta(days=n) for n in range(20)]
    usual = np.mean([usual_cloud(studio.site.latitude_deg, day) for day in days])
    assert found.cloudier == pytest.approx(0.5 * (7.0 / 8.0 - usual), abs=0.02)
    fetch(willing, studio, now=NOW)
    weather = kept_weather(willing, studio, KEY, NOW).weather
    assert (weather.cloudier, weather.widened) == (found.cloudier, 1.0)


def test_the_studios_climate_file_tells_how_cloudy_the_season_is_there(willing, studio):
    """Nine tenths of June is covered in the file and two tenths of December: June is asked."""
    rows = [
        f"2025-{month:02d}-{day:02d}T{hour:02d}:00,{90 if month in (5, 6, 7, 8) else 20}"
        for month in range(1, 13) for day in range(1, 29) for hour in (9, 12, 15)
    ]  # fmt: skip
    says = (
        "time_zone: UTC",
        "stamp: start",
        "kind: typical year",
        "gaps: true",
        "step_minutes: 180",
    )
    table = "\n".join([*(f"# {line}" for line in says), "time,cloud_percent", *rows])
    (willing / "climate.csv").write_text(table, encoding="utf-8")
    own = replace(studio, weather=replace(studio.weather, climate="climate.csv"))
    first = NOW - timedelta(days=20)
    days = [first.date() + timedelta(days=n) for n in range(-25, 65)]
    usual = np.mean([usual_cloud(studio.site.latitude_deg, day) for day in days])
    found = record.work_out(willing, own, [], NOW)[KEY]
    assert found.cloudier == pytest.approx(0.9 - usual, abs=0.02)
    tell(willing, first, 20, lambda _: 0.9 * 8.0)  # the service agrees: nothing changes
    assert record.work_out(willing, own, [], NOW)[KEY].cloudier == pytest.approx(
        found.cloudier, abs=0.02
    )
    (willing / "climate.csv").write_text("time\n", encoding="utf-8")
    assert record.work_out(willing, own, [], NOW)[KEY].cloudier < found.cloudier


def test_a_record_of_before_its_clouds_were_compared_is_none_too_cloudy(blind, studio):
    kept = record.records_of(blind)
    file = record.record_file(blind)
    data = json.loads(file.read_text(encoding="utf-8"))
    for one in data["services"].values():
        del one["cloudier"]
    file.write_text(json.dumps(data), encoding="utf-8")
    assert record.records_of(blind) == {k: replace(v, cloudier=0.0) for k, v in kept.items()} != {}
