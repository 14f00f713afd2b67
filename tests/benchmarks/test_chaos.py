"""What `make chaos` is judged by: traces, the map of a file, and its tables in the docs."""

from __future__ import annotations

import json
import random
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from benchmarks.chaos import report, rot
from benchmarks.chaos.pages import map_of
from benchmarks.chaos.trace import Reader
from tests.power.disk import left

from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from benchmarks import server

DOCS = Path(__file__).parents[2] / "docs"


def hexed(text):
    return "".join(f"\\x{byte:02x}" for byte in text.encode())


def traced(lines, folder, start=None):
    """Read lines in which what stands between ~ is written as strace writes it."""
    made = []
    for line in lines:
        parts = line.split("~")
        made.append("".join(hexed(part) if place % 2 else part for place, part in enumerate(parts)))
    (folder / "trace").write_text("\n".join(made))
    start = {"book": b"abcdef"} if start is None else start
    return Reader(folder, start, lambda name: name.startswith("book")).read(folder / "trace")


def test_a_trace_is_read_in_the_order_in_which_calls_end(tmp_path):
    here = tmp_path.resolve()
    said = json.dumps({"stored": [{"id": "a" * 36}], "refused": []})
    trace = traced(
        [
            f'7 openat(AT_FDCWD<~/~>, "~{here}/book-j~", O_RDWR|O_CREAT) = 4<~{here}/book-j~>',
            f'7 pwrite64(4<~{here}/book-j~>, "~xyz~", 3, 10) = 3',
            f"8 fdatasync(4<~{here}/book-j~> <unfinished ...>",
            f'7 pwrite64(4<~{here}/book-j~>, "~q~", 1, 0) = 1',
            "8 <... fdatasync resumed>)      = 0",
            f'7 unlink("~{here}/book-j~") = 0',
            f"7 fsync(5<~{here}~>)            = 0",
            f'9 sendto(6<~socket:[1]~>, "~{said}~", 9) = 9',
            f'7 pwrite64(4<~{here}/else~>, "~q~", 1, 0) = 1',
            f'7 pwrite64(4<~{here}/book~>, "~q~", 1, 0) = -1 ENOSPC',
            f'7 rename("~book~", "~{here}/book2~") = 0',
        ],
        tmp_path,
    )
    assert trace.done == [
        ("create", "book-j"),
        ("write", "book-j", 10, b"xyz"),
        ("write", "book-j", 0, b"q"),
        ("sync", "book-j", False, 2),
        ("delete", "book-j", False),
        ("folder", ""),
        ("answered", "", ("a" * 36,)),
        ("rename", "book", "book2"),
    ]


def test_a_call_that_is_not_understood_ends_the_reading(tmp_path):
    with pytest.raises(RuntimeError, match="not understood: copy_file_range"):
        traced([f"7 copy_file_range(4<~{tmp_path.resolve()}/book~>, 5, 9) = 9"], tmp_path)


class Chance:
    """Throws what it is told."""

    def __init__(self, thrown):
        self.thrown = thrown

    def random(self):
        return self.thrown


@pytest.mark.parametrize(("thrown", "first"), [(0.9, b"abcdef"), (0.1, b"Xbcdef")])
def test_a_sync_keeps_only_what_was_written_before_it_began(tmp_path, thrown, first):
    here = tmp_path.resolve()
    trace = traced(
        [
            f'7 pwrite64(4<~{here}/book~>, "~Y~", 1, 1) = 1',
            f"8 fsync(4<~{here}/book~> <unfinished ...>",
            f'7 pwrite64(4<~{here}/book~>, "~X~", 1, 0) = 1',
            "8 <... fsync resumed>) = 0",
        ],
        tmp_path,
    )
    found = left(trace, len(trace.done), Chance(thrown), torn=False)
    assert found == {"book": first[:1] + b"Y" + first[2:]}


@pytest.mark.parametrize(("thrown", "names"), [(0.9, {"book"}), (0.1, {"book2"})])
def test_a_name_is_changed_whole_or_not_at_all(tmp_path, thrown, names):
    trace = traced(['7 rename("~book~", "~book2~") = 0'], tmp_path)
    assert left(trace, 1, Chance(thrown), torn=False).keys() == names


