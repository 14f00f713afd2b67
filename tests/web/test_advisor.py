"""The process that works out advice: it answers, it is begun again, and it ends with its server."""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import sys

import pytest

from argentry.bench.state_json import event_dict
from argentry.desk.runs import run_answer
from argentry.records.ids import new_id
from argentry.web.advisor import Advisor


class Bell:
    """Counts how often there was advice."""

    rung = 0

    def ring(self):
        self.rung += 1


@pytest.fixture
def polished(host, run):
    """A run whose first plate is polished; and a way to say more."""

    def say(kind, step=None, plate=None, **body):
        event = {"id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body}
        answer = host.post(f"/api/runs/{run}/events", {"events": [event]})
        assert answer.status_code == 200, answer.text
        assert not answer.json()["refused"], answer.text

    state = host.get(f"/api/runs/{run}").json()["state"]
    plate = state["plates"][0]["id"]
    for step in state["steps"]:
        for caution in step["cautions"]:
            say("caution_shown", step["key"], caution=caution["key"])
    for key in ("ready_room", "scour", "rouge_buff", "final_buff"):
        say("step_begun", key, plate)
        say("step_ended", key, plate)
    return run, plate, say


def given(house, run):
    return [event_dict(e) for e in run_answer(house, run).events if e.kind == "advice_given"]


HEARD = [{"kind": "step_ended"}]


def advised(house, run, *, between=lambda advisor: None):
    """Let an advisor hear of a run and return how often it rang."""

    async def go():
        bell = Bell()
        advisor = Advisor(house, bell)
        try:
            advisor.heard(run, HEARD)
            while advisor.helper._process is None and not advisor._task.done():
                await asyncio.wait([advisor._task], timeout=0.01)
            between(advisor)
            await advisor._task
        finally:
            await advisor.close()
        return bell.rung

    return asyncio.run(go())


def test_advice_comes_once(app, polished):
    run, plate, _ = polished
    house = app.state.house
    assert advised(house, run) == 1
    (said,) = given(house, run)
    assert said["plate"] == plate
    assert said["body"]["stage"] == "polish"
    assert advised(house, run) == 0, "nothing new is to be said"
    assert len(given(house, run)) == 1


def test_when_the_process_is_gone_the_next_press_asks_again(app, polished):
    run, _, _ = polished
    house = app.state.house
    assert advised(house, run, between=lambda advisor: advisor.helper._process.kill()) == 0
    assert given(house, run) == []
    assert advised(house, run) == 1


def test_advice_that_comes_too_late_is_not_said(app, polished):
    run, plate, say = polished
    house = app.state.house
    begin = lambda _: say("step_begun", "warm", plate)  # noqa: E731
    assert advised(house, run, between=begin) == 0
    assert given(house, run) == []


def test_the_process_ends_with_its_server(studio_dir, book, polished, usual_helper):
    run, plate, _ = polished
    assert usual_helper == (sys.executable, "-m", "argentry.web.advising")
    child = subprocess.Popen(
        [*usual_helper, str(studio_dir)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        question = {"run": run, "now": "2026-06-21T10:00:00.000000Z"}
        for _ in range(2):
            child.stdin.write(json.dumps(question) + "\n")
            child.stdin.flush()
            answer = json.loads(child.stdout.readline())
            assert list(answer) == [plate]
            assert answer[plate]["line"]
        if hasattr(os, "getpriority"):
            assert os.getpriority(os.PRIO_PROCESS, child.pid) > os.getpriority(os.PRIO_PROCESS, 0)
        child.stdin.close()  # as when the server is killed
        assert child.wait(90) == 0
    finally:
        child.kill()
        child.wait()
        child.stdout.close()


def test_a_server_killed_before_its_answer_leaves_no_words_behind(
    studio_dir, book, polished, usual_helper
):
    child = subprocess.Popen(
        [*usual_helper, str(studio_dir)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        child.stdout.close()
        question = {"run": polished[0], "now": "2026-06-21T10:00:00.000000Z"}
        _, said = child.communicate(json.dumps(question) + "\n", 60)
        assert (child.returncode, said) == (0, "")
    finally:
        child.kill()


def test_it_is_let_go_when_nobody_asks(app, polished, monkeypatch):
    from argentry.web import helper as module

    monkeypatch.setattr(module, "IDLE_SECONDS", 0.05)
    run, _, _ = polished

    async def go():
        advisor = Advisor(app.state.house, Bell())
        begin, begun = advisor.helper._begin, []

        async def beginning():
            begun.append(await begin())
            return begun[-1]

        monkeypatch.setattr(advisor.helper, "_begin", beginning)
        advisor.heard(run, HEARD)
        await advisor._task
        async with asyncio.timeout(90):
            await begun[0].wait()
            await begun[0].stdout.read()  # a forked one closes it a moment later
        assert advisor.helper._process is None
        await advisor.close()

    asyncio.run(go())
    assert len(given(app.state.house, run)) == 1
