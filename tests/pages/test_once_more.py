"""A stage done once more: as advised or by choice, by touch and by keys, also without a link."""

import pytest

PHONE, TABLET = (390, 844), (820, 1180)
GO = ".action, .choices button.chosen"
LINE = "31 % good (18–47; 12 plates). Redo the polish."
MARKED = ".choices button.chosen"


def advised(server, run, order=0):
    """Leave a plate polished, and the house not content with it."""
    plate = server.up_to(run, "warm", order)
    server.advise(run, plate, "warm", LINE, back_to="rouge_buff")
    return plate


def redone(server, run, order=0):
    return [(one.step, one.why) for one in server.state(run).plates[order].redone]


@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
def test_as_advised_by_touch(server, tablets, until, size):
    run = server.open_run("One")
    advised(server, run)
    glass = tablets(run, size)
    title = server.state(run).step("rouge_buff").title
    glass.wait_words("31 % good")
    answers = glass.page.locator(".choices button").all_inner_texts()
    assert answers == ["Begin", "Do again"]
    assert glass.say(MARKED) == "Begin", "the one key does as it did"
    assert glass.red("advised") == 255
    glass.act("redoNow")
    until(lambda: redone(server, run) == [("rouge_buff", "as advised")])
    assert glass.say("h1") == title
    assert "31 % good" not in glass.say("body")
    assert glass.say(".action") == "Begin"
    assert glass.say("[data-act=undo]").splitlines()[1].startswith("Redone")
    glass.red("gone back")
    glass.act("undo")
    until(lambda: redone(server, run) == [])
    glass.wait_words("31 % good")  # the advice stands again
    glass.act("redoNow")
    until(lambda: redone(server, run) == [("rouge_buff", "as advised")])
    for _ in range(2):  # both buffs: begun, then done and right
        glass.begin()
        glass.tap(GO)
    until(lambda: server.state(run).plates[0].current == "warm")
    until(lambda: server.state(run).plates[0].step("final_buff").answer == "right")
    assert glass.page.locator("[data-act=redoNow]").count() == 0, "that advice knew nothing of it"
    until(lambda: server.kinds(run).count("advice_given") > 1, 300)  # it is judged again
    again = [event for event in server.events(run) if event.kind == "advice_given"][-1]
    assert again.body["since"] == server.state(run).plates[0].redone[-1].event
    glass.wait_words(again.body["line"][:9])
    assert "advice_overruled" not in server.kinds(run)
    assert server.state(run).odd == ()
    for act in ("more", "list"):
        glass.act(act)
    for _ in range(6):
        if "Redone ·" in glass.say(".choices"):
            break
        glass.act("older")
    assert f"Redone · One · {title} · as advised" in glass.say(".choices")
    assert glass.errors == []


def test_as_advised_by_keys(server, tablets, until):
    run = server.open_run("One")
    advised(server, run)
    glass = tablets(run, PHONE)
    glass.wait_words("31 % good")
    glass.press("ArrowLeft")
    assert glass.say(MARKED) == "Do again"
    glass.red("second answer")
    glass.press("PageUp")
    assert glass.say(MARKED) == "Begin"
    glass.press("ArrowLeft")
    glass.press("PageDown")
    until(lambda: redone(server, run) == [("rouge_buff", "as advised")])
    glass.press("Backspace")
    until(lambda: redone(server, run) == [])
    glass.wait_words("31 % good")
    assert glass.say(MARKED) == "Begin", "another question begins at its first answer"
    glass.press("2")
    until(lambda: redone(server, run) == [("rouge_buff", "as advised")])
    glass.press("Space")
    until(lambda: server.state(run).plates[0].step("rouge_buff").state == "running")
    assert glass.errors == []


def test_an_answer_chosen_for_one_plate_is_not_chosen_for_the_next(server, tablets, until):
    run = server.open_run("One", "Two")
    for order in (0, 1):
        advised(server, run, order)
    glass = tablets(run, PHONE)
    glass.wait_words("31 % good")
    first = glass.say(".plate")
    glass.press("ArrowLeft")
    assert glass.say(MARKED) == "Do again"
    glass.act("plates")
    glass.tap(f".choices button:nth-child({2 if first == 'One' else 1})")
    assert glass.say(".plate") != first
    assert glass.say(MARKED) == "Begin"


def test_where_it_says_go_on_there_is_one_answer(server, tablets, until):
    run = server.open_run("One")
    plate = advised(server, run)
    glass = tablets(run, PHONE)
    glass.wait_words("31 % good")
    glass.press("ArrowLeft")
    server.advise(run, plate, "warm", "63 % good (50–74; 12 plates). Continue.")
    glass.wait_words("63 % good")
    assert glass.say(".action") == "Begin"
    glass.press("Space")
    until(lambda: server.state(run).plates[0].step("warm").state == "running")


def test_by_choice_any_step_before_the_exposure(server, tablets, until):
    run = server.open_run("One")
    plate = server.up_to(run, "expose")
    glass = tablets(run, TABLET)
    for act in ("more", "redo"):
        glass.act(act)
    rows = glass.page.locator(".choices button")
    assert rows.count() == 5
    assert rows.nth(0).inner_text().startswith("Load the holder")
    glass.act("older")
    assert rows.count() == 2
    glass.act("newer")
    assert "Coat over iodine" in rows.nth(1).inner_text()
    rows.nth(1).tap()
    until(lambda: redone(server, run) == [("iodise", "by choice")])
    glass.wait_words("Coat over iodine")
    glass.press("Space")
    until(lambda: server.state(run).plate(plate).step("iodise").state == "running")
    glass.act("more")
    assert glass.page.locator("[data-act=redo]").count() == 0, "one of its steps is going on"
    glass.act("back")
    glass.press("Space")
    until(lambda: server.state(run).plate(plate).step("iodise").state == "done")
    glass.press("+")  # the check is still asked: going back is open all the same
    while glass.page.evaluate("document.activeElement.dataset?.act") != "redo":
        glass.press("ArrowDown")
    glass.press("Enter")
    while "rouge_buff" not in glass.page.evaluate("document.activeElement.dataset?.arg ?? ''"):
        glass.press("ArrowDown")
    glass.red("by choice, by keys")
    glass.press("Enter")
    until(lambda: redone(server, run)[1:] == [("rouge_buff", "by choice")])
    assert glass.errors == []


def test_an_exposed_plate_goes_back_no_more(server, tablets):
    run = server.open_run("One")
    server.up_to(run, "to_frame")
    glass = tablets(run, PHONE)
    glass.act("more")
    assert glass.page.locator("[data-act=skip]").count() == 1
    assert glass.page.locator("[data-act=redo]").count() == 0


def test_without_a_link_and_on_two_devices(server, tablets, until):
    run = server.open_run("One")
    plate = advised(server, run)
    glass = tablets(run, PHONE)
    glass.wait_words("31 % good")
    glass.page.context.set_offline(True)
    glass.wait_words("no link")
    glass.act("redoNow")
    glass.wait_words("1 kept here")
    title = server.state(run).step("rouge_buff").title
    assert glass.say("h1") == title
    glass.tap(GO)
    glass.wait_words("2 kept here")
    server.send(run, "step_redone", plate, "rouge_buff", why="as advised")  # another hand, the same
    glass.page.context.set_offline(False)
    until(lambda: server.state(run).plates[0].step("rouge_buff").state == "running")
    glass.wait("!document.body.innerText.includes('kept here')")
    assert glass.say("h1") == title
    assert [step for step, _ in redone(server, run)] == ["rouge_buff"]
    assert "turned down" not in glass.say("body").lower()
    assert glass.errors == []
