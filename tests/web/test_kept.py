"""An answer is worked out once, kept until what it rests on changes, and then shown as old."""

import asyncio
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from tests.web.pages.test_learning import plain

from argentry.book.makings import add_making
from argentry.book.plates import add_plate
from argentry.desk.numbers.makings import from_book
from argentry.desk.pages.learning import studio_page
from argentry.records.plain import plain as as_plain
from argentry.records.plate import Making, Plate
from argentry.web.advising import _season
from argentry.web.kept import SEASON, TAUGHT, Kept


@pytest.fixture
def soon():
    """Dates within two years of the studio's clock."""
    first = datetime.now(UTC).date() + timedelta(days=62)
    return f"from={first}&to={first + timedelta(days=27)}"


class Here:
    """Works seasons out in the process of the test, as the one beside the server does."""

    def __init__(self, folder):
        self.folder, self.asked = folder, []

    async def ask(self, question):
        self.asked.append(question["season"])
        return _season(self.folder, question["season"], (None, lambda: None))


class Taught:
    """Works out what the plates teach in the process of the test."""

    def __init__(self, house):
        self.house, self.asked = house, 0

    async def ask(self, question):
        assert question == {"taught": True}
        self.asked += 1
        return as_plain(studio_page(from_book(self.house.book, self.house.studio)))


@pytest.fixture
def here(app, studio_dir):
    app.state.seasons._helper = Here(studio_dir)
    return app.state.seasons._helper


def test_what_was_worked_out_is_kept_until_something_changes(app, host, here, soon):
    season = f"/season?{soon}"
    waiting = host.get(season).text  # the page is there before its drawing
    assert "data-old" in waiting
    assert "is being worked out" in waiting
    # since when, and no promise of seconds: under load it took minutes
    said = re.compile(r"Asked for at \d\d:\d\d:\d\d; it appears here in seconds")
    asked = said.search(waiting)[0]
    house = app.state.seasons._house
    clock = replace(house.clock, start=house.clock.start + timedelta(seconds=90))
    app.state.seasons._house = replace(house, clock=clock)
    assert said.search(host.get(season).text)[0] == asked, "a page that waits asks again"
    assert here.asked == []
    first = host.get(season + "&fresh=1").text
    assert host.get(season).text.partition("<footer")[0] == first.partition("<footer")[0]
    assert len(here.asked) == 1
    assert app.state.seasons._since == {}
    app.state.seasons._house = house
    again = Kept(app.state.house, here, SEASON)
    assert again._kept == app.state.seasons._kept  # a server that is started again has it too

    file = here.folder / "studio.toml"
    file.write_text(file.read_text() + "\n# a word more\n")
    old = host.get(season).text
    assert "data-old" in old
    assert "From before the latest change" in old
    assert "Best weeks for sittings" in plain(old)
    assert len(here.asked) == 1
    assert "data-old" not in host.get(season + "&fresh=1").text
    assert "data-old" not in host.get(season).text
    assert len(here.asked) == 2


def without_word(page):
    """Return a page without the word that is another for each showing."""
    return re.sub(r'name="once" value="[0-9a-f]{32}"', "", page)


def test_what_is_kept_and_damaged_is_worked_out_again(app, host, here, soon):
    season = f"/season?{soon}&fresh=1"
    first = without_word(host.get(season).text)
    seasons = app.state.seasons
    [(key, (mark, _))] = seasons._kept.items()
    for damaged in ("no JSON", "[]", '{"studio": 1}', "null"):
        seasons._kept[key] = mark, damaged
        assert without_word(host.get(season).text) == first
    assert len(here.asked) == 5


def test_a_season_that_cannot_be_worked_out_says_so(app, host, soon):
    class Gone:
        async def ask(self, _):
            return {}

    app.state.seasons._helper = Gone()
    answer = host.get(f"/season?{soon}&at=Quito,+lat=-0.2,+lon=-78.5&fresh=1")
    assert answer.status_code == 503
    assert "worked out now" in plain(answer.text)


def test_what_the_plates_taught_is_shown_at_once_and_again_when_they_teach_more(app, host, book):
    taught, house = app.state.taught, app.state.house
    taught._helper = there = Taught(house)
    waiting = host.get("/learned").text
    # without the page's script nobody is at it: that it is being worked out is the script's to say
    assert 'data-waits="What the plates have taught is being worked out. Asked' in waiting
    assert "What the plates have taught is not worked out yet. Work it out" in plain(waiting)
    assert "data-old" in waiting
    asyncio.run(taught.freshen())
    assert there.asked == 0, "nobody has looked yet"
    first = host.get("/learned?fresh=1").text
    assert "No plate is graded yet" in first
    assert host.get("/learned").text.partition("<footer")[0] == first.partition("<footer")[0]
    add_plate(book, Plate("p" * 32, "Q-7"))
    add_making(book, Making("m" * 32, "p" * 32, None, "1", 1, date(2026, 5, 1), grade="lost"))
    old = host.get("/learned").text
    assert "From before the latest change" in old
    assert "No plate is graded yet" in old
    asyncio.run(taught.freshen())  # as the server does by itself
    assert "0 of 1 plates came out good" in plain(host.get("/learned").text)
    assert there.asked == 2
    again = Kept(house, there, TAUGHT)
    assert asyncio.run(again.last({"taught": True}))[1], "a server that is started again has it"
