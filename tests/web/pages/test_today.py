"""The first page: what is kept at once, the rest on asking; one sentence for what is not known."""

from __future__ import annotations

import asyncio
import html
import re
from dataclasses import replace
from datetime import UTC, date, datetime
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from argentry.keeping.clock import steady_clock
from argentry.out.day.ahead import day_ahead
from argentry.out.day.page import day_view
from argentry.records.plain import plain

_spec = spec_from_file_location("day_fixture", Path(__file__).parents[2] / "out/day_fixture.py")
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)
PLAN = fixture.make_plan(2)
VIEW = day_view(PLAN)
MORNING = datetime(2026, 6, 21, 7, 0, tzinfo=UTC)


class Process:
    """Stands for the process that plans."""

    awake = True

    def __init__(self):
        self.asked, self.refused = [], ""

    async def ask(self, question):
        self.asked.append(question)
        if self.refused:
            return {"refused": self.refused}
        if "ahead" in question:
            return plain(day_ahead(PLAN)) | {"date": question["ahead"]}
        return plain(day_view(PLAN, by_rule=question["by_rule"]))


@pytest.fixture
def planner(app):
    fixed = steady_clock(wall=lambda: MORNING, passed=lambda: 0.0)
    object.__setattr__(app.state.house, "clock", fixed)
    app.state.days.helper = app.state.days._quick = Process()
    return app.state.days.helper


def test_the_first_opening_waits_for_nothing(host, planner):
    text = host.get("/").text
    assert 'data-state="wanted"' in text
    assert "Today, the day is being worked out" in text
    assert "11 days are being worked out" in text
    assert planner.asked == []


def test_then_the_plan_is_there_with_the_words_of_the_sheet(host, planner):
    first = host.get("/today/plan?first=1").text
    assert 'data-state="first"' in first
    assert "at the latest" not in first.split("<table")[0]
    again = host.get("/").text
    assert 'data-state="first"' in again
    assert "From before the latest change" not in again, "nothing has changed"
    whole = host.get("/today/plan").text
    assert 'data-state="whole"' in whole
    page = host.get("/").text
    for text in (whole, page):
        assert f"Today, {VIEW.headline}" in text
        for words, figure in VIEW.odds:
            assert words in text
            assert f">{figure.split(', ')[0]}</button></dd>" in text
        for part in VIEW.parts:
            assert part in html.unescape(text)
        starts = re.findall(r'<th scope="row" class="figure">([\d:]+)</th>', text)
        assert starts == [row.start for row in VIEW.rows]
        assert [text.count(f'class="at-{name}"') for name in ("phone", "tablet", "desk")] == [1] * 3
    assert 'data-state="whole"' in page


def test_what_is_asked_reaches_the_plan_and_stays_in_the_form(host, planner):
    asked = "date=2026-06-23&count=3&start=09:30&seal_later=yes&lamp=500+W+at+0.3+m&workers=2"
    host.get(f"/today/plan?{asked}")
    [question] = planner.asked
    assert (question["day"], question["plates"]) == ("2026-06-23", 3)
    assert question["wished"] == {
        "start": "09:30", "seal_later": "yes", "lamp": "500 W at 0.3 m", "workers": "2",
    }  # fmt: skip
    text = host.get(f"/?{asked}").text
    assert 'data-state="whole"' in text
    for value in (
        'value="2026-06-23"',
        'value="3"',
        'value="09:30"',
        '"yes" selected',
        'value="2"',
    ):
        assert value in text
    assert "<details open>" in text  # pairs of hands are asked among the rarer wishes


def test_a_wish_that_cannot_be_is_a_sentence_in_place(host, planner):
    planner.refused = "--lamp: 'x' is not a lamp; write its power."
    text = host.get("/today/plan?lamp=x").text
    assert "lamp: &#39;x&#39; is not a lamp; write its power." in text
    assert "--lamp" not in text


def test_rules_that_find_no_plate_leave_the_answer_to_the_whole_search(host, planner, monkeypatch):
    none = day_view(replace(PLAN, plates_placed=0, steps=()), by_rule=True)

    async def ask(question):
        return plain(none)

    monkeypatch.setattr(planner, "ask", ask)
    assert 'data-state="wanted"' in host.get("/today/plan?first=1").text
    assert 'data-state="wanted"' in host.get("/").text


