"""A season is worked out once, kept until what it rests on changes, and then shown as old."""

from datetime import UTC, datetime, timedelta

import pytest
from tests.web.pages.test_learning import plain

from argentry.web.advising import _season
from argentry.web.seasons import Seasons


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


@pytest.fixture
def here(app, studio_dir):
    app.state.seasons._helper = Here(studio_dir)
    return app.state.seasons._helper


def test_what_was_worked_out_is_kept_until_something_changes(app, host, here, soon):
    season = f"/season?{soon}"
    waiting = host.get(season).text  # the page is there before its drawing
    assert "data-old" in waiting
    assert "is being worked out" in waiting
    assert here.asked == []
    first = host.get(season + "&fresh=1").text
    assert host.get(season).text.partition("<footer")[0] == first.partition("<footer")[0]
    assert len(here.asked) == 1
    again = Seasons(app.state.house, here)
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


def test_what_is_kept_and_damaged_is_worked_out_again(app, host, here, soon):
    season = f"/season?{soon}&fresh=1"
    first = host.get(season).text
    seasons = app.state.seasons
    [(key, (mark, _))] = seasons._kept.items()
    for damaged in ("no JSON", "[]", '{"studio": 1}', "null"):
        seasons._kept[key] = mark, damaged
        assert host.get(season).text == first
    assert len(here.asked) == 5


def test_a_season_that_cannot_be_worked_out_says_so(app, host, soon):
    class Gone:
        async def ask(self, _):
            return {}

    app.state.seasons._helper = Gone()
    answer = host.get(f"/season?{soon}&at=Quito,+lat=-0.2,+lon=-78.5&fresh=1")
    assert answer.status_code == 503
    assert "worked out now" in plain(answer.text)
