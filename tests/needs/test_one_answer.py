"""The same question has the same number and the same range through every door.

A table of questions over the doors that answer them: the command's --json, the day sheet, the
bench's state of an opened run, the page over HTTP, `argentry.needs` called from Python, and
learning's own numbers where they are what is asked for.
"""

from __future__ import annotations

import asyncio
import json
from contextlib import redirect_stdout
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from math import inf
from zoneinfo import ZoneInfo

import httpx
import pytest

from argentry.book.engine import close_book
from argentry.book.makings import add_making
from argentry.book.open import open_book
from argentry.book.plates import add_plate
from argentry.cli.main import main
from argentry.day.plan import make_day
from argentry.desk.bench import run as bench
from argentry.desk.numbers.makings import from_book
from argentry.desk.numbers.own_numbers import learned_numbers
from argentry.desk.numbers.studio_numbers import studio_of_folder
from argentry.keeping.clock import steady_clock
from argentry.keeping.studio import load_studio, new_studio
from argentry.needs.camera import Camera
from argentry.needs.develop import develop
from argentry.needs.expose import expose
from argentry.needs.frame import Frame
from argentry.needs.fume import Fuming, fume
from argentry.needs.light_lengths import light_length
from argentry.needs.over_iodine import box_today, computed_seconds
from argentry.needs.step_lengths import lengths_today
from argentry.records.ids import new_id
from argentry.records.instruments import Lamp
from argentry.records.plain import plain
from argentry.records.plate import Making, Plate
from argentry.sky.place import resolve_place
from argentry.web.app import create_app

DAY = date(2026, 6, 21)
NOW = datetime(2026, 6, 21, 10, 0, tzinfo=UTC)  # noon by the studio's clock
FACTOR = 1.3
STEPS = ("final_buff", "wash", "dry")


@dataclass(frozen=True)
class Doors:
    """Every door, already asked: what each says of each question as (low, middle, high)."""

    asked: dict
    as_written: dict
    learned: object
    now: object


def command(*words):
    said = StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit) as ended:
        main([*words, "--json"])
    assert ended.value.code == 0, said.getvalue()
    return json.loads(said.getvalue())


def teach(book, studio):
    """Eight plates timed over iodine, exposed and developed, so that every number is learned."""
    for number in range(8):
        plate = Plate(new_id(), f"T-{number}", size="quarter")
        add_plate(book, plate)
        day = date(2026, 5, 1) + timedelta(days=number)
        start = datetime(2026, 5, 1 + number, 10, 0, tzinfo=UTC)
        seconds = FACTOR * float(computed_seconds(box_today(studio), [25.0], [20.0])[0])
        conditions = {
            "fuming_seconds": seconds,
            "coat_nm": 25.0,
            "box_c": 20.0,
            "exposure_start": start.isoformat(),
            "exposure_seconds": 300.0,
            "development_start": (start + timedelta(minutes=20)).isoformat(),
            "development_end": (start + timedelta(minutes=140)).isoformat(),
            "cloud_okta": 0.0,
        }
        making = Making(
            new_id(),
            plate.id,
            None,
            f"{day}",
            number,
            day,
            grade="good",
            verdict="right",
            stages={"development": "ok"},
            conditions=conditions,
        )
        add_making(book, making, at=datetime(2026, 6, 1, tzinfo=UTC))


def three(low, middle, high):
    return (low, middle, high)


def of_state(state, key):
    step = next(one for one in state["plates"][0]["steps"] if one["key"] == key)
    return three(step["low_s"], step["planned_s"], step["high_s"])


def of_sheet(sheet, key):
    step = next(one for one in sheet["steps"] if one["step"] == key and one["plate"] == 1)
    return three(*(60.0 * step["minutes"][part] for part in ("low", "middle", "high")))


def over_http(folder, book):
    """Open a run on a page and return its state as the page gets it."""
    app = create_app(folder, book)
    base = "http://localhost:8440"

    async def go():
        transport = httpx.ASGITransport(app, client=("127.0.0.1", 50000))
        async with httpx.AsyncClient(transport=transport, base_url=base) as client:
            asked = {"plates": ["H-1"]}
            opened = await client.post("/api/runs", json=asked, headers={"Origin": base})
            answer = await client.get(f"/api/runs/{opened.json()['run']}")
            return answer.json()["state"]

    return asyncio.run(go())


def waited(sheet):
    """Return the minutes between camera and frame on a sheet."""
    first = {one["step"]: one for one in sheet["steps"] if one["plate"] == 1}
    taken, put_out = first["expose"]["end"], first["develop"]["start"]
    return (datetime.fromisoformat(put_out) - datetime.fromisoformat(taken)).total_seconds() / 60.0


def lit(studio, law, waited_min=0.0):
    """Return how long the bench lets a step in the light last that is begun at noon."""
    length = light_length(studio, law, NOW, NOW, constants={}, waited_min=waited_min).length
    return three(length.low, length.seconds, length.high)


