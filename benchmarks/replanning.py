"""A press at the bench while the day is planned again, against the same press without.

Two processes that know nothing of a press, of the plan or of the book take its part by turns: one
only counts, one goes through more memory than a core keeps. What a press loses beside them
too is lost to the machine. Of each press it is also told how long the book took to keep it.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

COUNTS, READS = "a process that only counts", "a process that goes through memory"
WAYS = (
    "no planning",
    "planning in its own process",
    "planning in a thread of the server",
    COUNTS,
    READS,
)
OTHERS = {  # as mild as the process that plans
    COUNTS: "while True: sum(range(10**5))",
    READS: "import numpy as np; a = np.ones(4 * 10**6)\nwhile True: a += 1.0",
}
BLOCKS, PRESSES = 12, 25  # of each way, by turns; presses of a block
PLATES = 3
MORNING = datetime(2026, 6, 21, 7, 0, tzinfo=UTC)


def run() -> list[tuple[str, str]]:
    """Measure presses by turns while the server plans, in either way, and while it does not."""
    from tests.ports import free_port
    from tests.power.storm import until_ready

    from argentry.records.ids import new_id
    from benchmarks.server import Caller, _p95

    with tempfile.TemporaryDirectory() as place:
        port = free_port()
        server = subprocess.Popen(
            [sys.executable, "-m", "benchmarks.replanning", place, str(port)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert server.stdin is not None
        assert server.stdout is not None
        try:
            told = json.loads(server.stdout.readline())
            until_ready(port, server)
            caller = Caller(port)
            took: dict[str, list[float]] = {way: [] for way in WAYS}
            stopped = False

            def press() -> float:
                nonlocal stopped
                kind = "resumed" if stopped else "paused"
                stopped = not stopped
                event = {"id": new_id(), "kind": kind, "plate": told["plate"], "body": {}}
                status, body, ms = caller.ask(
                    "POST", f"/api/runs/{told['run']}/events", {"events": [event]}
                )
                assert status == 200, body
                return ms

            for _ in range(10):
                press()
            for number in range(BLOCKS * len(WAYS)):
                way = WAYS[number % len(WAYS)]
                server.stdin.write(way + "\n")
                server.stdin.flush()
                server.stdout.readline()  # it plans, or has left off
                for _ in range(PRESSES):
                    took[way].append(press())
                    time.sleep(0.02)
            for asked in (WAYS[0], "plans"):
                server.stdin.write(asked + "\n")
                server.stdin.flush()
                told_last = server.stdout.readline()
            plans, kept = json.loads(told_last)
        finally:
            server.terminate()
            server.wait()
    still = _p95(took[WAYS[0]])
    rows = [
        (
            f"p95 of a press, {way} ({len(times)} presses)",
            f"{_p95(times):.1f} ms, {_p95(times) / still:.2f} times that without",
        )
        for way, times in took.items()
    ]
    rows += [
        (f"p95 of the book's part of it, {way}", f"{1e3 * _p95(kept[way]):.1f} ms") for way in WAYS
    ]
    for way in WAYS[1:3]:
        made = plans[way]
        rows.append((f"plans made meanwhile, {way}", f"{len(made)}, p95 {_p95(made):.2f} s"))
    return rows


def _serve(folder: Path, port: int) -> None:
    """Serve a run of a June day that is an hour late, and plan it again as standard input says."""
    import asyncio
    from dataclasses import replace

    import uvicorn
    from starlette.concurrency import run_in_threadpool

    from argentry.book.open import open_book
    from argentry.day.plan import make_day
    from argentry.demo.write import write_demo
    from argentry.desk.bench import run as of_run
    from argentry.desk.bench.replan import plan_body
    from argentry.desk.bench.run import open_run
    from argentry.keeping.clock import steady_clock
    from argentry.keeping.studio import load_studio
    from argentry.web.advising import MILDER
    from argentry.web.app import create_app
    from argentry.web.replanner import Replanner
    from argentry.web.settings import Settings

    class OnCommand(Replanner):
        """Plans when it is told to, not when the plates ask for it: else it always would."""

        async def keep_planned(self) -> None:
            await asyncio.Event().wait()

    write_demo(folder / "demo")
    studio = load_studio(folder / "demo")
    book = open_book(folder / "demo")
    plan = make_day(studio, date(2026, 6, 21), plates=PLATES, now=MORNING)
    run = open_run(book, studio, clock=steady_clock(wall=lambda: MORNING), plan=plan)
    app = create_app(folder / "demo", book, settings=Settings(port=port))
    late = MORNING.replace(hour=8)
    house = replace(app.state.house, clock=steady_clock(wall=lambda: late))
    app.state.house = house
    app.state.replanner = OnCommand(house, app.state.broadcast)
    append = of_run.append

    def timed(*given: Any) -> Any:
        began = time.perf_counter()
        stored = append(*given)
        kept[doing].append(time.perf_counter() - began)
        return stored

    of_run.append = timed
    # each way has been used once before it is measured
    made: dict[str, list[float]] = {way: [] for way in WAYS}
    kept: dict[str, list[float]] = {way: [] for way in WAYS}
    wanted = doing = WAYS[0]

    async def ask_process() -> None:
        said = await app.state.replanner.helper.ask({"replan": run, "now": late.isoformat()})
        assert said["knows"], said

    async def ask_thread() -> None:
        await run_in_threadpool(plan_body, book, studio, folder / "demo", run, late)

    asks = dict(zip(WAYS[1:3], (ask_process, ask_thread), strict=True))

    async def plan_on() -> None:
        nonlocal doing
        other = None
        while True:
            if other is not None and wanted != doing:
                other.kill()
                await other.wait()
                other = None
            way = doing = wanted
            if way not in asks:
                if way in OTHERS and other is None:
                    other = await asyncio.create_subprocess_exec(sys.executable, "-c", OTHERS[way])
                    os.setpriority(os.PRIO_PROCESS, other.pid, MILDER)
                await asyncio.sleep(0.005)
                continue
            began = time.perf_counter()
            await asks[way]()
            made[way].append(time.perf_counter() - began)

    async def main() -> None:
        for ask in asks.values():
            await ask()
        config = uvicorn.Config(
            app, port=port, log_level="critical", ws="none", timeout_keep_alive=600
        )
        planning = asyncio.create_task(plan_on())
        plate = plan_plate()
        print(json.dumps({"run": run, "plate": plate}), flush=True)
        await uvicorn.Server(config).serve()
        planning.cancel()

    def plan_plate() -> str:
        from argentry.desk.bench.run import state

        return str(state(book, run).plates[0].id)

    def listen() -> None:
        nonlocal wanted
        for line in sys.stdin:
            if line.strip() == "plans":
                print(json.dumps((made, kept)), flush=True)
                continue
            wanted = line.strip()
            while doing != wanted:  # the plan before is made to its end
                time.sleep(0.01)
            print(flush=True)

    threading.Thread(target=listen, daemon=True).start()
    asyncio.run(main())


if __name__ == "__main__":
    _serve(Path(sys.argv[1]), int(sys.argv[2]))
