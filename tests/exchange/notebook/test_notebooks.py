"""Messy notebooks: each in by at most one round of questions, every cell accounted for."""

import csv
import io
from dataclasses import fields

import pytest
from tests.exchange.notebook.notebooks import ALL

from argentry.exchange.notebook.draft import draft_mapping
from argentry.exchange.notebook.heads import head_says
from argentry.exchange.notebook.rest import account, grouped, rest_mapping, rest_table
from argentry.exchange.notebook.written import draft_text, mapping_text
from argentry.exchange.plates.mapping_file import read_plate_mapping
from argentry.exchange.plates.table import plates_from
from argentry.exchange.sheets.grid import read_grid
from argentry.exchange.sheets.layout import lay_out
from argentry.records.answers.notebook import CellAccount

ZONE = "Europe/Madrid"


def read(name, content, mapping):
    """Read a file by a mapping."""
    grid = read_grid(
        name,
        content,
        sheet=mapping.sheet,
        separator=mapping.separator,
        encoding=mapping.encoding,
        head_row=mapping.head_row,
    )
    sheet = lay_out(grid, mapping.layout())
    return grid, sheet, plates_from(sheet, mapping, time_zone=ZONE)


@pytest.fixture(params=ALL, ids=[one.__name__ for one in ALL])
def notebook(request):
    return request.param()


@pytest.fixture
def draft(notebook):
    grid = read_grid(notebook.name, notebook.content)
    return draft_mapping(grid, time_zone=ZONE, answers=notebook.answers)


SPANS = """Platte;Datum;Dia;Entwicklung;Bewertung
A1;21.06.2025;f/3,6;12:10 - 13:40;gut
A2;22.06.2025;f/4;10.05–11.50;gut
A3;23.06.2025;3,6;9h30 bis 11h05;gut
A4;24.06.2025;f/5,6;;gut
"""


def test_start_and_end_in_one_cell_are_both_read():
    """They were kept as words, and so was an opening under the head Dia."""
    name, content = "heft.csv", SPANS.encode()
    draft = draft_mapping(read_grid(name, content), time_zone=ZONE)
    assert draft.questions == ()
    taken = {one.name: one.field for one in draft.columns}
    assert (taken["Dia"], taken["Entwicklung"]) == ("f_number", "development_start")
    _, _, table = read(name, content, draft.mapping)
    assert table.problems == ()
    first, second, third, none = (row.making.conditions for row in table.rows)
    assert first["f_number"] == 3.6
    assert first["development_start"] == "2025-06-21T12:10:00+02:00"
    assert first["development_end"] == "2025-06-21T13:40:00+02:00"
    assert second["development_start"] == "2025-06-22T10:05:00+02:00", "not 10:00 and 0.05 s"
    assert third["development_end"] == "2025-06-23T11:05:00+02:00"
    assert "development_start" not in none
    again = mapping_text(draft.mapping)
    assert again.count('"Entwicklung"') == 2, "the mapping that is kept says both"


def test_dia_is_a_day_where_its_cells_are_days():
    content = b"placa;dia;diafragma;revelado\nA1;21/06/2025;4;80 min\nA2;22/06/2025;4;95 min\n"
    draft = draft_mapping(read_grid("c.csv", content), time_zone=ZONE)
    taken = {one.name: one.field for one in draft.columns}
    assert (taken["dia"], taken["diafragma"]) == ("date", "f_number")
    assert taken["revelado"] == "development_minutes"


def test_one_round_of_questions_is_enough(notebook, draft):
    first = draft_mapping(read_grid(notebook.name, notebook.content), time_zone=ZONE)
    asked = {question.key for question in first.questions}
    assert set(notebook.answers) <= asked  # nobody has to correct what was not asked
    assert draft.questions == ()
    _, _, table = read(notebook.name, notebook.content, draft.mapping)
    assert (len(table.rows), len(table.kept_out)) == (notebook.plates, notebook.to_mend)
    given = table.rows[0].making.conditions
    assert {name: given.get(name) for name in notebook.conditions} == pytest.approx(
        notebook.conditions
    )


