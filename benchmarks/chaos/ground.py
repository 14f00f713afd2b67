"""What every part stands on: a studio, a real server, a database server, and how long it may go."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests import stores
from tests.ports import free_port
from tests.power.storm import until_ready

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.keeping.studio import new_studio

if TYPE_CHECKING:
    from collections.abc import Iterator

SERVE = [sys.executable, "-c", "from argentry.cli.bench.serve import serve; serve()"]
QUICK = Path("/dev/shm")  # what is only looked at needs no real disk


class LeftOut(Exception):  # noqa: N818 - not a mistake
    """What a part needs is not on this machine."""


@dataclass(frozen=True)
class Ask:
    """What one part is to do.

    Attributes
    ----------
    count : int
        How many kills, cuts, books or seconds.
    seed : int
        Of whatever is left to chance.
    until : float
        When to stop before, by the monotonic clock.
    """

    count: int
    seed: int
    until: float

    def go_on(self) -> bool:
        return time.monotonic() < self.until


Figures = dict[str, Any]


def studio_in(folder: Path, name: str = "studio") -> Path:
    """Make a studio with an empty book."""
    made = folder / name
    new_studio(made, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    close_book(open_book(made))
    return made


def _place(*, quick: bool) -> str | None:
    return str(QUICK) if quick and QUICK.is_dir() else None


@contextlib.contextmanager
def workplace(*, quick: bool = False) -> Iterator[Path]:
    """A folder that goes again; a quick one lies in memory where the machine has that."""
    with tempfile.TemporaryDirectory(prefix="argentry-chaos-", dir=_place(quick=quick)) as folder:
        yield Path(folder)


@contextlib.contextmanager
def database_server(*, quick: bool = False) -> Iterator[stores.Server]:
    """A PostgreSQL server at its safe settings; a quick one's files lie in memory."""
    if stores.binaries() is None:
        raise LeftOut("PostgreSQL is not installed")
    server = stores.Server(durable=True, where=_place(quick=quick))
    try:
        yield server
    finally:
        server.remove()


def memory_mb(pid: int, what: str) -> float:
    """Return a figure of a process's memory, by its name in /proc. [MB]"""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    row = next((one for one in status.splitlines() if one.startswith(what)), f"{what}: 0 kB")
    return int(row.split()[1]) / 1024


@dataclass
class Served:
    """A real server that answers."""

    process: subprocess.Popen[bytes]
    port: int

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def peak_mb(self) -> float:
        """Return the most memory it held. [MB]"""
        return memory_mb(self.process.pid, "VmHWM")

    def now_mb(self) -> float:
        """Return the memory it holds. [MB]"""
        return memory_mb(self.process.pid, "VmRSS")

    def kill(self) -> None:
        """End it, and what it began."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@contextlib.contextmanager
def serving(
    studio: Path, *options: str, command: list[str] | None = None, said: Path | None = None
) -> Iterator[Served]:
    """Run the command as it is installed on a free port; what it says goes into a file."""
    port = free_port()
    words = [*(command or SERVE), "--studio", str(studio), "--port", str(port), "--no-qr", *options]
    with (said or studio.parent / f"said-{port}").open("ab") as out:
        process = subprocess.Popen(words, stdout=out, stderr=out, start_new_session=True)
    served = Served(process, port)
    try:
        until_ready(port, process)
        yield served
    finally:
        served.kill()
