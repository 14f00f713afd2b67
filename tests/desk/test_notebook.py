"""A notebook is read by the clock of its studio, and by none where it has no studio."""

from datetime import UTC, datetime

import pytest
from tests import bench_studio

from argentry.book.engine import FILE
from argentry.desk.notebook import draft_answer, fields_by_group, open_notebook
from argentry.desk.notebook_taken import take_notebook
from argentry.desk.numbers.makings import from_table
from argentry.errors import BadInput
from argentry.exchange.plates.mapping import PlateMapping, Source
from argentry.studio.text import studio_text, write_studio

TABLE = b"plate,date,exposure_start\nP1,2026-06-21,2026-06-21 14:00\n"


@pytest.mark.parametrize(("housed", "hour"), [(True, 12), (False, 14)])
def test_a_time_is_of_the_studios_clock_in_summer(tmp_path, housed, hour):
    write_studio(tmp_path, studio_text(bench_studio.studio()))
    opened = open_notebook(tmp_path if housed else None, "n.csv", TABLE)
    assert opened.table.problems == ()
    (row,) = opened.table.rows
    told = datetime.fromisoformat(row.making.conditions["exposure_start"])
    assert told == datetime(2026, 6, 21, hour, tzinfo=UTC)


def test_a_year_to_come_waits_in_the_list_to_mend(tmp_path):
    write_studio(tmp_path, studio_text(bench_studio.studio()))
    opened = open_notebook(tmp_path, "n.csv", TABLE + b"P2,2126-06-21,\n")
    drafted = draft_answer(opened)
    assert (drafted.rows, drafted.clear, drafted.to_mend) == (2, 1, 1)
    (problem,) = opened.table.problems
    assert problem.what == "2126-06-21 is in the future"
    table = tmp_path / "old.csv"
    table.write_bytes(TABLE + b"P2,2126-06-21,\n")
    read = from_table(table, None)  # nor is it learned from
    assert list(read.labels.values()) == ["P1"]
    assert "2126-06-21 is in the future" in read.notes[0]


NONE_CLEAR = b"plate,date,order\nP3,2026-13-45,3\n"
MIXED = b"plate,date,order\nP1,2026-06-21,1\nP2,2026-06-21,2\nP3,2026-13-45,3\n"


def test_clear_rows_are_counted_apart_from_those_to_mend_and_a_look_makes_no_book(tmp_path):
    write_studio(tmp_path, studio_text(bench_studio.studio()))
    opened = open_notebook(tmp_path, "n.csv", MIXED)
    drafted = draft_answer(opened)
    assert (drafted.rows, drafted.clear, drafted.to_mend) == (3, 2, 1)
    counts = "rows", "new", "known", "to_mend", "ok", "dry_run"
    look, rest = take_notebook(tmp_path, opened, dry_run=True)
    assert [getattr(look, name) for name in counts] == [3, 2, 0, 1, False, True]
    assert "P3" in rest
    assert not (tmp_path / FILE).exists()
    taken, _ = take_notebook(tmp_path, opened)
    assert [getattr(taken, name) for name in counts] == [3, 2, 0, 1, False, False]
    again, _ = take_notebook(tmp_path, opened, dry_run=True)
    assert [getattr(again, name) for name in counts] == [3, 0, 2, 1, False, True]


def test_a_notebook_without_a_clear_row_is_refused_before_a_book_is_made(tmp_path):
    write_studio(tmp_path, studio_text(bench_studio.studio()))
    opened = open_notebook(tmp_path, "n.csv", NONE_CLEAR)
    assert (opened.table.rows, opened.table.total) == ((), 1)
    with pytest.raises(BadInput, match="2026-13-45"):
        take_notebook(tmp_path, opened)
    assert not (tmp_path / FILE).exists()


def test_the_list_to_mend_is_read_as_its_notebook_was_and_asks_nothing(tmp_path):
    write_studio(tmp_path, studio_text(bench_studio.studio()))
    opened = open_notebook(tmp_path, "n.csv", MIXED)
    _, rest = take_notebook(tmp_path, opened)
    mended = rest.replace("2026-13-45", "2026-06-22").encode()
    again = open_notebook(tmp_path, "rest.csv", mended)
    assert again.draft is None
    assert [row.making.day.isoformat() for row in again.table.rows] == ["2026-06-22"]
    assert again.table.problems == ()
    elsewhere = open_notebook(None, "rest.csv", mended)  # its notebook is not known there
    assert elsewhere.draft is not None


def test_a_mapping_says_the_sheet_unless_one_is_asked_for(tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    for number, sheet in enumerate((book.active, book.create_sheet(), book.create_sheet()), 1):
        sheet.title = f"Year {number}"
        sheet.append(["plate", "date"])
        sheet.append([f"P{number}", "2026-06-21"])
    book.save(tmp_path / "n.xlsx")
    content = (tmp_path / "n.xlsx").read_bytes()
    for said, asked, want in (("", "", 1), ("Year 2", "", 2), ("Year 2", "Year 3", 3)):
        mapping = PlateMapping({"plate": Source("plate"), "date": Source("date")}, sheet=said)
        opened = open_notebook(None, "n.xlsx", content, mapping=mapping, sheet=asked)
        assert opened.mapping.sheet == f"Year {want}"
        assert [row.plate.label for row in opened.table.rows] == [f"P{want}"]


def test_a_mapping_says_how_a_table_is_written():
    content = "plate;date;remark\nplate;date;remark\nP1;2026-06-21;dépôt\n".encode("cp850")
    fields = {name: Source(name) for name in ("plate", "date", "remark")}
    mapping = PlateMapping(fields, separator=";", encoding="cp850", head_row=2)
    table = open_notebook(None, "n.csv", content, mapping=mapping).table
    (row,) = table.rows
    assert table.problems == ()
    assert row.making.conditions == {"remark": "dépôt"}


def test_a_field_is_named_in_words_with_its_unit_once():
    shown = {name: words for fields in fields_by_group().values() for name, words in fields}
    want = {
        "box_c": "box (°C)", "fuming_seconds": "fuming (s)", "clearing_s": "clearing (s)",
        "water_us_cm": "water (µS/cm)", "f_number": "f number", "defects": "defects",
    }  # fmt: skip
    assert {name: shown[name] for name in want} == want
    assert shown["coat_l"] == "coat l", "the lightness of CIELAB has no unit"
