"""A whole run, first step to sealed plate, by touch and by one key alone, on phone and tablet."""

from datetime import timedelta
from itertools import cycle

import pytest

PHONE, TABLET = (390, 844), (820, 1180)
GO = ".action, .choices button.chosen"
MOST_PRESSES = 50
ASKED = "document.querySelector('.plate')?.innerText.startsWith('How did')"


def finished(server, run):
    return all(plate.state == "done" for plate in server.state(run).plates)


def one_run(server, glass, run, go, plates=1, look=lambda _: None):
    """Press on until it is asked how a plate came out; return the presses and the screens met."""
    met = []
    for presses in range(MOST_PRESSES * plates):
        if glass.page.evaluate(ASKED):
            return presses, met
        words = glass.page.evaluate(
            "(document.querySelector('h1') ?? document.querySelector('.plate')).innerText"
            " + document.querySelectorAll('button').length"
        )
        if words not in met:
            met.append(words)
            look(words)
        go()
    raise AssertionError(f"still not finished: {met[-3:]}")


def check_book(server, run, until):
    until(lambda: finished(server, run))
    state = server.state(run)
    assert state.odd == ()
    kinds = server.kinds(run)
    cautions = {c.key for step in state.steps for c in step.cautions}
    again = {c.key for step in state.steps for c in step.cautions if c.asks_again}
    assert set(state.read) == cautions
    assert set(state.shown) == again, "what can explode, burn or poison is asked at its step"
    assert kinds.count("caution_shown") == len(again), "each once"
    assert kinds.count("step_begun") == kinds.count("step_ended")
    for plate in state.plates:
        for step in plate.steps:
            asked = [
                (one.when, one.at_minutes)
                for one in state.step(step.key).checks
                if one.at_minutes is None or 60.0 * one.at_minutes < step.elapsed_s
            ]
            told = [(one.when, one.at_minutes) for one in step.answers]
            assert told == asked or step.state == "skipped", step.key
            assert {one.answer for one in step.answers} <= {"right"}


def grade(glass, *answers):
    """Answer what is asked of a plate by the words on the glass; return the presses."""
    for words in answers:
        glass.tap(f"button:has-text({words!r})")
    return len(answers)


def test_by_touch(server, tablets, until):
    run = server.open_run("One", "Two", read=False)
    glass = tablets(run, PHONE)
    brightest = []

    def go():
        glass.tap(GO)

    def look(words):
        brightest.append(glass.red(words[:24]))

    _, met = one_run(server, glass, run, go, 2, look)
    assert not finished(server, run), "it is asked while the other plate lies in its frame"
    grade(glass, "Fine", "Right")
    until(lambda: "making_graded" in server.kinds(run))
    _, rest = one_run(server, glass, run, go, 2, look)
    check_book(server, run, until)
    assert len({*met, *rest}) > 35  # cautions, steps and checks each had their own screen
    assert set(brightest) == {255}
    grade(glass, "Lost", "Coat", "Streaks in the coat", "Cannot say")
    until(lambda: server.kinds(run).count("making_graded") == 2)
    glass.wait_words("Every plate is finished.")
    glass.red("all graded")
    glass.act("closeNow")
    until(lambda: server.state(run).state == "closed")
    glass.wait_words("This run is over.")
    glass.red("over")
    assert glass.errors == []


def midsummer(server):
    """Set the house's clock to a morning of June: the lower the sun, the longer a plate develops.

    One look more is asked then, and what is counted would depend on the hour of the test.
    """
    now = server.app.state.house.clock.now()
    june = now.replace(month=6, day=21, hour=9, minute=0)
    server.later += (june + timedelta(days=366 if june < now else 0) - now).total_seconds()


def test_at_most_fifty_presses_from_opening_to_grade(server, tablets, until):
    """One plate, lost, with one defect; nothing of the record is lost. A phone asks the most."""
    midsummer(server)
    run = server.open_run("One", read=False)
    glass = tablets(run, PHONE, clock=True, begin=False)
    glass.act("start")

    def go():
        def running():
            return [s for s in server.state(run).plates[0].steps if s.state == "running"]

        def may_end():
            return glass.page.locator("[data-act=end], [data-act=endWith]").count()

        # right after a press the page may still show the step that it has just ended
        until(lambda: not may_end() or running())
        if may_end() and running():
            # the step is given its time
            step = running()[0]
            checks = server.state(run).step(step.key).checks
            looks = [60.0 * one.at_minutes for one in checks if one.at_minutes is not None]
            ahead = [at for at in looks if at > step.elapsed_s + 1.0]
            glass.later(max(min([step.planned_s, *ahead]) - step.elapsed_s, 0.0) + 1.0)
        glass.tap(GO)

    presses, _ = one_run(server, glass, run, go)
    check_book(server, run, until)
    presses += 1 + grade(glass, "Lost", "Development", "Grey veil overall", "Under")
    until(lambda: "making_graded" in server.kinds(run))
    assert presses <= MOST_PRESSES
    grading = server.state(run).plates[0].grading
    assert (grading.grade, grading.verdict) == ("lost", "under")
    assert grading.defects == (("fog", "development"),)
    assert grading.stages["development"] == "fault"
    assert glass.errors == []


@pytest.mark.parametrize(
    ("size", "keys"),
    [(PHONE, ["Space"]), (TABLET, ["PageDown", "Enter", "ArrowRight"])],
    ids=["phone", "tablet"],
)
def test_by_one_key(server, tablets, until, size, keys):
    """On the tablet by three in turn: each says the same."""
    run = server.open_run("One", read=False)
    glass = tablets(run, size, begin=False)
    turn = cycle(keys)

    def go():
        glass.press(next(turn))

    go()
    one_run(server, glass, run, go, 2)
    check_book(server, run, until)
    go()  # the one key never says how a plate came out: later
    until(lambda: server.state(run).plates[0].put_off)
    go()
    until(lambda: server.state(run).state == "closed")
    assert glass.errors == []


def test_by_tab_and_enter_the_focus_is_seen(server, tablets, until):
    run = server.open_run("One", read=False)
    glass = tablets(run, PHONE, begin=False)
    seen = set()
    for _ in range(8):
        glass.page.keyboard.press("Tab")
        name, outline, colour = glass.page.evaluate(
            "(() => { const at = document.activeElement; const style = getComputedStyle(at);"
            " return [at.dataset.act ?? '', style.outlineStyle, style.outlineColor]; })()"
        )
        if name:
            seen.add(name)
            assert outline == "solid"
            assert colour == "rgb(255, 0, 0)"
            glass.red(f"focus on {name}")
        if name == "start":
            break
    assert "start" in seen
    glass.press("Enter")
    glass.wait("!!document.querySelector('[data-act=readAll]')")
    while glass.page.evaluate("document.activeElement.dataset?.act") != "readAll":
        glass.page.keyboard.press("Tab")
    glass.red("focus on the cautions")
    glass.press("Enter")
    until(lambda: "cautions_read" in server.kinds(run))
    assert server.kinds(run).count("cautions_read") == 1  # the target took the key, nothing else
