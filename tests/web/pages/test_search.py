"""One search: plates, runs, pages and words."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

import argentry.web
from argentry.keeping.stock.baths import new_bath
from argentry.keeping.stock.lots import new_lot
from argentry.out.bench_screen import KEYS, MORE_KEY, OFFER_KEYS


def links(page):
    body = page.split("<main")[1].split("</main>")[0]
    return [html.unescape(one) for one in re.findall(r'href="([^"]+)"', body)]


@pytest.fixture
def plates(host):
    answer = host.post("/api/runs", {"plates": ["Q-1", "Half 7"], "title": "Noon pair"})
    return answer.json()["run"]


@pytest.mark.parametrize(
    ("words", "address"),
    [
        ("q-1", "/plates/Q-1"), ("half  7", "/plates/Half%207"), ("noon", "/runs/{run}"),
        ("Q-1", "/runs/{run}"), ("season", "/season"), ("lenses", "/studio"),
    ],
)  # fmt: skip
def test_what_was_typed_leads_to_its_page(host, plates, words, address):
    assert address.format(run=plates) in links(host.get(f"/search?q={words}").text)


def test_a_word_tells_its_meaning(host):
    text = host.get("/search?q=float").text
    assert "may begin with nothing lost that day" in text
    assert text.index("<dt>float</dt>") > text.index("<h1>")


def test_nothing_found_and_nothing_asked_say_what_to_type(host):
    assert "Nothing holds these words" in host.get("/search?q=zzzz").text
    assert "Type a part of a plate" in host.get("/search").text
    assert host.get(f"/search?q={'a' * 101}").status_code == 422
    assert "&lt;b&gt;" in host.get("/search?q=<b>").text


def test_a_device_finds_no_page_that_it_may_not_open(tablet):
    assert "/studio" in links(tablet.get("/search?q=lenses").text)
    assert "/devices" not in links(tablet.get("/search?q=revoke").text)


STATIC = Path(argentry.web.__file__).parent / "static"
SAID = {"n": "next plate", "u": "undo", "p": "pause", "r": "reading", "m": "remark",
        "s": "skip", "b": "again", "x": "give", "w": "range", "t": "new plan", "k": "keep",
        "o": "one more plate"}  # fmt: skip


def test_the_words_and_keys_are_told(host):
    text = host.get("/terms").text
    assert "<dt>plate speed</dt>" in text
    keys = dict(re.findall(r"<dt>(\d)</dt><dd>([^<]+)</dd>", text))
    given = dict(re.findall(r'accesskey="(\d)"[^>]*>([^<]*)</a>', text))
    assert given.items() <= keys.items()
    assert len(given) >= 5
    assert keys["0"] == "Search"
    # the bench: what its page listens for stands here, and a letter of the terminal means the same
    told = dict(re.findall(r"<dt>([A-Z+])</dt><dd>([^<]+)</dd>", text))
    listens = (STATIC / "bench" / "keys.js").read_text(encoding="utf-8")
    rows = re.findall(r"^const (?:LETTERS|OF_THE_PLATE) = {(.*?)};", listens, re.MULTILINE)
    letters = {key.upper() for row in rows for key in re.findall(r'([a-z+])"?: ["[]', row)}
    assert letters == told.keys()
    terminal = dict(
        one.split(" ", 1) for one in f"{KEYS}   {OFFER_KEYS}   {MORE_KEY}".split("   ") if one
    )
    alike = {key: told[key.upper()].lower() for key in terminal.keys() - {"g", "q"}}
    assert all(SAID[key] in words for key, words in alike.items())
    assert all(SAID[key] in terminal[key] for key in alike)


def test_a_bath_and_a_lot_are_found(host, studio_dir):
    new_bath(studio_dir, "F-7", "fix", 500.0)
    new_lot(studio_dir, "Rouge, fine", 50.0, "g")
    for words in ("f-7", "rouge"):
        assert "/materials" in links(host.get(f"/search?q={words}").text)
