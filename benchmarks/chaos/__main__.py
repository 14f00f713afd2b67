"""``make chaos``: every part for a share of the time, or to its full count with ``--full``.

Each part stops by itself when its count or its share of the time is reached; the figures are true
counts. With ``--write`` they go into figures.json, docs/book.md and docs/security.md, unless a part
was cut short and a longer run of it is kept; with ``--add`` they are counted beside those kept.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from typing import TYPE_CHECKING, NamedTuple

from benchmarks.chaos import clocks, cuts, full, kills, load, report, rot
from benchmarks.chaos.ground import Ask, LeftOut
from benchmarks.chaos.hostile import described, lines, messages, requests

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchmarks.chaos.ground import Figures

SEED = 20_260_621
MINUTES = 15.0


class Part(NamedTuple):
    """What does it, how many of it in a full run, its share of the time, and what it counts."""

    work: Callable[[Ask], Figures]
    full: int  # all there are; seconds of load; examples for each operation and way
    share: float
    counted: str


PARTS = {
    "kills-sqlite": Part(kills.on_sqlite, 500, 2.0, "kills"),
    "kills-postgresql": Part(kills.on_postgresql, 500, 2.0, "kills"),
    "cuts-sqlite": Part(cuts.on_sqlite, 900, 2.0, "cuts"),
    "cuts-postgresql": Part(cuts.on_postgresql, 900, 2.0, "cuts"),
    "rot-sqlite": Part(rot.on_sqlite, 200, 1.5, "books"),
    "rot-postgresql": Part(rot.on_postgresql, 200, 1.5, "books"),
    "full-sqlite": Part(full.on_sqlite, 50, 0.5, "times full"),
    "full-postgresql": Part(full.on_postgresql, 50, 0.5, "times full"),
    "clocks": Part(clocks.run, 200, 1.0, "jumps"),
    "hostile-lines": Part(lines.run, 1000, 1.0, "inputs"),
    "hostile-requests": Part(requests.run, 1000, 0.5, "inputs"),
    "hostile-messages": Part(messages.run, 1000, 0.5, "inputs"),
    "hostile-described": Part(described.run, 500, 1.0, "requests"),
    "load": Part(load.run, 600, 1.5, "seconds"),
}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.chaos", description=__doc__)
    parser.add_argument("parts", nargs="*", help=f"which; left out: all ({', '.join(PARTS)})")
    parser.add_argument("--minutes", type=float, default=MINUTES, help="how long at most, in all")
    parser.add_argument("--full", action="store_true", help="to the full counts, however long")
    parser.add_argument("--count", type=int, help="how many of each, in place of the full counts")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="write the figures into the docs")
    parser.add_argument("--add", action="store_true", help="count them beside those written")
    given = parser.parse_args()
    if unknown := set(given.parts) - PARTS.keys():
        parser.error(f"there is no part {min(unknown)}")
    names = given.parts or list(PARTS)
    if given.add and "load" in names:
        parser.error("load is one run with one pace: write it")
    code = report.code()
    failed = False
    for place, name in enumerate(names):
        part = PARTS[name]
        left = sum(PARTS[one].share for one in names[place:])
        minutes = float("inf") if given.full else given.minutes * part.share / left
        began = time.monotonic()
        ask = Ask(given.count or part.full, given.seed, began + 60 * minutes)
        try:
            found = part.work(ask)
        except LeftOut as why:
            print(f"{name}: LEFT OUT: {why}", flush=True)
            continue
        except Exception:  # noqa: BLE001 - the other parts go on
            print(f"{name}: FAILED\n{traceback.format_exc()}", flush=True)
            failed = True
            continue
        finally:
            given.minutes -= (time.monotonic() - began) / 60
        wrong = report.wrong(found)
        failed |= bool(wrong)
        short = not ask.go_on() or ask.count < part.full
        words = " (its time was up)" if not ask.go_on() else ""
        print(f"{name}: {report.line(found)}{words}{wrong}", flush=True)
        if (given.write or given.add) and not wrong:
            print(f"  {_keep(name, code, given.seed, found, short=short, add=given.add)}")
    return int(failed)


def _keep(name: str, code: str, seed: int, found: Figures, *, short: bool, add: bool) -> str:
    """Write what was counted, and return what became of it."""
    kept = report.read()
    ran = {"seed": seed, "code": code, **found}
    runs, said = report.merged(kept.get(name, ()), ran, PARTS[name].counted, short=short, add=add)
    report.write({**kept, name: runs})
    return said


if __name__ == "__main__":
    sys.exit(main())
