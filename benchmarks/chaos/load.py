"""Twenty devices post while fifty streams are open, on a book of 20,000 plates.

The streams are open for the whole time but for a minute before and a minute after, in which the
same devices post at the same pace: the middle post is compared within one run. Runs are as long as
real ones: each minute all begin others, and devices and streams go over to them. Every stream must
hear every event of its runs while it follows them, and the book must hold all that was answered.
"""

from __future__ import annotations

import contextlib
import json
import selectors
import socket
import statistics
import threading
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tests.power.cuts import look_over

from argentry.records.ids import new_id
from benchmarks.chaos.ground import serving, studio_in, workplace
from benchmarks.server import PLATES, Caller, build

if TYPE_CHECKING:
    from benchmarks.chaos.ground import Ask, Figures, Served

DEVICES, STREAMS, RUNS = 20, 50, 4
EVERY_S = 2.0  # a hand that taps without a rest
ALONE_S = 60.0  # without streams, before and after
FIRST_S = 120.0  # memory may grow
SAMPLE_S = 5.0
NEW_RUNS_S = 60.0  # some 150 events of each
READINGS = 20_000


@dataclass
class Posting:
    """What the devices sent: when, how long it took, and which ids were answered."""

    port: int
    runs: list[str]
    over: threading.Event = field(default_factory=threading.Event)
    took: list[tuple[float, float]] = field(default_factory=list)  # when, ms
    answered: dict[str, list[str]] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)

    def post(self, number: int) -> None:
        """Be one device."""
        try:
            caller = Caller(self.port)
            due = time.monotonic() + EVERY_S * number / DEVICES
            while not self.over.wait(max(0.0, due - time.monotonic())):
                due = max(due + EVERY_S, time.monotonic())
                run = self.runs[number % RUNS]
                one = {"id": new_id(), "kind": "remark_made", "body": {"words": f"bench {number}"}}
                content = {"events": [{**one, "age_s": 0.0}]}
                status, told, took = caller.ask("POST", f"/api/runs/{run}/events", content)
                assert status == 200, told
                self.took.append((time.monotonic(), took))
                self.answered.setdefault(run, []).append(one["id"])
        except Exception as error:  # noqa: BLE001 - told at the end
            self.wrong.append(repr(error))

    def middle(self, start: float, end: float) -> float:
        return statistics.median(took for at, took in self.took if start <= at < end)


class Streams:
    """Listeners on raw connections, read by one thread."""

    def __init__(self, port: int) -> None:
        self.port, self.over = port, threading.Event()
        self.heard: dict[socket.socket, bytearray] = {}
        self.run_of: dict[socket.socket, str] = {}
        self.open: list[socket.socket] = []
        self.pick = selectors.DefaultSelector()
        self.thread = threading.Thread(target=self._read)
        self.thread.start()

    def follow(self, runs: list[str]) -> None:
        """Open a stream for each listener, then close those it had."""
        before, self.open = self.open, []
        for number in range(STREAMS):
            wire = socket.create_connection(("127.0.0.1", self.port), timeout=60)
            run = runs[number % len(runs)]
            head = f"GET /api/runs/{run}/stream HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n\r\n"
            wire.sendall(head.encode())
            self.heard[wire], self.run_of[wire] = bytearray(), run
            self.open.append(wire)
            self.pick.register(wire, selectors.EVENT_READ)
        for wire in before:
            self.pick.unregister(wire)
            wire.close()

    def _read(self) -> None:
        while not self.over.is_set():
            for key, _ in self.pick.select(0.2):
                wire = key.fileobj
                assert isinstance(wire, socket.socket)
                with contextlib.suppress(OSError):  # closed just now
                    self.heard[wire] += wire.recv(2**16)

    def close(self) -> None:
        self.over.set()
        self.thread.join()
        for wire in self.open:
            wire.close()

    def missed(self, expected: dict[str, list[str]]) -> int:
        """Return how many events of its run each stream did not hear, summed."""
        return sum(
            key.encode() not in heard
            for wire, heard in self.heard.items()
            for key in expected.get(self.run_of[wire], ())
        )


def run(ask: Ask) -> Figures:
    """Post for `count` seconds with streams, or for the time there is."""
    with workplace() as folder:
        studio = studio_in(folder)
        (studio / "book.sqlite").unlink()
        build(studio, readings=READINGS)
        with serving(studio) as server:
            found, posting = _under_load(
                server, min(float(ask.count), ask.until - time.monotonic())
            )
        looked = look_over(studio)
        assert looked is not None
        sent = {key for keys in posting.answered.values() for key in keys}
        return {
            "plates": PLATES, "devices": DEVICES, "streams": STREAMS, **found,
            "lost": len(sent - set(looked[0])), "faults": len(looked[1]),
        }  # fmt: skip


def _under_load(server: Served, seconds: float) -> tuple[Figures, Posting]:
    alone = min(ALONE_S, seconds / 4)
    posting = Posting(server.port, _new_runs(server, 0))
    threads = [threading.Thread(target=posting.post, args=(n,)) for n in range(DEVICES)]
    start = time.monotonic()
    for thread in threads:
        thread.start()
    time.sleep(alone)
    streams, memory = Streams(server.port), []
    begun, changed = time.monotonic(), 0.0
    streams.follow(posting.runs)
    heard_of: dict[str, list[str]] = {key: [] for key in posting.runs}
    while (now := time.monotonic()) < begun + seconds:
        if now - begun > changed + NEW_RUNS_S:
            changed = now - begun
            left, posting.runs = posting.runs, _new_runs(server, len(heard_of))
            heard_of |= {run: list(posting.answered.get(run, ())) for run in left}
            time.sleep(2 * EVERY_S)  # what was answered until now is heard
            streams.follow(posting.runs)
            heard_of |= {key: [] for key in posting.runs}
        memory.append((now - begun, server.now_mb()))
        time.sleep(min(SAMPLE_S, max(0.0, begun + seconds - now)))
    ended = time.monotonic()
    heard_of |= {run: list(posting.answered.get(run, ())) for run in posting.runs}
    time.sleep(3.0)  # what was answered last is heard
    streams.close()
    time.sleep(alone)
    posting.over.set()
    for thread in threads:
        thread.join()
    assert not posting.wrong, posting.wrong
    early = min(FIRST_S, seconds / 2)
    settled = [mb for at, mb in memory if at >= early]
    free = [
        posting.middle(start, begun),
        posting.middle(ended + 5.0, float("inf")),
    ]
    with_streams = posting.middle(begun, ended)
    return {
        "seconds": round(ended - begun),
        "posts": len(posting.took),
        "missed by a stream": streams.missed(heard_of),
        "middle post with streams ms": round(with_streams, 1),
        "without ms": round(statistics.mean(free), 1),
        "times as slow": round(with_streams / statistics.mean(free), 2),
        "memory after two minutes MB": round(settled[0]),
        "at the end MB": round(settled[-1]),
        "most after that MB": round(max(settled)),
    }, posting


def _new_runs(server: Served, first: int) -> list[str]:
    runs = []
    for number in range(first, first + RUNS):
        wanted = {"plates": [f"P{2 * number:05d}", f"P{2 * number + 1:05d}"]}
        status, body, _ = Caller(server.port).ask("POST", "/api/runs", wanted)
        assert status == 201, body
        runs.append(json.loads(body)["run"])
    return runs
