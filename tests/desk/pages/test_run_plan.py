"""The plan of a run on the desk's page, and a new one answered there."""

from __future__ import annotations

from datetime import UTC, datetime
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from argentry.book.engine import close_book
from argentry.book.log import append
from argentry.book.open import open_book
from argentry.desk.bench.run import open_run
from argentry.desk.house import open_house
from argentry.desk.pages.run_plan import answer_offer, run_plan
from argentry.errors import BadInput
from argentry.keeping.studio import new_studio
from argentry.records.event import Event
from argentry.records.ids import new_id

_path = Path(__file__).parents[2] / "out" / "day_fixture.py"
_spec = spec_from_file_location("day_fixture", _path)
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)


@pytest.fixture
def house(tmp_path):
    new_studio(tmp_path / "studio", {"--tz": "Europe/Madrid"})
    book = open_book(tmp_path / "studio")
    yield open_house(tmp_path / "studio", book)
    close_book(book)


@pytest.fixture
def run(house):
    now = datetime.now(UTC)
    day = (now.year, now.month, now.day)
    plan = fixture.make_plan(2, date=day, zone="UTC", begin=f"{now:%H:%M}")
    return open_run(house.book, house.studio, ["One", "Two"], clock=house.clock, plan=plan)


def offer(house, run):
    body = {"plan": {}, "lines": ["Two no longer fits."], "share": 0.7, "kept_share": 0.4}
    event = Event(new_id(), run, "plan_offered", house.clock.now(), body=body, device="house")
    append(house.book, [event])
    return event.id


def test_every_plate_says_what_it_wants_and_what_is_planned(house, run):
    shown = run_plan(house, run)
    assert [one.label for one in shown.plates] == ["One", "Two"]
    assert shown.plates[0].now.endswith("may begin")
    assert all("to spare; then" in one.planned for one in shown.plates)
    assert shown.next.startswith("Next by the plan: One, ")
    assert (shown.offer, shown.offered) == ((), "")


@pytest.mark.parametrize("answer", ["take", "keep"])
def test_a_new_plan_is_answered_once(house, run, answer):
    made = offer(house, run)
    shown = run_plan(house, run)
    assert shown.offered == made
    assert shown.offer == (
        "New plan: Two no longer fits.",
        "All finished by it on 70 % of such days, by the old order on 40 %.",
    )
    answer_offer(house, run, made, answer, "host")
    assert run_plan(house, run).offered == ""
    with pytest.raises(BadInput, match="already"):
        answer_offer(house, run, made, answer, "host")


def test_a_new_plan_for_plates_that_are_all_given_up_is_not_shown(house, run):
    """The bench had nothing to answer it by, and the first page said to answer it."""
    offer(house, run)
    for plate in run_plan(house, run).state.plates:
        up = Event(new_id(), run, "plate_abandoned", house.clock.now(), plate.id, device="house")
        append(house.book, [up])
    shown = run_plan(house, run)
    assert shown.state.offer is not None
    assert (shown.plates, shown.offer, shown.offered) == ((), (), "")


def test_another_answer_is_one_sentence(house, run):
    with pytest.raises(BadInput, match="'perhaps' is not an answer"):
        answer_offer(house, run, offer(house, run), "perhaps", "host")
    with pytest.raises(BadInput, match=f"'{'x' * 20}' is not"):
        answer_offer(house, run, offer(house, run), "x" * 21, "host")