def test_every_cell_is_accounted_for(notebook, draft):
    grid, sheet, table = read(notebook.name, notebook.content, draft.mapping)
    counted = account(grid, sheet, table, table.kept_out)
    assert sum(getattr(counted, one.name) for one in fields(CellAccount)) == notebook.cells
    assert (counted.listed > 0) == (notebook.to_mend > 0)
    assert counted.taken + counted.changed > 0


def test_the_drafted_mapping_is_a_file_that_reads_the_same(notebook, draft, tmp_path):
    for text in (draft_text(notebook.name, draft), mapping_text(draft.mapping)):
        (tmp_path / "m.toml").write_text(text, encoding="utf-8")
        again = read_plate_mapping(tmp_path / "m.toml")
        before = read(notebook.name, notebook.content, draft.mapping)[2]
        assert read(notebook.name, notebook.content, again)[2] == before


def test_the_list_to_mend_comes_in_once_it_is_mended(notebook, draft):
    _, sheet, table = read(notebook.name, notebook.content, draft.mapping)
    if not table.kept_out:
        return
    text = rest_table(sheet, draft.mapping, table, table.problems, table.kept_out, "ab" * 32)
    rows = list(csv.reader(io.StringIO(text)))
    assert all(row[0] for row in rows[1:])  # each says what is wrong
    good = dict(zip(sheet.head, sheet.rows[0][1], strict=True))
    columns = {problem.column for problem in table.problems}
    for row in rows[1:]:  # the maker writes into the cells what another row has there
        for at, name in enumerate(rows[0]):
            if name in columns:
                row[at] = f"mended {row[1]}" if "total" in row[0] else str(good[name])
            elif not row[at] and name == table.fields["date"]:
                row[at] = str(good[name])
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    mapping = rest_mapping(draft.mapping, "ab" * 32)
    _, _, mended = read("list.csv", out.getvalue().encode(), mapping)
    assert [problem.sentence for problem in mended.problems] == []
    taken = {(row.making.session, row.making.order) for row in table.rows}
    assert not taken & {(row.making.session, row.making.order) for row in mended.rows}


def test_problems_of_one_kind_are_one():
    rows = [["plate", "date", "Temp", "Grade"]]
    rows += [[f"P{i}", "2026-06-01", "hot" if i % 2 else "cold", "good"] for i in range(80)]
    rows += [[f"G{i}", "2026-06-01", "19", "good"] for i in range(100)]
    rows += [[f"Q{i}", "2026-06-02", "20", "mixed"] for i in range(7)]
    content = "\n".join(",".join(row) for row in rows).encode()
    mapping = draft_mapping(read_grid("p.csv", content)).mapping
    problems = read("p.csv", content, mapping)[2].problems
    assert len(problems) == 87
    assert [(one.column, one.count) for one in grouped(problems)] == [("Temp", 80), ("Grade", 7)]


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("Platte Format", "size"), ("Belichtung Blende", "f_number"),
        ("Ergebnis Fehler", "defects"), ("Belichtung Beginn", "exposure_start"),
        ("Platte Silber µm", "silver_um"),
    ],
)  # fmt: skip
def test_below_a_group_the_own_name_of_a_column_counts(name, field):
    fields_meant, _, sure = head_says(name)
    assert (fields_meant[0], sure) == (field, True)


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("Entw. ab", ("development_start",)), ("Entw. bis", ("development_end",)),
        ("dev. from", ("development_start",)), ("début révélation", ("development_start",)),
        ("Bel. von", ("exposure_start",)),
        ("Exposure end", ("exposure_end",)),  # the house keeps its length
        ("labo HR", ("room_rh_pct",)),  # not a room measured in hours
    ],
)  # fmt: skip
def test_a_start_or_end_is_no_length(name, meant):
    assert head_says(name) == (meant, "", True)


GERMAN = """Plattenbuch;;;;;
Nr.;Datum;Jodzeit (Sek.);Format;Entw. ab;Entw.
1;30.4.2025;62;1/4;13:10;1:20
2;31.4.2025;60;1/4;14:00;75
3;2.5.2025;1:05;1/4;24:10;80
4;3.5.2025;58;1/4;15:20;90

Nr.;Silber;Preis
1;12;30
"""


