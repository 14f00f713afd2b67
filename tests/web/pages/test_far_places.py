"""First page and season where the sun stays away, and where clocks change by half an hour.

Lord Howe Island moves its clocks by 30 min (IANA time zone database, Australia/Lord_Howe).
"""

import re
from datetime import UTC, datetime, timedelta

import pytest
from tests.web.conftest import Ask
from tests.web.pages.test_learning import plain

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.desk.pages.today import taught_by
from argentry.keeping.clock import steady_clock
from argentry.keeping.studio import new_studio
from argentry.web.advising import _day, _season
from argentry.web.app import create_app
from argentry.web.settings import Settings

NO_NUMBER = re.compile(r"[\s\"(,=]-?(nan|inf)[\s\"),]", re.IGNORECASE)
TROMSO, LORD_HOWE = (69.6, 18.9, "Europe/Oslo"), (-31.5, 159.1, "Australia/Lord_Howe")


class Here:
    """Works days and seasons out in the process of the test."""

    awake = True

    def __init__(self, folder):
        self.folder, self.taught = folder, taught_by(folder, None)

    async def ask(self, question):
        if "season" in question:
            return _season(self.folder, question["season"], self.taught)
        return _day(self.folder, None, question, self.taught)


@pytest.mark.parametrize(
    ("place", "moment", "day", "season"),
    [
        (TROMSO, "2026-12-21T09:00", "the sun does not rise", "No week of it holds a plate."),
        (LORD_HOWE, "2026-10-03T20:00", "begin at 08:00", "Best weeks for a workshop"),
    ],
)
def test_the_page_and_the_season_there(tmp_path, place, moment, day, season):
    folder, now = tmp_path / "studio", datetime.fromisoformat(moment).replace(tzinfo=UTC)
    new_studio(folder, dict(zip(("--lat", "--lon", "--tz"), place, strict=True)))
    book = open_book(folder)
    app = create_app(folder, book, settings=Settings(), show_code=print)
    clock = steady_clock(wall=lambda: now, passed=lambda: 0.0)
    object.__setattr__(app.state.house, "clock", clock)
    here = Here(folder)
    app.state.days.helper = app.state.days._quick = app.state.seasons._helper = here
    first = (now + timedelta(days=1)).date()
    asked = f"from={first}&to={first + timedelta(days=13)}&fresh=1"
    for path, words in (("/today/plan", day), (f"/season?{asked}", season)):
        answer = Ask(app).get(path)
        assert answer.status_code == 200
        assert words in plain(answer.text)
        assert "Today, No " not in plain(answer.text)
        assert not NO_NUMBER.search(answer.text)
    close_book(book)
