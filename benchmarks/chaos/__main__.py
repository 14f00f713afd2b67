"""``make chaos``: every part for a share of the time, or to its full count with ``--full``.

Each part stops by itself when its count or its share of the time is reached; the figures are true
counts. With ``--write`` they go into figures.json, docs/book.md and docs/security.md.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from typing import TYPE_CHECKING

from benchmarks.chaos import clocks, cuts, full, kills, load, report, rot
from benchmarks.chaos.ground import Ask, LeftOut
from benchmarks.chaos.hostile import described, lines, messages, requests

if TYPE_CHECKING:
    from collections.abc import Callable

    from benchmarks.chaos.ground import Figures

SEED = 20_260_621
MINUTES = 15.0
DESCRIBED = 500  # for each operation and way
# name: what does it, how many of it in a full run (all there are; seconds of load), and its share
# of the time
PARTS: dict[str, tuple[Callable[[Ask], Figures], int, float]] = {
    "kills-sqlite": (kills.on_sqlite, 500, 2.0),
    "kills-postgresql": (kills.on_postgresql, 500, 2.0),
    "cuts-sqlite": (cuts.on_sqlite, 900, 2.0),
    "cuts-postgresql": (cuts.on_postgresql, 900, 2.0),
    "rot-sqlite": (rot.on_sqlite, 200, 1.5),
    "rot-postgresql": (rot.on_postgresql, 200, 1.5),
    "full-sqlite": (full.on_sqlite, 50, 0.5),
    "full-postgresql": (full.on_postgresql, 50, 0.5),
    "clocks": (clocks.run, 200, 1.0),
    "hostile-lines": (lines.run, 1000, 1.0),
    "hostile-requests": (requests.run, 1000, 0.5),
    "hostile-messages": (messages.run, 1000, 0.5),
    "hostile-described": (described.run, DESCRIBED, 1.0),
    "load": (load.run, 600, 1.5),
}
# what cannot stop by itself
SHORT = {"hostile-described": 40}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.chaos", description=__doc__)
    parser.add_argument("parts", nargs="*", help=f"which; left out: all ({', '.join(PARTS)})")
    parser.add_argument("--minutes", type=float, default=MINUTES, help="how long at most, in all")
    parser.add_argument("--full", action="store_true", help="to the full counts, however long")
    parser.add_argument("--count", type=int, help="how many of each, in place of the full counts")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="write the figures into the docs")
    given = parser.parse_args()
    if unknown := set(given.parts) - PARTS.keys():
        parser.error(f"there is no part {min(unknown)}")
    names = given.parts or list(PARTS)
    shares = {name: PARTS[name][2] for name in names}
    failed = False
    for place, name in enumerate(names):
        work, full, _ = PARTS[name]
        left = sum(shares[one] for one in names[place:])
        minutes = float("inf") if given.full else given.minutes * shares[name] / left
        began = time.monotonic()
        try:
            count = given.count or (full if given.full else min(full, SHORT.get(name, full)))
            found = work(Ask(count, given.seed, began + 60 * minutes))
        except LeftOut as why:
            print(f"{name}: LEFT OUT: {why}", flush=True)
            continue
        except Exception:  # noqa: BLE001 - the other parts go on
            print(f"{name}: FAILED\n{traceback.format_exc()}", flush=True)
            failed = True
            continue
        finally:
            given.minutes -= (time.monotonic() - began) / 60
        wrong = report.wrong(name, found)
        failed |= bool(wrong)
        print(f"{name}: {report.line(found)}{wrong}", flush=True)
        if given.write and not wrong:
            report.write(name, {"seed": given.seed, **found})
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
