"""A season through the real doors: what the book then holds, and what it has taught.

A maker works 20 plates over 8 days through commands and HTTP alone, in a world whose truth is
hidden (hidden_world.py): redoes coats, gives plates up, loses some and makes them again, grades on
the bench and with commands, adds readings, plans again. 40 plates over 15 days are worked by
`python -m benchmarks whole_tests`.
"""

from __future__ import annotations

import html
import math
import re
import sys
from datetime import UTC, date, datetime, time, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from tests.counts import few

from argentry.needs.doubt.percent import percent, percent_range
from argentry.out.wording import clock, count_range
from argentry.records.day import Range


def _beside(name):
    spec = spec_from_file_location(f"circle_{name}", Path(__file__).with_name(f"{name}.py"))
    module = sys.modules[spec.name] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


doors, hidden, making = _beside("doors"), _beside("hidden_world"), _beside("maker")

pytestmark = pytest.mark.slow

FIRST = date(2025, 6, 2)
COAT_NM = 25.0  # what a new studio aims at
NOON = datetime(2025, 6, 10, 12, 0, tzinfo=UTC)
if few(False, True):
    COUNTS = (2, 3, 3, 2, 3, 3, 3, 2, 3, 3, 2, 3, 3, 3, 2)
    PLANNED = (0, 7, 14)  # days of which the run is opened from a plan
    UNTOUCHED, AWAY = 4, 9  # a plate of this day is not begun; on that one the maker leaves early:
    LEAVES = time(10, 50)  # with a plate in hand
    MADE = 0  # plates before
    REDONE = 5  # coats, at least
    LEFT = 0.5  # of how far off the numbers were believed, at most
else:
    COUNTS = (2, 3, 3, 2, 3, 3, 2, 2)
    PLANNED = (0, 3, 7)
    UNTOUCHED, AWAY = 2, 5
    LEAVES = time(10, 40)
    MADE = 22  # the fates of these plates are as mixed as those of the whole season
    REDONE = 3
    LEFT = 0.6
PLATES = sum(COUNTS)
TOMORROW = FIRST + timedelta(days=len(COUNTS))
AT = f"{TOMORROW}T12:00"
DOORS = {
    "fume": ("fume", "--nm", COAT_NM, "--box-temp", 20),
    "expose": ("expose", "--at", AT),
    "develop": ("develop", "--start", AT),
}


class Season:
    """All that the tests ask about."""

    def __init__(self, folder):
        self.commands = doors.Commands(folder)
        self.commands(
            "studio", "new", folder, "--name", "Circle yard", "--tz", "Europe/Madrid",
            "--lat", hidden.LATITUDE, "--lon", hidden.LONGITUDE, "--elevation-m", 350,
        )  # fmt: skip
        file = folder / "studio.toml"
        text = re.sub(r"(?m)^#? ?count = \d+", "count = 3", file.read_text())
        file.write_text(re.sub(r'(?m)^(# )?start = "\d\d:\d\d"', 'start = "09:30"', text))
        self.believed = self.answers()
        self.server = doors.Server(folder, datetime.combine(FIRST, time(5), UTC))
        believed = {
            "fume_s": self.believed["fume"]["seconds"],
            "camera_s": 60.0 * self._noon("expose", "--at")["minutes"],
            "ripe_s": 60.0 * self._noon("develop", "--start")["minutes"],
        }
        self.world = hidden.World(believed, NOON)
        self.maker = making.Maker(self.commands, self.server, self.world, MADE)

    def _noon(self, command, option):
        return self.commands.json(command, option, NOON.isoformat())

    def answers(self):
        """What the commands say of the day after the season."""
        return {
            "day": self.commands.json("day", TOMORROW, "--plates", 2),
            **{door: self.commands.json(*words) for door, words in DOORS.items()},
        }

    def work(self):
        for n, count in enumerate(COUNTS):
            self.maker.work(
                FIRST + timedelta(days=n),
                count,
                plan=n in PLANNED,
                untouched=int(n == UNTOUCHED),
                leaves_at=LEAVES if n == AWAY else None,
            )
        self.after = self.answers()


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    made = Season(tmp_path_factory.mktemp("circle") / "studio")
    made.work()
    yield made
    made.server.close()


# ---- the book holds exactly what was done


