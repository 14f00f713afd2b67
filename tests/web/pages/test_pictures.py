"""Pictures sent from a plate's page: streamed, bounded, shown without what they carry."""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Event

import httpx
import pytest
from tests.book import hostile_pictures as hostile

from argentry.book.pictures.judged import add_judged, confirm
from argentry.book.pictures.kept import pictures
from argentry.book.plates import add_plate
from argentry.keeping.plates import pictures as desk_pictures
from argentry.records.ids import new_id
from argentry.records.plate import Judged, Plate
from argentry.web.uploads import AT_ONCE

EDGE = "----argentry7"
PICTURE = hostile.saved(hostile.plain(), "JPEG", exif=hostile.exif(place=True, owner="Invented"))


def body(content, name="my plate.jpg", kind="coat"):
    return (
        f'--{EDGE}\r\nContent-Disposition: form-data; name="kind"\r\n\r\n{kind}\r\n'
        f'--{EDGE}\r\nContent-Disposition: form-data; name="picture"; filename="{name}"\r\n'
        "Content-Type: image/jpeg\r\n\r\n"
    ).encode() + content + f"\r\n--{EDGE}--\r\n".encode()  # fmt: skip


def send(caller, content, label="P-7", kind=f"multipart/form-data; boundary={EDGE}"):
    return caller("POST", f"/pictures/{label}", content=content, headers={"Content-Type": kind})


@pytest.fixture
def plate(book):
    made = Plate(new_id(), "P-7")
    add_plate(book, made)
    return made


def test_a_picture_sent_from_the_page_is_shown_there(host, tablet, plate, book):
    answer = send(host, body(PICTURE))
    assert (answer.status_code, answer.headers["location"]) == (303, "/plates/P-7#pictures")
    (one,) = pictures(book)
    assert (one.kind, one.named, one.carries) == ("coat", "my plate.jpg", "place and names")
    page = tablet.get("/plates/P-7").text
    (address,) = re.findall(r'<img src="([^"]+)"', page)
    assert "Coat, taken 2026-06-01" in page
    assert "my plate.jpg" in page
    assert "The original says where it was taken and whose it is" in page
    shown = tablet.get(address)
    assert (shown.status_code, shown.headers["content-type"]) == (200, "image/jpeg")
    assert shown.content.startswith(b"\xff\xd8\xff")
    assert b"Invented" not in shown.content
    assert tablet.get(address.replace("320", "321")).status_code == 422
    assert tablet.get("/pictures/nothing/320.jpg").status_code == 422


def test_a_name_is_escaped(host, plate):
    send(host, body(PICTURE, name="<script>alert(1)<b>.jpg"))
    page = host.get("/plates/P-7").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;b&gt;.jpg" in page


def test_content_that_looks_like_the_end_of_the_form_stays_whole(host, plate, book):
    tricky = PICTURE + f"\r\n--{EDGE[:-1]}\r\n\r\n--".encode() * (2 * AT_ONCE // 20)
    assert len(tricky) > 2 * AT_ONCE
    assert send(host, body(tricky)).status_code == 303
    assert pictures(book)[0].bytes == len(tricky)


@pytest.mark.parametrize(
    ("content", "kind", "status"),
    [
        (body(PICTURE)[:-30], None, 400),
        (body(PICTURE)[:80], None, 422),
        (body(b""), None, 422),
        (body(PICTURE, name=""), None, 422),
        (body(b"<svg onload=1>"), None, 422),
        (body(PICTURE[:600]), None, 422),
        (body(PICTURE, kind="cat"), None, 422),
        (PICTURE, "image/jpeg", 415),
        (b"x" * 20000, None, 400),
        (f"--{EDGE}\r\n".encode() + b"a" * 20000, None, 400),
    ],
)
def test_what_is_no_whole_picture_is_one_sentence_and_leaves_nothing(
    host, plate, book, content, kind, status
):
    answer = send(host, content, **({"kind": kind} if kind else {}))
    assert answer.status_code == status
    assert "Traceback" not in answer.text
    assert pictures(book) == []
    folder = book.folder / "pictures"
    assert not folder.exists() or list(folder.iterdir()) == []


def test_a_picture_too_long_or_of_a_stranger_is_refused(app, host, stranger, plate, book):
    app.state.settings = replace(app.state.settings, picture_bytes=1000)
    assert send(host, body(PICTURE)).status_code == 422
    assert send(stranger, body(PICTURE)).status_code in (303, 401, 403)
    assert pictures(book) == []
    assert send(host, body(PICTURE), label="nobody").status_code == 422


def test_one_picture_at_a_time_from_each_device(app, host, tablet, plate, book):
    app.state.sending.add("host")
    answer = send(host, body(PICTURE))
    assert (answer.status_code, pictures(book)) == (429, [])
    assert "still sending a picture" in answer.text
    assert send(tablet, body(PICTURE)).status_code == 303
    assert app.state.sending == {"host"}


def test_the_server_answers_others_while_a_bad_picture_is_read(live, plate, monkeypatch):
    begun, released = Event(), Event()
    truly = desk_pictures.read_picture

    def slowly(*asked):
        begun.set()
        assert released.wait(60), "nobody was answered while the picture was read"
        return truly(*asked)

    monkeypatch.setattr(desk_pictures, "read_picture", slowly)
    kind = {"Content-Type": f"multipart/form-data; boundary={EDGE}", "Origin": live}
    cut = body(PICTURE[: len(PICTURE) // 2])
    with ThreadPoolExecutor(1) as apart:
        sent = apart.submit(
            httpx.post, f"{live}/pictures/P-7", content=cut, headers=kind, timeout=90
        )
        try:
            assert begun.wait(60)
            others = [httpx.get(f"{live}{path}", timeout=50) for path in ("/plates", "/runs")]
        finally:
            released.set()
        refused = sent.result()
    assert [one.status_code for one in others] == [200, 200]
    assert refused.status_code == 422


def test_the_looks_of_a_ripening_plate_stand_on_its_page(host, tablet, plate, book):
    send(host, body(PICTURE, kind="development"))
    (one,) = pictures(book)
    look = {"file": "red.jpg", "minutes": 31.0, "dose_kj_m2": 250.0}
    look |= {"shadows": 0.51, "middle": 0.62, "lights": 0.75}
    answer = {"line": "not yet: about 24 min more (14 to 37)", "looks": [look], "not_told": []}
    answer |= {"width_px": 400, "height_px": 300, "notes": ["By the dose."]}
    answer |= {"cautions": ["Red only."]}
    add_judged(book, Judged(one.sha256, plate.id, "ripening", one.taken_at, "3", answer))
    page = tablet.get("/plates/P-7").text
    said = "Ripening of", "Not yet: about 24 min more", "1 look", "31 min", "0.75", "Red only."
    for words in said:
        assert words in page
    assert "Taken at the bench" not in page
    confirm(book, plate.id, one.sha256, "ripening", one.taken_at)
    assert "Taken at the bench" in tablet.get("/plates/P-7").text
