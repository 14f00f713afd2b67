"""Tables of cells from CSV, ODS and XLSX: one table reads the same, damaged ones are refused."""

import os
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from argentry.errors import BadInput
from argentry.exchange.plates.cells import TableProblem
from argentry.exchange.sheets.file import read_sheet
from argentry.exchange.sheets.grid import read_grid
from argentry.exchange.sheets.layout import COLUMNS, Layout
from argentry.exchange.sheets.tame import tame, untame

HEAD = ["plate", "date", "room_c", "grade", "remarks"]
ROWS = [
    ["P1", "2026-06-21", 21.5, "good", "wind"],
    ["P2", "2026-06-22", -3, None, "a; b, c"],
]


def write_csv(path, text, encoding="utf-8"):
    path.write_bytes(text.encode(encoding))
    return path


def write_xlsx(path, rows, title="Plates"):
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


def write_ods(path, rows, name="Plates"):
    document = OpenDocumentSpreadsheet()
    table = Table(name=name)
    for row in rows:
        line = TableRow()
        for cell in row:
            if isinstance(cell, (int, float)):
                made = TableCell(valuetype="float", value=str(cell))
            elif cell is None:
                made = TableCell()
            else:
                made = TableCell(valuetype="string")
            if cell is not None:
                made.addElement(P(text=str(cell)))
            line.addElement(made)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    document.save(str(path))
    return path


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_csv_separator_is_found(tmp_path, separator):
    text = separator.join(["plate", '"a, b; c"', "room_c"]) + "\n"
    text += separator.join(["P1", "x", "21"]) + "\n"
    sheet = read_sheet(write_csv(tmp_path / "p.csv", text))
    assert sheet.head == ("plate", "a, b; c", "room_c")
    assert sheet.rows == ((2, ("P1", "x", "21")),)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_csv_with_a_mark_of_its_encoding(tmp_path, encoding):
    sheet = read_sheet(write_csv(tmp_path / "p.csv", "plate,note\nP1,größer\n", encoding))
    assert sheet.rows[0][1] == ("P1", "größer")


@pytest.mark.parametrize("encoding", ["cp1252", "latin-1", "utf-16-le", "utf-16-be"])
def test_other_encodings_are_found(tmp_path, encoding):
    path = write_csv(tmp_path / "p.csv", "plate,note\nP1,größer\n", encoding)
    assert read_sheet(path).rows[0][1] == ("P1", "größer")
    with pytest.raises(BadInput, match=r"not written in|not a table of text"):
        read_sheet(path, encoding="cp1252" if "16" in encoding else "utf-8")


def test_empty_rows_are_left_out_and_numbers_stay_those_of_the_file(tmp_path):
    text = "plate,note\n\nP1,a\n,\n   ,\nP2\n"
    sheet = read_sheet(write_csv(tmp_path / "p.csv", text))
    assert [number for number, _ in sheet.rows] == [3, 6]
    assert sheet.rows[1][1] == ("P2", None)


def test_head_further_down(tmp_path):
    path = write_csv(tmp_path / "p.csv", "My ledger of 2026;;\n;;\nplate;date\nP1;2026-06-21\n")
    sheet = read_sheet(path, layout=Layout(head_row=3))
    assert sheet.head == ("plate", "date")
    assert sheet.rows == ((4, ("P1", "2026-06-21")),)


@pytest.mark.parametrize("suffix", [".xlsx", ".ods", ".csv"])
def test_spreadsheets_read_the_same_whatever_they_are_called(tmp_path, suffix):
    for write in (write_xlsx, write_ods):
        path = write(tmp_path / f"{write.__name__}{suffix}", [HEAD, *ROWS])
        sheet = read_sheet(path)
        assert sheet.head == tuple(HEAD)
        assert [tuple(row) for _, row in sheet.rows] == [tuple(row) for row in ROWS]
        assert [number for number, _ in sheet.rows] == [2, 3]


def test_dates_of_a_spreadsheet_stay_dates(tmp_path):
    moment = datetime.fromisoformat("2026-06-21T13:20")
    path = write_xlsx(
        tmp_path / "p.xlsx", [["plate", "day", "at"], ["P1", date(2026, 6, 21), moment]]
    )
    cells = read_sheet(path).rows[0][1]
    assert cells == ("P1", date(2026, 6, 21), moment)


