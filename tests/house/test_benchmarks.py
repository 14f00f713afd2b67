"""Benchmarks are run seldom: a name that the code has dropped is told of here."""

import importlib
from pathlib import Path

from tests.every import every

ROOT = Path(__file__).resolve().parents[2]
NAMES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    for path in (ROOT / "benchmarks").rglob("*.py")
    if path.stem != "__main__"
)


@every("name", NAMES)
def test_a_benchmark_finds_what_it_imports(name, monkeypatch):
    monkeypatch.syspath_prepend(str(ROOT))
    assert importlib.import_module(name).__doc__