def shown(season, label):
    return season.commands.json("plate", "show", label)["outcomes"]


def told(one):
    """A making as the book has it, in the ledger's terms."""
    defects = sorted([row["defect"], row["from"]] for row in one["defects"])
    return (one["run"], one["state"], one["grade"], one["verdict"], defects)


def ledger_of(season):
    found = {}
    for passage in season.maker.ledger:
        if passage.begun:
            found.setdefault(passage.label, []).append(passage)
    return found


def meant(passage):
    state = "given_up" if passage.given_up else "finished"
    return (passage.run, state, passage.grade, passage.verdict, sorted(passage.defects))


def test_the_season_was_as_full_as_it_should_be(season):
    ledger = season.maker.ledger
    done = [one for one in ledger if one.begun]
    assert (len(done), len({one.run for one in ledger})) == (PLATES, len(COUNTS))
    assert sum(one.coats > 1 for one in done) >= REDONE, "coats done again"
    assert {one.given_up[1] for one in done if one.given_up} == {"fault", "outward"}
    assert sum(one.grade == "lost" for one in done) >= 3
    assert any(not one.begun for one in ledger), "opened and never begun"
    assert max(len(rows) for rows in ledger_of(season).values()) >= 2, "made again"


def test_every_making_is_in_the_book_with_its_grade(season):
    rows = season.commands.json("plate", "list")["plates"]
    ledger = ledger_of(season)
    assert {row["label"] for row in rows} == {one.label for one in season.maker.ledger}
    for label, passages in ledger.items():
        held = sorted(told(one) for one in shown(season, label))
        assert held == sorted(meant(one) for one in passages), label


def test_times_and_readings_of_every_making_are_those_of_the_ledger(season):
    for label, passages in ledger_of(season).items():
        by_run = {one["run"]: one["conditions"] for one in shown(season, label)}
        for passage in passages:
            held, last = by_run[passage.run], dict(passage.readings)
            for quantity in ("box_c", "room_c", "room_rh_pct", "plate_c", "coat_nm"):
                assert held.get(quantity) == last.get(quantity), (label, quantity)
            for column, law in (("fuming_seconds", "fuming"), ("exposure_seconds", "exposure")):
                took = passage.seconds.get(law)
                assert held.get(column) == pytest.approx(took, abs=0.2), (label, column)


def test_the_log_holds_every_press_and_why_plates_were_given_up(season):
    for run in {one.run for one in season.maker.ledger}:
        mine = [one for one in season.maker.ledger if one.run == run]
        answer = season.server.get(f"/api/runs/{run}")
        events = answer["events"]
        read = [(e["body"]["what"], e["body"]["value"]) for e in events
                if e["kind"] == "reading_taken"]  # fmt: skip
        own = [reading for one in mine for reading in one.readings[4:]]
        assert sorted(read) == sorted([*mine[0].readings[:4], *own])
        plates = {plate["label"]: plate for plate in answer["state"]["plates"]}
        for one in mine:
            held = plates[one.label]["given_up"]
            said = held and (held["stage"], held["reason"], held["defect"], held["outward"])
            assert said == one.given_up
        redone = [e for e in events if e["kind"] == "step_redone"]
        assert len(redone) == sum(one.redone for one in mine)


def test_the_book_is_sound_and_goes_out_whole(season, tmp_path):
    assert season.commands.json("book", "check")["ok"]
    made = season.commands.json("book", "export", tmp_path / "bag")
    assert made["tables"]["making"] == PLATES


# ---- what it has taught


def learned(season):
    return {row["what"]: row for row in season.commands.json("learn", "show")["numbers"]}


@pytest.mark.parametrize(
    ("what", "truth"),
    [
        ("box_factor", hidden.BOX_FACTOR),
        ("plate_speed", 2.0**-hidden.SLOWER_STOPS),
        ("development_dose", hidden.DOSE_FACTOR),
    ],
)
def test_learned_numbers_lie_nearer_the_truth_than_what_was_believed(season, what, truth):
    row = learned(season)[what]
    off = math.log(row["value"] / row["believed"] / truth)
    assert abs(off) < LEFT * abs(math.log(truth))
    assert not row["mostly_prior"]
    assert math.log(row["high"] / row["low"]) < math.log(row["believed_high"] / row["believed_low"])


