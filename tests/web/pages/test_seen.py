"""A step wedge read from a plate's page: marked, read, drawn, confirmed and taken back."""

import re
from datetime import date

import pytest
from benchmarks.seeing.change_scene import change_scene
from benchmarks.seeing.edge_scene import edge_scene
from benchmarks.seeing.plate_scene import plate_scene
from benchmarks.seeing.scale import BANDS, ends_of, taken_by
from benchmarks.seeing.scene import CARD, scene
from benchmarks.seeing.wedge_scene import wedge_scene
from tests.read_here import read_here  # noqa: F401 - for every test
from tests.web.pages.test_pictures import body, send

from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import picture_file, pictures
from argentry.book.plates import add_making, add_plate, makings, plate_by_label
from argentry.desk.numbers.makings import from_book
from argentry.desk.numbers.own_numbers import learned_numbers
from argentry.desk.pages.seen import picture_of
from argentry.errors import BadInput
from argentry.keeping.seeing.coat import BY_CARD, AskedCoat, judge_coat_file
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate


@pytest.fixture(scope="module")
def wedge():
    return wedge_scene(3, turning=True, size=(900, 600))


def test_a_wedge_is_marked_read_and_confirmed_on_the_plates_page(host, book, app, wedge):
    content, truth = wedge
    made = Plate(new_id(), "W/7")
    add_plate(book, made)
    now = app.state.house.clock.now()
    conditions = {"exposure_start": "2026-06-21T12:00:00+00:00", "exposure_seconds": 1200.0}
    add_making(book, Making(new_id(), made.id, None, "s", 1, date(2026, 6, 21),
                            conditions=conditions))  # fmt: skip
    assert send(host, body(content, kind="wedge"), label="W/7").status_code == 303
    (kept,) = pictures(book)
    link = f"/seen/{kept.sha256}/wedge?plate=W/7"
    assert (
        link.replace("/7", "%2F7") in host.get("/plates/W%2F7").text
        or link in host.get("/plates/W%2F7").text
    )
    form = host.get(link).text
    assert 'data-width="900"' in form
    assert f"/pictures/{kept.sha256}/1600.jpg" in form
    asked = {
        "plate": "W/7", "ends": ",".join(map(str, truth.ends)),
        "grey": ",".join(map(str, truth.grey)), "steps": str(truth.steps),
        "increment": str(truth.increment), "first": str(truth.first),
        "brightest": truth.brightest, "greys": "",
    }  # fmt: skip
    back = host.form(f"/seen/{kept.sha256}/wedge", **asked)
    assert back.headers["location"] == f"/plates/W%2F7#wedge-{kept.sha256[:12]}"
    (one,) = judged(book, made.id)
    text = host.get("/plates/W%2F7").text
    assert one.answer["line"][1:] in text
    assert 'class="shot"' in text
    assert text.count('class="chart"') >= 2
    assert "These are relative densities" in text
    assert 'name="so" value="yes"' in text
    studio = app.state.house.studio
    assert learned_numbers(from_book(book, studio), with_odds=False).of("plate_speed") is None
    word = f"/seen/{kept.sha256}/wedge/word"
    assert host.form(word, plate="W/7", so="yes").status_code == 303
    assert judged(book, made.id)[0].confirmed_at >= now
    speed = learned_numbers(from_book(book, studio), with_odds=False).of("plate_speed")
    assert speed.plates == 1
    assert "Take it back" in host.get("/plates/W%2F7").text
    host.form(word, plate="W/7", so="no")
    assert judged(book, made.id)[0].confirmed_at is None


def test_a_coat_is_read_by_its_card_on_the_plates_page_as_by_the_command(host, book, app):
    truth, content = scene(204, strip=False, card=True, light="tungsten")
    made = Plate(new_id(), "W-12")
    add_plate(book, made)
    send(host, body(content, kind="coat"), label="W-12")
    (kept,) = pictures(book, made.id)
    link = f"/seen/{kept.sha256}/coat?plate=W-12"
    assert link in host.get("/plates/W-12").text
    form = host.get(link).text
    assert 'data-box="card"' in form
    assert "<option>tungsten</option>" in form
    asked = {"plate": "W-12", "light": "tungsten", "seconds": "60", "bare": ""}
    back = host.form(f"/seen/{kept.sha256}/coat", **asked, card=",".join(map(str, CARD)))
    assert back.headers["location"] == f"/plates/W-12#coat-{kept.sha256[:12]}"
    (one,) = judged(book, made.id)
    file = picture_file(book, kept.sha256)
    by_command = judge_coat_file(
        file, AskedCoat("tungsten", seconds=60.0, card=CARD), app.state.house.live.now
    )
    assert one.answer["thickness_nm"] == by_command.thickness_nm
    assert one.answer["line"] == by_command.line
    assert abs(by_command.thickness_nm - truth.mean) < 10.0
    text = host.get("/plates/W-12").text
    assert one.answer["line"][1:] in text
    assert BY_CARD in text
    rows = "8,0.9,0.86,0.7 20,0.8,0.6,0.4 40,0.5,0.3,0.3"
    host.form(f"/seen/{kept.sha256}/coat", **asked, card=",".join(map(str, CARD)), scale=rows)
    again = judged(book, made.id)[-1]
    assert again.answer["thickness_nm"] != by_command.thickness_nm
    none = host.form(f"/seen/{kept.sha256}/coat", plate="W-12", scale="8,1")
    assert (none.status_code, "it is not a scale" in none.text) == (422, True)
    wrong = host.form(f"/seen/{kept.sha256}/coat", plate="W-12", light="moon")
    assert (wrong.status_code, "is not" in wrong.text) == (422, True)


