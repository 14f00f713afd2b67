"""A table that does not fit a narrow terminal is told row by row: no figure of it is cut off."""

import io

from rich.console import Console

from argentry.cli.common import console, table
from argentry.cli.narrow import in_lines


def plates():
    rows = table("Plate", "Silver", "Made on", "Grade", "Exposure", "Defects")
    rows.title = "Plates"
    rows.add_row("P001", "10 µm", "2025-01-04", "lost", "under", "white lights, blocked shadows")
    rows.add_row("P002", "", "2025-01-11", "[bold]fine[/bold]", "right", "")
    return rows


def printed(width):
    screen = Console(file=io.StringIO(), width=width)
    screen.print(in_lines(plates(), screen, width))
    return screen.file.getvalue().splitlines()


def test_a_row_follows_the_other_where_the_words_do_not_fit_side_by_side():
    lines = [line.rstrip() for line in printed(40)]
    assert lines == [
        "Plates",
        "P001",
        "  Silver: 10 µm",
        "  Made on: 2025-01-04",
        "  Grade: lost",
        "  Exposure: under",
        "  Defects: white lights, blocked shadows",
        "P002",
        "  Made on: 2025-01-11",
        "  Grade: fine",
        "  Exposure: right",
    ]


def test_where_there_is_room_a_table_stays_one():
    assert any("Plate" in line and "Defects" in line for line in printed(80))
    assert all(len(line) <= 66 for line in printed(66))


def test_the_terminal_of_every_command_prints_so(monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", "40")
    console().print(plates())
    assert "  Defects: white lights, blocked shadows" in capsys.readouterr().out
