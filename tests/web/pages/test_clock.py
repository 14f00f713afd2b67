"""The page on which the host sets the house's clock, and where a wrong one is told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from argentry.web.keeper import Keeper

DAYS = timedelta(days=3)


@pytest.fixture
def behind(app):
    """The server was started before the machine's clock was put right."""
    clock = app.state.house.clock
    clock.start -= DAYS
    return clock


def test_two_clocks_that_agree(host):
    text = host.get("/clock").text
    assert "The two agree" in text
    assert 'action="/clock"' not in text
    assert host.get("/api/health").json()["clock"] == ""
    assert 'role="alert"' not in host.get("/").text


def test_every_page_tells_and_the_host_sets_it(host, tablet, behind, run):
    for path in ("/", "/plates", f"/runs/{run}"):
        assert "3 d behind the clock of this machine" in host.get(path).text
    at_tablet = tablet.get("/plates").text
    assert "3 d behind" in at_tablet
    assert 'href="/clock"' not in at_tablet
    assert "3 d behind" in host.get("/api/health").json()["clock"]
    assert host.get("/clock").text.count('role="alert"') == 1
    page = host.form("/clock")
    assert "The two agree. 1 run moved with it." in page.text
    assert host.get("/api/health").json()["clock"] == ""
    opened = datetime.fromisoformat(host.get(f"/api/runs/{run}").json()["state"]["opened"])
    assert abs(datetime.now(UTC) - opened) < timedelta(minutes=1)


def test_no_day_is_planned_by_a_clock_that_is_off(host, behind):
    for answer in (
        host.get("/day/today.pdf"),
        host.form("/runs", **{"from": "plan", "date": "today", "count": "1"}),
        host.post("/api/runs", {"from_plan": {"date": "today", "plates": 1}}),
    ):
        assert answer.status_code == 422
        assert "3 d behind" in answer.text


def test_only_the_host_sets_it(tablet, stranger, behind):
    assert tablet.get("/clock").status_code == 403
    assert tablet.form("/clock").status_code == 403
    assert stranger.form("/clock").status_code in (401, 303)
    assert "3 d behind" in tablet.get("/api/health").json()["clock"]


def test_the_host_is_told_once_each_time_they_come_apart(app):
    clock, keeper = app.state.house.clock, Keeper(app.state.house, lambda _: None)
    assert keeper.compare_clocks() == ""
    clock.start += DAYS
    assert "3 d ahead of" in keeper.compare_clocks()
    assert keeper.compare_clocks() == ""
    clock.start -= DAYS
    assert keeper.compare_clocks() == ""
    clock.start -= DAYS
    assert "3 d behind" in keeper.compare_clocks()
