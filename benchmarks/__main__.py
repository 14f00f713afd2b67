"""Run every benchmark, or those named: ``python -m benchmarks [name ...]``."""

import importlib
import pkgutil
import sys

import benchmarks


def main() -> None:
    names = sys.argv[1:] or sorted(
        m.name for m in pkgutil.iter_modules(benchmarks.__path__) if not m.name.startswith("_")
    )
    for name in names:
        module = importlib.import_module(f"benchmarks.{name}")
        if not hasattr(module, "run"):
            continue
        print(f"\n{name}: {(module.__doc__ or '').splitlines()[0]}")
        for what, figure in module.run():
            print(f"  {what:<66} {figure}")


if __name__ == "__main__":
    main()
