"""Look at the coat: from the bench's check to one line, a map, and one tap that tells the book."""

import io

import pytest
from benchmarks.seeing.scene import scene
from PIL import Image

from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import pictures
from argentry.desk.numbers.run_so_far import plates_so_far

PHONE = (390, 844)


@pytest.fixture
def glass(server, tablets):
    """A phone before the check of a coat that took a minute."""
    run = server.open_run("One")
    plate = server.up_to(run, "iodise")
    for reading, value in (("box_c", 22.0), ("room_c", 20.0)):
        server.send(run, "reading_taken", what=reading, value=value, unit="°C")
    server.send(run, "step_begun", plate, "iodise")
    server.later += 60.0
    server.send(run, "step_ended", plate, "iodise")
    made = tablets(run, PHONE)
    made.run, made.plate = run, plate
    return made


def choose(glass, content, act="lookAtCoat"):
    with glass.page.expect_file_chooser() as chooser:
        glass.act(act)
    assert chooser.value.element.get_attribute("capture") == "environment"
    chooser.value.set_files({"name": "coat.jpg", "mimeType": "image/jpeg", "buffer": content})


def test_a_look_is_one_line_with_its_map_and_one_tap_tells_the_book(server, glass, until):
    truth, content = scene(2001, kind="thin edge")
    choose(glass, content)
    glass.page.wait_for_selector(".coat-map")
    assert glass.page.locator(".coat-map span").count() == 16 * 12
    (found,) = judged(server.book, glass.plate)
    line = glass.page.locator("h1.word").inner_text()
    assert line == found.answer["line"]
    assert abs(found.answer["thickness_nm"] - truth.mean) < 6.0
    shown = Image.open(io.BytesIO(glass.page.screenshot())).convert("RGB")
    red, green, blue = (high for _, high in shown.getextrema())
    assert (red > 200, green, blue) == (True, 0, 0)
    # what is bare stays black, whatever the page's own red is
    bare = sum(one is None for row in found.answer["map"]["thickness_nm"] for one in row)
    black = glass.page.evaluate(
        "[...document.querySelectorAll('.coat-map span')]"
        ".filter((one) => getComputedStyle(one).backgroundColor === 'rgb(0, 0, 0)').length"
    )
    assert black == bare > 0
    # without the tap nothing is learned
    assert "check_answered" not in server.kinds(glass.run)[-1:]
    known = plates_so_far(server.events(glass.run))[0].known
    assert "coat_nm" not in known
    assert found.confirmed_at is None

    # the light is said by one key, which lets the picture be read again and tells what it cost
    glass.act("lookLight")
    glass.page.get_by_text("The look took").wait_for()
    (found,) = judged(server.book, glass.plate)
    assert (found.answer["light"]["name"], found.answer["light"]["from"]) == ("tungsten", "said")
    glass.act("soItIs")
    until(lambda: server.kinds(glass.run)[-1] == "check_answered")
    (told,) = (one for one in server.events(glass.run)[-1:])
    assert told.body["value"] == found.answer["thickness_nm"]
    known = plates_so_far(server.events(glass.run))[0].known
    assert known["coat_nm"] == found.answer["thickness_nm"]
    assert known["coat_colour"] == found.answer["colour"]
    assert [known[f"coat_{axis}"] for axis in "lab"] == found.answer["lab"]
    assert known["fuming_seconds"] == pytest.approx(60.0, abs=2.0)
    assert known["box_c"] == 22.0
    until(lambda: judged(server.book, glass.plate)[0].confirmed_at is not None)
    (kept,) = pictures(server.book)
    assert (kept.kind, kept.named, kept.sha256) == ("coat", "coat.jpg", found.picture)

    glass.act("undo")  # a second tap takes it back
    until(lambda: server.kinds(glass.run)[-1] == "corrected")
    assert "coat_nm" not in plates_so_far(server.events(glass.run))[0].known
    until(lambda: judged(server.book, glass.plate)[0].confirmed_at is None)


def test_a_look_that_says_nothing_is_told_with_its_reason_and_may_be_taken_again(
    server, glass, until
):
    choose(glass, b"no picture at all")
    glass.page.wait_for_selector("[data-act=lookAgain]")
    assert "not a JPEG" in glass.page.locator("#bench").inner_text()
    choose(glass, scene(2002, strip=False)[1], "lookNew")
    glass.page.get_by_text("cannot tell").wait_for()
    assert "no bare strip" in glass.page.locator("h1.word").inner_text()
    assert glass.page.locator("[data-act=soItIs]").count() == 0
    glass.act("back")
    assert glass.page.locator("[data-act=lookAtCoat]").count() == 1
    assert "check_answered" not in server.kinds(glass.run)[-1:]


def test_without_a_link_the_picture_waits_and_goes_up_later_and_the_step_does_not_wait(
    server, glass, until
):
    glass.page.context.set_offline(True)
    glass.wait_words("no link")
    choose(glass, scene(2001)[1])
    glass.page.get_by_text("The picture waits here").wait_for()
    glass.act("back")
    glass.tap("button:has-text('Right')")  # by eye, without the picture
    glass.wait_words("1 kept here")
    assert pictures(server.book) == []
    glass.page.context.set_offline(False)
    until(lambda: server.kinds(glass.run)[-1] == "check_answered")
    until(lambda: judged(server.book, glass.plate))
    (kept,) = pictures(server.book)
    assert kept.named == "coat.jpg"
    # the picture told nothing: the check was answered by eye
    assert "coat_nm" not in plates_so_far(server.events(glass.run))[0].known
