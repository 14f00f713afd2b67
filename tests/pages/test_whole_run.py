"""A whole run, first step to sealed plate, on phone and tablet, by touch and by one key alone."""

import pytest

PHONE, TABLET = (390, 844), (820, 1180)
MOST_PRESSES = 260


def through(server, run):
    state = server.state(run)
    return all(plate.state == "done" for plate in state.plates)


def one_run(server, glass, run, go, look=lambda _: None):
    """Press on until nothing is left; return the screens met."""
    met = []
    for _ in range(MOST_PRESSES):
        screen = glass.page.evaluate(
            "[document.body.innerText.includes('Every plate is through'),"
            " document.querySelector('h1')?.innerText ?? '', !!document.querySelector('.choices')]"
        )
        if screen[0]:
            return met
        if screen[1] not in met:
            met.append(screen[1])
            look(screen[1])
        go()
    raise AssertionError(f"still not through: {met[-3:]}")


def check_book(server, run, until):
    until(lambda: through(server, run))
    state = server.state(run)
    assert state.odd == ()
    kinds = server.kinds(run)
    checks = [step.check for step in state.steps if step.check]
    for plate in state.plates:
        done = [step for step in plate.steps if step.state == "done"]
        assert done[-1].key == "label"
        assert "seal" in [step.key for step in done]
        assert all(step.answer == "right" for step in done if state.step(step.key).check)
    cautions = {c.key for step in state.steps for c in step.cautions}
    assert set(state.shown) == cautions  # each was shown, and each once
    assert kinds.count("caution_shown") == len(cautions)
    assert kinds.count("step_begun") == kinds.count("step_ended")
    assert kinds.count("check_answered") >= len(checks)
    # nothing may begin before its cautions were shown: by the log's own order
    seen = set()
    for event in server.events(run):
        if event.kind == "caution_shown":
            seen.add(event.body["caution"])
        if event.kind == "step_begun":
            assert {c.key for c in state.step(event.step).cautions} <= seen


@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
def test_by_touch(server, tablets, until, size):
    run = server.open_run("One", "Two")
    glass = tablets(run, size)
    brightest = []

    def go():
        glass.tap(".action, .choices button.chosen")

    met = one_run(server, glass, run, go, lambda words: brightest.append(glass.red(words[:24])))
    check_book(server, run, until)
    assert len(met) > 40  # cautions, steps and checks each had their own screen
    assert set(brightest) == {255}
    glass.tap(".action")
    glass.red("close")
    glass.tap(".action")
    until(lambda: server.state(run).state == "closed")
    glass.wait_words("This run is over.")
    glass.red("over")
    assert glass.errors == []


@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
@pytest.mark.parametrize("key", ["Space", "PageDown"])
def test_by_one_key(server, tablets, until, size, key):
    if (size, key) in {(PHONE, "PageDown"), (TABLET, "Space")}:
        key = {"Space": "Enter", "PageDown": "ArrowRight"}[key]
    run = server.open_run("One")
    glass = tablets(run, size, begin=False)

    def go():
        glass.press(key)

    go()
    one_run(server, glass, run, go)
    check_book(server, run, until)
    assert glass.errors == []


def test_by_tab_and_enter_the_focus_is_seen(server, tablets, until):
    run = server.open_run("One")
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
    glass.wait("!!document.querySelector('[data-act=seen]')")
    while glass.page.evaluate("document.activeElement.dataset?.act") != "seen":
        glass.page.keyboard.press("Tab")
    glass.red("focus on the caution")
    glass.press("Enter")
    until(lambda: "caution_shown" in server.kinds(run))
    assert server.kinds(run).count("caution_shown") == 1  # the target took the key, nothing else
