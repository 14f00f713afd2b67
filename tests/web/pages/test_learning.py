"""Pages of what the plates teach, and the line at a checkpoint, through the server."""

from __future__ import annotations

import re
import time
from datetime import timedelta

import httpx
import pytest

from argentry.book.log import events
from argentry.records.ids import new_id


@pytest.fixture(autouse=True)
def taught(app):
    from tests.web.test_kept import Taught

    app.state.taught._helper = Taught(app.state.house)
    return app.state.taught._helper


def plain(text):
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


def test_an_empty_book_says_that_all_is_belief(host):
    answer = host.get("/learned?fresh=1")
    text = plain(answer.text)
    assert answer.status_code == 200
    assert "every figure is a starting assumption" in answer.text.replace("&#39;", "'")
    assert "nothing to explain" in text
    assert "No plate is graded yet" in text
    assert "strips on one plate" in text


def test_every_figure_has_its_range_and_its_count(host, full):
    answer = host.get("/learned?fresh=1")
    assert answer.status_code == 200
    figures = re.findall(r"<figure>.*?</figure>", answer.text, re.DOTALL)
    assert len(figures) > 8
    for figure in figures:
        assert 'role="img"' in figure
        words = plain(figure)
        assert re.search(r"\d+ plates|\d+ days", words), words
        assert "range" in words, words
    shares = re.findall(r"\d+ % \(?[^)]*\)", plain(answer.text))
    assert len(shares) > 5
    assert "the last rinse carried salts" in answer.text
    # whoever holds a tablet has no terminal: it named three commands
    assert not re.search(r"argentry [a-z]|<code>", answer.text)
    (every,) = re.findall(r"<summary>All (\d+) conditions</summary>", answer.text)
    folded = answer.text.split("conditions</summary>")[1].split("</details>")[0]
    assert folded.count('<th scope="row">') == int(every) > 12


def test_the_exposure_curve_carries_every_judged_plate(host, full):
    text = host.get("/learned?fresh=1").text
    drawn = re.search(r"from (\d+) judged plates", text)
    lanes = re.findall(r">(under|right|over|solarised), (\d+)<", text)
    assert lanes[:4] == lanes[4:]  # drawn for a phone and for a wider screen
    lanes = lanes[:4]
    assert [name for name, _ in lanes] == ["under", "right", "over", "solarised"]
    assert sum(int(count) for _, count in lanes) == int(drawn[1]) > 70


def test_a_label_typed_in_leads_to_its_page(host, full):
    answer = host.get("/learned/plate", params={"label": " P004 "})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/plates/P004"


def test_strangers_are_not_shown_what_was_learned(stranger, tablet):
    for path in ("/learned", "/plates/P004"):
        answer = stranger.get(path)
        assert answer.status_code == 303
        assert answer.headers["location"] == "/pair"
    assert tablet.get("/learned").status_code == 200


def test_the_line_at_a_checkpoint_comes_by_itself_and_what_is_done_instead_is_kept(live, app, full):
    # in the morning: with no time left to go back, going on is the right advice
    clock = app.state.house.clock
    clock.start = clock.start.replace(hour=9, minute=0) + timedelta(days=1)
    with httpx.Client(base_url=live, headers={"Origin": live}, timeout=30) as client:
        run = client.post("/api/runs", json={"plates": ["Q-1"]}).json()["run"]
        state = client.get(f"/api/runs/{run}").json()["state"]
        plate = state["plates"][0]["id"]

        def say(kind, step=None, of=plate, **body):
            event = {"id": new_id(), "kind": kind, "plate": of, "step": step, "body": body}
            answer = client.post(f"/api/runs/{run}/events", json={"events": [event]})
            assert answer.status_code == 200, answer.text

        def wait_for(kind, count):
            """Wait by a look at the log, which is less work; return what the server tells."""
            end = time.monotonic() + 300  # for a busy machine
            while time.monotonic() < end:
                if [one.kind for one in events(app.state.house.book, run)].count(kind) >= count:
                    break
                time.sleep(0.1)
            found = client.get(f"/api/runs/{run}").json()["events"]
            return [e for e in found if e["kind"] == kind]

        for step in state["steps"]:
            for caution in step["cautions"]:
                say("caution_shown", step["key"], None, caution=caution["key"])
        for key in ("ready_room", "scour", "rouge_buff", "final_buff"):
            say("step_begun", key)
            say("step_ended", key)
        said = wait_for("advice_given", 1)
        assert len(said) == 1
        assert said[0]["body"]["plates"] == 116
        assert said[0]["step"] == "warm"
        assert re.match(r"\d+ % good \(\d+–\d+; 116 plates\)\. ", said[0]["body"]["line"])
        say("check_answered", "final_buff", answer="wrong")
        again = wait_for("advice_given", 2)
        assert again[1]["body"]["advice"] in ("redo", "stop")
        say("step_begun", "warm")
        kept = wait_for("advice_overruled", 1)
        assert kept[0]["body"]["did"] == "continue"
