"""Spreadsheets made to do harm are refused before any of them is parsed."""

import io
import tracemalloc
import zipfile

import pytest

from argentry.errors import BadInput
from argentry.exchange.sheets import guard as sheet_guard
from argentry.exchange.sheets.file import read_sheet
from argentry.exchange.sheets.guard import check_spreadsheet

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
ODF = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"


def packed(parts):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def xlsx(sheet, target="worksheets/sheet1.xml", **more):
    return packed(
        {
            "xl/workbook.xml": f'<workbook xmlns="{MAIN}"/>',
            "xl/_rels/workbook.xml.rels": (
                f'<Relationships xmlns="{PACKAGE}"><Relationship Id="r1" '
                f'Type="{OFFICE}/worksheet" Target="{target}"/></Relationships>'
            ),
            "xl/worksheets/sheet1.xml": sheet,
            **more,
        }
    )


def page(cells):
    return f'<worksheet xmlns="{MAIN}"><sheetData>{cells}</sheetData></worksheet>'


def ods(rows):
    return packed(
        {
            "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
            "content.xml": (
                f'<office:document-content xmlns:office="{ODF}" xmlns:table="{TABLE}"'
                f' xmlns:text="{TEXT}"><office:body><office:spreadsheet>'
                f'<table:table table:name="Plates">{rows}</table:table>'
                "</office:spreadsheet></office:body></office:document-content>"
            ),
        }
    )


CELL = '<table:table-cell office:value-type="string"{}><text:p>{}</text:p></table:table-cell>'
FAR = page('<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"/></row>')
SHARED = (
    f'<sst xmlns="{MAIN}"><si><t>' + "x" * 100_000 + "</t></si></sst>"  # named by many cells
)
MANY = page("".join(f'<row r="{i}"><c t="s"><v>0</v></c></row>' for i in range(1, 3000)))
LAUGHS = (
    '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>'
    + page('<row r="1"><c r="A1" t="inlineStr"><is><t>&c;</t></is></c></row>')
)
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>' + page("")
WIDE = "<table:table-row>" + CELL.format(' table:number-columns-repeated="16384"', "x")
TALL = '<table:table-row table:number-rows-repeated="1048576">' + CELL.format("", "x")
GAP = (
    '<table:table-row table:number-rows-repeated="1000000"><table:table-cell/></table:table-row>'
    "<table:table-row>" + CELL.format("", "x") * 3
)
SPACES = "<table:table-row>" + CELL.format("", '<text:s text:c="900000000"/>')
PAGES = "</table:table><table:table>".join(
    ["<table:table-row table:number-rows-repeated='9000'>" + CELL.format("", "x") * 100
     + "</table:table-row>"] * 3
)  # fmt: skip


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (xlsx(FAR), "1048576 rows by 16384 columns"),
        (xlsx(page('<row r="1"><c r="ABCD1"/></row>')), "a cell is at 'ABCD1'"),
        (xlsx(page('<row r="99999999999"><c/></row>')), "its used area"),
        (xlsx(MANY, **{"xl/sharedStrings.xml": SHARED}), "MB of text"),
        (xlsx(LAUGHS), "declares a document type"),
        (xlsx(OUTSIDE), "declares a document type"),
        (xlsx(page(""), target="../media/sheet1.bin"), "a sheet lies in an unusual place"),
        (lambda: xlsx(page(""), **{"xl/media/a.xml": b" " * 40_000_000}), "250 times its size"),
        (xlsx("<worksheet>"), "the spreadsheet is damaged"),
        (ods(WIDE), "spreadsheet is damaged"),
        (ods((WIDE + "</table:table-row>") * 200), "123 rows by 16384 columns"),
        (ods(TALL + CELL.format("", "y") * 2 + "</table:table-row>"), "1048576 rows by 3 columns"),
        (ods(GAP + "</table:table-row>"), "1000001 rows by 3 columns"),
        (ods(SPACES + "</table:table-row>"), "MB of text"),
        (ods(PAGES), "its used area"),
        (packed({"readme.txt": "no"}), "this is not a spreadsheet"),
        (packed({f"x{i}": "" for i in range(2001)}), "holds 2001 parts"),
        (xlsx(page(""))[:-40], "the spreadsheet is damaged"),
        (b"PK\x03\x04 and then nothing", "the spreadsheet is damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "an old or a locked spreadsheet"),
    ],
)
def test_refused_in_one_sentence_before_parsing(tmp_path, monkeypatch, data, match):
    import python_calamine

    monkeypatch.delattr(python_calamine, "CalamineWorkbook")  # were it asked, the test would fail
    path = tmp_path / "p.xlsx"
    path.write_bytes(data() if callable(data) else data)
    with pytest.raises(BadInput, match=match) as told:
        read_sheet(path)
    assert "\n" not in str(told.value)


def test_a_part_that_lies_about_its_size_is_damaged():
    data = bytearray(xlsx(page("<row><c><v>1</v></c></row>" * 5000)))
    at = data.rfind(b"PK\x01\x02", 0, data.rfind(b"xl/worksheets"))
    data[at + 24 : at + 28] = (100).to_bytes(4, "little")  # unpacked size in the directory
    with pytest.raises(BadInput, match="damaged"):
        check_spreadsheet("p.xlsx", bytes(data))


def test_two_parts_of_one_name():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("xl/workbook.xml", "<a/>")
        with pytest.warns(UserWarning, match="Duplicate"):
            archive.writestr("xl/workbook.xml", "<b/>")
    with pytest.raises(BadInput, match="two parts of one name"):
        check_spreadsheet("p.xlsx", out.getvalue())


def test_unpacking_stops_at_the_limit(monkeypatch):
    monkeypatch.setattr(sheet_guard, "UNPACKED_BYTES", 3 << 20)
    monkeypatch.setattr(sheet_guard, "RATIO", 1e9)
    data = xlsx(page(""), **{f"xl/media/{i}.bin": bytes(1 << 20) for i in range(200)})
    tracemalloc.start()
    with pytest.raises(BadInput, match="unpacks to more than 3 MB"):
        check_spreadsheet("p.xlsx", data)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 20 << 20


def test_the_empty_edge_of_a_real_sheet_does_not_count():
    edge = (
        "<table:table-row>" + CELL.format("", "plate")
        + '<table:table-cell table:number-columns-repeated="16383">\n </table:table-cell>'
        "</table:table-row>"
        '<table:table-row table:number-rows-repeated="1048575">'
        '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    )  # fmt: skip
    assert check_spreadsheet("p.ods", ods(edge)) == "ods"
