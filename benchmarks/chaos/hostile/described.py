"""Requests made from the API's own description by schemathesis, none of which may end in a 5xx.

The tests are those of tests/api/test_schemathesis.py, again and again with another seed each time:
the pieces are small, so that the whole ends when its time is up.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from benchmarks.chaos.ground import workplace

if TYPE_CHECKING:
    from benchmarks.chaos.ground import Ask, Figures

ROOT = Path(__file__).parents[3]
TESTS = "tests/api/test_schemathesis.py"
PIECE = 50  # examples of each operation and way


def run(ask: Ask) -> Figures:
    """Ask `count` times for each operation and each of two ways: as described, and against it."""
    found = {"operations and ways": 0, "requests": 0, "failed": 0}
    for number, first in enumerate(range(0, ask.count, PIECE)):
        if not ask.go_on():
            break
        asked, failed = _piece(min(PIECE, ask.count - first), ask.seed + number)
        found["operations and ways"] = max(found["operations and ways"], len(asked))
        found["requests"] += sum(asked)
        found["failed"] += failed
    return found


def _piece(examples: int, seed: int) -> tuple[list[int], int]:
    """Return how many requests were made for each operation and way, and how many tests failed."""
    more = {"ARGENTRY_EXAMPLES": str(examples), "HYPOTHESIS_PROFILE": "explore"}
    with workplace() as folder:
        report = folder / "report.xml"
        words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", TESTS]
        words += [f"--hypothesis-seed={seed}", f"--junit-xml={report}"]
        words += ["-o", "junit_family=xunit1"]  # the form that holds what a test counted
        done = subprocess.run(
            words, cwd=ROOT, env={**os.environ, **more}, capture_output=True, text=True, check=False
        )
        cases = list(ET.parse(report).iter("testcase"))
    if done.returncode:
        print(done.stdout[-4000:])
    asked = [int(one.attrib["value"]) for case in cases for one in case.iter("property")]
    bad = [case for case in cases for kind in ("failure", "error") if case.find(kind) is not None]
    return asked, max(len(bad), bool(done.returncode))
