"""Requests made from the API's own description by schemathesis, none of which may end in a 5xx.

The tests are those of tests/api/test_schemathesis.py, with more examples and other ones each seed.
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


def run(ask: Ask) -> Figures:
    """Ask `count` times for each operation and each of two ways: as described, and against it."""
    more = {"ARGENTRY_EXAMPLES": str(ask.count), "HYPOTHESIS_PROFILE": "explore"}
    with workplace() as folder:
        report = folder / "report.xml"
        words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", TESTS]
        words += [f"--hypothesis-seed={ask.seed}", f"--junit-xml={report}"]
        done = subprocess.run(
            words, cwd=ROOT, env={**os.environ, **more}, capture_output=True, text=True, check=False
        )
        cases = list(ET.parse(report).iter("testcase"))
    if done.returncode:
        print(done.stdout[-4000:])
    asked = [int(one.attrib["value"]) for case in cases for one in case.iter("property")]
    failed = sum(case.find("failure") is not None for case in cases)
    return {"operations and ways": len(asked), "requests": sum(asked), "failed": failed}
