"""While a press is answered the process beside stands still, never for long, and never for good."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
from contextlib import nullcontext
from pathlib import Path

import pytest

from argentry.web import helper as module
from argentry.web.helper import Helper, PressFirst

ECHO = "import sys\nfor line in sys.stdin: print('{}', flush=True)"
PRESS = {"type": "http", "method": "POST", "path": "/api/runs/0190/events"}
pytestmark = pytest.mark.skipif(
    not Path("/proc/self/stat").exists(), reason="this system does not say which processes stand"
)


GOES, ENDED = ("R", "S", "D"), (None, "Z", "X")


def state(pid):
    """Return the state of a process, the third field of proc_pid_stat(5); None when it is gone."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return None


def stands(pid):
    return state(pid) == "T"


async def comes(pid, *wanted):
    """Wait until a process is in one of some states."""
    async with asyncio.timeout(20):
        while state(pid) not in wanted:  # noqa: ASYNC110 - the system tells nobody of it
            await asyncio.sleep(0.005)


@pytest.fixture
def beside(app, monkeypatch):
    """Run a coroutine with a helper whose process is there."""
    monkeypatch.setattr(module, "COMMAND", (sys.executable, "-c", ECHO))

    def run(asked):
        async def go():
            helper = Helper(app.state.house)
            await helper.ask({})
            try:
                await asked(helper, helper._process.pid)
            finally:
                await helper.close()

        asyncio.run(go())

    return run


def test_it_stands_still_until_the_last_press_is_answered(beside, monkeypatch):
    monkeypatch.setattr(module, "STILL_SECONDS", 1e3)

    async def asked(helper, pid):
        with helper.still():
            with helper.still():
                await comes(pid, "T")
            await asyncio.sleep(0.05)
            assert stands(pid), "one press is still waiting"
        await comes(pid, *GOES)
        assert await helper.ask({}) == {}
        assert helper.awake

    beside(asked)


def test_it_goes_on_by_itself_when_the_press_takes_long(beside):
    async def asked(helper, pid):
        with helper.still():
            await comes(pid, "T")
            await comes(pid, *GOES)  # it may hold what the press waits for

    beside(asked)


def test_it_can_be_ended_while_it_stands(beside, monkeypatch):
    monkeypatch.setattr(module, "STILL_SECONDS", 1e3)

    async def asked(helper, pid):
        with helper.still():
            await comes(pid, "T")
            await helper.close()
            assert not helper.awake

    beside(asked)


@pytest.mark.parametrize(
    ("scope", "rests"),
    [
        (PRESS, True),
        (PRESS | {"method": "GET"}, False),
        (PRESS | {"path": "/api/runs"}, False),
        (PRESS | {"type": "lifespan"}, False),
    ],
)
def test_only_a_press_stills_it(beside, monkeypatch, scope, rests):
    monkeypatch.setattr(module, "STILL_SECONDS", 1e3)

    async def asked(helper, pid):
        async def behind(*_):
            if rests:
                await comes(pid, "T")
            assert stands(pid) == rests

        await PressFirst(behind, lambda: [helper])(scope, None, None)
        await comes(pid, *GOES)

    beside(asked)


def test_the_application_stills_both_of_its_processes(app, host, run, monkeypatch):
    stilled = []
    for one in (app.state.advisor, app.state.replanner):
        monkeypatch.setattr(one.helper, "still", lambda one=one: nullcontext(stilled.append(one)))
    host.post(f"/api/runs/{run}/events", {"events": []})
    assert stilled == [app.state.advisor, app.state.replanner]


CHILD = """
import os, signal, sys
from argentry.web.advising import end_with_server
end_with_server()
print(os.getpid(), flush=True)
os.kill(os.getpid(), signal.SIGSTOP)
"""
SERVER = "import subprocess, sys; subprocess.run([sys.executable, '-c', sys.argv[1]])"


def test_one_that_stands_ends_with_its_server():
    server = subprocess.Popen(
        [sys.executable, "-c", SERVER, CHILD], stdout=subprocess.PIPE, text=True
    )
    pid = int(server.stdout.readline())
    try:
        asyncio.run(comes(pid, "T"))
        server.kill()
        server.wait()
        asyncio.run(comes(pid, *ENDED))
    finally:
        if state(pid) not in ENDED:
            os.kill(pid, signal.SIGKILL)
        server.stdout.close()


def test_a_question_that_keeps_busy_ends_the_process_and_one_that_waits_does_not():
    """Two minutes by the clock ended all that a busy machine was asked, again and again."""
    code = (
        "import sys, time; from argentry.web import advising as a; a.LONGEST_CPU_SECONDS = 0.1\n"
        "for line in a.each_in_time(sys.stdin):\n"
        "    time.sleep(0.3)\n"
        "    print(line.strip(), flush=True)\n"
        "    while line.startswith('busy'): pass\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], input="wait\nbusy\nnever\n", capture_output=True, text=True,
        timeout=60, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (-signal.SIGPROF, "wait\nbusy\n")
