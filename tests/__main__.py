"""Run the tests side by side: each process takes the next file as soon as it is free for one.

    python -m tests -n 6 -m "not slow"      # what follows the number is pytest's own
    python -m tests -n 2 tests/web tests/cli/test_learning.py

Each file is collected once, by the process that runs it, and what most files read of the libraries
is read once for all. The words of every process follow at the end, its failures in them.
"""

from __future__ import annotations

import gc
import json
import os
import shutil
import sys
import tempfile
import time
from collections import Counter
from importlib import import_module
from pathlib import Path

import pytest
from tests.slow import in_order

HERE = Path(__file__).parent
# before the first fork: nothing that pytest rewrites
READ_ONCE = (
    "alembic.command", "argentry.cli.main", "argentry.desk.pages.today", "argentry.desk.season",
    "argentry.out.day.page", "argentry.web.app", "ortools.sat.python.cp_model", "PIL.Image",
    "scipy.interpolate", "scipy.ndimage", "scipy.optimize", "scipy.signal", "scipy.stats",
    "sqlalchemy.dialects.postgresql.psycopg", "sqlalchemy.dialects.sqlite", "typst",
)  # fmt: skip
WIDTH = 4  # bytes that name a file
OWN_WORDS = (
    "-p", "no:cacheprovider", "-o", "console_output_style=classic",
    # said of libraries, which hold no test of ours
    "-W", "ignore:Module already imported so cannot be rewritten",
)  # fmt: skip
KINDS = ("passed", "failed", "skipped")


class Next:
    """What takes the place of pytest's own collection and loop."""

    def __init__(self, files, queue, folder, told):
        self._files, self._queue, self._folder, self._told = files, queue, folder, told
        self._modules = {}

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection(self, session):
        """Look for the files, and into none."""
        session.perform_collect(list(map(str, self._files)), genitems=False)
        return True

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection_modifyitems(self, items):
        """Keep the files from whoever expects tests."""
        if not self._modules:
            self._modules = {one.path: one for one in items}
            items.clear()

    def _take(self, session):
        """Return the tests of the next file that has any; none at the end."""
        while number := os.read(self._queue, WIDTH):
            path = self._files[int.from_bytes(number, "big")]
            with (self._folder / "files").open("a") as taken:
                taken.write(f"{path}\n")
            os.write(self._told, b".")
            items = list(session.genitems(self._modules[path]))
            session.config.hook.pytest_collection_modifyitems(
                session=session, config=session.config, items=items
            )
            session.testscollected += len(items)
            if items:
                return items
        return []

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session):
        items = self._take(session)
        while items:
            for place, item in enumerate(items, 1):
                after = self._take(session) if place == len(items) else items[place:]
                item.ihook.pytest_runtest_protocol(item=item, nextitem=after[0] if after else None)
                if session.shouldfail:
                    raise session.Failed(session.shouldfail)
                if session.shouldstop:
                    raise session.Interrupted(session.shouldstop)
            items = after
        return True

    @pytest.hookimpl(wrapper=True)
    def pytest_report_teststatus(self):
        """Count what is told, and write nothing for a test that passes."""
        kind, letter, word = yield
        return kind, "" if kind == "passed" else letter, word

    @pytest.hookimpl(wrapper=True, trylast=True)
    def pytest_terminal_summary(self, terminalreporter):
        count = {kind: len(told) for kind, told in terminalreporter.stats.items()}
        (self._folder / "count").write_text(json.dumps(count))
        return (yield)


def work(files, queue, folder, words):
    """Be one of the processes, and return pytest's own code."""
    told, own = os.dup(1), os.open(folder / "words", os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    for number in (1, 2):
        os.dup2(own, number)
    own_part = Next(files, queue, folder, told)
    code = pytest.main([*OWN_WORDS, *words], plugins=[own_part])
    return 0 if code == pytest.ExitCode.NO_TESTS_COLLECTED else int(code)


def main(words):
    """Return 0 where there are tests and every one passed in every process."""
    begun, processes = time.monotonic(), 1
    if words[:1] == ["-n"]:
        processes, words = int(words[1]), words[2:]
    asked = [Path(word).resolve() for word in words if Path(word).exists()]
    words = [word for word in words if not Path(word).exists()]
    files = in_order(HERE, asked or [HERE])
    queue, all_ = os.pipe()
    os.write(all_, b"".join(number.to_bytes(WIDTH, "big") for number in range(len(files))))
    os.close(all_)
    for name in READ_ONCE:
        import_module(name)
    gc.freeze()
    place = Path(tempfile.mkdtemp(prefix="argentry-tests-"))
    running = {}
    for number in range(processes):
        (folder := place / str(number)).mkdir()
        (folder / "files").touch()
        pid = os.fork()
        if pid == 0:
            return work(files, queue, folder, words)
        running[pid] = folder
    os.close(queue)
    failed, count, ended = False, Counter(), {}
    while running:
        pid, status = os.wait()
        folder = running.pop(pid)
        ended[folder] = code = os.waitstatus_to_exitcode(status)
        failed |= code != 0
    for folder, code in sorted(ended.items()):
        sys.stdout.write(f"\n{(folder / 'words').read_text(errors='replace').strip()}\n")
        if (folder / "count").exists():
            count.update(json.loads((folder / "count").read_text()))
        else:
            last = (folder / "files").read_text().split()[-2:]
            sys.stdout.write(f"THIS PROCESS ENDED WITH {code}; its last files: {' '.join(last)}\n")
    shutil.rmtree(place)
    kinds = [f"{count[kind]} {kind}" for kind in (*KINDS, *sorted({*count} - {*KINDS, ""}))]
    took = time.monotonic() - begun
    sys.stdout.write(f"{', '.join(kinds)} in {took:.2f} s, {processes} processes\n")
    return int(failed or not count["passed"])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
