"""Messy notebooks, invented: built as files, each with the answers of its one round."""

import csv
import io
from dataclasses import dataclass, field
from datetime import date, time

import openpyxl
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import CoveredTableCell, Table, TableCell, TableRow
from odf.text import P


@dataclass(frozen=True)
class Notebook:
    """One notebook: its file, what its maker answers, and what must come of it."""

    name: str
    content: bytes
    cells: int  # that are not empty, as counted here when it is written
    plates: int  # rows that come in
    to_mend: int = 0  # rows that wait
    answers: dict = field(default_factory=dict)
    conditions: dict = field(default_factory=dict)  # of the first plate


def cells_of(rows):
    """Count the cells of rows that are not empty."""
    return sum(1 for row in rows for cell in row if cell not in (None, ""))


def csv_bytes(rows, separator=",", encoding="utf-8"):
    """Write rows as CSV."""
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\r\n").writerows(rows)
    return out.getvalue().encode(encoding)


def xlsx_bytes(rows, merged=(), title="Plates"):
    """Write rows as XLSX, areas such as ``"A4:A6"`` merged."""
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(list(row))
    for area in merged:
        book.active.merge_cells(area)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def two_years():
    """A cover without plates, and two sheets, each with its own columns and a row to mend."""
    book = openpyxl.Workbook()
    book.active.title = "Cover"
    book.active.append(["Ledger of Halyard Rise (invented)"])
    for name, head, rows in (
        (
            "2025",
            "Iodine",
            [("A1", "2025-05-03", "95 s", "good"), ("A2", "2025-05-04", "?!", "bad")],
        ),
        (
            "2026",
            "Over iodine",
            [("B1", "2026-05-03", "1 min 20", "fine"), ("B2", "no day", "80 s", "")],
        ),
    ):
        sheet = book.create_sheet(name)
        sheet.append(["Plate", "Date", head, "Result"])
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ods_bytes(rows, down=()):
    """Write rows as ODS; ``down`` holds (row, column, rows) of cells merged downwards, from 0."""
    document = OpenDocumentSpreadsheet()
    table = Table(name="Platten")
    spans = {(row, column): count for row, column, count in down}
    covered = {(row + i, column) for row, column, count in down for i in range(1, count)}
    for i, row in enumerate(rows):
        line = TableRow()
        for j, cell in enumerate(row):
            if (i, j) in covered:
                line.addElement(CoveredTableCell())
                continue
            more = {"numberrowsspanned": str(spans[i, j])} if (i, j) in spans else {}
            if (i, j) in spans:
                more["numbercolumnsspanned"] = "1"
            if cell is None:
                made = TableCell(**more)
            elif isinstance(cell, (int, float)):
                made = TableCell(valuetype="float", value=str(cell), **more)
            elif isinstance(cell, date):
                made = TableCell(valuetype="date", datevalue=cell.isoformat(), **more)
            else:
                made = TableCell(valuetype="string", **more)
            if cell is not None:
                made.addElement(P(text=str(cell)))
            line.addElement(made)
        table.addElement(line)
    document.spreadsheet.addElement(table)
    out = io.BytesIO()
    document.write(out)
    return out.getvalue()


def english():
    """Inches, Fahrenheit, minutes and seconds by colon, month first, a title above."""
    rows = [
        ["Plate ledger of the Meadow Lane studio", "", "", "", "", "", "", "", ""],
        ["(invented)", "", "", "", "", "", "", "", ""],
        ["Plate No.", "Date", "Size", "Room", "RH", "Iodine", "Colour", "Exposure", "Result"],
        ["101", "5/28/2026", "1/4", "64F", "62 %", "1:40", "rose", "4 min", "good"],
        ["102", "5/28/2026", "3 1/4 x 4 1/4", "66 F", "60%", "95 s", "Gold", "6 min", "Excellent"],
        ["103", "6/2/2026", "1/6", "71F", "48 %", "1:25", "purple", "5 min 30 s", "bad"],
        ["104", "6/13/2026", "half plate", "73 °F", "44 %", "80 sec", "steel", "4 min", "so so"],
    ]  # fmt: skip
    return Notebook(
        "english.csv", csv_bytes(rows), cells_of(rows), 4,
        conditions={"room_c": 17.7777777778, "room_rh_pct": 62.0, "fuming_seconds": 100.0,
                    "coat_colour": "rose", "exposure_seconds": 240.0},
    )  # fmt: skip