def answers(folder, book, *, as_written):
    """Ask every door every question it answers."""
    written = load_studio(folder)
    flag = ("--as-written",) if as_written else ()
    numbers = None if as_written else learned_numbers(from_book(book, written))
    now = studio_of_folder(folder, as_written=as_written)[0]
    studio = now.studio
    place = resolve_place(studio)
    at = NOW.isoformat()
    at_studio = ("--studio", str(folder), *flag)

    expose_json = command("expose", "--at", at, *at_studio)
    fume_json = command("fume", "--nm", f"{studio.habits.coat_nm:g}", *at_studio)
    develop_json = command("develop", "--start", at, *at_studio)
    exposed = expose(place, NOW, Camera(), now)
    fumed = fume(Fuming(studio.habits.coat_nm), now)
    developed = develop(place, NOW, Frame(), now)
    plan = make_day(
        written, DAY, plates=1, learned=numbers, as_written=as_written, effort=0.5,
        simulated_days=10,
    )  # fmt: skip
    sheet = plain(plan)
    noon = next(row for row in sheet["hours"] if datetime.fromisoformat(row["time"]) == NOW)
    zone = ZoneInfo(studio.site.time_zone)
    put_out = next(s for s in plan.steps if s.step == "develop").start
    exposed_at = next(s for s in plan.steps if s.step == "expose").start
    assert put_out.tzinfo == zone

    clock = steady_clock(wall=lambda: NOW, passed=lambda: 0.0)
    run = bench.open_run(book, studio, [f"B-{as_written}"], clock=clock)
    state = bench.state_dict(bench.state(book, run, NOW))
    planned = bench.open_run(book, studio, [f"P-{as_written}"], clock=clock, plan=plan)
    by_plan = bench.state_dict(bench.state(book, planned, NOW))
    lengths = lengths_today(studio)

    def minutes(answer):
        low, high = answer["minutes_80"]
        return three(60.0 * low, 60.0 * answer["minutes"], 60.0 * high)

    def of_needs(answer):
        low, high = answer.minutes_80
        return three(60.0 * low, 60.0 * answer.minutes, 60.0 * high)

    def fuming(answer):
        low, high = answer["seconds_80"]
        return three(low, answer["seconds"], high)

    over = sheet["over_iodine_seconds"]
    found = {
        "seconds over iodine": {
            "command": fuming(fume_json),
            "needs": three(fumed.seconds_80[0], fumed.seconds, fumed.seconds_80[1]),
            "sheet": three(over["low"], over["middle"], over["high"]),
            "bench": of_state(state, "iodise"),
            "bench by the plan": of_state(by_plan, "iodise"),
        },
        "camera time at noon": {
            "command": minutes(expose_json),
            "needs": of_needs(exposed),
            "sheet": three(
                *(60.0 * noon["exposure_minutes"][k] for k in ("low", "middle", "high"))
            ),
        },
        "camera time as planned": {
            "command": minutes(command("expose", "--at", exposed_at.isoformat(), *at_studio)),
            "needs": of_needs(expose(place, exposed_at.astimezone(UTC), Camera(), now)),
            "sheet": of_sheet(sheet, "expose"),
            "bench by the plan": of_state(by_plan, "expose"),
        },
        "development begun at noon": {
            "command": minutes(develop_json),
            "needs": of_needs(developed),
        },
        "development as planned": {
            "command": minutes(
                command(
                    "develop",
                    "--start",
                    put_out.isoformat(),
                    "--waited",
                    f"{waited(sheet):g}",
                    *at_studio,
                )
            ),
            "needs": of_needs(
                develop(place, put_out.astimezone(UTC), Frame(waited_min=waited(sheet)), now)
            ),
            "sheet": of_sheet(sheet, "develop"),
            "bench by the plan": of_state(by_plan, "develop"),
        },
        "veil begun at noon": {
            "command": veiled(develop_json),
            "needs": veiled(plain(developed)),
        },
        "development dose": {
            "command": three(
                develop_json["dose_kj_m2_80"][0],
                develop_json["dose_kj_m2"],
                develop_json["dose_kj_m2_80"][1],
            ),
            "needs": three(
                developed.dose_kj_m2_80[0], developed.dose_kj_m2, developed.dose_kj_m2_80[1]
            ),
        },
    }
    found["camera time at noon"]["bench"] = lit(studio, "exposure")
    found["development begun at noon"]["bench"] = lit(studio, "development")
    found["development under a lamp"] = under_a_lamp(studio, now)
    page = None if as_written else over_http(folder, book)
    if page is not None:
        found["seconds over iodine"]["page"] = of_state(page, "iodise")
    for key in STEPS:
        length = lengths[key]
        found[f"length of {key}"] = {
            "needs": three(length.low, length.seconds, length.high),
            "sheet": of_sheet(sheet, key),
            "bench": of_state(state, key),
            "bench by the plan": of_state(by_plan, key),
        }
        if page is not None:
            found[f"length of {key}"]["page"] = of_state(page, key)
    found |= numbers_behind(
        (fume_json, expose_json, develop_json), sheet, (fumed, exposed, developed), numbers
    )
    return found, now


