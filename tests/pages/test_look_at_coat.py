"""Look at the coat: from the bench's check to one line, a map, and one tap that tells the book."""

import io
from datetime import UTC, datetime

import pytest
from benchmarks.seeing.scale import BANDS, ends_of, taken_by
from benchmarks.seeing.scene import scene
from PIL import Image
from tests.read_here import read_here  # noqa: F401 - for every test

from argentry.book.pictures.judged import confirm, judged
from argentry.book.pictures.kept import add_picture, picture_file, pictures
from argentry.book.plates import add_plate
from argentry.desk.numbers.run_so_far import plates_so_far
from argentry.keeping.seeing.kept import keep_judged
from argentry.keeping.seeing.scale import AskedScale, judge_scale
from argentry.records.ids import new_id
from argentry.records.plate import Plate

PHONE = (390, 844)
MAP_WHOLE = """() => {
  const [hand, map] = [".hand", ".coat-map"].map(
    (one) => document.querySelector(one).getBoundingClientRect());
  const kept = map.height > 90 && Math.abs(map.width / map.height - 4 / 3) < 0.1;
  return kept ? hand.bottom - map.bottom : -1;
}"""


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


def own_scale(server, content, truth, phone=None):
    """A scale of the studio, read from a plate in bands by tungsten and confirmed."""
    plate, at = Plate(new_id(), "S-1"), datetime(2026, 5, 3, 9, tzinfo=UTC)
    add_plate(server.book, plate)
    kept = add_picture(server.book, plate.id, "coat", at, content)
    ends = tuple(map(float, ends_of(truth.corners, len(BANDS))))
    asked = AskedScale(ends, BANDS, None, "bottom", "tungsten", phone)
    file = picture_file(server.book, kept.sha256)
    keep_judged(server.book, plate.id, judge_scale(file, "s", kept.sha256, asked), at, "scale")
    confirm(server.book, plate.id, kept.sha256, "scale", at)


def test_the_look_is_by_the_studios_own_scale_of_this_phone_in_this_light(server, glass, until):
    bands, content = scene(300, light="tungsten", bands=BANDS)
    own_scale(server, taken_by(content), bands)
    choose(glass, taken_by(scene(300, light="tungsten")[1]))
    glass.page.wait_for_selector(".coat-map")
    assert "Your own scale is not used: the light was not named" in words(glass)
    (model,) = judged(server.book, glass.plate)
    glass.act("lookLight")
    glass.page.get_by_text("By your own scale of 3 May 2026, this phone, tungsten.").wait_for()
    (own,) = judged(server.book, glass.plate)
    assert own.answer["scale"]["taken_on"] == "2026-05-03"
    assert own.answer["thickness_nm"] != model.answer["thickness_nm"]
    assert glass.page.locator("[data-act=lookPhone]").count() == 0  # the picture names its camera
    for width, height in ((390, 844), (360, 640)):
        glass.page.set_viewport_size({"width": width, "height": height})
        assert glass.red(f"own-scale-{width}") > 200
        assert glass.page.evaluate(MAP_WHOLE) >= 0.0
        assert not glass.page.evaluate("document.documentElement.scrollWidth > innerWidth")
    glass.act("soItIs")
    until(lambda: server.kinds(glass.run)[-1] == "check_answered")
    (told,) = server.events(glass.run)[-1:]
    assert told.body["value"] == own.answer["thickness_nm"]
    assert [told.body["seen"][f"coat_{end}_nm"] for end in ("low", "high")] == own.answer[
        "range_80_nm"
    ]


def test_a_phone_that_its_pictures_do_not_name_is_said_by_one_key(server, glass):
    bands, content = scene(300, light="tungsten", bands=BANDS)
    own_scale(server, content, bands, "the yard’s phone")
    glass.page.reload()  # the page comes with the phones of the studio's scales
    glass.act("start")
    glass.page.wait_for_selector("[data-act=lookAtCoat]")
    choose(glass, scene(300, light="tungsten")[1])
    glass.page.wait_for_selector(".coat-map")
    glass.act("lookLight")
    glass.page.get_by_text("the picture does not name its camera").wait_for()
    glass.act("lookPhone")
    glass.page.get_by_text("By your own scale of 3 May 2026").wait_for()
    assert "the yard’s phone" in glass.page.locator("[data-act=lookPhone]").inner_text()
    glass.red("own-scale-phone")
    glass.act("lookPhone")  # and not said again
    glass.page.get_by_text("the picture does not name its camera").wait_for()


def words(glass):
    return glass.page.locator("#bench").inner_text()


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