def german():
    """Semicolons, commas, cp1252, points in dates, words of the trade in German."""
    rows = [
        ["Platte", "Datum", "Größe", "Raumtemp. (°C)", "Luftfeuchte", "Jodzeit (Sek.)",
         "Schichtfarbe", "Belichtung", "Urteil", "Fehler", "Bemerkung"],
        ["A1", "3.5.2026", "9x12 cm", "17,5", "62 %", "1.200",
         "strohgelb", "4 Min.", "gut", "", "Sonne"],
        ["A2", "3.5.2026", "9x12 cm", "18,25", "60 %", "900",
         "rosa", "3,5 min", "misslungen", "Schleier, Kratzer", ""],
        ["A3", "14.5.2026", "Viertelplatte", "21", "55 %", "850",
         "violett", "4 Min", "sehr gut", "keine", ""],
        ["A4", "14.5.2026", "Viertelplatte", "warm", "51 %", "800",
         "violett", "4 Min", "hin", "fleckig", ""],
        ["A5", "20.5.2026", "Viertelplatte", "lau", "51 %", "800",
         "blau", "5 Min", "gut", "Mondlicht", ""],
    ]  # fmt: skip
    return Notebook(
        "deutsch.csv", csv_bytes(rows, ";", "cp1252"), cells_of(rows), 3, 2,
        answers={"word:defects:Mondlicht": ""},
        conditions={"room_c": 17.5, "fuming_seconds": 1200.0, "exposure_seconds": 240.0},
    )  # fmt: skip


def french():
    """XLSX with a title, months in words, a date merged over the plates of a day."""
    rows = [
        ["Cahier de plaques, atelier inventé", None, None, None, None, None, None],
        [None, None, None, None, None, None, None],
        [
            "Jour",
            "N° plaque",
            "Temp. pièce",
            "Temps d'iodage",
            "Teinte",
            "Temps de pose",
            "Résultat",
        ],
        ["3 mai 2026", "F1", 18.5, "95 s", "jaune d'or", "5 min", "bonne"],
        [None, "F2", 19.0, "100 s", "rose", "4 min", "ratée"],
        [None, "F3", 19.5, "1 min 50 s", "bleu acier", "4 min", "très bonne"],
        ["12 août 2026", "F4", 24.0, "70 s", "violet", "3 min", "passable"],
    ]
    return Notebook(
        "cahier.xlsx", xlsx_bytes(rows, ("A1:G1", "A4:A6")), cells_of(rows), 4,
        conditions={"room_c": 18.5, "fuming_seconds": 95.0, "coat_colour": "gold"},
    )  # fmt: skip


def spanish():
    """Tabs, UTF-16, day and month told apart by the rows, clock times."""
    rows = [
        [
            "Placa",
            "Fecha",
            "Temp. sala",
            "Humedad",
            "Tiempo de yodado",
            "Hora",
            "Exposición",
            "Nota",
        ],
        ["S1", "04/05/26", "18 °C", "55 %", "90 s", "11h20", "240 s", "buena"],
        ["S2", "04/05/26", "19 °C", "52 %", "85 s", "12h05", "240 s", "regular"],
        ["S3", "21/05/26", "22 °C", "45 %", "80 s", "16.30", "200 s", "fallida"],
    ]
    return Notebook(
        "libro.txt", csv_bytes(rows, "\t", "utf-16"), cells_of(rows), 3,
        conditions={"room_c": 18.0, "exposure_start": "2026-05-04T11:20:00+02:00"},
    )  # fmt: skip