def test_a_notebook_as_hands_write_it():
    """Invented: a day no calendar has, a time on no clock, 1:05 beside seconds, a second table."""
    content = GERMAN.encode()
    draft = draft_mapping(read_grid("g.csv", content), time_zone=ZONE)
    assert draft.questions == (), "what stands in the other table is not asked about"
    table = read("g.csv", content, draft.mapping)[2]
    first = table.rows[0].making.conditions
    assert first["development_start"] == "2025-04-30T13:10:00+02:00"
    assert first["development_minutes"] == 80.0
    told = {one.cell: one.what for one in table.problems}
    assert told["B4"] == "'31.4.2025' is in no calendar"
    assert told["E5"] == "'24:10' is on no clock"
    assert "C5" not in told, "65 s"
    assert "another table begins in row 8" in told[""]


def test_a_length_is_no_label_where_none_is_written():
    """Two plates in a row without their labels: refused, and not named by a length of theirs."""
    content = b";Exp;Dev;Result;Exp;Dev;Result\n12.6.25;200;75;good;170;70;lost\n"
    content += b"13.6.25;240;90;fine;225;85;good\n14.6.25;180;80;lost;190;82;good\n"
    draft = draft_mapping(read_grid("two.csv", content), time_zone=ZONE)
    assert draft.mapping.fields["date"].column == "column A"
    assert "plate" not in draft.mapping.fields


def test_a_second_row_of_names_and_units_below():
    head = "n°;date;labo;;pose;diaph.;révél.\n;;T°;HR;(s);f/;(min)\n"
    content = (head + "12;3 mars 2025;18,5;45;180;5,6;90\n").encode()
    draft = draft_mapping(read_grid("f.csv", content), time_zone=ZONE)
    assert draft.mapping.head_rows == 2
    assert {"room_c", "room_rh_pct", "exposure_seconds", "f_number", "development_minutes"} <= {
        *draft.mapping.fields
    }


def test_a_length_below_a_group_is_of_its_kind():
    assert head_says("Belichtung Zeit")[0] == ("exposure_seconds",)
    assert head_says("box no.")[0] != ("plate",), "the box's number"
    assert head_says("Jod Zeit")[0][0] != "exposure_seconds"


def test_a_column_is_known_by_its_words_where_its_name_says_nothing():
    """A notebook without a grade teaches nothing: its words are seen, whatever heads them."""
    rows = [["plate", "date", "Wie ging es", "Es war", "Wetter"]]
    told = [("gut", "richtig", "Wind"), ("misslungen", "unter", "gut"), ("sehr gut", "?", "Regen")]
    rows += [[f"P{i}", "2026-06-01", *told[i % 3]] for i in range(9)]
    content = "\n".join(",".join(row) for row in rows).encode()
    draft = draft_mapping(read_grid("p.csv", content))
    assert {name: one.column for name, one in draft.mapping.fields.items()} == {
        "plate": "plate", "date": "date", "grade": "Wie ging es", "exposure_verdict": "Es war",
    }  # fmt: skip
    asked = {question.key: question.suggested for question in draft.questions}
    assert asked["column:Wie ging es"] == "grade"  # a guess is asked about
    assert "column:Wetter" not in asked
    own = draft_mapping(read_grid("p.csv", content), answers={"column:Wie ging es": "own"})
    assert "grade" not in own.mapping.fields


def test_an_exposure_told_by_its_start_and_its_end_has_a_length():
    """In two columns; without it no plate of the notebook told of the speed."""
    rows = [["plate", "date", "Belichtung von", "Belichtung bis", "grade"]]
    rows += [["P1", "2026-06-01", "09:32", "09.40 Uhr", "good"]]
    rows += [["P2", "2026-06-01", "10:14", "10.10 Uhr", "good"]]
    content = "\n".join(",".join(row) for row in rows).encode()
    draft = draft_mapping(read_grid("p.csv", content), time_zone=ZONE)
    assert draft.questions == ()
    _, _, table = read("p.csv", content, draft.mapping)
    [row] = table.rows
    assert row.making.conditions["exposure_seconds"] == 480.0
    assert "exposure_end" not in row.making.conditions
    [problem] = table.problems
    assert "the exposure ends before it starts" in problem.sentence