@pytest.mark.parametrize(
    ("door", "key", "truth"),
    [
        ("fume", "seconds", hidden.BOX_FACTOR),
        ("expose", "minutes", 2.0**hidden.SLOWER_STOPS),
        ("develop", "dose_kj_m2", hidden.DOSE_FACTOR),
    ],
)
def test_the_next_answer_has_moved_towards_the_truth(season, door, key, truth):
    moved = season.after[door][key] / season.believed[door][key]
    assert abs(math.log(moved / truth)) < LEFT * abs(math.log(truth))


def test_the_next_plan_has_moved_with_it(season):
    def minutes(plan, step):
        return next(s["minutes"]["middle"] for s in plan["steps"] if s["step"] == step)

    before, after = season.believed["day"], season.after["day"]
    ratio = after["over_iodine_seconds"]["middle"] / before["over_iodine_seconds"]["middle"]
    assert ratio == pytest.approx(hidden.BOX_FACTOR, rel=0.1)
    assert minutes(after, "expose") > 1.2 * minutes(before, "expose")
    assert minutes(after, "develop") > 1.1 * minutes(before, "develop")


def test_as_written_nothing_of_it_is_used(season):
    for door in ("fume", "expose", "develop"):
        words = DOORS[door]
        assert (
            season.commands.json(*words, "--as-written")["numbers_in_use"]
            == season.believed[door]["numbers_in_use"]
        )


# ---- no two doors disagree


def test_commands_and_plan_use_the_same_numbers(season):
    rows = learned(season)
    for door in ("fume", "expose", "develop", "day"):
        for used in season.after[door]["numbers_in_use"]:
            row = rows[used["what"]]
            assert [used[k] for k in ("value", "low", "high", "plates")] == pytest.approx(
                [row[k] for k in ("value", "low", "high", "plates")]
            ), (door, used["what"])
    plan = season.after["day"]["over_iodine_seconds"]
    fume = season.after["fume"]
    assert [plan["low"], plan["middle"], plan["high"]] == pytest.approx(
        [fume["seconds_80"][0], fume["seconds"], fume["seconds_80"][1]], rel=1e-3
    )


def test_bench_and_page_say_what_the_command_says(season):
    server = season.server
    server.wait_until(datetime.combine(TOMORROW, time(10), UTC))
    server.catch_up()
    run = server.post("/api/runs", plates=["C-99"])["run"]
    steps = server.get(f"/api/runs/{run}")["state"]["steps"]
    fuming = next(step for step in steps if step["law"] == "fuming")
    fume = season.after["fume"]
    assert fuming["planned_s"] == pytest.approx(fume["seconds"], abs=0.2)
    assert [fuming["low_s"], fuming["high_s"]] == pytest.approx(fume["seconds_80"], abs=0.2)
    page = server.page("/learned?fresh=1")
    assert f"{learned(season)['box_factor']['value']:.2f}" in page


def test_the_first_page_plans_the_day_as_the_command_does(season):
    # by the server's clock tomorrow has come by now, and half of it is gone
    after = season.server.now().date() + timedelta(days=1)
    day = season.commands.json("day", after, "--plates", 2)
    page = season.server.page(f"/today/plan?date={after}&count=2")
    page = html.unescape(page)
    assert 'data-state="whole"' in page
    told = dict(re.findall(r"<dt>([^<]+).*?<dd><button[^>]*>([^<]*)</button>", page))
    days, share = day["days_simulated"], day["good_share"]
    assert told == {
        "enough light for all": percent(day["light_odds"], days),
        "all finished in time": percent(day["all_finished_share"], days),
        "plates finished on average": count_range(Range(**day["finished"])),
        "good plates on average": count_range(Range(**day["good_plates"])),
        "chance that a finished plate is good": percent_range(Range(**share)),
    }
    rows = re.findall(r'<th scope="row" class="figure">([\d:]+)</th>', page)
    starts = {clock(datetime.fromisoformat(step["start"])) for step in day["steps"]}
    assert rows
    assert set(rows) <= starts
    assert rows[0] == min(starts)


def test_what_waits_for_a_grade_is_on_the_first_page(season):
    waiting = [one.label for one in season.maker.ungraded]
    first = season.server.page("/")
    assert waiting
    assert all(f"/plates/{label}#" in first for label in waiting)
