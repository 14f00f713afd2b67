from __future__ import annotations

import html
import re
from datetime import UTC, date, datetime

import httpx
import pytest

from argentry.book.log import append
from argentry.book.plates import add_making, add_plate, plate_by_label
from argentry.keeping.clock import steady_clock
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.web.app import create_app
from argentry.web.settings import Settings


@pytest.fixture
def plates(book):
    for number in range(130):
        add_plate(book, Plate(new_id(), f"Q-{number:03}"))
    made = Making(
        new_id(), plate_by_label(book, "Q-007").id, None, "s", 1, date(2026, 6, 21),
        grade="study", defects=(("veil", "iodise"),),
    )  # fmt: skip
    add_making(book, made)
    return made


def test_an_empty_book_says_what_to_do_first(host):
    text = host.get("/runs").text
    assert "The book has no runs yet" in text
    assert "No plate has been begun yet" in text  # true of a book with plates on the shelf too
    assert "The book has no plates yet" not in text
    assert "new-sensor" in text


def test_a_run_is_opened_by_the_form_and_its_bench_shown(host):
    answer = host.form("/runs", **{"from": "plates", "labels": "Q-1, Q-2,", "title": "morning"})
    assert answer.status_code == 303
    run = answer.headers["location"].removeprefix("/bench/")
    assert f'data-run="{run}"' in host.get(f"/bench/{run}").text
    text = host.get("/runs").text
    assert "morning" in text
    for label in ("Q-1", "Q-2"):
        assert f'<a href="/plates/{label}">{label}</a>' in text
    assert f'href="/bench/{run}"' in text


def test_a_form_without_plates_is_refused_on_a_page(host):
    answer = host.form("/runs", **{"from": "plates", "labels": " , "})
    assert answer.status_code == 422
    assert "no plate is named" in answer.text


def test_the_last_plates_stand_on_the_page_of_runs(host, plates):
    text = host.get("/runs").text
    assert "Q-007" in text
    assert "study" in text


def test_readings_on_the_page_of_runs_say_whether_they_are_used(host):
    host.post("/api/readings", {"what": "room_c", "value": 20.5})
    host.post("/api/readings", {"what": "box_c", "value": 950.0})
    text = host.get("/runs").text
    assert "20.5 °C" in text
    assert re.search(r'class="doubt">not used:</b> \w+', text)


def test_pages_that_may_come_up_in_the_dark_are_red_on_black(host, stranger, run):
    assert 'class="red"' in stranger.get("/pair").text
    assert 'class="red"' in host.get("/bench/nothing").text
    assert 'class="red"' in host.get(f"/bench/{run}").text
    for text in (stranger.get("/pair").text, host.get("/bench/nothing").text):
        assert 'name="theme-color" content="#000000"' in text


def test_the_style_of_the_dark_pages_holds_no_green_and_no_blue(host):
    css = host.get("/static/desk.css").text
    [red, *_] = re.findall(r"^\.red \{(.*?)\}", css, re.MULTILINE)
    for colour in re.findall(r"#[0-9a-f]+", red):
        digits = colour[1:]
        width = len(digits) // 3
        assert set(digits[width:]) == {"0"}, colour


def test_every_colour_of_the_pages_is_one_of_the_named_ones(host):
    css = host.get("/static/desk.css").text
    rules = re.sub(r"(:root|\.red|\.dark|\.auto) \{.*?\}", "", css, flags=re.DOTALL)
    rules = re.sub(r"\.chart \[[a-z]+=\"#[0-9a-f]{6}\"\]", "", rules)  # as drawn, given another
    loose = set(re.findall(r"#[0-9a-f]{3,8}\b", rules)) - {"#000", "#f00", "#fff"}
    assert loose == set()


def test_every_field_has_its_label(host, stranger, plates):
    for text in (host.get("/runs").text, host.get("/plates").text, stranger.get("/pair").text):
        fields = re.findall(r'<(?:input|select) id="([^"]+)"', text)
        assert fields
        for name in fields:
            assert f'for="{name}"' in text


def test_the_bench_page_says_which_files_it_belongs_to(host, run):
    text = host.get(f"/bench/{run}").text
    assert re.search(r'data-assets="[0-9a-f]{12}"', text)


