"""Power cuts, made from what the real running server wrote, synced and answered.

strace follows the server, and the database server with it, while devices post; any point of that
list may then be the last: what was not synced is there or not, by chance, in every second cut also
sector by sector. What is left is opened as after a restart and looked over whole.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import signal
import subprocess
import time
from pathlib import Path
from threading import Event as Flag
from typing import TYPE_CHECKING, Any

from tests.power.bench_client import Device
from tests.power.cuts import look_over, restart, tally

from argentry.records.ids import new_id
from benchmarks.chaos.ground import LeftOut, database_server, serving, studio_in, workplace
from benchmarks.chaos.trace import Reader, Trace, files_below, watch, with_children

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests import stores

    from benchmarks.chaos.ground import Ask, Figures, Served

EVENTS = 240  # answered while the server is followed
CONTROLS = 20
QUIET = ("-c wal_level=minimal -c max_wal_senders=0 -c autovacuum=off -c shared_buffers=16MB "
         "-c min_wal_size=2MB -c max_wal_size=4MB -c checkpoint_timeout=30s "
         "-c dynamic_shared_memory_type=mmap")  # fmt: skip
AFTER = "-F -c listen_addresses= -c autovacuum=off"  # nobody cuts it again
LAID_NS = 10**18  # the time of a file that the server has not written
NOT_KEPT = ("postmaster.", "pg_stat_tmp/", "pg_dynshmem/")


class Batches(Device):
    """A device that posts up to four remarks at once, some of them long."""

    def whole_run(self, label: str) -> None:
        status, opened = self.insist("POST", "/api/runs", lambda: {"plates": [label]})
        assert status == 201, opened
        run = opened["run"]
        chance = random.Random(label)
        for _ in range(40):
            if self.stop.is_set():
                return
            made = [
                {"id": new_id(), "kind": "remark_made", "age_s": 0.0,
                 "body": {"words": "x" * chance.choice([3, 40, 400, 1900])}}
                for _ in range(chance.randint(1, 4))
            ]  # fmt: skip
            path = f"/api/runs/{run}/events"
            status, answer = self.insist("POST", path, lambda made=made: {"events": made})
            assert status == 200, answer
            assert len(answer["stored"]) == len(made), answer
            self.sent.append(answer["stored"])


def on_sqlite(ask: Ask) -> Figures:
    with workplace(quick=True) as folder, workplace(quick=True) as quick:
        studio = studio_in(folder)

        def ours(name: str) -> bool:
            return name.startswith("book.sqlite")

        with serving(studio) as server:
            trace, batches = _record(server, [], studio, ours, folder / "trace", [])

        def start_again(number: int, files: dict[str, bytes]) -> Any:
            place = quick / str(number)
            try:
                return restart(place, files)
            finally:
                shutil.rmtree(place)

        return _cut(ask, trace, batches, start_again)


def on_postgresql(ask: Ask) -> Figures:
    with (
        database_server(quick=True) as server,
        workplace(quick=True) as folder,
        workplace(quick=True) as quick,
    ):
        server.stop()
        server.options += f" {QUIET}"
        server.start()
        address = server.database()
        server.sql("DROP DATABASE shape")
        studio = studio_in(folder)
        data = Path(server.data)

        def ours(name: str) -> bool:
            return not name.startswith(NOT_KEPT)

        with serving(studio, "--book", address) as served:
            server.sql("CHECKPOINT")
            time.sleep(1.0)  # nothing is going on: what lies there is safe
            (pid, *_) = (data / "postmaster.pid").read_text(encoding="ascii").split()
            checkpoint = [lambda: server.sql("CHECKPOINT")]
            trace, batches = _record(
                served, with_children(int(pid)), data, ours, folder / "trace", checkpoint
            )
        server.stop()
        touched = {name for item in trace.done for name in (item[1], *item[2:3])}
        static = {name: was for name, was in trace.start.items() if name not in touched}
        trace.start = {name: was for name, was in trace.start.items() if name in touched}
        return _cut(ask, trace, batches, After(server, quick, static, address))


class After:
    """The database server started on what is left, which nobody cuts again.

    Its folder is laid once, in memory. For each cut the files that the trace touched are written
    as the cut left them, and afterwards every file that the server wrote is put back: by its time,
    which no other file has.
    """

    def __init__(
        self, was: stores.Server, quick: Path, static: dict[str, bytes], address: str
    ) -> None:
        self.quick, self.data, self.static = quick, quick / "data", static
        self.program = [str(was.binaries / "postgres"), "-D", str(self.data), "-k", str(quick)]
        self.program += [*AFTER.split(), *QUIET.split()]
        self.who: dict[str, Any] = {"user": "postgres", "group": "postgres", "extra_groups": []}
        if not was.as_user:
            self.who = {}
        name = address.split("@/")[1].split("?", maxsplit=1)[0]
        self.address = f"postgresql+psycopg://argentry@/{name}?host={quick}"
        owner = Path(was.data).stat()
        self.owner = owner.st_uid, owner.st_gid
        os.chown(quick, *self.owner)
        for place in (Path(was.data), *Path(was.data).rglob("*")):
            if place.is_dir():
                here = self.data / place.relative_to(was.data)
                here.mkdir(mode=0o700)
                os.chown(here, *self.owner)
        for name, content in static.items():
            self._lay(name, content)

    def __call__(self, _number: int, files: dict[str, bytes]) -> Any:
        for name, content in files.items():
            self._lay(name, content)
        with (self.quick / "log").open("wb") as log:
            process = subprocess.Popen(self.program, stdout=log, stderr=log, cwd="/", **self.who)
        try:
            return look_over(self.address) if self._up(process) else None
        finally:
            process.send_signal(signal.SIGQUIT)
            process.wait(300)
            self._put_back()

    def _up(self, process: subprocess.Popen[bytes]) -> bool:
        """Wait until the server takes questions; False when it ends instead."""
        said = self.data / "postmaster.pid"
        while process.poll() is None:
            with contextlib.suppress(FileNotFoundError):
                if said.read_text(encoding="ascii").split()[-1:] == ["ready"]:
                    return True
            time.sleep(0.002)
        return False

    def _lay(self, name: str, content: bytes) -> None:
        file = self.data / name
        file.write_bytes(content)
        os.chown(file, *self.owner)
        os.utime(file, ns=(LAID_NS, LAID_NS))

    def _put_back(self) -> None:
        """Leave the folder with the files that no cut changes, as they were."""
        there, data = set(), f"{self.data}/"
        for folder, _, names in os.walk(self.data):
            below = f"{folder}/".removeprefix(data)
            for one in names:
                file = Path(folder, one)
                if below + one not in self.static:
                    file.unlink()
                elif file.stat().st_mtime_ns == LAID_NS:
                    there.add(below + one)
        for name in self.static.keys() - there:
            self._lay(name, self.static[name])


def _record(
    server: Served,
    others: list[int],
    folder: Path,
    ours: Callable[[str], bool],
    out: Path,
    half_way: list[Callable[[], object]],
) -> tuple[Trace, list[set[str]]]:
    """Let three devices post while the server is followed; return the trace and what was sent."""
    if shutil.which("strace") is None:
        raise LeftOut("strace is not installed")
    reader = Reader(folder, files_below(folder, ours), ours)
    watching = watch([server.process.pid, *others], out)
    stop = Flag()
    devices = [Batches(server.port, f"bench {number}", stop) for number in range(3)]
    for device in devices:
        device.start()
    while (so_far := sum(len(made) for one in devices for made in one.sent)) < EVENTS:
        assert all(one.is_alive() for one in devices), [one.wrong for one in devices]
        if so_far > EVENTS / 2 and half_way:
            half_way.pop()()
        time.sleep(0.05)
    stop.set()
    for device in devices:
        device.join(60)
        assert not device.wrong, device.wrong
    watching.terminate()
    watching.wait(60)
    made = sorted(
        [(one["seq"], one["id"]) for one in batch] for each in devices for batch in each.sent
    )
    trace = reader.read(out)
    answered = {name for item in trace.done if item[0] == "answered" for name in item[2]}
    batches = [{key for _, key in batch} for batch in made]
    assert set().union(*batches) <= answered, "the trace misses an answer"
    return trace, batches


def _cut(
    ask: Ask, trace: Trace, batches: list[set[str]], start_again: Callable[..., Any]
) -> Figures:
    """Cut the power, and a few times more as if nothing had been synced: that must lose events."""
    found = tally(trace, batches, ask.count, ask.seed, start_again, until=ask.until)
    what = [item[0] for item in trace.done]
    unsynced = [item for item in trace.done if item[0] not in ("sync", "folder")]
    control = tally(Trace(trace.start, unsynced), batches, CONTROLS, ask.seed, start_again)
    assert control.lost + control.damaged > CONTROLS / 4, "cuts without syncs lose nothing"
    return {
        "cuts": found.cuts,
        "torn": found.torn,
        "events": sum(len(one) for one in batches),
        "writes": what.count("write"),
        "syncs": what.count("sync") + what.count("folder"),
        "lost": found.lost,
        "damaged": found.damaged,
        "halves": found.halves,
        "controls": control.cuts,
        "controls that lost": control.lost + control.damaged,
    }