@pytest.mark.parametrize(
    "path",
    ["/?plates=2", "/today/plan?cuont=2", "/day/2026-06-23.pdf?paltes=2", "/today/days?a=1",
     "/day/2026-06-23.pdf?lamp=900+lx&loud=1"],
)  # fmt: skip
def test_what_an_address_does_not_know_is_refused_not_ignored(host, planner, path):
    answer = host.get(path)
    assert answer.status_code == 422
    assert re.search(r"is not something that can be asked here", answer.text)
    assert planner.asked == []


def test_a_slip_in_an_address_is_told_the_right_word(host, planner):
    assert "count" in re.search(r'role="alert">([^<]*)', host.get("/?cuont=2").text)[1]
    twice = host.get("/?count=2&count=3")
    assert "asked twice" in twice.text


def test_the_days_ahead_stand_with_their_good_plates(host, planner, app):
    asyncio.run(app.state.days.look())
    text = host.get("/today/days").text
    assert text.count('<th scope="row">') == 11
    assert 'href="/?date=2026-06-22"' in text
    assert day_ahead(PLAN).good_words in text
    assert "being worked out" not in text


def test_a_plan_of_a_day_that_is_past_says_so_and_another_does_not(host, planner):
    for day, said in (("2026-06-20", True), ("2026-06-21", False), ("2026-06-22", False)):
        text = host.get(f"/today/plan?date={day}").text
        assert ("is past: this plan is made as if" in text) == said


def test_old_weather_is_an_alarm(host, planner, monkeypatch):
    old = replace(VIEW, weather="Weather: X, 7 h old.", weather_old=True)

    async def ask(question):
        return plain(old)

    monkeypatch.setattr(planner, "ask", ask)
    assert '<p class="problem" role="alert">Weather: X, 7 h old.' in host.get("/today/plan").text


def test_a_day_without_a_plate_leads_to_the_next_that_holds_one(host, planner, monkeypatch):
    none = replace(PLAN, plates_placed=0, steps=(), next_day=date(2026, 11, 30))

    async def ask(question):
        return plain(day_view(none))

    monkeypatch.setattr(planner, "ask", ask)
    link = '<a href="/?date=2026-11-30">Plan Monday 30 November instead</a>'
    assert link in host.get("/today/plan").text


NOTES = tuple(f"Note {n}." for n in range(6))


@pytest.mark.parametrize(
    ("changes", "in_sight"),
    [
        ({"notes": NOTES}, NOTES[:1]),
        ({"notes": NOTES[:2]}, NOTES[:2]),
        ({"notes": NOTES, "rows": ()}, NOTES),  # a day without a plate: they say why
        # what is missing was folded: nobody mixes a bath of gold that is not there
        ({"notes": NOTES, "lacking": 2}, NOTES[:2]),
    ],
)
def test_the_gravest_note_stands_before_the_first_step_and_the_others_are_folded(
    host, planner, monkeypatch, changes, in_sight
):
    async def ask(question):
        return plain(replace(VIEW, **changes))

    monkeypatch.setattr(planner, "ask", ask)
    page = host.get("/today/plan").text
    sight = re.sub(r"<details.*?</details>", "", page, flags=re.DOTALL)
    assert tuple(note for note in NOTES if note in sight) == in_sight
    folded = len(changes["notes"]) - len(in_sight)
    assert (f"<summary>{folded} more notes</summary>" in page) is (folded > 0)
    assert all(note in page.split("<tbody>")[0] for note in changes["notes"])


def test_on_a_page_no_option_is_named(host, planner, monkeypatch):
    note = "Look at a forecast first (--weather), or more hands (--workers 2), or --seal-later."

    async def ask(question):
        return plain(replace(VIEW, notes=(note,)))

    monkeypatch.setattr(planner, "ask", ask)
    shown = html.unescape(host.get("/today/plan").text)
    assert "Look at a forecast first, or more hands, or seal-later." in shown


def test_each_look_is_kept_on_the_device(host, planner):
    for look in ("light", "dark", "red"):
        answer = host.form("/look", look=look, back="/plates?find=a")
        assert answer.headers["location"] == "/plates?find=a"
        assert answer.cookies["argentry_look"] == look
        host.cookies = {"argentry_look": look}
        for path in (
            "/",
            "/plates",
            "/runs",
            "/learned",
            "/meter",
            "/weather",
            "/devices",
            "/clock",
        ):
            assert f'<html lang="en" class="{look}">' in host.get(path).text
    host.cookies = {"argentry_look": "<b>"}
    assert '<html lang="en" class="auto">' in host.get("/plates").text
    assert host.form("/look", look="blue", back="/").status_code == 422
    for back in ("//evil.test", "https://evil.test", "/\\evil.test", ""):
        assert host.form("/look", look="dark", back=back).headers["location"] == "/"
