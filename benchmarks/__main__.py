"""Run every benchmark, or some: ``python -m benchmarks [--draws N] [--seed S] [name ...]``."""

import argparse
import importlib
import inspect
import pkgutil

import benchmarks


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--draws", type=int, help="draws, of a benchmark that draws")
    parser.add_argument("--seed", type=int, help="seed, of a benchmark that takes one")
    parser.add_argument("names", nargs="*", help="which; left out: all")
    given = parser.parse_args()
    names = given.names or sorted(
        m.name for m in pkgutil.iter_modules(benchmarks.__path__) if not m.name.startswith("_")
    )
    for name in names:
        module = importlib.import_module(f"benchmarks.{name}")
        if not hasattr(module, "run"):
            continue
        print(f"\n{name}: {(module.__doc__ or '').splitlines()[0]}")
        takes = inspect.signature(module.run).parameters
        asked = {"draws": given.draws, "seed": given.seed}
        said = {name: one for name, one in asked.items() if one is not None and name in takes}
        for what, figure in module.run(**said):
            print(f"  {what:<66} {figure}", flush=True)


if __name__ == "__main__":
    main()
