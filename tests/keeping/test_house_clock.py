"""The house's clock against the machine's: told, and set by an event."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.bench_studio import Table, studio

from argentry.book.log import events, last_at, runs
from argentry.desk.bench.run import clock_for, state
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.clock import steady_clock
from argentry.keeping.house_clock import agreed_clock, compare, set_clock
from argentry.keeping.plates.grades import add_event
from argentry.keeping.plates.plates import new_plates, note_work
from argentry.keeping.stock.baths import discard_bath, new_bath, note_clearing
from argentry.keeping.stock.waste import collected
from argentry.keeping.studio import new_studio

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
DAYS = timedelta(days=3)


class Machine:
    """A wall clock that somebody puts right while a stopwatch goes on."""

    def __init__(self, wall):
        self.wall, self.passed = wall, 0.0

    def wait(self, seconds):
        self.wall += timedelta(seconds=seconds)
        self.passed += seconds

    def clock(self, last=None, since=0):
        return steady_clock(last, since, wall=lambda: self.wall, passed=lambda: self.passed)


def at_table(book, machine):
    table = Table(book, studio())
    table.clock = machine.clock(last_at(book))
    table.wait = machine.wait
    return table


def begun(table):
    table.open("Q-1")
    table.cautions()
    plate = table.plate()
    table.first, table.second = [s.key for s in plate.steps if s.state in ("ready", "waiting")][:2]
    table.say("step_begun", plate.id, table.first)
    table.wait(60.0)
    table.say("step_ended", plate.id, table.first)


def test_two_clocks_that_agree_say_nothing():
    machine = Machine(NOON)
    found = compare(machine.clock(), UTC)
    assert (found.agree, found.words, found.ahead_s) == (True, "", 0.0)
    machine.wall += timedelta(seconds=119)
    assert compare(machine.clock(NOON), UTC).agree


@pytest.mark.parametrize(
    ("put_right", "span"), [(DAYS, "3 d behind"), (-timedelta(days=365), "365 d ahead of")]
)
def test_a_wall_clock_put_right_while_the_house_is_open_is_told(put_right, span):
    machine = Machine(NOON)
    clock = machine.clock()
    machine.wait(3600.0)
    machine.wall += put_right
    found = compare(clock, UTC)
    assert not found.agree
    assert found.ahead_s == -put_right.total_seconds()
    assert span in found.words
    assert "argentry book clock --set" in found.words


def test_a_house_that_was_three_days_behind_is_set_and_lengths_stay(book):
    machine = Machine(NOON - DAYS)
    table = at_table(book, machine)
    begun(table)
    machine.wall += DAYS
    assert set_clock(book, table.clock, "host") == 1
    assert compare(table.clock, UTC).agree
    now = state(book, table.run, table.clock.now())
    assert abs(now.opened - NOON) < timedelta(seconds=1)
    assert now.plates[0].step(table.first).elapsed_s == pytest.approx(60.0, abs=0.01)
    assert not now.odd
    assert runs(book)[0].opened == now.opened
    table.wait(30.0)
    table.say("step_begun", table.plate().id, table.second)
    waited = table.plate().step(table.second).waited_s
    assert waited == pytest.approx(30.0, abs=0.1)


def test_an_event_of_a_year_ahead_rules_no_later_start(book):
    ahead = Machine(NOON + timedelta(days=365))
    table = at_table(book, ahead)
    begun(table)
    machine = Machine(NOON)  # the machine's clock was put right, the server started again
    again = machine.clock(last_at(book))
    found = compare(again, UTC)
    assert not found.agree  # told, never silently
    assert set_clock(book, again, "host") == 1
    assert compare(again, UTC).agree
    assert compare(machine.clock(last_at(book)), UTC).agree  # and every later start is right
    [head] = runs(book)
    assert abs(head.opened - NOON) < timedelta(minutes=2)
    assert state(book, head.run).plates[0].step(table.first).elapsed_s == pytest.approx(
        60.0, abs=0.01
    )


def test_a_run_written_before_by_a_right_clock_stays_where_it_was(book):
    right = Machine(NOON - timedelta(days=5))
    table = at_table(book, right)
    begun(table)
    early = runs(book)[0]
    behind = Machine(NOON - DAYS)
    clock = behind.clock(last_at(book), since=early.last_seq)
    behind.wall += DAYS
    assert set_clock(book, clock, "host") == 0
    assert runs(book)[0] == early


def test_a_clock_set_again_and_again_cuts_no_step_in_two(book):
    """The machine's clock goes back three days, then on two years, then back to what it was."""
    machine = Machine(NOON)
    table = at_table(book, machine)
    begun(table)
    for jump in (-DAYS, timedelta(days=700), -timedelta(days=697)):
        table.wait(60.0)
        table.say("remark_made", None, None, words="it goes on")
        machine.wall += jump
        assert set_clock(book, table.clock, "host") == 1
        now = state(book, table.run, table.clock.now())
        assert not now.odd
        assert [one.at for one in now.remarks] == sorted(one.at for one in now.remarks)
        assert now.remarks[-1].at <= table.clock.now()
    table.say("step_begun", table.plate().id, table.second)
    assert table.plate().step(table.second).waited_s == pytest.approx(180.0, abs=0.1)
    assert abs(runs(book)[0].opened - NOON) < timedelta(minutes=1)


