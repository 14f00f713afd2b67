"""Decimal sign and order of day and month: decided by a column as a whole, or not guessed at.

Common practice, no source: the cells are invented, as makers and spreadsheets write them.
"""

from datetime import date

from tests.every import every
from tests.exchange.notebook.notebooks import xlsx_bytes

from argentry.desk.notebook import open_notebook
from argentry.exchange.notebook.draft import draft_mapping
from argentry.exchange.notebook.drafted import Memory
from argentry.exchange.notebook.written import learned
from argentry.exchange.sheets.grid import read_grid

HEAD = "Platte;Datum;Belichtung (s);Temp;Gewicht"


def read(content, answers=None, name="n.csv"):
    """Return what a notebook comes to, by the page and by the command, which must agree."""
    data = content if isinstance(content, bytes) else content.encode()
    both = [
        open_notebook(None, name, data, answers=answers, ask_always=asks) for asks in (True, False)
    ]
    page, command = ({row.row: row for row in one.table.rows} for one in both)
    assert page == command
    return both[0]


def exposures(*cells, answers=None):
    rows = [f"{n};{n}.3.2025;{cell};20,5;" for n, cell in enumerate(cells, 13)]
    table = read("\n".join((HEAD, *rows)), answers).table
    found = {row.plate.label: row.making.conditions for row in table.rows}
    return [found.get(str(n), {}).get("exposure_seconds") for n in range(13, 13 + len(cells))]


@every(
    "cells, want",
    (
        (("17,5", "1.234", "12"), [17.5, None, 12.0]),
        (("90", "1.234", "120"), [90.0, None, 120.0]),
        (("90", "1,234", "120"), [90.0, None, 120.0]),
        (("950", "1.234", "800"), [950.0, 1234.0, 800.0]),
        (("2,5", "1,234", "3"), [2.5, 1.234, 3.0]),
        (("90", "1.234,5", "1 234"), [90.0, 1234.5, 1234.0]),
        (("17,5", "0.125", "12"), [17.5, 0.125, 12.0]),
        (("17.5", "18,5", "1.234"), [17.5, 18.5, None]),
    ),
)
def test_a_number_that_could_be_two_is_read_only_where_its_column_bears_it_out(cells, want):
    """In a notebook of decimal commas a lone 1.234 was 1234 s next to 17,5 and 12."""
    assert exposures(*cells) == want


def test_both_readings_are_said_and_the_list_to_mend_keeps_the_cell():
    (wrong,) = read(f"{HEAD}\nA;13.3.2025;1.234;20,5;\nB;14.3.2025;12;21;").table.problems
    assert wrong.what == "'1.234' can be two numbers, 1.234 or 1234"
    assert wrong.cell == "C2"


def test_a_column_of_its_own_that_could_be_two_numbers_stays_text():
    table = read(f"{HEAD}\nA;13.3.2025;90;20,5;1.234\nB;14.3.2025;12;21;17,5").table
    assert [row.making.conditions["Gewicht"] for row in table.rows] == ["1.234", 17.5]


def test_where_no_cell_says_the_sign_it_is_asked_and_nothing_taken():
    content = "plate,date,exposure (s)\nA,2025-03-13,1.234\nB,2025-03-14,12\n"
    opened = read(content)
    assert [(one.key, one.suggested) for one in opened.questions] == [("decimal", "?")]
    assert [row.plate.label for row in opened.table.rows] == ["B"]
    for sign, seconds in ((".", 1.234), (",", 1234.0)):
        rows = read(content, {"decimal": sign}).table.rows
        assert rows[0].making.conditions["exposure_seconds"] == seconds


def days(*cells, answers=None):
    rows = "".join(f"{n},{cell},good\n" for n, cell in enumerate(cells))
    opened = read(f"No,Date,Grade\n{rows}", answers)
    found = {row.plate.label: row.making.day.isoformat() for row in opened.table.rows}
    return [found.get(str(n), "") for n in range(len(cells))], len(opened.questions)


