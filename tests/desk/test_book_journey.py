"""The whole of the plate book in one go, as a maker meets it, on either store.

The demo year goes in; a day is planned and run at the bench with sensors, a second tablet, a slip
taken back and a queue sent twice; plates are graded; the book is backed up in mid-run, looked
over, exported, and brought back on the other store, where everything is as it was.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from tests.stores import count_readings

from argentry.bench.hands import hands_next
from argentry.book.engine import close_book
from argentry.book.log import runs
from argentry.book.makings import makings
from argentry.book.open import open_book
from argentry.book.plates import plates
from argentry.cli.main import main
from argentry.desk.bench import run as bench
from argentry.desk.house import open_house
from argentry.desk.readings.at_house import add_reading, latest_readings
from argentry.desk.runs import add_events, open_planned_run, run_answer
from argentry.exchange.archive.archive import export_book, import_archive
from argentry.keeping.clock import steady_clock
from argentry.records.ids import new_id

MORNING = datetime(2026, 6, 21, 5, 0, tzinfo=UTC)  # seven on the studio's wall


def typed(words):
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert not ended.value.code, words


class Maker:
    """A maker with a book: commands typed, taps made, and a clock that goes when told."""

    def __init__(self, studio, address):
        self.studio, self.address = studio, address
        self.passed = 0.0
        self.sent = []
        self.book = None

    def type(self, *words):
        """Type one command; it must succeed."""
        where = ["--book", self.address] if self.address else []
        typed([*words, *where, "--studio", str(self.studio)])

    def open(self):
        self.book = open_book(self.address or self.studio, folder=self.studio)
        clock = steady_clock(wall=lambda: MORNING, passed=lambda: self.passed)
        self.house = replace(open_house(self.studio, self.book), clock=clock)

    def tap(self, kind, *, plate=None, step=None, age_s=0.0, device="tablet", **body):
        event = {
            "id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body,
            "age_s": age_s,
        }  # fmt: skip
        self.sent.append(event)
        answer = add_events(self.house, self.run, [event], device)
        assert answer["refused"] == []
        return event["id"]

    def read(self, what, value, unit, age_s=None):
        given = {"what": what, "value": value, "unit": unit, "at": None, "age_s": age_s}
        return add_reading(self.house, {**given, "id": None, "run": None, "plate": None}, "shelf")

    def state(self):
        return bench.state(self.book, self.run, self.house.clock.now())

    def work(self, until=lambda _state: False):
        """Do what the bench asks for, one thing after the other."""
        while True:
            state = self.state()
            asked = hands_next(state)
            if not asked or until(state):
                return state
            hand = asked[0]
            if hand.check:
                ask = state.plate(hand.plate).step(hand.check).ask
                self.tap(
                    "check_answered", plate=hand.plate, step=hand.check, answer="right",
                    value=None, words="", when=ask.when, at_minutes=ask.at_minutes,
                )  # fmt: skip
            elif hand.want == "ripe":
                self.tap("step_ended", plate=hand.plate, step=hand.step)
            elif hand.action == "begin" and hand.want != "wait":
                for caution in state.cautions_due(hand.step):
                    self.tap("caution_shown", step=hand.step, caution=caution.key)
                self.tap("step_begun", plate=hand.plate, step=hand.step)
            else:
                self.passed += max(hand.left_s if hand.want == "busy" else hand.in_s, 1.0)


@pytest.fixture(params=["sqlite", "postgresql"])
def maker(request, tmp_path):
    address = None
    if request.param == "postgresql":
        address = request.getfixturevalue("postgres").database()
    made = Maker(tmp_path / "studio", address)
    yield made
    if made.book is not None:
        close_book(made.book)


@pytest.fixture
def other(maker, postgres, tmp_path):
    """An empty book on the store that the maker's is not on."""
    if maker.address:
        (tmp_path / "elsewhere").mkdir()
        book = open_book(tmp_path / "elsewhere")
    else:
        book = open_book(postgres.database(), folder=tmp_path)
    yield book
    close_book(book)