def veiled(answer):
    low, high = answer["minutes_veiled_80"]
    ends = (low, answer["minutes_veiled"], high)
    return three(*(inf if end is None else 60.0 * end for end in ends))


def under_a_lamp(studio, now):
    """Return the development under a lamp by command options, at the bench and on the sheet."""
    lamp = Lamp(500.0, 0.2)
    frame = replace(studio.frames[0], lamp=lamp)
    lamplit = replace(studio, frames=(frame,))
    made = make_day(lamplit, DAY, plates=1, effort=0.5, simulated_days=10)
    wait = waited(plain(made))
    options = Frame(lamp_w=lamp.power_w, lamp_m=lamp.distance_m, waited_min=wait)
    asked = develop(None, NOW, options, now)
    low, high = asked.minutes_80
    return {
        "needs": three(60.0 * low, 60.0 * asked.minutes, 60.0 * high),
        "bench": lit(lamplit, "development", wait),
        "sheet": of_sheet(plain(made), "develop"),
    }


def numbers_behind(commands, sheet, needs, learned):
    """Return what each door says of the numbers behind its answers."""
    found = {}
    for what in ("box_factor", "plate_speed", "development_dose"):
        said = {}
        for name, answer in zip(("fume", "expose", "develop"), commands, strict=True):
            for one in answer["numbers_in_use"]:
                if one["what"] == what:
                    said[f"command {name}"] = three(one["low"], one["value"], one["high"])
        for one in sheet["numbers_in_use"]:
            if one["what"] == what:
                said["sheet"] = three(one["low"], one["value"], one["high"])
        for answer in needs:
            for one in answer.numbers_in_use:
                if one.what == what:
                    said["needs"] = three(one.low, one.value, one.high)
        own = None if learned is None else learned.of(what)
        if own is not None:
            said["learning"] = three(own.low, own.value, own.high)
        found[what.replace("_", " ")] = said
    return found


@pytest.fixture(scope="module")
def doors(tmp_path_factory):
    folder = tmp_path_factory.mktemp("doors") / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    try:
        teach(book, load_studio(folder))
        asked, now = answers(folder, book, as_written=False)
        as_written, _ = answers(folder, book, as_written=True)
        learned = learned_numbers(from_book(book, load_studio(folder)))
        yield Doors(asked, as_written, learned, now)
    finally:
        close_book(book)


QUESTIONS = (
    "seconds over iodine",
    "camera time at noon",
    "camera time as planned",
    "development begun at noon",
    "development as planned",
    "development under a lamp",
    "veil begun at noon",
    "development dose",
    *(f"length of {key}" for key in STEPS),
    "box factor",
    "plate speed",
)


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("as_written", [False, True])
def test_every_door_gives_the_same_number_and_range(doors, question, as_written):
    said = (doors.as_written if as_written else doors.asked)[question]
    assert len(said) >= 2, said
    low, middle, high = next(iter(said.values()))
    assert low < middle < high, said
    for door, answer in said.items():
        # the bench keeps tenths of a second
        assert answer == pytest.approx((low, middle, high), rel=2e-4, abs=0.051), (door, said)


@pytest.mark.parametrize("question", ["seconds over iodine", "camera time at noon", "box factor"])
def test_what_the_plates_taught_moves_every_door(doors, question):
    taught = next(iter(doors.asked[question].values()))[1]
    believed = next(iter(doors.as_written[question].values()))[1]
    assert taught != pytest.approx(believed, rel=0.05)


def test_learned_numbers_are_named_with_count_and_date(doors, tmp_path_factory):
    used = {one.what: one for one in doors.now.learned}
    assert {"plate_speed", "box_factor", "development_dose"} <= set(used)
    assert used["box_factor"].plates == 8
    assert used["box_factor"].day == date(2026, 5, 8)


def test_under_a_forecast_the_sheet_speaks_of_the_same_skies_as_the_commands(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    rows = "".join(f"2026-06-21T{hour:02d}:00,{hour % 6}\n" for hour in range(24))
    head = "# time_zone: UTC\n# stamp: start\n# kind: forecast\ntime,cloud_okta\n"
    file = tmp_path / "forecast.csv"
    file.write_text(head + rows, encoding="utf-8")
    named = ("--studio", str(folder), "--weather", str(file))
    sheet = command("day", "2026-06-21", "--plates", "1", *named)
    for key, asking, option in (("expose", "expose", "--at"), ("develop", "develop", "--start")):
        step = next(one for one in sheet["steps"] if one["step"] == key)
        more = ("--waited", f"{waited(sheet):g}") if key == "develop" else ()
        answer = command(asking, option, step["start"], *more, *named)
        said = (answer["minutes_80"][0], answer["minutes"], answer["minutes_80"][1])
        assert tuple(step["minutes"][k] for k in ("low", "middle", "high")) == pytest.approx(said)
        begun, ended = (datetime.fromisoformat(step[k]) for k in ("start", "end"))
        took = (ended - begun).total_seconds() / 60.0
        assert took == pytest.approx(answer["minutes"], abs=1.0), "the plan goes by that middle"