@every(
    "cells, want, asked",
    (
        (("06/05/2025", "13/05/2025"), ["2025-05-06", "2025-05-13"], 0),
        (("05/06/2025", "05/13/2025"), ["2025-05-06", "2025-05-13"], 0),
        (("05/06/2025", "05/13/25"), ["2025-05-06", "2025-05-13"], 0),
        (("05-06-2025", "05/13/2025"), ["2025-05-06", "2025-05-13"], 0),
        (("06/05/2025", "13.05.2025"), ["2025-05-06", "2025-05-13"], 0),
        (("5/28/2026", "28.5.2026"), ["2026-05-28", "2026-05-28"], 0),
        # both orders in one way, or a decided order that goes back in time: not guessed
        (("06/05/2025", "13/05/2025", "05/14/2025"), ["", "2025-05-13", "2025-05-14"], 0),
        (("06/05/2025", "05/13/25"), ["", "2025-05-13"], 1),
        # no row decides
        (("06/05/2025", "2025-06-06"), ["", "2025-06-06"], 1),
        (("06/05/2025", "June 7 2025"), ["", "2025-06-07"], 1),
        (("05/05/2025", "06/05/2025"), ["2025-05-05", ""], 1),
        (("1/5/2026", "1/7/2026"), ["", ""], 1),
        # one order goes back twice, the other never
        (("1/4/25", "2/4/25", "1/5/25", "2/5/25", "1/6/25"),
         ["2025-04-01", "2025-04-02", "2025-05-01", "2025-05-02", "2025-06-01"], 0),
        (("13.5.68", "14.5.69"), ["1968-05-13", "1969-05-14"], 0),
    ),
)  # fmt: skip
def test_the_order_of_day_and_month_is_that_of_the_whole_column(cells, want, asked):
    """05/06/2025 was 5 June though the next row, in another way of writing, spoke against it."""
    assert days(*cells) == (want, asked)


def test_an_answer_decides_the_order():
    for order, month in (("%d/%m/%Y", "05"), ("%m/%d/%Y", "06")):
        answered = days("06/05/2025", "06/05/2025", answers={"dates": order})
        assert answered[0][0][5:7] == month


def test_dates_that_a_spreadsheet_may_have_swapped_are_listed():
    """Set to the other order it keeps 06/05 as a date of its own and leaves 13/05 as text."""
    kept = [["P0", date(2025, 6, 5)], ["P1", "13/05/2025"], ["P2", date(2025, 7, 5)]]
    table = read(xlsx_bytes([["Plate", "Date"], *kept]), name="n.xlsx").table
    assert [row.plate.label for row in table.rows] == ["P1"]
    assert table.problems[0].what.startswith("2025-06-05 may be 2025-05-06: ")


def test_a_column_that_shows_its_own_sign_is_known_by_its_name():
    table = read("Plate,Date,Temp\n1,2025-05-13,20.5\n2,2025-05-14,21.250\n3,2025-05-15,-\n").table
    assert [row.making.conditions.get("room_c") for row in table.rows] == [20.5, 21.25, None]


def test_a_notebook_is_read_the_second_time_as_the_first():
    """A unit in a head was forgotten: next time 12 of "Belichtung (s)" were 12 minutes, 720 s."""
    content = f"{HEAD}\n1;13.3.2025;17,5;20,5;\n2;14.3.2025;12;21;\n".encode()
    grid = read_grid("n.csv", content)
    for answers in ({}, {"column:Belichtung (s)": "exposure_seconds"}):
        first = draft_mapping(grid, answers=answers)
        memory = learned(Memory(), first, answers)
        assert draft_mapping(grid, memory=memory).mapping == first.mapping
    bare = read_grid("n.csv", content.replace(b" (s)", b""))
    answers = {"unit:Belichtung": "s"}
    said = draft_mapping(bare, answers=answers)
    again = draft_mapping(bare, memory=learned(Memory(), said, answers))
    assert again.questions == ()
    units = {one.mapping.fields["exposure_seconds"].unit or "s" for one in (said, again)}
    assert units == {"s"}, "an answer holds for the next notebook"


def test_a_guess_that_nobody_answered_is_not_remembered():
    """What `--yes` took a misspelt column for, the next notebook was not asked about any more."""
    grid = read_grid("n.csv", b"Plate,Date,Expossure (s)\n1,2025-05-13,30\n2,2025-05-14,40\n")
    first = draft_mapping(grid)
    assert "column:Expossure (s)" in {one.key for one in first.questions}
    again = draft_mapping(grid, memory=learned(Memory(), first, {}))
    assert again.questions == first.questions
    answers = {one.key: one.suggested for one in first.questions}
    answered = draft_mapping(grid, answers=answers)
    assert draft_mapping(grid, memory=learned(Memory(), answered, answers)).questions == ()


def test_a_column_named_for_its_day_is_that_whatever_its_cells_say():
    """It was asked about twice, as a condition of one's own and as the only one for the date."""
    opened = read("Nr;Datum;Note\n1;3.5.;gut\n2;4.5.;gut\n3;5.5.;gut\n4;15.5.2025;gut\n")
    assert opened.questions == ()
    assert [row.plate.label for row in opened.table.rows] == ["4"]
    assert [one.cell for one in opened.table.problems] == ["B2", "B3", "B4"]
