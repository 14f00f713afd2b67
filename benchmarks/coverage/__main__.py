"""Run it alone: ``python -m benchmarks.coverage [--draws N]``."""

import argparse

from benchmarks.coverage import DRAWS, run


def main():
    parser = argparse.ArgumentParser(prog="python -m benchmarks.coverage", description=__doc__)
    parser.add_argument("--draws", type=int, default=DRAWS, help="questions of each kind")
    for what, figure in run(parser.parse_args().draws):
        print(f"  {what:<66} {figure}", flush=True)


if __name__ == "__main__":
    main()