def ods_merged():
    """ODS: a head of two rows, room and date merged downwards, real dates and numbers."""
    rows = [
        ["Nr.", "Datum", "Raum", None, "Jod", None, "Urteil"],
        [None, None, "Temp (°C)", "Feuchte (%)", "Zeit (s)", "Farbe", None],
        [1, date(2026, 6, 1), 20.5, 48, 90, "rosa", "gut"],
        [2, None, None, 48, 85, "violett", "brauchbar"],
        [3, None, None, 47, 95, "blau", "schlecht"],
        [4, date(2026, 6, 8), 23, 40, 70, "rosa", "sehr gut"],
    ]
    down = [(2, 1, 3), (2, 2, 3), (0, 0, 2), (0, 1, 2), (0, 6, 2)]
    return Notebook(
        "platten.ods", ods_bytes(rows, down), cells_of(rows), 4,
        conditions={"room_c": 20.5, "room_rh_pct": 48.0, "fuming_seconds": 90.0},
    )  # fmt: skip


def side_by_side():
    """XLSX: two plates in each row, an empty column between them."""
    rows = [
        ["Two at a time", None, None, None, None, None, None, None],
        ["Date", "Plate", "Fuming s", "Grade", None, "Plate", "Fuming s", "Grade"],
        [date(2026, 4, 2), "L1", 60, "good", None, "R1", 65, "study"],
        [date(2026, 4, 3), "L2", 62, "lost", None, "R2", 63, "fine"],
        [date(2026, 4, 9), "L3", 58, "good", None, None, None, None],
    ]
    return Notebook(
        "pairs.xlsx", xlsx_bytes(rows), cells_of(rows), 5, conditions={"fuming_seconds": 60.0}
    )


def two_in_a_cell():
    """CSV: two plates in a cell, parted by a stroke; one row that cannot be parted."""
    rows = [
        ["plate", "date", "room temp (F)", "fuming", "grade", "notes"],
        ["7 / 8", "2026-03-01", "65", "60 s / 70 s", "good / lost", "same light"],
        ["9", "2026-03-02", "66", "65 s", "fine", ""],
        ["10 / 11", "2026-03-02", "66", "65 s", "good / bad / none", ""],
    ]
    return Notebook(
        "divided.csv", csv_bytes(rows), cells_of(rows), 3, 1,
        conditions={"room_c": 18.3333333333, "fuming_seconds": 60.0},
    )  # fmt: skip


def ditto():
    """CSV in Latin-1 with signs for "as above", dashes for "not known", repeated heads, a total."""
    rows = [
        ["No", "Tag", "T", "Jod", "Entwicklung", "Mond", "Ergebnis"],
        ["1", "1. März 2026", "17,0 °C", "90 s", "3 h", "voll", "gut"],
        ["2", '"', '"', "95 s", '"', "-", "gut"],
        ["No", "Tag", "T", "Jod", "Entwicklung", "Mond", "Ergebnis"],
        ["3", "9. März 2026", "18,5 °C", "ca. 80 s", "2,5 h", "halb", "geht so"],
        ["Summe", "", "", "", "", "3 Platten", ""],
    ]
    return Notebook(
        "ditto.csv", csv_bytes(rows, ";", "latin-1"), cells_of(rows), 3, 1,
        conditions={
            "room_c": 17.0, "fuming_seconds": 90.0, "development_minutes": 180.0, "Mond": "voll",
        },
    )  # fmt: skip


def abbreviated():
    """CSV of short heads; a development written as hours and minutes, which no unit names."""
    rows = [
        ["Datum", "Platte", "Raum °C", "rel. F. %", "Belicht.", "Entw.", "Ergebnis"],
        ["11.5.25", "A4", "19,5", "45", "13 min", "1:55", "sehr gut"],
        ["24.5.25", "A5", "21", "52", "9 min", "2h10", "gut"],
    ]
    return Notebook(
        "abbreviated.csv", csv_bytes(rows, ";"), cells_of(rows), 2,
        conditions={
            "room_rh_pct": 45.0, "exposure_seconds": 780.0, "development_minutes": 115.0,
        },
    )  # fmt: skip


