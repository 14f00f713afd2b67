"""A storm of kills: real servers are ended (SIGKILL) and started again under devices that go on."""

import contextlib
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

from tests.ports import free_port
from tests.power.bench_client import Device

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.runs.fold import fold

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
        self.pid, self.port = 0, port

    def start(self):
        self.process.stdin.write("start\n")
        self.process.stdin.flush()
        self.pid = int(self.process.stdout.readline())

    def kill(self):
        """End the server, and the processes beside it that work out what takes long."""
        with contextlib.suppress(ProcessLookupError):  # it has not come as far as a group
            os.killpg(self.pid, signal.SIGKILL)
        os.kill(self.pid, signal.SIGKILL)

    def close(self):
        self.process.stdin.close()
        self.process.wait(90)
        self.process.stdout.close()


def until_ready(port, process=None):
    """Wait until a server answers; with its process, however slow the machine, until that ends."""
    end = time.monotonic() + 300  # a cold start on a busy machine
    while process.poll() is None if process is not None else time.monotonic() < end:
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=5) as asking:
                asking.sendall(b"GET /api/health HTTP/1.0\r\nHost: 127.0.0.1\r\n\r\n")
                if b"200" in asking.recv(100):
                    return
        except OSError:
            pass
        time.sleep(0.003)
    raise AssertionError("the server ended" if process else "the server did not come back")


def until_next_answer(devices):
    """Wait until a device has an event answered, so that the run goes on between the kills."""
    before = count = sum(len(device.sent) for device in devices)
    end = time.monotonic() + 60
    while count == before and time.monotonic() < end:
        assert all(device.is_alive() for device in devices), [one.wrong for one in devices]
        time.sleep(0.002)
        count = sum(len(device.sent) for device in devices)


def storm(studios, address, kills, seed, *, until=float("inf"), strike=None):
    """Kill servers, one for each studio folder, while devices go on.

    Parameters
    ----------
    studios : sequence of Path
        Studio folders; with more than one they share the book at `address`.
    address : str or None
        Of a PostgreSQL book.
    kills, seed : int
        How many kills in all, and the seed of their moments.
    until : float
        When to stop before, by the monotonic clock.
    strike : callable, optional
        Kills something of the database server and waits until that answers again; every tenth
        kill. It takes the chance.

    Returns
    -------
    list of Device, int
        Two devices for one server, one for each of several; the kills that were made.
    """
    chance, stop, made = random.Random(seed), Flag(), 0
    servers = [Restarter(studio, free_port(), address) for studio in studios]
    names = ("left", "right") if len(servers) == 1 else ("bench",)
    devices = [
        Device(server.port, f"{name} {number}", stop)
        for number, server in enumerate(servers)
        for name in names
    ]
    try:
        for server in servers:
            server.start()
            until_ready(server.port)
        for device in devices:
            device.start()
        for number in range(kills):
            if time.monotonic() > until:
                break
            server = chance.choice(servers)
            if strike is not None and number % 10 == 9:
                for each in servers:  # one that only starts could not open its book
                    until_ready(each.port)
                until_next_answer(devices)
                strike(chance)
                made += 1
                continue
            if number % 8 == 7:  # also while it is coming up
                time.sleep(chance.uniform(0.0, 0.1))
            else:
                until_ready(server.port)
                if number % 5:  # else at once, whatever goes on
                    until_next_answer(devices)
                time.sleep(chance.uniform(0.0, 2.0) * max(one.took_s for one in devices))
            server.kill()
            server.start()
            made += 1
        for server in servers:
            until_ready(server.port)
        time.sleep(0.3)
        stop.set()
        for device in devices:
            device.join(120)
            assert not device.is_alive()
        assert strike or not any(device.put_off for device in devices)
    finally:
        for server in servers:
            server.kill()
            server.close()
    return devices, made


def judge(book, devices):
    """Assert what must hold of the book afterwards, and return what is worth telling."""
    assert [device.wrong for device in devices] == [[] for _ in devices]
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


def told_of(everything, devices):
    """Return what is worth telling of a storm."""
    sent = [one for device in devices for one in device.sent]
    kinds = Counter(one.kind for one in sent)
    return {
        "events": len(everything),
        "sent": len(sent),
        "requests without an answer": sum(device.silent for device in devices),
        **({"told to wait": put_off} if (put_off := sum(one.put_off for one in devices)) else {}),
        "sent again": sum(one.tries > 1 for one in sent),
        "stored though not answered": sum(one.unanswered_but_stored for one in sent),
        "runs closed": kinds["run_closed"],
    }
