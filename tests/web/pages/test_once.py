"""A form that is sent twice is noted once."""

import asyncio
import re

import httpx
import pytest
from tests.web.conftest import HERE

from argentry.book.plates import add_plate, plate_by_label
from argentry.keeping.stock.lots import list_stock
from argentry.records.ids import new_id
from argentry.records.plate import Plate
from argentry.web.pages.once import MOST, Once

WORD = re.compile(r'name="once" value="([0-9a-f]{32})"')


@pytest.fixture
def plate(app):
    add_plate(app.state.house.book, Plate(new_id(), "P1", "quarter", None, 6.0))
    return app.state.house.book


def repolished(book):
    return plate_by_label(book, "P1").times_repolished


def test_a_plate_polished_back_by_two_taps_was_polished_once(host, plate):
    word = WORD.search(host.get("/plates/P1").text)[1]
    answers = [host.form("/plates/polished-back", once=word, label="P1") for _ in range(2)]
    assert [one.status_code for one in answers] == [303, 303]
    assert answers[0].headers["location"] == answers[1].headers["location"]
    assert repolished(plate) == 1
    again = WORD.search(host.get("/plates/P1").text)[1]
    assert again != word  # the page shown again: meant once more
    host.form("/plates/polished-back", once=again, label="P1")
    assert repolished(plate) == 2


def test_a_lot_is_noted_once_and_with_other_words_twice(host, app):
    word = WORD.search(host.get("/materials").text)[1]
    sent = {"once": word, "amount": "100", "unit": "g"}
    for name in ("Iodine", "Iodine", "Iodine, new"):
        assert host.form("/materials/lot", **sent, name=name).status_code == 303
    lots = list_stock(app.state.house.studio_dir).lots
    assert sorted(lot.name for lot in lots) == ["Iodine", "Iodine, new"]


def test_what_was_refused_may_be_sent_again(host, plate):
    word = WORD.search(host.get("/materials").text)[1]
    sent = {"once": word, "name": "F1", "recipe": "fix", "volume_ml": "0"}
    assert [host.form("/materials/bath", **sent).status_code for _ in range(2)] == [422, 422]


def test_every_form_of_a_page_carries_the_word_and_so_do_the_buttons_that_open_a_run(host, plate):
    for path in ("/plates/P1", "/materials", "/runs", "/devices", "/clock", "/weather"):
        text = host.get(path).text
        for form in re.findall(r'<form method="post".*?</form>', text, re.DOTALL):
            assert ("multipart" in form) != bool(WORD.search(form)), (path, form)
    assert len(set(WORD.findall(host.get("/").text))) == 1


def test_the_second_waits_for_the_first_and_gets_its_answer():
    """Both are there before the first is answered."""
    seen = []

    async def slow(scope, receive, send):
        seen.append((await receive())["body"])
        await asyncio.sleep(0.01)
        head = [(b"location", b"/x")]
        await send({"type": "http.response.start", "status": 303, "headers": head})
        await send({"type": "http.response.body", "body": b""})

    async def both(app):
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url=HERE) as client:
            sent = {"a": "1", "once": "0" * 32, "b": "2"}
            return await asyncio.gather(*(client.post("/x", data=sent) for _ in range(2)))

    app = Once(slow)
    first, second = asyncio.run(both(app))
    assert (first.status_code, second.headers["location"]) == (303, "/x")
    assert seen == [b"a=1&b=2"]  # the pages behind never see the word
    assert len(app.answers) == 1 <= MOST
