"""Command lines and files made to do harm, each in a process that is ended when it hangs.

The cases are those of tests/cli/test_hostile_lines.py. Everything is imported once; each case is a
fork of that.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from importlib import import_module
from typing import TYPE_CHECKING

from tests.cli.test_hostile_lines import LINES, lay

from argentry.cli.main import main
from argentry.keeping.studio import new_studio
from benchmarks.chaos.ground import workplace
from benchmarks.chaos.hostile.verdict import LONGEST_S, Verdict

if TYPE_CHECKING:
    from pathlib import Path

    from benchmarks.chaos.ground import Ask, Figures

FIRST = (
    "numpy",
    "scipy.optimize",
    "argentry.desk.wishes",
    "argentry.keeping.book",
    "argentry.web.run",
)


def run(ask: Ask) -> Figures:
    for name in FIRST:
        import_module(name)
    verdict = Verdict()
    with workplace() as folder:
        lay(folder)
        for name, words in list(LINES.items())[: ask.count]:
            if not ask.go_on():
                break
            studio = folder / f"studio{verdict.inputs}"  # a fresh one for each
            new_studio(studio, {})
            own = [word.replace("{ground}", str(folder)) for word in words]
            _one(verdict, name, own, folder, studio)
    return verdict.figures()


def _one(verdict: Verdict, name: str, words: list[str], folder: Path, studio: Path) -> None:
    said = folder / "said"
    began = time.monotonic()
    child = os.fork()
    if child == 0:
        _child(words, folder, studio, said)
    while True:
        ended, status, used = os.wait4(child, os.WNOHANG)
        seconds = time.monotonic() - began
        if ended:
            break
        if seconds > LONGEST_S:
            os.kill(child, signal.SIGKILL)
            _, status, used = os.wait4(child, 0)
            break
        time.sleep(0.005)
    refused = os.waitstatus_to_exitcode(status) == 2
    verdict.add(
        name, said.read_text("utf-8", "replace"), seconds, used.ru_maxrss / 1024, refused=refused
    )


def _child(words: list[str], folder: Path, studio: Path, said: Path) -> None:
    """Be the command; never returns."""
    code = 1
    try:
        os.chdir(folder)
        os.environ["ARGENTRY_STUDIO"] = str(studio)
        os.environ.pop("ARGENTRY_BOOK", None)
        out = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out, 1)
        os.dup2(out, 2)
        main(words)
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 1
    finally:
        if sys.exc_info()[0] not in (None, SystemExit):
            sys.excepthook(*sys.exc_info())  # type: ignore[arg-type]
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
