"""Spreadsheets beside the readers of two other projects, and formula signs beside OWASP's list.

Sources: openpyxl (Office Open XML) and odfpy (OpenDocument) as writers; OWASP, "CSV Injection"
(community page), for the signs that begin a formula: = + - @ tab carriage return (recalled).
"""

import csv
import io
from datetime import date

import openpyxl
import pytest
from odf import opendocument, table, teletype
from odf import text as odf_text

from argentry.exchange.plates.columns import column_names
from argentry.exchange.sheets.file import read_sheet
from argentry.exchange.sheets.tame import tame

ROWS = [
    [f"P{i}", date(2026, 1, 1 + i % 28), i / 7, "größer" if i % 2 else "=1+1"] for i in range(60)
]
HEAD = ["plate", "date", "room_c", "remarks"]


def test_what_openpyxl_writes_and_reads_we_read_too(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(HEAD)
    for row in ROWS:
        book.active.append(row)
        book.active.cell(book.active.max_row, 4).data_type = "s"  # a text, not a formula
    book.save(tmp_path / "p.xlsx")
    again = openpyxl.load_workbook(tmp_path / "p.xlsx").active
    theirs = [tuple(cell.value for cell in row) for row in again.iter_rows(min_row=2)]
    ours = [row for _, row in read_sheet(tmp_path / "p.xlsx").rows]
    for their_row, our_row in zip(theirs, ours, strict=True):
        assert our_row[0] == their_row[0]
        assert our_row[1] == their_row[1].date()
        assert our_row[2] == their_row[2]
        assert our_row[3] == their_row[3]


def test_what_odfpy_writes_and_reads_we_read_too(tmp_path):
    document = opendocument.OpenDocumentSpreadsheet()
    page = table.Table(name="Plates")
    for row in [HEAD, *ROWS]:
        line = table.TableRow()
        for value in row:
            if isinstance(value, float):
                cell = table.TableCell(valuetype="float", value=repr(value))
            elif isinstance(value, date):
                cell = table.TableCell(valuetype="date", datevalue=value.isoformat())
            else:
                cell = table.TableCell(valuetype="string")
            cell.addElement(odf_text.P(text=str(value)))
            line.addElement(cell)
        page.addElement(line)
    document.spreadsheet.addElement(page)
    document.save(str(tmp_path / "p.ods"))
    again = opendocument.load(str(tmp_path / "p.ods"))
    theirs = [
        [teletype.extractText(cell) for cell in row.getElementsByType(table.TableCell)]
        for row in again.getElementsByType(table.TableRow)
    ][1:]
    ours = [row for _, row in read_sheet(tmp_path / "p.ods").rows]
    assert [[str(cell) for cell in row] for row in ours] == theirs


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_each_sign_of_the_list_is_made_tame(sign):
    written = tame(f"{sign}cmd|' /C calc'!A0")
    assert written[0] == "'"


def test_a_tame_row_survives_pythons_own_csv():
    cells = [tame(text) for text in ("=1+1", 'say "hi"', "a,b", "two\nlines", "plain")]
    out = io.StringIO()
    csv.writer(out).writerow(cells)
    assert next(csv.reader(io.StringIO(out.getvalue(), newline=""))) == cells


def test_no_documented_column_could_be_taken_for_a_formula():
    assert all(tame(name) == name for name in column_names())
