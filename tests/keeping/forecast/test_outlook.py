"""What a day is planned by, as the kept answers stand; nothing ever waits for a service."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.weather_stub import sample

from argentry.desk.wishes import plan_day
from argentry.errors import BadInput
from argentry.exchange.services import kept
from argentry.keeping.forecast import consent
from argentry.keeping.forecast.fetch import fetch
from argentry.keeping.forecast.outlook import age_words, kept_weather, outlook_of
from argentry.keeping.forecast.planned_by import outlook_for
from argentry.keeping.studio import load_studio
from argentry.out.day import answer

NOW = datetime(2026, 6, 20, 12, 20, tzinfo=UTC)
DAY = date(2026, 6, 21)


def look(folder, minutes=0.0, day=DAY):
    return outlook_of(folder, load_studio(folder), day, NOW + timedelta(minutes=minutes))


def asked(folder, minutes=0.0):
    return fetch(folder, load_studio(folder), now=NOW + timedelta(minutes=minutes))


def test_before_the_first_answer_it_is_asked_for_and_said(willing, started):
    found = look(willing)
    assert found.weather is None
    assert found.said == (
        "No forecast covers this day: Open-Meteo is being asked, plan again in a minute.",
    )
    assert started == ["open-meteo"]


def test_a_fresh_answer_is_used_without_a_word(willing, started):
    asked(willing)
    found = look(willing, 25.0)
    assert (found.said, started) == ((), [])
    assert found.weather.source == "Open-Meteo, fetched Sat 20 Jun 14:20"
    assert found.origin.age_minutes == 25.0
    assert found.origin.fresh


def test_an_old_answer_is_used_and_its_age_said(willing, started):
    asked(willing)
    found = look(willing, 7 * 60.0)
    assert found.weather is not None
    assert found.said == (
        "The forecast of Open-Meteo is 7 h old: a newer one is being fetched for the next plan.",
    )
    assert not found.origin.fresh
    assert started == ["open-meteo"]


def test_what_troubled_is_said_and_not_asked_again_too_soon(willing, stub, started):
    asked(willing)
    stub.says(429)
    with pytest.raises(BadInput):
        asked(willing, 90.0)
    found = look(willing, 100.0)
    assert found.weather is not None
    (said,) = found.said
    assert "100 min old" in said or "2 h old" in said
    assert "asked too often" in said
    assert started == []


def test_another_service_stands_in(willing, stub, started):
    consent.agree(willing, "bright-sky")
    studio = consent.agree(willing, "open-meteo")
    ask = consent.ask_of(studio, "bright-sky", NOW)
    body = sample("bright-sky", "clear").decode()
    soon = NOW + timedelta(hours=1)
    kept.keep(
        willing,
        kept.Kept("bright-sky", ask.latitude_deg, ask.longitude_deg, 520.0, "u", NOW, soon, "", "",
                  "", body),
    )  # fmt: skip
    found = look(willing, 5.0)
    assert found.origin.service == "bright-sky"
    assert "Bright Sky is used instead of that of Open-Meteo" in found.said[0]
    assert started == ["open-meteo"]
    del stub


def test_a_day_that_the_forecast_does_not_reach(willing, started):
    asked(willing)
    found = look(willing, day=date(2026, 6, 29))
    assert found.weather is None
    assert "that of Open-Meteo ends on 2026-06-23" in found.said[0]
    far = look(willing, day=date(2026, 8, 1))
    assert far.said == ("No forecast covers this day: no service looks that far ahead.",)
    assert look(willing, day=date(2026, 6, 1)).said == ()
    assert started == []


def test_nulls_over_the_day_make_it_a_day_without_forecast(willing, stub):
    data = json.loads(sample("open-meteo", "clear"))
    for name in data["hourly"]:
        if name != "time":
            data["hourly"][name][24:48] = [None] * 24
    stub.says(body=json.dumps(data).encode())
    asked(willing)
    assert look(willing).weather is None
    assert look(willing, day=date(2026, 6, 22)).weather is not None


def test_the_sheet_says_source_age_and_licence(willing):
    asked(willing)
    found = look(willing, 7 * 60.0)
    plan = plan_day(load_studio(willing), DAY, plates=1, outlook=found, simulated_days=20)
    line = answer.weather_line(plan)
    assert line == (
        "Weather: Open-Meteo, fetched Sat 20 Jun 14:20: forecast. 7 h 00 old when this was "
        "planned. Weather data by Open-Meteo.com, CC BY 4.0."
    )
    assert line in answer.assumptions(plan)
    assert found.said[0] in answer.notes(plan)


def test_a_dark_forecast_makes_a_dark_plan(willing, stub):
    def noon():
        outlook = look(willing)
        plan = plan_day(load_studio(willing), DAY, plates=1, outlook=outlook, simulated_days=20)
        return next(hour for hour in plan.hours if hour.time.hour == 13).exposure_w_m2.middle

    asked(willing)
    clear = noon()
    data = json.loads(sample("open-meteo", "clear"))
    hourly = data["hourly"]
    for name in ("shortwave_radiation", "diffuse_radiation"):
        hourly[name] = [0.2 * value for value in data["hourly"]["shortwave_radiation"]]
    hourly["direct_normal_irradiance"] = [0.0] * 96
    kept.kept_file(willing, "open-meteo").unlink()
    stub.says(body=json.dumps(data).encode())
    asked(willing)
    assert noon() < 0.5 * clear


def test_a_file_or_the_word_none_goes_before_the_service(willing, tmp_path, started):
    studio = load_studio(willing)
    assert outlook_for(willing, studio, DAY, "none").weather is None
    sky = tmp_path / "sky.csv"
    sky.write_text("# stamp: start\ntime,cloud_okta\n2026-06-21T12:00Z,3\n2026-06-21T13:00Z,3\n")
    assert outlook_for(willing, studio, DAY, str(sky)).weather.source == "sky.csv (CSV)"
    with pytest.raises(BadInput, match="no weather file to map"):
        outlook_for(willing, studio, DAY, None, "map.toml")
    assert started == []


def test_without_an_answer_the_times_are_those_of_the_seasons_clouds(willing):
    studio = load_studio(willing)
    found = look(willing)
    assert found.usual
    usual = plan_day(studio, DAY, plates=1, outlook=found, simulated_days=20)
    clear = plan_day(studio, DAY, plates=1, simulated_days=20)
    assert "no forecast: times and odds are for the clouds usual" in usual.weather
    assert "times are for a clear sky" in clear.weather

    def noon(plan):
        return next(hour for hour in plan.hours if hour.time.hour == 13).exposure_minutes.middle

    assert noon(usual) > noon(clear)


def test_whoever_asks_no_service_keeps_the_clear_sky(folder):
    assert not look(folder).usual
    assert not outlook_for(folder, load_studio(folder), DAY, "none").usual


def test_a_climate_file_stands_where_there_is_no_forecast(folder):
    rows = ["# time_zone: UTC", "# stamp: start", "# kind: measured", "# gaps: yes"]
    rows += ["time,cloud_percent"]
    first = DAY - timedelta(days=20)
    for year in (2, 1):
        rows += [
            f"{day.replace(year=DAY.year - year)}T{hour:02d}:00,{80 + year}"
            for day in (first + timedelta(days=at) for at in range(40))
            for hour in range(24)
        ]
    (folder / "years.csv").write_text("\n".join(rows) + "\n")
    studio = load_studio(folder)
    named = replace(studio, weather=replace(studio.weather, climate="years.csv"))
    for found in (
        outlook_for(folder, named, DAY, "none"),
        outlook_of(folder, named, DAY + timedelta(days=0)),
    ):
        assert found.usual
        assert found.weather.kind == "climate"
        assert found.weather.members["cloud_share"].shape == (30, 72)
    dull = plan_day(named, DAY, plates=1, outlook=found, simulated_days=20)
    assert "years.csv (CSV): climate of 30 members, each a day of its own" in dull.weather
    usual = plan_day(named, DAY, plates=1, outlook=look(folder), simulated_days=20)
    noon = [
        next(hour for hour in plan.hours if hour.time.hour == 13).exposure_minutes.middle
        for plan in (dull, usual)
    ]
    assert noon[0] > noon[1]
    missing = replace(studio, weather=replace(studio.weather, climate="nowhere.csv"))
    with pytest.raises(BadInput, match=r"nowhere\.csv"):
        outlook_for(folder, missing, DAY, "none")


def test_an_age_is_told_in_minutes_then_hours_then_days():
    told = {-5: "0 min", 25: "25 min", 99: "99 min", 100: "2 h", 2879: "48 h", 2880: "2 days",
            14400: "10 days"}  # fmt: skip
    assert {minutes: age_words(timedelta(minutes=minutes)) for minutes in told} == told


def test_an_answer_is_fresh_until_the_moment_at_which_it_expires(willing):
    asked(willing)
    studio = load_studio(willing)
    expires = kept_weather(willing, studio, "open-meteo", NOW).kept.expires
    last = expires - timedelta(microseconds=1)
    told = [kept_weather(willing, studio, "open-meteo", at).fresh for at in (last, expires)]
    assert told == [True, False]