def test_a_run_of_an_earlier_server_is_moved_from_where_it_lies_ahead_now(book):
    """Its raw times lie behind: the clock was set forward after they were written."""
    machine = Machine(NOON - DAYS)
    table = at_table(book, machine)
    begun(table)
    machine.wall += 3 * DAYS  # too far
    set_clock(book, table.clock, "host")
    again = Machine(NOON)  # put right; the server is started again
    clock = again.clock(last_at(book), since=table.clock.since + 10_000)
    assert set_clock(book, clock, "host") == 1
    [head] = runs(book)
    now = state(book, head.run, NOON + timedelta(minutes=2))
    assert abs(head.opened - NOON) < timedelta(minutes=2)
    assert now.plates[0].step(table.first).elapsed_s == pytest.approx(60.0, abs=0.01)


def test_the_log_says_who_set_it_and_by_how_much(book):
    machine = Machine(NOON)
    clock = machine.clock()
    machine.wall -= timedelta(hours=1)
    set_clock(book, clock, "the host")
    [said] = events(book, "house")
    assert (said.kind, said.device, said.body["by_us"]) == ("clock_set", "the host", -3_600_000_000)
    assert runs(book) == []


def test_one_entry_from_a_terminal_is_refused_while_the_newest_event_lies_ahead(book):
    table = Table(book, studio(), start=datetime.now(UTC) + timedelta(days=2))
    table.open("Q-1")
    with pytest.raises(BadInput, match="48 h ahead of the clock of this machine"):
        add_event(book, table.run, "remark_made", None, {"words": "x"}, "me")
    set_clock(book, clock_for(book), "me")
    assert agreed_clock(book)
    add_event(book, table.run, "remark_made", None, {"words": "x"}, "me")


ENTRIES = {
    "work": lambda folder, at=None: note_work(folder, "W-1", "polished", at=at),
    "bath": lambda folder, at=None: new_bath(folder, "Fix 2", "fix", 500.0, mixed_at=at),
    "waste": lambda folder, at=None: collected(folder, at=at),
    "cleared": lambda folder: note_clearing(folder, "Fix 1", 12.0),
    "discard": lambda folder: discard_bath(folder, "Fix 1"),
}


@pytest.mark.parametrize("entry", ENTRIES)
def test_every_entry_from_a_terminal_goes_by_the_clock_of_the_house(entry, tmp_path):
    """Plates' works, baths and waste went by the machine's, where grades were refused."""
    folder = tmp_path / "studio"
    new_studio(folder, {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"})
    new_plates(folder, ["W-1"])
    for name in ("Fix 0", "Fix 1"):
        new_bath(folder, name, "fix", 500.0)
    discard_bath(folder, "Fix 0")
    with studio_book(folder) as book:
        table = Table(book, studio(), start=datetime.now(UTC) + timedelta(days=2))
        table.open("Q-1")
    with pytest.raises(BadInput, match="48 h ahead of the clock of this machine"):
        ENTRIES[entry](folder)
    if entry in ("work", "bath", "waste"):  # a time that is given is what it is
        ENTRIES[entry](folder, at=datetime.now(UTC) - timedelta(hours=1))
        with pytest.raises(BadInput, match="in the future"):
            ENTRIES[entry](folder, at=datetime.now(UTC) + timedelta(days=3))
