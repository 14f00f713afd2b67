"""Rewriting the asserts of the test files once, by all processes of a run together.

Every process reads every test file, and pytest rewrites its asserts: 6 of the 11 seconds of
reading, in each. Here a process rewrites its share and keeps it where pytest looks for it, and
waits for the others; what is missing then pytest makes itself.
"""

from __future__ import annotations

import time
from pathlib import Path

from _pytest.assertion import rewrite

TESTS = Path(__file__).parent
LONGEST_WAIT_S = 30.0


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
