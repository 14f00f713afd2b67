"""Fetch in a process of its own, so that a plan never waits for the network.

Run as ``python -m argentry.keeping.forecast.beside STUDIO SERVICE``.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from argentry.errors import ArgentryError

EVERY_S = 1800.0
_looked: dict[Path, float] = {}
_started: list[subprocess.Popen[bytes]] = []


def start(folder: Path, key: str) -> None:
    """Begin to fetch from a service; what comes is kept for the next plan."""
    # those that ended are waited for here; one that runs still is not asked a second time
    _started[:] = [one for one in _started if one.poll() is None]
    if _started:
        return
    _started.append(
        subprocess.Popen(  # noqa: S603 - this very program, and a key that is checked
            [sys.executable, "-m", "argentry.keeping.forecast.beside", str(folder.resolve()), key],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    )


def refresh(folder: Path) -> None:
    """Begin to fetch now and then while a run goes on; what still holds is not asked for."""
    from argentry.studio.file import read_studio

    now = time.monotonic()
    if now - _looked.get(folder, -EVERY_S) < EVERY_S:
        return
    _looked[folder] = now
    try:
        key = read_studio(folder).weather.asked
    except ArgentryError:  # a file in the making
        return
    if key:
        start(folder, key)


def main(folder: str, key: str) -> int:
    """Fetch once; a failure is kept as a sentence for the next plan to say."""
    from argentry.keeping.forecast.fetch import fetch
    from argentry.studio.file import read_studio

    try:
        fetch(Path(folder), read_studio(Path(folder)), key)
    except ArgentryError:
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