def test_every_byte_of_a_row_is_known_as_its_own(tmp_path):
    file = tmp_path / "file"
    with closing(sqlite3.connect(file)) as book:
        book.execute("CREATE TABLE words (a TEXT, b TEXT)")
        for n in range(40):
            book.execute(
                "INSERT INTO words VALUES (?, ?)", (f"w{n}.", f"{n:04}" * (1 + 3000 * (n == 9)))
            )
        book.commit()
        (page,) = book.execute("PRAGMA page_size").fetchone()
    shape, content = map_of(file), file.read_bytes()
    assert shape.page == page
    for n in (3, 9, 39):
        assert shape.row_at(content.index(f"w{n}.{n:04}".encode())) == n + 1
    far = content.index(b"00090009")
    assert far // page != content.index(b"w9.0009") // page  # the row goes on in other pages
    assert shape.row_at(far) == 10
    assert shape.row_at(0) is None


def test_the_pages_show_the_figures_that_are_kept():
    kept = report.read()
    for page, names in report.PAGES.items():
        text = (DOCS / page).read_text(encoding="utf-8")
        assert report.BEGIN in text
        assert report.section_in(text, kept, names) == text
    assert not any(report.wrong(run) for runs in kept.values() for run in runs)


def test_what_was_lost_is_called_wrong():
    assert report.wrong({"lost": 0, "cuts": 5}) == ""
    assert "lost 1" in report.wrong({"lost": 1})
    assert "times as slow 1.6" in report.wrong({"times as slow": 1.6})
    grown = {"memory after two minutes MB": 100, "most after that MB": 110}
    assert "grows from 100 to 110" in report.wrong(grown)


def ran(kills, seed=1, code="a"):
    return {"seed": seed, "code": code, "kills": kills, "lost": 0, "servers": 3}


@pytest.mark.parametrize(
    ("found", "how", "stay", "said"),
    [
        (ran(0, 2), {"short": True, "add": False}, [ran(300)], "nothing was counted"),
        (ran(0, 2), {"short": True, "add": True}, [ran(300)], "nothing was counted"),
        (ran(40, 2), {"short": True, "add": False}, [ran(300)], "cut short: the 300 kills"),
        (ran(400, 2), {"short": True, "add": False}, [ran(400, 2)], "written"),
        (ran(200, 2), {"short": False, "add": False}, [ran(200, 2)], "written"),
        (ran(40, 2), {"short": True, "add": True}, [ran(300), ran(40, 2)], "340 kills now"),
        (ran(300), {"short": False, "add": True}, [ran(300)], "seed 1 is counted already"),
    ],
)
def test_a_run_that_was_cut_short_never_hides_a_longer_one(found, how, stay, said):
    runs, words = report.merged([ran(300)], found, "kills", **how)
    assert runs == stay
    assert said in words


def test_runs_are_told_together_with_their_seeds_and_code():
    text = f"Before {report.BEGIN} old {report.END} after"
    kept = {"kills-sqlite": [ran(300), ran(40, 2, "b+")]}
    told = report.section_in(text, kept, ("kills-sqlite", "load"))
    row = f"| {report.TITLES['kills-sqlite']} | 1 on a, 2 on b+ | kills 340, lost 0, servers 3 |"
    assert row in told.splitlines()
    assert "old" not in told
    assert (told.startswith("Before "), told.endswith(" after")) == (True, True)


def test_every_part_counts_something_that_it_tells():
    from benchmarks.chaos.__main__ import PARTS

    assert PARTS.keys() == report.TITLES.keys()
    for name, runs in report.read().items():
        assert all(run[PARTS[name].counted] > 0 for run in runs), name


def test_every_table_holds_rows_that_may_rot(tmp_path):
    book = open_book(tmp_path)
    rot.fill(book)
    assert [name for name, rows in rot.rows_of(book).items() if not rows] == []
    assert check(book) == []
    close_book(book)


def test_the_book_under_load_is_sound(tmp_path, monkeypatch):
    monkeypatch.setattr(server, "PLATES", 6)
    server.build(tmp_path, readings=30)
    book = open_book(tmp_path)
    assert check(book) == []
    close_book(book)


def test_cuts_come_by_chance_and_by_seed():
    from tests.power.cuts import cuts

    class Disk:
        done = (("answered", "", ()), *(("write",) for _ in range(50)))

    first, again = (cuts(Disk, random.Random(3), 30) for _ in range(2))
    assert first == again != cuts(Disk, random.Random(4), 30)
