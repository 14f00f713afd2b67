"""A step wedge marked by four taps on its picture, read, drawn and confirmed, on a phone."""

from datetime import date

import pytest
from benchmarks.seeing.plate_scene import plate_scene
from benchmarks.seeing.scene import CARD, scene
from benchmarks.seeing.wedge_scene import wedge_scene
from tests.pages.conftest import LAN
from tests.pages.test_accessible import judged as looked_at
from tests.read_here import read_here  # noqa: F401 - for every test

from argentry.book.pictures.judged import judged
from argentry.book.plates import add_making, add_plate
from argentry.desk.pages.seen import read_picture
from argentry.keeping.plates.pictures import keep_picture, place_for
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.web.guard import COOKIE

SIZE = (900, 600)


@pytest.fixture
def page(chromium, server):
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    context.add_cookies([{"name": COOKIE, "value": server.token, "domain": LAN, "path": "/"}])
    made = context.new_page()
    yield made
    context.close()


def find_defects(server, label):
    content, truth = plate_scene(41, ("fog", "spots"), size=(1000, 750))
    came = place_for(server.book)
    came.write(content)
    house = server.app.state.house
    kept = keep_picture(server.book, came, label, house.clock.now(), named="plate.jpg").picture
    asked = {name: ",".join(map(str, getattr(truth, name))) for name in ("grey", "trap", "smooth")}
    read_picture(house, label, kept.sha256, "plate", asked)


def test_four_taps_mark_a_wedge_and_one_confirms_it(server, page):
    content, truth = wedge_scene(3, turning=True, size=SIZE)
    plate = Plate(new_id(), "W-1")
    add_plate(server.book, plate)
    conditions = {"exposure_start": "2026-06-21T12:00:00+00:00", "exposure_seconds": 1200.0}
    add_making(server.book, Making(new_id(), plate.id, None, "s", 1, date(2026, 6, 21),
                                   conditions=conditions))  # fmt: skip
    came = place_for(server.book)
    came.write(content)
    now = server.app.state.house.clock.now()
    kept = keep_picture(server.book, came, "W-1", now, kind="wedge", named="wedge.jpg").picture
    at = f"http://{LAN}:{server.port}"
    page.goto(f"{at}/seen/{kept.sha256}/wedge?plate=W-1")
    shown = page.locator("#to-mark img")
    shown.evaluate("(one) => one.decode()")
    share = shown.bounding_box()["width"] / SIZE[0]
    for x, y in (truth.ends[:2], truth.ends[2:], truth.grey[:2], truth.grey[2:]):
        shown.tap(position={"x": x * share, "y": y * share})
    assert "All four are marked" in page.locator("#mark-next").inner_text()
    assert page.locator("#to-mark svg .over").count() == 4
    marked = [float(one) for one in page.input_value("#ends").split(",")]
    assert marked == pytest.approx(truth.ends, abs=4.0)
    looked_at(page, "wedge")
    page.evaluate("document.documentElement.className = 'light'")
    page.set_viewport_size({"width": 390, "height": 844})
    page.fill("#steps", str(truth.steps))
    page.fill("#increment", str(truth.increment))
    page.fill("#first", f"{truth.first:.3f}")
    page.select_option("#brightest", truth.brightest)
    page.get_by_role("button", name="Read the wedge").click()
    page.get_by_role("button", name="So it is").wait_for()
    (one,) = judged(server.book, plate.id)
    assert one.answer["peak_log_exposure"] == pytest.approx(truth.peak, abs=0.1)
    assert one.answer["speed_point_log_exposure"] == pytest.approx(truth.speed_point, abs=0.1)
    page.locator(".shot").scroll_into_view_if_needed()
    find_defects(server, "W-1")
    page.reload()
    page.get_by_role("button", name="Keep what is ticked").wait_for()
    looked_at(page, "plate of a wedge")
    page.set_viewport_size({"width": 390, "height": 844})
    page.get_by_role("button", name="So it is").click()
    page.get_by_role("button", name="Take it back").wait_for()
    (confirmed,) = [one for one in judged(server.book, plate.id) if one.confirmed_at is not None]
    assert "peak_log_exposure" in confirmed.answer


def test_taps_mark_the_grey_scale_and_then_edges(server, page):
    content, truth = plate_scene(41, size=(1000, 750))
    add_plate(server.book, Plate(new_id(), "W-2"))
    came = place_for(server.book)
    came.write(content)
    now = server.app.state.house.clock.now()
    kept = keep_picture(server.book, came, "W-2", now, named="plate.jpg").picture
    page.goto(f"http://{LAN}:{server.port}/seen/{kept.sha256}/plate?plate=W-2")
    shown = page.locator("#to-mark img")
    shown.evaluate("(one) => one.decode()")
    share = shown.bounding_box()["width"] / 1000
    edges = ((200, 300), (400, 320), (500, 200), (480, 420))
    for x, y in (truth.grey[:2], truth.grey[2:], *edges):
        shown.tap(position={"x": x * share, "y": y * share})
    assert "Tap one end of the third edge, or look below" in page.locator("#mark-next").inner_text()
    first, second = page.input_value("#edges").split(" ")
    assert [float(one) for one in first.split(",")] == pytest.approx((200, 300, 400, 320), abs=4)
    assert [float(one) for one in second.split(",")] == pytest.approx((500, 200, 480, 420), abs=4)
    assert len(page.input_value("#grey").split(",")) == 4
    looked_at(page, "edges")


def test_two_taps_mark_a_part_of_the_card(server, page):
    _, content = scene(204, strip=False, card=True, light="tungsten")
    add_plate(server.book, Plate(new_id(), "W-2"))
    came = place_for(server.book)
    came.write(content)
    now = server.app.state.house.clock.now()
    kept = keep_picture(server.book, came, "W-2", now, kind="coat", named="coat.jpg").picture
    page.goto(f"http://{LAN}:{server.port}/seen/{kept.sha256}/coat?plate=W-2")
    shown = page.locator("#to-mark img")
    shown.evaluate("(one) => one.decode()")
    times = kept.width_px / shown.bounding_box()["width"]
    left, top, wide, high = CARD
    for x, y in ((left + wide, top), (left, top + high)):  # any two opposite corners
        shown.tap(position={"x": x / times, "y": y / times})
    told = [int(one) for one in page.locator("#card").input_value().split(",")]
    assert told == pytest.approx(CARD, abs=2 * times)
