"""The server is killed (SIGKILL) again and again on each store while two devices go on.

Every event that was answered is in the book once, nothing sent again is there twice, and the times
between events are those that passed.
"""

import json
import random
import subprocess
import sys
import time

import pytest
from tests.counts import few
from tests.ports import free_port
from tests.power.storm import judge, judge_elapsed, storm, told_of

from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.keeping.studio import new_studio

KILLS = few(8, 24)  # each kind of moment once at least; `make chaos` goes to 500


@pytest.fixture
def studio(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    close_book(open_book(folder))
    return folder


@pytest.mark.parametrize("store", ["sqlite", "postgresql"])
def test_every_answered_event_outlives_every_kill(store, studio, request, record_property):
    address = None
    if store == "postgresql":
        server = request.getfixturevalue("durable_postgres")
        address = server.database()
    devices, _ = storm([studio], address, KILLS, 20260621)
    book = open_book(address or studio, folder=studio)
    everything, _ = judge(book, devices)
    steps = judge_elapsed(book, devices)
    close_book(book)
    told = {**told_of(everything, devices), "steps timed": steps}
    record_property("told", json.dumps(told))
    assert told["sent again"] > KILLS // 4, told
    assert 0 < told["stored though not answered"] < told["sent again"], told
    assert told["runs closed"] >= 2, told
    if address:
        server.drop(address)


def test_a_killed_cold_start_of_the_command_leaves_the_book_whole(studio):
    """Few kills of the command as it is installed, at its first start too."""
    chance = random.Random(1)
    tool = [sys.executable, "-c", "from argentry.cli.bench.serve import serve; serve()"]
    (studio / "book.sqlite").unlink()
    for _ in range(3):
        port = free_port()
        process = subprocess.Popen(
            [*tool, "--studio", str(studio), "--port", str(port), "--no-qr"],
            stdout=subprocess.DEVNULL,
        )
        time.sleep(chance.uniform(0.3, 1.6))
        process.kill()
        process.wait()
    book = open_book(studio)
    assert check(book) == []
    close_book(book)
