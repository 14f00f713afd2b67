"""Score everything a maker reads, in studios that argentry was not built for."""

from __future__ import annotations

import argparse

from benchmarks.families import STUDIOS
from benchmarks.families.forms import EVERY
from benchmarks.families.measures import MEASURES
from benchmarks.families.report import Wanted, table, write


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.families", description=__doc__)
    parser.add_argument("--families", nargs="+", choices=[*EVERY], default=[])
    parser.add_argument("--sizes", nargs="+", type=int, default=[], help="plates in the notebook")
    parser.add_argument("--measures", nargs="+", choices=[*MEASURES], default=[])
    parser.add_argument("--studios", type=int, default=STUDIOS, help="of each size, over families")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--by-family", action="store_true", help="each family's figures as well")
    parser.add_argument("--write", choices=["before", "now"], help="put it into docs/decisions")
    given = parser.parse_args()
    wanted = Wanted(
        tuple(given.families),
        tuple(given.sizes),
        tuple(given.measures),
        given.studios,
        given.processes,
        given.by_family,
    )
    rows = []
    for plates, what, asked, found in table(wanted):
        rows.append((plates, what, asked, found))
        print(f"  {plates:>3} plates: {what:<78} {asked:<28} {found}", flush=True)
    if given.write:
        write(given.write, rows)


if __name__ == "__main__":
    main()
