from __future__ import annotations

from datetime import datetime

import pytest

from argentry.book.log import events
from argentry.records.ids import new_id
from argentry.web.answers import plain_words


def at(text):
    return datetime.fromisoformat(text)


def test_a_run_is_opened_listed_and_read(host):
    run = host.post("/api/runs", {"plates": ["Q-1", "Q-2"], "title": "first"}).json()["run"]
    [row] = host.get("/api/runs").json()["runs"]
    assert (row["run"], row["title"], row["plates"]) == (run, "first", ["Q-1", "Q-2"])
    assert row["closed"] is None
    answer = host.get(f"/api/runs/{run}").json()
    assert answer["run"] == run
    assert answer["seq"] == max(e["seq"] for e in answer["events"])
    assert answer["events"][0]["kind"] == "run_opened"
    assert [p["label"] for p in answer["state"]["plates"]] == ["Q-1", "Q-2"]
    assert answer["server_now"] > answer["events"][-1]["at"]


def test_events_are_stamped_by_the_house_and_stored_once(host, run, remark, book):
    old, new = remark("ten seconds ago", age_s=10.0), remark("now")
    answer = host.post(f"/api/runs/{run}/events", {"events": [old, new]})
    assert answer.status_code == 200
    first, second = answer.json()["stored"]
    assert second["seq"] == first["seq"] + 1
    assert (at(second["at"]) - at(first["at"])).total_seconds() == pytest.approx(10.0, abs=0.5)
    again = host.post(f"/api/runs/{run}/events", {"events": [old, new]}).json()["stored"]
    assert [(s["id"], s["seq"], s["at"]) for s in again] == [
        (s["id"], s["seq"], s["at"]) for s in (first, second)
    ]
    assert all(s["duplicate"] for s in again)
    assert sum(e.kind == "remark_made" for e in events(book, run)) == 2


def test_the_good_ones_of_a_batch_are_kept(host, run, remark):
    good, bad = remark(), remark(kind="step_begun", plate="nobody", step="scour", body={})
    answer = host.post(f"/api/runs/{run}/events", {"events": [bad, good]})
    assert answer.status_code == 200
    assert [s["id"] for s in answer.json()["stored"]] == [good["id"]]
    [refused] = answer.json()["refused"]
    assert refused["id"] == bad["id"]
    assert refused["why"]


def test_who_reported_stands_in_the_event(host, tablet, run, remark, book):
    tablet.post(f"/api/runs/{run}/events", {"events": [remark()]})
    host.post(f"/api/runs/{run}/events", {"events": [remark()]})
    devices = [e.device for e in events(book, run) if e.kind == "remark_made"]
    assert devices == ["tablet one", "host"]


def test_a_caution_must_be_shown_before_its_step(host, run):
    state = host.get(f"/api/runs/{run}").json()["state"]
    step = next(s for s in state["steps"] if s["cautions"])
    plate = state["plates"][0]["id"]

    def send(kind, body, **more):
        one = {"id": new_id(), "kind": kind, "body": body, "age_s": 0.0, **more}
        return host.post(f"/api/runs/{run}/events", {"events": [one]})

    for earlier in state["steps"]:
        if earlier["key"] == step["key"]:
            break
        send("step_skipped", {"why": "test"}, plate=plate, step=earlier["key"])
    refused = send("step_begun", {}, plate=plate, step=step["key"])
    assert refused.status_code == 422
    assert step["cautions"][0]["text"][:20] in refused.json()["error"]
    for caution in step["cautions"]:
        assert send("caution_shown", {"caution": caution["key"]}, step=step["key"]).is_success
    assert send("step_begun", {}, plate=plate, step=step["key"]).status_code == 200


def test_a_reading_changes_a_length_on_the_bench(host, run):
    before = host.get(f"/api/runs/{run}").json()
    plan = {s["key"]: s["planned_s"] for s in before["state"]["plates"][0]["steps"]}
    answer = host.post("/api/readings", {"what": "box_c", "value": 12.0, "unit": "°C"})
    assert answer.status_code == 201
    after = host.get(f"/api/runs/{run}").json()
    colder = {s["key"]: s["planned_s"] for s in after["state"]["plates"][0]["steps"]}
    longer = [key for key in plan if colder[key] > plan[key]]
    assert longer, "a colder box fumes longer"
    assert any(e["kind"] == "duration_changed" and e["body"]["why"] for e in after["events"])


def test_a_reading_is_kept_and_a_wild_one_is_marked(host):
    good = host.post("/api/readings", {"what": "room_c", "value": 70.0, "unit": "°F"}).json()
    assert (good["unit"], good["used"]) == ("°C", True)
    assert good["value"] == pytest.approx(21.111, abs=1e-3)
    wild = host.post("/api/readings", {"what": "room_c", "value": 900.0}).json()
    assert not wild["used"]
    assert wild["doubt"]
    latest = host.get("/api/readings/latest").json()["readings"]["room_c"]
    assert latest["value"] == pytest.approx(21.111, abs=1e-3)


def test_a_reading_sent_twice_is_kept_once(host):
    one = {"id": new_id(), "what": "room_c", "value": 20.0, "age_s": 5.0}
    first, second = (host.post("/api/readings", one).json() for _ in range(2))
    assert (first["seq"], first["duplicate"]) == (second["seq"], False)
    assert second["duplicate"]


def test_health_needs_nobody_and_tells_nothing(stranger):
    answer = stranger.get("/api/health")
    assert answer.status_code == 200
    assert set(answer.json()) == {"state", "server_now", "clock"}
    assert answer.json()["clock"] == ""


def test_the_description_names_the_api_and_no_page(host):
    paths = host.get("/api/openapi.json").json()["paths"]
    assert set(paths) == {
        "/api/health",
        "/api/runs",
        "/api/runs/{run}",
        "/api/runs/{run}/events",
        "/api/runs/{run}/stream",
        "/api/readings",
        "/api/readings/latest",
        "/api/devices",
        "/api/devices/{device}",
    }


def test_a_book_that_cannot_be_written_is_told_and_nothing_is_acknowledged(
    host, run, remark, monkeypatch
):
    from argentry.desk.bench import run as bench
    from argentry.errors import ArgentryError

    def full(*_):
        raise ArgentryError("book.sqlite: the disk is full; make room, nothing was stored.")

    monkeypatch.setattr(bench, "append", full)
    answer = host.post(f"/api/runs/{run}/events", {"events": [remark()]})
    assert answer.status_code == 503
    assert answer.json() == {
        "error": "book.sqlite: the disk is full; make room, nothing was stored."
    }


def test_a_mistake_of_our_own_is_one_sentence_with_all_headers(host, run, monkeypatch, caplog):
    from argentry.web.api import runs

    monkeypatch.setattr(runs, "run_answer", lambda *_: 1 / 0)
    answer = host.get(f"/api/runs/{run}")
    assert answer.status_code == 500
    assert "The server failed" in answer.json()["error"]
    assert "content-security-policy" in answer.headers
    assert "ZeroDivisionError" in caplog.text


def test_a_page_names_no_options_but_those_of_a_whole_command():
    """It said "argentry book clock set while no server runs", which is not a command."""
    told = "set the house's clock: with argentry book clock --set while no server runs"
    assert plain_words(told) == told
    assert plain_words("--plates: a number (--plates 2)") == "plates: a number"
    assert plain_words("use --lamp or argentry label mixing --pdf FILE") == (
        "use lamp or argentry label mixing --pdf FILE"
    )