def records(archive):
    """Return the bytes of every record and table in an archive, by name."""
    files = sorted((archive / "data").rglob("*"))
    return {str(f.relative_to(archive)): f.read_bytes() for f in files if f.is_file()}


def test_from_the_demo_year_to_the_same_book_elsewhere(maker, other, tmp_path):
    typed(["demo", str(maker.studio)])
    maker.type("book", "import", str(maker.studio / "plates.csv"))
    maker.open()
    year = len(makings(maker.book))
    assert year > 100
    maker.type("book", "import", str(maker.studio / "plates.csv"))  # known again, not doubled
    assert len(makings(maker.book)) == year

    # a day of two plates; the box is colder than usual, and one thermometer lies
    maker.run = open_planned_run(maker.house, "2026-06-21", 2, ["J1", "J2"], "Midsummer", "host")
    planned = {p.label: p.step("iodise").planned_s for p in maker.state().plates}
    assert set(planned) == {"J1", "J2"}
    assert maker.read("box_c", 55.4, "°F").value == 13.0
    assert maker.read("box_c", -127.0, "°C").used is False
    cold = maker.state()
    for plate in cold.plates:
        longer = plate.step("iodise")
        assert longer.planned_s > planned[plate.label]
        assert "13" in longer.changes[-1].why
    assert latest_readings(maker.house)["box_c"].value == 13.0

    # to the middle of the day; a slip is taken back, a late word comes from a second tablet
    state = maker.work(until=lambda s: any(p.step("expose").state == "done" for p in s.plates))
    slip = maker.tap("remark_made", words="the wrong plate")
    maker.tap("corrected", event=slip, withdrawn=True)
    maker.tap("remark_made", age_s=240.0, device="phone", words="sun was veiled")
    exposed = next(p for p in maker.state().plates if p.step("expose").state == "done")
    assert [r.words for r in maker.state().remarks] == ["sun was veiled"]
    maker.read("light_lx", 30.0, "klx")

    # a backup in mid-run, and on to the end
    maker.type("book", "backup", str(tmp_path / "safe"))
    assert any((tmp_path / "safe").iterdir())
    state = maker.work()
    assert {p.state for p in state.plates} == {"done"}
    for plate in state.plates:
        developed = plate.step("develop")
        assert developed.elapsed_s >= developed.planned_s - 1.0  # later when hands were elsewhere
        assert developed.answer in (None, "right")
        assert all(s.state in ("done", "skipped") for s in plate.steps)
    assert exposed.step("expose").elapsed_s == state.plate(exposed.id).step("expose").elapsed_s
    maker.tap("run_closed")
    ended = maker.state()
    assert ended.state == "closed"
    assert ended.odd == ()

    # a tablet that was away sends its whole day again: nothing changes
    before = run_answer(maker.house, maker.run)
    again = add_events(maker.house, maker.run, maker.sent, "tablet")
    assert all(one["duplicate"] for one in again["stored"])
    assert len(again["stored"]) == len(maker.sent)
    after = run_answer(maker.house, maker.run)
    assert after.events == before.events

    # judged by typed words
    maker.type("plate", "grade", "J1", "fine", "--verdict", "right")
    maker.type("plate", "grade", "J2", "study")
    maker.type("plate", "defect", "J2", "fog", "--from", "develop")
    maker.type("bath", "new", "fixer 1", "hypo", "--volume-ml", "500")
    maker.type("bath", "use", "fixer 1", "J1", "J2")
    graded = {o.grade for o in makings(maker.book) if o.run == maker.run}
    assert graded == {"fine", "study"}
    maker.type("book", "check")

    # out, into an empty book on the other store, and out again
    first, second = tmp_path / "first", tmp_path / "second"
    maker.type("book", "export", str(first))
    import_archive(other, first)
    export_book(other, second)
    assert records(second) == records(first)
    assert plates(other) == plates(maker.book)
    assert makings(other) == makings(maker.book)
    assert runs(other) == runs(maker.book)
    assert count_readings(other) == count_readings(maker.book)
    later = maker.house.clock.now() + timedelta(hours=1)
    assert bench.state(other, maker.run, later) == bench.state(maker.book, maker.run, later)
