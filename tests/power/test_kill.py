"""The server is killed (SIGKILL) two hundred times on each store while two devices go on.

Every event that was answered is in the book once, nothing sent again is there twice, and the times
between events are those that passed.
"""

import json
import os
import random
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from threading import Event as Flag

import pytest

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.runs.fold import fold
from argentry.desk.studio import new_studio

KILLS = 200
HERE = Path(__file__).parent
SLACK_S = 0.005  # two readings of one machine's clocks


class Restarter:
    """The real server, started from a forked process each time."""

    def __init__(self, studio, port, address):
        arguments = [str(studio), str(port), *([address] if address else [])]
        self.process = subprocess.Popen(
            [sys.executable, str(HERE / "prefork.py"), *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self.pid = 0

    def start(self):
        self.process.stdin.write("start\n")
        self.process.stdin.flush()
        self.pid = int(self.process.stdout.readline())

    def kill(self):
        os.kill(self.pid, signal.SIGKILL)

    def close(self):
        self.process.stdin.close()
        self.process.wait(30)
        self.process.stdout.close()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def until_ready(port):
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=5) as asking:
                asking.sendall(b"GET /api/health HTTP/1.0\r\nHost: 127.0.0.1\r\n\r\n")
                if b"200" in asking.recv(100):
                    return
        except OSError:
            pass
        time.sleep(0.003)
    pytest.fail("the server did not come back")


def until_next_answer(devices):
    """Wait until a device has an event answered, so that the run goes on between the kills."""
    before = count = sum(len(device.sent) for device in devices)
    end = time.monotonic() + 60
    while count == before and time.monotonic() < end:
        assert all(device.is_alive() for device in devices), [one.wrong for one in devices]
        time.sleep(0.002)
        count = sum(len(device.sent) for device in devices)


def storm(studio, address, kills, seed, client):
    """Kill the server `kills` times under two devices; return the devices."""
    port, chance, stop = free_port(), random.Random(seed), Flag()
    server = Restarter(studio, port, address)
    devices = [client.Device(port, name, stop) for name in ("left", "right")]
    try:
        server.start()
        until_ready(port)
        for device in devices:
            device.start()
        for number in range(kills):
            if number % 8 == 7:  # also while it is coming up
                time.sleep(chance.uniform(0.0, 0.1))
            else:
                until_ready(port)
                if number % 5:  # else at once, whatever goes on
                    until_next_answer(devices)
                time.sleep(chance.uniform(0.0, 2.0) * max(one.took_s for one in devices))
            server.kill()
            server.start()
        until_ready(port)
        time.sleep(0.3)
        stop.set()
        for device in devices:
            device.join(60)
            assert not device.is_alive()
    finally:
        server.kill()
        server.close()
    return devices


def judge(book, devices):
    """Assert what must hold of the book afterwards, and return what is worth telling."""
    assert [device.wrong for device in devices] == [[], []]
    everything, seq = [], 0
    while part := log.events_after(book, seq):
        everything += part
        seq = part[-1].seq
    by_id = {event.id: event for event in everything}
    assert len(by_id) == len(everything)
    sent = [one for device in devices for one in device.sent]
    answered = [one for one in sent if one.answered]
    for one in answered:
        event = by_id[one.id]
        kept = (event.seq, event.run, event.kind, event.plate, event.step, event.body)
        assert kept == (one.seq, one.run, one.kind, one.plate, one.step, one.body)
        # its time lies between its making and its answer, however often the server died meanwhile
        at = event.at.timestamp()
        assert one.made - SLACK_S <= at <= one.answered + SLACK_S, (one, event.at)
    assert len(answered) == len(sent)
    own = {one.id for one in sent}
    houses = [event for event in everything if event.id not in own]
    assert {event.device for event in houses if event.kind != "run_opened"} <= {"house"}
    for device in devices:  # what one device did stands in the order it did it
        assert [one.seq for one in device.sent] == sorted(one.seq for one in device.sent)
    assert check(book) == []
    return everything, sent


def judge_elapsed(book, devices):
    """Assert that each finished step lasted as long as the device's own clock says."""
    steps = 0
    for device in devices:
        made = {(one.run, one.step, one.kind): one for one in device.sent}
        for run in device.runs:
            state = fold(log.events(book, run), now=datetime.now(UTC))
            assert state.odd == ()
            for step in state.plates[0].steps:
                begun = made.get((run, step.key, "step_begun"))
                ended = made.get((run, step.key, "step_ended"))
                if begun is None or ended is None:
                    continue
                steps += 1
                longest = ended.answered - begun.made
                shortest = ended.made - begun.answered
                assert shortest - SLACK_S <= step.elapsed_s <= longest + SLACK_S
    return steps


@pytest.fixture
def studio(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    close_book(open_book(folder))
    return folder


@pytest.mark.parametrize("store", ["sqlite", "postgresql"])
def test_every_answered_event_outlives_two_hundred_kills(
    store, studio, request, client, record_property
):
    address = None
    if store == "postgresql":
        server = request.getfixturevalue("durable_postgres")
        address = server.database()
    devices = storm(studio, address, KILLS, 20260621, client)
    book = open_book(address or studio, folder=studio)
    everything, sent = judge(book, devices)
    steps = judge_elapsed(book, devices)
    close_book(book)
    kinds = Counter(one.kind for one in sent)
    told = {
        "events": len(everything),
        "sent": len(sent),
        "requests without an answer": sum(device.silent for device in devices),
        "sent again": sum(one.tries > 1 for one in sent),
        "stored though not answered": sum(one.unanswered_but_stored for one in sent),
        "steps timed": steps,
        "runs closed": kinds["run_closed"],
    }
    record_property("told", json.dumps(told))
    assert told["sent again"] > 50, told
    assert 0 < told["stored though not answered"] < told["sent again"], told
    assert told["runs closed"] >= 2, told
    if address:
        server.drop(address)


def test_a_killed_cold_start_of_the_command_leaves_the_book_whole(studio):
    """Few kills of the command as it is installed, at its first start too."""
    chance = random.Random(1)
    tool = [sys.executable, "-c", "from argentry.cli.serve import serve; serve()"]
    (studio / "book.sqlite").unlink()
    for _ in range(6):
        port = free_port()
        process = subprocess.Popen(
            [*tool, "--studio", str(studio), "--port", str(port), "--no-qr"],
            stdout=subprocess.DEVNULL,
        )
        time.sleep(chance.uniform(0.3, 1.6))
        process.kill()
        process.wait()
    book = open_book(studio)
    assert check(book) == []
    close_book(book)