def test_a_scale_is_read_and_confirmed_on_its_page_and_coats_are_read_by_it(host, book):
    bands, content = scene(300, light="tungsten", bands=BANDS)
    for label, shot in (("S-1", content), ("C-1", scene(300, light="tungsten")[1])):
        add_plate(book, Plate(new_id(), label))
        send(host, body(taken_by(shot), kind="coat"), label=label)
    scale, coat = (pictures(book, plate_by_label(book, label).id)[0] for label in ("S-1", "C-1"))
    link = f"/seen/{scale.sha256}/scale?plate=S-1"
    assert link in host.get("/plates/S-1").text
    form = host.get(link).text
    assert "<option>tungsten</option>" in form
    assert "<option>red</option>" not in form
    ends = ",".join(map(str, ends_of(bands.corners, len(BANDS))))
    asked = {"plate": "S-1", "nm": ",".join(map(str, BANDS)), "bare": "bottom"}
    for wrong, why in (
        ({"ends": ""}, "the bands are not marked"),
        ({"light": "/etc/hostname"}, "is not a light known here"),  # a page names no file
    ):
        none = host.form(f"/seen/{scale.sha256}/scale", **(asked | {"ends": ends} | wrong))
        assert (none.status_code, why in none.text) == (422, True)
    word = f"/seen/{scale.sha256}/scale/word"
    host.form(f"/seen/{scale.sha256}/scale", **asked, ends=ends)
    assert 'name="so" value="yes"' not in host.get("/plates/S-1").text  # its light is not known
    assert host.form(word, plate="S-1", so="yes").status_code == 422
    back = host.form(f"/seen/{scale.sha256}/scale", **asked, ends=ends, light="tungsten")
    assert back.headers["location"] == f"/plates/S-1#scale-{scale.sha256[:12]}"
    text = host.get("/plates/S-1").text
    assert "8 bands from 8 to 50 nm" in text
    assert "Nordlys N7, tungsten" in text
    known = {"plate": "C-1", "light": "tungsten"}
    host.form(f"/seen/{coat.sha256}/coat", **known)
    assert "By your own scale" not in host.get("/plates/C-1").text
    host.form(word, plate="S-1", so="yes")
    assert "coats by this phone in this light are read by it" in host.get("/plates/S-1").text
    host.form(f"/seen/{coat.sha256}/coat", **known)
    text = host.get("/plates/C-1").text
    assert re.search(r"By your own scale of \d+ \w+ \d{4}, this phone, tungsten\.", text)
    host.form(f"/seen/{coat.sha256}/coat", plate="C-1", light="led")
    text = host.get("/plates/C-1").text
    assert "Coat by your own scale not told: this is Nordlys N7, led" in text
    host.form(word, plate="S-1", so="no")
    host.form(f"/seen/{coat.sha256}/coat", **known)
    assert judged(book, coat.plate)[-1].answer["scale"] is None


def test_a_picture_of_another_plate_is_refused(host, book, app):
    add_plate(book, Plate(new_id(), "W-8"))
    with pytest.raises(BadInput, match="is not kept with that plate"):
        picture_of(app.state.house, "W-8", "0" * 64)
    none = host.get(f"/seen/{'0' * 64}/wedge?plate=W-8")
    assert none.status_code == 422
    assert "this picture is not kept with that plate" in none.text