def test_the_service_worker_is_asked_for_again_and_again(host):
    answer = host.get("/sw.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache"


def test_nothing_of_the_studio_is_kept_by_a_browser(host, run):
    for path in ("/", "/plates", f"/bench/{run}", f"/api/runs/{run}"):
        assert host.get(path).headers["cache-control"] == "no-store"


def test_the_date_of_the_form_is_the_studios(host, app, monkeypatch):
    late = datetime(2026, 6, 21, 22, 30, tzinfo=UTC)  # half past midnight in Madrid
    fixed = steady_clock(wall=lambda: late, passed=lambda: 0.0)
    object.__setattr__(app.state.house, "clock", fixed)
    assert 'value="2026-06-22"' in host.get("/").text


def test_the_day_sheet_is_a_pdf_of_the_day_asked_for(live):
    answer = httpx.get(f"{live}/day/2027-06-21.pdf?plates=1", timeout=120)
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")


def test_a_planned_day_is_opened_by_the_form(host, app):
    form = {"from": "plan", "date": "2027-06-21", "count": "1", "title": "longest day"}
    answer = host.form("/runs", **form)
    assert answer.status_code == 303
    run = host.get("/api/runs/" + answer.headers["location"].removeprefix("/bench/")).json()
    assert run["state"]["title"] == "longest day"
    assert [p["label"] for p in run["state"]["plates"]] == ["2027-06-21/1"]


@pytest.mark.parametrize("count", ["0", "13", "-1", "two", "１"])
def test_a_number_of_plates_that_cannot_be(host, count):
    answer = host.form("/runs", **{"from": "plan", "date": "today", "count": count})
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text


def test_the_form_of_a_day_leads_to_its_sheet_with_what_is_asked(host):
    answer = host.get("/day?from=plan&date=2027-06-21&count=3&title=&own_labels=&workers=2&start=")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/day/2027-06-21.pdf?plates=3&workers=2"
    labelled = host.get("/day?date=2027-06-21&count=3&own_labels=A,B").headers["location"]
    assert labelled == "/day/2027-06-21.pdf?plates=2"


def test_a_wish_that_cannot_be_is_a_sentence_on_the_page(host):
    form = {"from": "plan", "date": "2027-06-21", "count": "1", "workers": "0"}
    answer = host.form("/runs", **form)
    assert answer.status_code == 422
    assert "workers: 0 is out of range" in answer.text


def test_the_page_of_a_run_shows_its_plates_and_answers_a_new_plan(host, app, run):
    house = app.state.house
    body = {"plan": {}, "lines": ["Q-2 no longer fits."], "share": 0.7, "kept_share": 0.4}
    made = Event(new_id(), run, "plan_offered", house.clock.now(), body=body, device="house")
    append(house.book, [made])
    shown = host.get(f"/runs/{run}").text
    assert "Where the plates stand" in shown
    assert "New plan: Q-2 no longer fits." in shown
    answer = host.form("/runs/plan", run=run, offer=made.id, answer="take")
    assert answer.status_code == 303
    assert "New plan" not in host.get(f"/runs/{run}").text
    assert host.form("/runs/plan", run=run, offer=made.id, answer="take").status_code == 422


def test_a_run_is_closed_on_its_page_which_names_the_plates_in_work(host, app, run):
    """Only the bench could close one, after each of its plates was given up there."""
    house = app.state.house
    shown = host.get(f"/runs/{run}").text
    assert "No plate is in work." in shown
    state = host.get(f"/api/runs/{run}").json()["state"]
    one, step = state["plates"][0], state["steps"][0]["key"]
    begun = Event(new_id(), run, "step_begun", house.clock.now(), one["id"], step, device="tablet")
    append(house.book, [begun])
    shown = host.get(f"/runs/{run}").text
    assert f'Still in work: <a href="/plates/{one["label"]}">' in shown
    assert "<td>in work</td>" in shown
    assert "None of its plates is in work" not in host.get("/today/book").text
    for plate in state["plates"]:
        up = {"reason": "outward", "outward": "other"}
        lost = Event(new_id(), run, "plate_abandoned", house.clock.now(), plate["id"], None, up)
        append(house.book, [lost])
    assert "<td>given up</td>" in host.get(f"/runs/{run}").text, "it read: not graded"
    book = host.get("/today/book").text
    assert f'None of its plates is in work. <a href="/runs/{run}">Close it</a>' in book
    answer = host.form("/runs/close", run=run)
    assert answer.headers["location"] == f"/runs/{run}"
    shown = host.get(f"/runs/{run}").text
    assert "Close the run" not in shown
    assert "The plan of the next day" in shown
    assert host.form("/runs/close", run=run).status_code == 422, "it is closed already"


def test_a_page_speaks_and_asks_in_the_studios_units(studio_dir, book, ask):
    file = studio_dir / "studio.toml"
    text = file.read_text(encoding="utf-8").replace('"celsius"\n', '"fahrenheit"\n')
    file.write_text(text, encoding="utf-8")
    host = ask(create_app(studio_dir, book, settings=Settings(names=("studio.test",))))
    host.post("/api/readings", {"what": "room_c", "value": 20.0})
    answer = host.get("/runs")
    assert "68 °F" in answer.text
    assert "°C" not in answer.text
    assert int(answer.headers["content-length"]) == len(answer.content)
    host.form("/runs", **{"from": "plates", "labels": "Q-1", "title": "morning"})
    [run] = set(re.findall(r'href="/bench/([^"]+)"', host.get("/runs").text))
    add_plate(book, Plate(new_id(), "at 20 °C"))
    assert 'value="at 20 °C"' in host.get("/plates/at%2020%20%C2%B0C").text
    asked = host.get(f"/bench/{run}").text
    assert '"room_c", "Air at the bench", "°F"' in html.unescape(asked)


def test_a_refusal_is_headed_by_words_not_by_a_number(host):
    missing = host.get("/runs/nothing")
    assert missing.status_code == 404
    assert "<h1>Not found</h1>" in missing.text
    wrong = host.form("/runs", **{"from": "plates", "labels": "Q-1, Q-1"})
    assert wrong.status_code == 422
    assert "<h1>This cannot be done</h1>" in wrong.text
    assert "named twice" in wrong.text
