"""A new plan beside the bench in a terminal: asked for when wanted, taken in when it comes."""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from select import select

import pytest

from argentry.bench.off_plan import off_plan, told_of
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.cli.bench import bench_beside
from argentry.cli.bench.bench_beside import Beside
from argentry.desk.bench.acts import look
from argentry.desk.bench.run import clock_for, open_run
from argentry.desk.bench.seat import Seat
from argentry.keeping.studio import load_studio, new_studio

_path = Path(__file__).parents[2] / "out" / "day_fixture.py"
_spec = spec_from_file_location("day_fixture", _path)
fixture = module_from_spec(_spec)
_spec.loader.exec_module(fixture)
# answers every line with what a file holds
ANSWERS = "import sys\nfor _ in sys.stdin: print(open(sys.argv[1]).read(), flush=True)"


@pytest.fixture
def seat(tmp_path):
    new_studio(tmp_path / "studio", {"--tz": "Etc/UTC"})
    studio = load_studio(tmp_path / "studio")
    book = open_book(tmp_path / "studio")
    began = datetime.now(UTC) - timedelta(hours=1)
    day = (began.year, began.month, began.day)
    plan = fixture.make_plan(1, date=day, zone="Etc/UTC", begin=f"{began:%H:%M}")
    clock = clock_for(book)
    run = open_run(book, studio, ["One"], clock=clock, plan=plan)
    yield Seat(book, studio, clock, run, "terminal")
    close_book(book)


def beside(seat, tmp_path, *lines, script=ANSWERS):
    body = {
        "plan": {}, "lines": list(lines), "moved": [], "left_out": [], "why": "One is late",
        "share": 0.6, "kept_share": 0.5, "knows": dict(told_of(off_plan(look(seat)))),
    }  # fmt: skip
    (tmp_path / "answer.json").write_text(json.dumps(body), encoding="utf-8")
    command = (sys.executable, "-c", script, str(tmp_path / "answer.json"))
    return Beside(seat, tmp_path / "studio", None, command)


def answered(made):
    """Look until what was asked has been answered."""
    made.look()
    while made._asked:
        select([made._process.stdout], [], [])
        made.look()


def test_a_plan_is_offered_beside_the_terminal(seat, tmp_path):
    made = beside(seat, tmp_path, "One ends an hour later.")
    answered(made)
    assert look(seat).offer.lines == ("One ends an hour later.",)
    made._next = 0.0
    made.look()
    assert not made._asked, "what is known is not asked again"
    made.close()
    assert made._process is None


def test_nothing_is_written_where_nothing_is_to_be_said(seat, tmp_path):
    made = beside(seat, tmp_path)
    answered(made)
    assert look(seat).offer is None
    made._next = 0.0
    made.look()
    assert not made._asked
    made.close()


def test_between_two_looks_nothing_is_asked(seat, tmp_path, monkeypatch):
    made = beside(seat, tmp_path, "late")
    asked = []
    monkeypatch.setattr(made, "_ask", asked.append)
    for _ in range(5):
        made.look()
    [why] = asked
    assert why.startswith("One is ")


@pytest.mark.parametrize("script", ["", "import sys; sys.stdin.readline(); print('{}')"])
def test_a_process_that_fails_is_let_go_for_a_while(seat, tmp_path, script, monkeypatch):
    monkeypatch.setattr(bench_beside, "LOOK_S", 0.0)
    made = beside(seat, tmp_path, "late", script=script)
    answered(made)
    assert made._process is None
    made.look()
    assert made._process is None
    assert look(seat).offer is None