def hours_beside_minutes():
    """CSV of French short heads; bare minutes of development beside hours and minutes."""
    rows = [
        ["N°", "Date", "T° labo", "Hygro", "Iode (s)", "Pose", "Dév.", "Résultat", "Défauts"],
        ["1", "12/6/25", "22,0", "55", "60", "7'30", "90", "ratée", "pas d'image"],
        ["2", "13/6/25", "25", "48", "65", "8 min", "1h45", "bonne", ""],
    ]
    return Notebook(
        "beside.csv", csv_bytes(rows, ";"), cells_of(rows), 2,
        conditions={
            "room_c": 22.0, "room_rh_pct": 55.0, "exposure_seconds": 450.0,
            "development_minutes": 90.0,
        },
    )  # fmt: skip


def clocks():
    """Clock times in the hour that came twice, and in the one that was left out."""
    rows = [
        ["Plate", "Day", "Exposure start", "Exposure"],
        ["W1", "2026-10-24", "14:00", "240 s"],
        ["W2", "2026-10-25", "2:30", "240 s"],
        ["W3", "2026-03-29", "02:15", "240 s"],
    ]
    return Notebook(
        "clocks.csv", csv_bytes(rows), cells_of(rows), 3,
        answers={"hour:2026-10-25T02:30": "+01:00", "hour:2026-03-29T02:15": "+02:00"},
        conditions={"exposure_start": "2026-10-24T14:00:00+02:00"},
    )  # fmt: skip


def two_forms():
    """Two forms of dates in one column, numbers with points and with commas, own grades."""
    rows = [
        ["Label", "Date", "Silver thickness", "Humidity", "Buffing", "Grade"],
        ["x1", "2026-05-04", "12,5 µm", "0.45", "20 min", "+++"],
        ["x2", "05.05.2026", "0.5 mil", "0.5", "25 min", "++"],
        ["x3", "16.05.2026", "12.5 µm", "0.48", "0:30 h", "-"],
        ["x4", "2026-05-18", "12 µm", "0.55", "half an hour", "o"],
    ]
    return Notebook(
        "forms.csv", csv_bytes(rows), cells_of(rows), 3, 1,
        answers={"word:grade:+++": "fine", "word:grade:++": "good", "word:grade:o": "study"},
        conditions={"room_rh_pct": 45.0, "buff_minutes": 20.0},
    )  # fmt: skip


def durations():
    """XLSX that keeps 1:40 as a clock time, and a development box of the maker's own."""
    rows = [
        ["Spring", None, None, None, None],
        ["plate #", "made", "over iodine (min:s)", "stop", "box no."],
        [12, date(2026, 5, 1), time(1, 40), "f/3.5", 2],
        [13, date(2026, 5, 1), time(2, 5), "f 5,6", 2],
        [14, date(2026, 5, 3), "1 min 30 s", "f/4", 3],
    ]
    return Notebook(
        "spring.xlsx", xlsx_bytes(rows), cells_of(rows), 3,
        conditions={"fuming_seconds": 100.0, "f_number": 3.5, "box no.": 2.0},
    )  # fmt: skip


def no_names():
    """A table whose plates and days are under names that say little, and an unnamed column."""
    rows = [
        ["Ref", "When", "Temp", "", "Outcome"],
        ["q1", "1 June 2026", "70", "windy", "good"],
        ["q2", "2 June 2026", "72", "", "failed"],
        ["q3", "June 3rd, 2026", "68", "calm", "nice"],
        ["q4", "4 June 2026", "69", "", "good"],
    ]
    return Notebook(
        "noname.csv", csv_bytes(rows), cells_of(rows), 4,
        answers={"need:plate": "Ref", "need:date": "When"},
        conditions={"room_c": 21.1111111111, "column D": "windy"},
    )  # fmt: skip


ALL = (
    english, german, french, spanish, ods_merged, side_by_side, two_in_a_cell, ditto, clocks,
    two_forms, durations, no_names, abbreviated, hours_beside_minutes,
)  # fmt: skip
