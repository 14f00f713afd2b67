"""Run every benchmark, or those named: ``python -m benchmarks [--draws N] [name ...]``."""

import argparse
import importlib
import inspect
import pkgutil

import benchmarks


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description=__doc__)
    parser.add_argument("--draws", type=int, help="draws, of a benchmark that draws")
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
        draws = given.draws is not None and "draws" in inspect.signature(module.run).parameters
        for what, figure in module.run(**({"draws": given.draws} if draws else {})):
            print(f"  {what:<66} {figure}", flush=True)


if __name__ == "__main__":
    main()
