"""The plan of the day on the bench page: planned times, latest starts, a new plan taken or not."""

from datetime import UTC, datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from argentry.desk.bench.run import open_run

PHONE, TABLET, SIDE = (390, 844), (820, 1180), (844, 390)
_spec = spec_from_file_location("day_fixture", Path(__file__).parents[1] / "out" / "day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)


@pytest.fixture
def planned(server):
    """Open a run of some plates with a plan that begins so many minutes from now."""

    def make(*labels, begins_in=5.0):
        house = server.app.state.house
        begin = datetime.now(UTC) + timedelta(minutes=begins_in)
        day = (begin.year, begin.month, begin.day)
        plan = fixture.make_plan(len(labels), date=day, zone="UTC", begin=f"{begin:%H:%M}")
        run = open_run(house.book, house.studio, labels, clock=house.clock, plan=plan, title="Day")
        keys = [caution.key for caution in server.state(run).cautions_unread()]
        server.send(run, "cautions_read", cautions=keys)
        return run

    return make


@pytest.mark.parametrize("size", [PHONE, TABLET, SIDE])
def test_the_step_in_hand_says_when_it_is_planned_and_what_is_to_spare(
    server, tablets, planned, size
):
    run = planned("One", "Two")
    glass = tablets(run, size)
    glass.wait_words("to spare")
    said = glass.say("[data-live=plan]")
    first = server.state(run).plates[0].step("ready_room")
    local = glass.page.evaluate(
        "at => new Date(at).toTimeString().slice(0, 5)", first.plan.start.isoformat()
    )
    assert said.startswith(f"{local}, latest ")
    hidden = "(() => { const at = document.querySelector('.hand'),"
    hidden += " line = document.querySelector('[data-live=plan]');"
    hidden += (
        " return line.getBoundingClientRect().bottom - at.getBoundingClientRect().bottom; })()"
    )
    assert glass.page.evaluate(hidden) <= 1
    glass.red("planned")
    glass.act("plates")
    glass.wait_words("to spare; then Scour")
    glass.red("planned plates")


def test_a_step_that_is_late_says_by_how_much(tablets, planned):
    glass = tablets(planned("One", begins_in=-60.0), PHONE)
    glass.wait_words("late by 2")  # its latest start was 35 min after its planned one
    assert glass.page.locator(".call[data-live=plan]").count() == 1