def test_named_sheet(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["other"])
    page = book.create_sheet("Plates")
    page.append(["plate"])
    page.append(["P1"])
    book.save(tmp_path / "p.xlsx")
    assert read_sheet(tmp_path / "p.xlsx", sheet="Plates").head == ("plate",)
    with pytest.raises(BadInput, match="name one of 'Sheet', 'Plates'"):
        read_sheet(tmp_path / "p.xlsx", sheet="Platez")


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "no column is named"),
        ("plate,date\n", "no rows below the header row"),
        ('plate,date\n"P1,2\n', "line 2: the line cannot be split"),
        ("plate\0,date\nP1,2\n", "is not a table of text"),
        (",".join(f"c{i}" for i in range(COLUMNS + 1)) + "\n", f"there are {COLUMNS + 1} columns"),
        ("a" * 101 + "\nP1\n", "is too long"),
        ('plate,date\n"' + "x" * 200_000 + '",2\n', "field larger than field limit"),
        ("plate,date\nP1," + "x" * 10_001 + "\n", "row 2: a cell has 10001 letters; give at most"),
    ],
)
def test_bad_csv_is_refused_in_one_sentence(tmp_path, text, match):
    with pytest.raises(BadInput, match=match) as told:
        read_sheet(write_csv(tmp_path / "p.csv", text))
    assert "\n" not in str(told.value)


@pytest.mark.parametrize(
    ("text", "head"),
    [
        ("plate,,date\nP1,,x\n", ("plate", "date")),
        ("plate,,date\nP1,y,x\n", ("plate", "column B", "date")),
        ("plate,plate\nP1,P2\n", ("plate", "plate (B)")),
        ("plate,date\nP1,x,P2\n", ("plate", "date", "column C")),
    ],
)
def test_columns_without_a_name_of_their_own_are_named_by_their_letter(tmp_path, text, head):
    assert read_sheet(write_csv(tmp_path / "p.csv", text)).head == head


def test_a_spreadsheets_cell_has_the_same_bound(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["plate"])
    book.active.append(["x" * 10_001])
    book.save(tmp_path / "p.xlsx")
    with pytest.raises(BadInput, match="row 2: a cell has 10001 letters"):
        read_sheet(tmp_path / "p.xlsx")


def test_what_is_not_a_plain_file_is_refused_unopened(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path, match in (
        (tmp_path / "none.csv", "there is no such file"),
        (tmp_path, "this is not a plain file"),
        (tmp_path / "pipe", "this is not a plain file"),
        (Path("/dev/zero"), "this is not a plain file"),
    ):
        with pytest.raises(BadInput, match=match):
            read_sheet(path)


def test_a_huge_file_is_not_read(tmp_path):
    path = tmp_path / "huge.csv"
    with path.open("wb") as stream:
        stream.truncate((50 << 20) + 1)  # a hole: takes no room
    with pytest.raises(BadInput, match="larger than 50 MB"):
        read_sheet(path)


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_tame_text_comes_back_and_never_begins_a_formula(text):
    written = tame(text)
    assert not written.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert untame(written) == text


@pytest.mark.parametrize("cell", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "'=1", "'tis"])
def test_formula_cells_of_a_csv_are_only_text(tmp_path, cell):
    quoted = '"' + cell.replace('"', '""') + '"'
    sheet = read_sheet(write_csv(tmp_path / "p.csv", f"plate,note\nP1,{quoted}\n"))
    assert sheet.rows[0][1][1] == untame(cell)


@pytest.mark.parametrize(
    ("text", "second"),
    [
        ('plate;date;pose;B\n1;3.5.2026;60;"\n2;";70;"\n', ("2", '"', "70", '"')),
        ('plate;date;pose;B\n1;3.5.2026;60;x\n2;";70;";4\n', ("2", ";70;", "4")),
        ('plate;pose\n1;"a;"\n2;"b;"\n', ("2", "b;")),
    ],
    ids=["ditto marks", "a cell with separators, as wide as it should be", "no mark"],
)
def test_a_quote_alone_is_a_ditto_mark_where_rows_come_out_even(text, second):
    assert read_grid("n.csv", text.encode(), separator=";").rows[2] == second


def test_a_column_without_a_name_is_named_once():
    problem = TableProblem(3, "column B", "'x' is not a number", "give one")
    assert problem.sentence == "row 3, column B: 'x' is not a number; give one."
