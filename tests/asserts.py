"""What pytest does with asserts, in less time.

Every process reads every test file, and pytest rewrites its asserts: 6 of the 11 seconds of
reading, in each. Here a process rewrites its share and keeps it where pytest looks for it, and
waits for the others; what is missing then pytest makes itself.

Pytest compares a long array with `approx` number by number: 5 seconds for a million. Here that is
done at once, and number by number only where it fails.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
from _pytest import approx
from _pytest.assertion import rewrite

TESTS = Path(__file__).parent
LONGEST_WAIT_S = 30.0
SHORT = 20  # arrays up to here are compared as pytest does


def compare_arrays_at_once():
    """Let `approx` say at once that a long array is near."""
    for kind in (approx.ApproxNumpy, approx.ApproxScalar):
        kind.__eq__ = at_once(kind.__eq__)


def at_once(by_number):
    """Return a comparison that goes by number only where the array is not near."""

    def equal(self, actual):
        return near(self, actual) or by_number(self, actual)

    return equal


def near(wanted, actual):
    """Return True only where pytest would, for a long array of numbers."""
    if not isinstance(actual, np.ndarray) or actual.size <= SHORT or actual.dtype.kind != "f":
        return False
    expected = np.asarray(wanted.expected)
    if expected.dtype.kind not in "fi" or expected.shape not in {(), actual.shape}:
        return False
    absolute = approx.ApproxScalar.DEFAULT_ABSOLUTE_TOLERANCE if wanted.abs is None else wanted.abs
    relative = approx.ApproxScalar.DEFAULT_RELATIVE_TOLERANCE if wanted.rel is None else wanted.rel
    if wanted.rel is None and wanted.abs is not None:
        relative = 0.0
    if not (absolute >= 0.0 and relative >= 0.0 and np.isfinite(expected).all()):
        return False
    expected = expected.astype(float)
    allowed = np.maximum(relative * np.abs(expected), absolute)
    return bool((np.abs(expected - actual) <= allowed).all())


def rewrite_share(config):
    """Rewrite this process's share of all test files; wait until the others have done theirs.

    Parameters
    ----------
    config : pytest.Config
        Of a run in several processes and over all tests; of any other nothing is done.
    """
    own = getattr(config, "workerinput", None)
    if own is None or [Path(one).resolve() for one in config.args] != [TESTS]:
        return
    count, number = own["workercount"], int(own["workerid"].removeprefix("gw"))
    for file in sorted(TESTS.rglob("test_*.py"))[number::count]:
        keep(file, config)
    marks = config._tmp_path_factory.getbasetemp().parent
    (marks / f"asserts-{number}").touch()
    until = time.monotonic() + LONGEST_WAIT_S
    while len(list(marks.glob("asserts-*"))) < count and time.monotonic() < until:
        time.sleep(0.05)


def keep(file, config):
    """Rewrite a file unless that is kept already, as pytest keeps it."""
    folder = rewrite.get_cache_dir(file)
    kept = folder / (file.stem + rewrite.PYC_TAIL)
    if rewrite._read_pyc(file, kept) is None and rewrite.try_makedirs(folder):
        source, code = rewrite._rewrite_test(file, config)
        rewrite._write_pyc(config.stash[rewrite.assertstate_key], code, source, kept)
