"""Twenty devices post while fifty streams are open, on a book of 20,000 plates.

The streams are open for the whole time but for a minute before and a minute after, in which the
same devices post at the same pace: the middle post is compared within one run. Every stream must
hear every event of its run, and the book must hold all that was answered.
"""

from __future__ import annotations

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
            caller, run = Caller(self.port), self.runs[number % len(self.runs)]
            due = time.monotonic() + EVERY_S * number / DEVICES
            while not self.over.wait(max(0.0, due - time.monotonic())):
                due = max(due + EVERY_S, time.monotonic())
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

    def __init__(self, port: int, runs: list[str]) -> None:
        self.port, self.over = port, threading.Event()
        self.heard: dict[socket.socket, bytearray] = {}
        self.run_of: dict[socket.socket, str] = {}
        self.pick = selectors.DefaultSelector()
        for number in range(STREAMS):
            wire = socket.create_connection(("127.0.0.1", port), timeout=30)
            run = runs[number % len(runs)]
            head = f"GET /api/runs/{run}/stream HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n\r\n"
            wire.sendall(head.encode())
            self.heard[wire], self.run_of[wire] = bytearray(), run
            self.pick.register(wire, selectors.EVENT_READ)
        self.thread = threading.Thread(target=self._read)
        self.thread.start()

    def _read(self) -> None:
        while not self.over.is_set():
            for key, _ in self.pick.select(0.2):
                wire = key.fileobj
                assert isinstance(wire, socket.socket)
                self.heard[wire] += wire.recv(2**16)

    def close(self) -> None:
        self.over.set()
        self.thread.join()
        for wire in self.heard:
            wire.close()

    def missed(self, expected: dict[str, list[str]]) -> int:
        """Return how many events of its run each stream did not hear, summed."""
        return sum(
            key.encode() not in heard
            for wire, heard in self.heard.items()
            for key in expected[self.run_of[wire]]
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
    runs = []
    for number in range(RUNS):
        wanted = {"plates": [f"P{2 * number:05d}", f"P{2 * number + 1:05d}"]}
        status, body, _ = Caller(server.port).ask("POST", "/api/runs", wanted)
        assert status == 201, body
        runs.append(json.loads(body)["run"])
    alone = min(ALONE_S, seconds / 4)
    posting = Posting(server.port, runs)
    threads = [threading.Thread(target=posting.post, args=(n,)) for n in range(DEVICES)]
    start = time.monotonic()
    for thread in threads:
        thread.start()
    time.sleep(alone)
    before = {run: list(ids) for run, ids in posting.answered.items()}
    streams, memory = Streams(server.port, runs), []
    begun = time.monotonic()
    while (now := time.monotonic()) < begun + seconds:
        memory.append((now - begun, server.now_mb()))
        time.sleep(min(SAMPLE_S, begun + seconds - now))
    ended = time.monotonic()
    expected = {run: ids[len(before[run]) :] for run, ids in posting.answered.items()}
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
        "missed by a stream": streams.missed(expected),
        "middle post with streams ms": round(with_streams, 1),
        "without ms": round(statistics.mean(free), 1),
        "times as slow": round(with_streams / statistics.mean(free), 2),
        "memory after two minutes MB": round(settled[0]),
        "at the end MB": round(settled[-1]),
        "most after that MB": round(max(settled)),
    }, posting
