"""Run the judge alone: ``python -m benchmarks.plan_judge [--days N] [run ...]``."""

import argparse
import time

from benchmarks.plan_judge import run


def main():
    parser = argparse.ArgumentParser(prog="python -m benchmarks.plan_judge", description=__doc__)
    parser.add_argument("--days", type=int, default=None, help="seeded days, the first ones first")
    parser.add_argument("--first", type=int, default=0, help="number of the first seeded day")
    parser.add_argument("only", nargs="*", help="sound, named, thumb, odds, latest, live, ...")
    given = parser.parse_args()
    began = time.perf_counter()
    for what, figure in run(given.days, tuple(given.only), given.first):
        print(f"  {what:<78} {figure}", flush=True)
    print(f"  {time.perf_counter() - began:.0f} s in all")


if __name__ == "__main__":
    main()
