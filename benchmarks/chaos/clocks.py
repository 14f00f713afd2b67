"""The machine's clock jumps by seconds, hours, days and years while devices go on.

While one server runs, every step must last as long as the device's own clock says, whatever the
machine's clock did and whoever set the house's. After a new start in the middle of it nothing
answered may be gone or out of order, and a house that is minutes off must say so.
"""

from __future__ import annotations

import os
import random
import sys
import time
from threading import Event as Flag
from typing import TYPE_CHECKING

from tests.power.bench_client import Device
from tests.power.cuts import look_over
from tests.power.storm import judge_elapsed

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from benchmarks.chaos import jumping
from benchmarks.chaos.ground import serving, studio_in, workplace

if TYPE_CHECKING:
    from pathlib import Path

    from benchmarks.chaos.ground import Ask, Figures, Served

DAY_S = 86_400.0
JUMPS_S = (1.0, 90.0, 3600.0, 3 * DAY_S, 366 * DAY_S)
FAR_S = 130.0  # from where on it must be told
ONE_SERVER = 40  # jumps under one server; then it is started again
SERVE = [sys.executable, "-m", "benchmarks.chaos.jumping"]


def run(ask: Ask) -> Figures:
    chance = random.Random(ask.seed)
    figures = {"jumps": 0, "times set": 0, "starts": 0, "told": 0, "not told": 0}
    figures |= {"events": 0, "steps timed": 0, "lost": 0, "damaged": 0}
    while figures["jumps"] < ask.count and ask.go_on():
        _one_book(ask, chance, figures)
    return figures


def _one_book(ask: Ask, chance: random.Random, figures: dict[str, int]) -> None:
    with workplace() as folder:
        studio, offset = studio_in(folder), folder / "offset"
        os.environ[jumping.OFFSET] = str(offset)
        offset.write_text("0", encoding="ascii")
        stop = Flag()
        with serving(studio, command=SERVE, said=folder / "said") as server:
            devices = [Device(server.port, name, stop) for name in ("left", "right")]
            for device in devices:
                device.start()
            for _ in range(min(ONE_SERVER, ask.count - figures["jumps"])):
                time.sleep(chance.uniform(0.0, 0.4))
                _jump(offset, chance)
                figures["jumps"] += 1
                if chance.random() < 0.2:
                    _set(server)
                    figures["times set"] += 1
                if not ask.go_on():
                    break
            stop.set()
            for device in devices:
                device.join(60)
                assert device.wrong == [], device.wrong
            _set(server)
        book = open_book(studio)
        figures["steps timed"] += judge_elapsed(book, devices)
        figures["damaged"] += len(check(book))
        ids = [one.id for one in log.events_after(book, 0, 100_000)]
        close_book(book)
        figures["events"] += len(ids)
        sent = {one.id for each in devices for one in each.sent if one.answered}
        figures["lost"] += len(sent - set(ids))
        _start_again(studio, folder, offset, chance, figures)


def _start_again(
    studio: Path, folder: Path, offset: Path, chance: random.Random, figures: dict[str, int]
) -> None:
    """Start servers on a clock that jumped while none ran; each adds events."""
    # the machine's clock and the house's, which was set by it last, against the true time
    before = house = float(offset.read_text(encoding="ascii"))
    for number in range(4):
        before = chance.choice((-1.0, 1.0)) * chance.choice(JUMPS_S)
        offset.write_text(str(before), encoding="ascii")
        house = max(house, before)  # never before the last event
        said = folder / f"said again {number}"
        with serving(studio, command=SERVE, said=said) as server:
            figures["starts"] += 1
            device = Device(server.port, f"again {number}", Flag())
            device.whole_run(f"A {number}")
            if abs(house - before) > FAR_S:
                told = "the clock of this machine" in said.read_text("utf-8", "replace")
                figures["told" if told else "not told"] += 1
        found = look_over(studio)
        assert found is not None
        figures["damaged"] += len(found[1])
        figures["lost"] += len({one.id for one in device.sent if one.answered} - set(found[0]))


def _jump(offset: Path, chance: random.Random) -> None:
    by = chance.choice((-1.0, 1.0)) * chance.choice(JUMPS_S) * chance.uniform(0.5, 1.5)
    other = offset.with_suffix(".new")
    other.write_text(str(by), encoding="ascii")
    other.replace(offset)


def _set(server: Served) -> None:
    """Set the house's clock by the machine's, as the host's page does."""
    import httpx

    form = {"Origin": server.address, "Content-Type": "application/x-www-form-urlencoded"}
    answer = httpx.post(f"{server.address}/clock", headers=form, timeout=30)
    assert answer.status_code == 200, answer.text
