"""Tests that draw by chance, with every draw: 40 plates, 16 days, 240 power cuts, 24 kills."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

TESTS = Path(__file__).parents[1] / "tests"
DRAWN = (
    "api/test_schemathesis.py", "book/care/test_salvage.py", "circle", "day/test_random_wishes.py",
    "power/test_kill.py", "power/test_power_cut.py",
)  # fmt: skip


def run() -> Iterator[tuple[str, str]]:
    """Yield what does not hold of each; `make test` draws fewer (tests/counts.py)."""
    for name in DRAWN:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", str(TESTS / name)],
            env={**os.environ, "ARGENTRY_WHOLE": "yes"},
            capture_output=True,
            text=True,
            check=False,
        )
        wrong = [one for one in done.stdout.splitlines() if one.startswith(("FAILED", "ERROR"))]
        yield f"tests/{name}: what does not hold", str(len(wrong) or done.returncode)
        yield from (("", line) for line in wrong)