def test_findings_are_ticked_or_struck_and_ticked_ones_become_defects(host, book):
    content, truth = plate_scene(41, ("fog", "spots"), size=(800, 600))
    made = Plate(new_id(), "W-9")
    add_plate(book, made)
    add_making(book, Making(new_id(), made.id, None, "s", 1, date(2026, 6, 21), grade="study"))
    send(host, body(content, kind="plate"), label="W-9")
    (kept,) = pictures(book, made.id)
    assert "Look for defects" in host.get("/plates/W-9").text
    asked = {
        "grey": ",".join(map(str, truth.grey)), "trap": ",".join(map(str, truth.trap)),
        "unlit": ",".join(map(str, truth.unlit)), "smooth": ",".join(map(str, truth.smooth)),
        "at": ",".join(map(str, truth.corners.mean(axis=0))),
    }  # fmt: skip
    back = host.form(f"/seen/{kept.sha256}/plate", plate="W-9", **asked)
    assert back.headers["location"] == f"/plates/W-9#plate-{kept.sha256[:12]}"
    text = host.get("/plates/W-9").text
    for key in ("fog", "white_specks", "black_specks"):
        assert f'name="{key}" value="yes" checked' in text
    assert makings(book, made.id)[0].defects == ()  # nothing by itself
    host.form(f"/seen/{kept.sha256}/plate/word", plate="W-9", so="yes", fog="yes")
    assert makings(book, made.id)[0].defects == (("fog", "coat"),)
    assert makings(book, made.id)[0].grade == "study"
    (one,) = judged(book, made.id)
    assert set(one.struck) == {"white_specks", "black_specks"}
    host.form(f"/seen/{kept.sha256}/plate", plate="W-9", grey="", trap="", unlit="", smooth="")
    (again,) = judged(book, made.id)  # looked at once more: the marks and the word are kept
    assert again.judged_at > one.judged_at
    assert again.answer["marked"] == one.answer["marked"] != {}
    assert again.answer["marked"]["at"] == pytest.approx(truth.corners.mean(axis=0), abs=0.1)
    assert again.answer["defects"] == one.answer["defects"]
    assert (again.confirmed_at, again.struck) == (one.confirmed_at, one.struck)
    text = host.get("/plates/W-9").text
    assert "struck out: " in text
    assert "compare only pictures lit alike" in text
    link = "/materials/condition.pdf?paper=a4&amp;name=W-9"
    assert f'href="{link}"' in text
    sheet = host.get(link.replace("&amp;", "&"))
    assert (sheet.status_code, sheet.content[:4]) == (200, b"%PDF")


def test_marked_edges_are_read_on_the_plates_page_and_drawn_over_it(host, book):
    content, truth, lines, _ = edge_scene(5, ("motion", 14.0, 30.0), size=(1000, 750))
    made = Plate(new_id(), "W-11")
    add_plate(book, made)
    send(host, body(content, kind="plate"), label="W-11")
    (kept,) = pictures(book, made.id)
    link = f"/seen/{kept.sha256}/plate?plate=W-11"
    assert link in host.get("/plates/W-11").text
    assert 'name="edges"' in host.get(link).text
    edges = " ".join(",".join(f"{at:.0f}" for at in line) for line in lines)
    grey = ",".join(map(str, truth.grey))
    host.form(f"/seen/{kept.sha256}/plate", plate="W-11", edges=edges, grey=grey)
    (one,) = judged(book, made.id)
    assert len(one.answer["blur"]["edges"]) == len(lines)
    assert one.answer["file"] == (kept.named or kept.sha256)
    host.form(f"/seen/{kept.sha256}/plate", plate="W-11", trap="5,5")
    (one,) = judged(book, made.id)
    assert len(one.answer["blur"]["edges"]) == len(lines)  # a later look keeps the marks
    text = host.get("/plates/W-11").text
    assert "Motion blur, 9" in text
    assert text.count("Marked edge: drawn") == len(lines)
    assert "read one from a step wedge" in text  # no wedge is confirmed: no length
    wrong = host.form(f"/seen/{kept.sha256}/plate", plate="W-11", edges="1,2,3", grey="")
    assert (wrong.status_code, "not two places" in wrong.text) == (422, True)


def test_two_pictures_of_a_plate_are_compared_on_its_page(host, book):
    first, second, truth = change_scene(74, "areas", size=(800, 610))
    made = Plate(new_id(), "W-10")
    add_plate(book, made)
    send(host, body(first, name="before.jpg", kind="plate"), label="W-10")
    assert "Compare two pictures" not in host.get("/plates/W-10").text
    send(host, body(second, name="after.jpg", kind="plate"), label="W-10")
    assert "Compare two pictures" in host.get("/plates/W-10").text
    before, after = (one.sha256 for one in pictures(book, made.id))
    asked = {"plate": "W-10", "before": before, "after": after}
    back = host.form("/seen/change", **asked, same_light="yes", grey="", grey_after="")
    assert back.headers["location"] == f"/plates/W-10#change-{before[:12]}"
    (one,) = judged(book, made.id)
    assert (one.kind, one.second_picture) == ("change", after)
    text = host.get("/plates/W-10").text
    assert one.answer["line"][1:] in text
    assert text.count('class="shot"') == 2  # the places are marked in both
    assert text.count("colour difference") == len(truth.areas)
    assert text.count("Dust and reflections") == 1
    again = host.form("/seen/change", **{**asked, "after": before})
    assert (again.status_code, "the same file" in again.text) == (422, True)
    gone = host.form("/seen/change", **{**asked, "after": "0" * 64})
    assert "is not kept with that plate" in gone.text
