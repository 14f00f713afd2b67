"""Look at the picture coming up: from the bench to one line, and one tap that moves the end."""

from datetime import timedelta

import pytest
from benchmarks.seeing.ripening_scene import series
from tests.pages.test_look_at_coat import PHONE
from tests.pages.test_plan_of_the_day import LINES, in_sight, offer
from tests.pages.test_whole_run import midsummer
from tests.read_here import read_here  # noqa: F401 - for every test

from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import pictures

MINUTES = (1.0, 31.0, 58.0)


@pytest.fixture
def glass(server, tablets):
    """A phone beside a plate that has lain under the filter for an hour, in June."""
    midsummer(server)
    run = server.open_run("One")
    plate = server.up_to(run, "develop")
    server.send(run, "step_begun", plate, "develop")
    made = tablets(run, PHONE)
    made.run, made.plate = run, plate
    return made


def choose(glass, content):
    with glass.page.expect_file_chooser() as chooser:
        glass.act("lookNew")
    assert chooser.value.element.get_attribute("capture") == "environment"
    chooser.value.set_files({"name": "red.jpg", "mimeType": "image/jpeg", "buffer": content})


def develop(server, run):
    state = server.state(run)
    return next(one for one in state.plates[0].steps if one.key == "develop")


def test_looks_tell_one_line_and_one_tap_moves_the_end_and_gives_it_back(server, glass, until):
    one = series(2, by_hand=True, until=0.85)
    before = develop(server, glass.run).planned_s
    passed = 0.0
    for minute, content in zip(MINUTES, one.pictures, strict=False):
        server.later += 60.0 * (minute - passed)
        passed = minute
        glass.page.reload()
        glass.page.wait_for_selector("[data-act=start]")
        glass.act("start")
        glass.red("develop")
        glass.act("lookAtRipening")  # beside the step, or where the look of 30 minutes is asked
        assert "flash off" in glass.page.locator("h1.word").inner_text()
        glass.red("before the camera")
        choose(glass, content)
        glass.page.wait_for_selector("[data-act=takeRipe]")
        if minute != MINUTES[-1]:
            glass.act("leaveRipe")
    found = judged(server.book, glass.plate)
    last = found[-1].answer
    assert [round(look["minutes"]) for look in last["looks"]] == [1, 31, 58]
    assert glass.page.locator("h1.word").inner_text() == last["line"]
    assert last["light_taken_share"] < 1e-5
    assert {(kept.kind, kept.named) for kept in pictures(server.book)} == {
        ("development", "red.jpg")
    }
    glass.red("answer")
    # nothing moves by itself
    assert develop(server, glass.run).planned_s == before
    assert "ripe_seen" not in server.kinds(glass.run)

    glass.act("takeRipe")
    until(lambda: develop(server, glass.run).ripe is not None)
    told = develop(server, glass.run)
    assert told.ripe.picture == last["sha256"]
    assert told.planned_s != before
    assert told.changes[-1].why.startswith("by its pictures")
    end = told.begun + timedelta(seconds=told.planned_s)
    assert (end - server.app.state.house.clock.now()).total_seconds() / 60.0 == pytest.approx(
        last["to_go_minutes"], abs=3.0
    )
    assert [answer.answer for answer in told.answers] == ["right"]  # the look that was asked
    until(lambda: judged(server.book, glass.plate)[-1].confirmed_at is not None)

    glass.act("undo")  # a second tap takes it back
    until(lambda: develop(server, glass.run).ripe is None)
    assert develop(server, glass.run).planned_s == pytest.approx(before, rel=0.02)
    assert develop(server, glass.run).answers == ()
    until(lambda: judged(server.book, glass.plate)[-1].confirmed_at is None)
    assert glass.errors == []


def test_the_look_is_in_sight_while_a_new_plan_waits(server, glass):
    offer(server, glass.run, *LINES)
    glass.page.wait_for_selector(".offer")
    acts = ("lookAtRipening", "takePlan", "keepPlan", "end", "undo")
    in_sight(glass, ".offer", ".time", *(f"[data-act={one}]" for one in acts))
    glass.act("lookAtRipening")
    assert "flash off" in glass.page.locator("h1.word").inner_text()
    assert glass.errors == []
