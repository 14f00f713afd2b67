"""The disk of a real server gets full, again and again, at another byte each time."""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import subprocess
from typing import TYPE_CHECKING

from tests.power.bench_client import Device
from tests.power.cuts import look_over

from argentry.records.ids import new_id
from benchmarks.chaos.ground import LeftOut, database_server, serving, studio_in, workplace

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from benchmarks.chaos.ground import Ask, Figures

MEGABYTES = 60
MOST = 400  # posts in which a disk with some 100 kB of room must get full
ROOM = (8_192, 400_000)  # bytes that are left


@contextlib.contextmanager
def small_disk(folder: Path) -> Iterator[Path]:
    """A file system of its own that gets full."""
    place = folder / "small"
    place.mkdir()
    mount = shutil.which("mount")
    done = mount and subprocess.run(
        [mount, "-t", "tmpfs", "-o", f"size={MEGABYTES}m", "tmpfs", place],
        capture_output=True,
        check=False,
    )
    if not done or done.returncode:
        raise LeftOut("a small file system needs mount and its rights")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", place], check=True)


def on_sqlite(ask: Ask) -> Figures:
    with workplace() as folder, small_disk(folder) as place:
        studio = studio_in(place)
        return _fill_again(ask, studio, place, None)


def on_postgresql(ask: Ask) -> Figures:
    with database_server() as server, workplace() as folder, small_disk(folder) as place:
        space = place / "space"
        space.mkdir()
        for one in (folder, place):
            one.chmod(0o755)
        if server.as_user:
            shutil.chown(space, "postgres", "postgres")
        server.sql(f"CREATE TABLESPACE small LOCATION '{space}'")
        address = server.database(template="template1", more="TABLESPACE small")
        return _fill_again(ask, studio_in(folder), place, address)


def _fill_again(ask: Ask, studio: Path, place: Path, address: str | None) -> Figures:
    """Fill the disk, see that it is told and nothing is stored by half, and make room again."""
    chance = random.Random(ask.seed)
    answered: list[str] = []
    told, times = set(), 0
    ballast = place / "ballast"
    with serving(studio, *(["--book", address] if address else [])) as server:
        device = Device(server.port, "bench", None)
        _, opened = device.ask("POST", "/api/runs", {"plates": ["Q-1"]})
        path = f"/api/runs/{opened['run']}/events"
        for _ in range(ask.count):
            if not ask.go_on():
                break
            room = os.statvfs(place)
            leave = chance.randint(*ROOM)
            with ballast.open("wb") as stream:
                os.posix_fallocate(stream.fileno(), 0, max(1, room.f_bavail * room.f_bsize - leave))
            for _ in range(MOST):
                status, answer = device.ask("POST", path, {"events": _remarks()})
                if status != 200:
                    break
                answered += [one["id"] for one in answer["stored"]]
            assert 500 < status < 600, (status, answer)
            told.add(answer["error"])
            times += 1
            ballast.unlink()
            status, answer = device.ask("POST", path, {"events": _remarks()})
            assert status == 200, answer  # the same server goes on
            answered += [one["id"] for one in answer["stored"]]
    found = look_over(address or studio)
    assert found is not None
    assert all("\n" not in one and one.endswith(".") for one in told), told
    return {
        "times full": times,
        "answered": len(answered),
        "lost": len(set(answered) - set(found[0])),
        "damaged": len(found[1]),
        "sentences": len(told),
    }


def _remarks() -> list[dict[str, object]]:
    body = {"words": "x" * 1900}
    return [{"id": new_id(), "kind": "remark_made", "age_s": 0.0, "body": body} for _ in range(4)]
