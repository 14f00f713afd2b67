"""The server on a book of 20,000 plates and 2 million readings: pages, events, memory."""

import http.client
import json
import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

PLATES, READINGS = 20_000, 2_000_000
PAGES, EVENTS, WARM = 100, 300, 10
TOOL = str(Path(sys.executable).with_name("argentry"))
QUANTITIES = (("room_c", "°C", 18.0), ("room_rh_pct", "%", 45.0), ("light_lx", "lx", 20_000.0))


def _id(milliseconds: int, number: int) -> str:
    """Return a UUID version 7 of a time and a number: SQL below writes the same form."""
    return f"{milliseconds >> 16:08x}-{milliseconds & 0xFFFF:04x}-7000-8000-{number:012x}"


def build(folder: Path, readings: int = READINGS) -> float:
    """Fill the book of a studio; return the seconds it took."""
    from argentry.book.engine import close_book
    from argentry.book.open import open_book

    began = time.perf_counter()
    close_book(open_book(folder))
    book = sqlite3.connect(folder / "book.sqlite", isolation_level=None)
    book.executescript("PRAGMA synchronous=OFF; PRAGMA cache_size=-100000; BEGIN")
    now = int(time.time() * 1000)
    chance = random.Random(7)
    book.executemany(
        "INSERT INTO plate (id, label, size, made_on, silver_um, silver_source, times_repolished,"
        " remark) VALUES (?, ?, 'quarter', '2026-01-01', 5.0, 'lot', 0, '')",
        ((_id(now, i), f"P{i:05d}") for i in range(PLATES)),
    )
    book.executemany(
        "INSERT INTO making (id, plate, run, session, place, day, commissioned, conditions,"
        " remark, state, given_up) VALUES (?, ?, NULL, ?, ?, ?, 0, ?, '', 'finished', '{}')",
        (
            (
                _id(now, PLATES + i),
                _id(now, i),
                str(i // 3),
                i % 3 + 1,
                f"20{10 + i // 1300:02d}-{i // 110 % 12 + 1:02d}-{i % 28 + 1:02d}",
                '{"room_c":20.0}',
            )
            for i in range(PLATES)
        ),
    )
    book.executemany(
        "INSERT INTO grade (seq, making, grade, at_us, who) VALUES (?, ?, ?, ?, 'maker')",
        (
            (
                i + 1,
                _id(now, PLATES + i),
                chance.choice(("lost", "study", "good", "fine")),
                now * 1000,
            )
            for i in range(PLATES)
        ),
    )
    # one reading of each quantity every 30 s, up to now: eight months of a sensor shelf
    share = readings // len(QUANTITIES)
    for place, (what, unit, middle) in enumerate(QUANTITIES):
        book.execute(
            """
            WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i + 1 < :count)
            INSERT INTO reading (seq, id, what, value, unit, at_us, source, run, plate, doubt)
            SELECT :first + i, printf('%08x-%04x-7000-8000-%012x', t >> 16, t & 65535, :first + i),
                   :what, :middle * (1 + 0.1 * ((i * 7919) % 1000) / 1000.0), :unit, t * 1000,
                   'shelf', NULL, NULL, ''
            FROM (SELECT i, :now - 30000 * (:count - i) AS t FROM n)
            """,
            {
                "count": share,
                "first": place * share + 1,
                "what": what,
                "unit": unit,
                "middle": middle,
                "now": now,
            },
        )
    book.execute("COMMIT")
    book.execute("ANALYZE")
    book.close()
    _seal(folder)
    return time.perf_counter() - began


def _seal(folder: Path) -> None:
    """Give the rows their sums, as the book does for all that it writes itself."""
    from argentry.book import tables
    from argentry.book.care.seal import seal
    from argentry.book.engine import close_book, writing
    from argentry.book.open import open_book

    book = open_book(folder)
    with writing(book) as connection:
        seal(connection, tuple(tables.metadata.tables), {})
    close_book(book)


class Caller:
    """One connection kept open, as a tablet keeps it."""

    def __init__(self, port: int) -> None:
        self._host = f"127.0.0.1:{port}"
        self._wire = http.client.HTTPConnection("127.0.0.1", port, timeout=300)

    def ask(self, method: str, path: str, body: object = None) -> tuple[int, bytes, float]:
        """Return status, body and milliseconds."""
        headers = {"Origin": f"http://{self._host}"}
        data = None
        if body is not None:
            data = json.dumps(body).encode()
            headers["Content-Type"] = "application/json"
        began = time.perf_counter()
        self._wire.request(method, path, body=data, headers=headers)
        answer = self._wire.getresponse()
        read = answer.read()
        return answer.status, read, 1000 * (time.perf_counter() - began)


def _p95(values: list[float]) -> float:
    return sorted(values)[int(0.95 * (len(values) - 1))]


def _middle(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


def _bare_fsync(file: int) -> float:
    began = time.perf_counter()
    os.pwrite(file, os.urandom(4096), 0)
    os.fsync(file)
    return 1000 * (time.perf_counter() - began)


def _bare_commit(book: sqlite3.Connection, number: int) -> float:
    """One row in a bare SQLite file with the book's settings: what any durable append costs."""
    began = time.perf_counter()
    book.execute("BEGIN IMMEDIATE")
    book.execute("INSERT INTO row VALUES (?, ?)", (number, "x" * 400))
    book.execute("COMMIT")
    return 1000 * (time.perf_counter() - began)


def _bare_book(file: Path) -> sqlite3.Connection:
    book = sqlite3.connect(file, isolation_level=None)
    book.executescript(
        "PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA;"
        "CREATE TABLE row (number INTEGER PRIMARY KEY, body TEXT) STRICT"
    )
    return book


def _taps(answer: dict, count: int) -> list[dict]:
    """Return the taps of a run in order, cautions before their step, then remarks up to `count`."""
    opened = next(e for e in answer["events"] if e["kind"] == "run_opened")
    taps: list[dict] = []
    left_out = {(e["plate"], e["step"]) for e in answer["events"] if e["kind"] == "step_skipped"}
    plates = [plate["id"] for plate in opened["body"]["plates"]]
    for step in opened["body"]["steps"]:
        taps += [
            {"kind": "caution_shown", "step": step["key"], "body": {"caution": caution["key"]}}
            for caution in step["cautions"]
        ]
        for plate in plates:
            if (plate, step["key"]) in left_out:
                continue
            there = {"plate": plate, "step": step["key"]}
            taps += [{"kind": "step_begun", **there}, {"kind": "step_ended", **there}]
            if step["check"]:
                body = {"answer": "right", "value": None, "words": ""}
                taps.append({"kind": "check_answered", **there, "body": body})
    taps += [{"kind": "remark_made", "body": {"words": f"remark {i}"}} for i in range(count)]
    return taps[:count]


def _children_mb(pid: int) -> float:
    """Return the peak memory of the processes that the server began and that are still there."""
    from benchmarks.chaos.ground import memory_mb

    children = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return sum(memory_mb(int(child), "VmHWM") for child in children.split())


def run() -> list[tuple[str, str]]:
    from argentry.records.ids import new_id
    from benchmarks.chaos.ground import serving

    with tempfile.TemporaryDirectory() as place:
        studio = Path(place) / "studio"
        subprocess.run([TOOL, "studio", "new", str(studio)], check=True, stdout=subprocess.DEVNULL)
        built = build(studio)
        size = (studio / "book.sqlite").stat().st_size / 2**20
        began = time.perf_counter()
        with serving(studio) as server:
            ready = time.perf_counter() - began
            caller = Caller(server.port)
            status, body, _ = caller.ask("POST", "/api/runs", {"plates": ["P00001", "P00002"]})
            assert status == 201, body
            run_id = json.loads(body)["run"]
            rows = _pages(caller, run_id)
            rows += _events(caller, run_id, studio, new_id)
            rows += _pages(caller, run_id, f" after {EVENTS} events")
            rows += _busy(server.port, run_id, new_id)
            memory, advising = server.peak_mb(), _children_mb(server.process.pid)
            rows += _planned(caller)
            planned = server.peak_mb()
    head = [
        (
            f"book of {PLATES} plates, {READINGS} readings",
            f"{size:.0f} MB, built in {built:.0f} s; server ready after {ready:.1f} s",
        )
    ]
    figure = (
        f"{memory:.0f} MB and {advising:.0f} MB of the process that advises; "
        f"{planned:.0f} MB once it has planned a day"
    )
    rows.append(("peak memory of the server (limit 300 MB)", figure))
    return head + rows


def _planned(caller: Caller) -> list[tuple[str, str]]:
    """Open a run from a day's plan: the heaviest thing a server is asked for."""
    wanted = {"from_plan": {"date": "2027-06-21", "plates": 2}}
    status, body, took = caller.ask("POST", "/api/runs", wanted)
    assert status == 201, body
    return [("a run opened from a day's plan", f"{took / 1000:.1f} s")]


def _busy(port: int, run_id: str, new_id) -> list[tuple[str, str]]:
    """Measure events while a second tablet listens and a sensor sends ten readings a second."""
    over = threading.Event()
    sent: list[float] = []
    heard: list[bytes] = []

    def listen() -> None:
        wire = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
        wire.request("GET", f"/api/runs/{run_id}/stream")
        answer = wire.getresponse()
        while not over.is_set():
            heard.append(answer.readline())
        wire.close()

    def sense() -> None:
        caller = Caller(port)
        while not over.wait(0.1):
            value = 20.0 + 0.1 * (len(sent) % 5)
            reading = {"what": "box_c", "value": value, "unit": "°C"}
            status, body, took = caller.ask("POST", "/api/readings", reading)
            assert status == 201, body
            sent.append(took)

    threads = [threading.Thread(target=task) for task in (listen, sense)]
    for thread in threads:
        thread.start()
    caller, times = Caller(port), []
    for number in range(EVENTS):
        tap = {"kind": "remark_made", "body": {"words": f"busy {number}"}}
        body = {"events": [{"id": new_id(), "age_s": 0.0, **tap}]}
        status, told, took = caller.ask("POST", f"/api/runs/{run_id}/events", body)
        assert status == 200, told
        times.append(took)
    over.set()
    caller.ask("POST", f"/api/runs/{run_id}/events", {"events": [{"id": new_id(), **tap}]})
    for thread in threads:
        thread.join(30)
    shown = sum(line.startswith(b"id:") for line in heard)
    figure = (
        f"p95 {_p95(times):.1f} ms, middle {_middle(times):.1f} ms; {shown} events heard, "
        f"{len(sent)} readings taken, p95 {_p95(sent):.1f} ms"
    )
    return [("event acknowledged, with a listener and a busy sensor", figure)]


def _pages(caller: Caller, run_id: str, when: str = "") -> list[tuple[str, str]]:
    """Measure each page between calls of the smallest answer the same server gives."""
    rows = []
    for name, path in (
        ("bench page (limit p95 50 ms)", f"/bench/{run_id}"),
        ("its data", f"/api/runs/{run_id}"),
        ("first page", "/"),
        ("plates", "/plates"),
        ("latest readings", "/api/readings/latest"),
    ):
        times, bare = [], []
        for turn in range(PAGES + WARM):
            status, _, took = caller.ask("GET", path)
            assert status == 200, (path, status)
            _, _, least = caller.ask("GET", "/api/health")
            if turn >= WARM:
                times.append(took)
                bare.append(least)
        figure = (
            f"p95 {_p95(times):.1f} ms, middle {_middle(times):.1f} ms; "
            f"{_p95(times) / _p95(bare):.1f} times /api/health"
        )
        rows.append((name + when, figure))
    return rows


def _events(caller: Caller, run_id: str, studio: Path, new_id) -> list[tuple[str, str]]:
    """Measure events one by one, each beside a bare fsync and a bare commit on the same disk."""
    answer = json.loads(caller.ask("GET", f"/api/runs/{run_id}")[1])
    times, syncs, commits = [], [], []
    kinds: dict[str, list[float]] = {}
    bare = _bare_book(studio / "bare.sqlite")
    file = os.open(studio / "bare.file", os.O_CREAT | os.O_RDWR)
    for number, tap in enumerate(_taps(answer, EVENTS)):
        body = {"events": [{"id": new_id(), "age_s": 0.0, **tap}]}
        status, told, took = caller.ask("POST", f"/api/runs/{run_id}/events", body)
        read = json.loads(told)
        assert status == 200, told
        assert len(read["stored"]) == 1, told
        times.append(took)
        kinds.setdefault(tap["kind"], []).append(took)
        syncs.append(_bare_fsync(file))
        commits.append(_bare_commit(bare, number))
    os.close(file)
    bare.close()
    p95 = _p95(times)
    figure = (
        f"p95 {p95:.1f} ms, middle {_middle(times):.1f} ms; "
        f"{p95 / _p95(syncs):.1f} times a bare fsync (p95 {_p95(syncs):.2f} ms), "
        f"{p95 / _p95(commits):.1f} times a bare commit (p95 {_p95(commits):.2f} ms)"
    )
    by_kind = ", ".join(
        f"{kind} {_p95(each):.1f} (longest {max(each):.0f}) ms"
        for kind, each in sorted(kinds.items())
    )
    return [("event acknowledged (limit p95 20 ms)", figure), ("  by kind, p95", by_kind)]
