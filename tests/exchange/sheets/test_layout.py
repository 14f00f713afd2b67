"""Rows that are not whole are listed, never read with their cells in other columns."""

from tests.every import every

from argentry.desk.notebook import open_notebook

SPLIT = "named columns: perhaps ',' stands inside one"
HEAD = "plate,date,room_c,exposure_seconds"


@every(
    "rows, labels, what",
    (
        # a decimal comma without quotes moves every later cell one column on
        ("A,2025-05-13,17,5,90\nB,2025-05-14,18,95\n", ["B"], SPLIT),
        ("A,2025-05-13,17,5,90\nB,2025-05-14,18,5,95\n", [], SPLIT),
        ("A,2025-05-13,17,90\nB,2025-05-14,18,9", ["A", "B"], ""),
        ("A,2025-05-13,17,90\nB,2025-05-14,1", ["A"], "ends in the middle of this row"),
        ("A,2025-05-13,17,90\nB,2025-05-14,18\n", ["A", "B"], ""),  # short, but its line ends
        ("A,2025-05-13,17,90,\nB,2025-05-14,18,95,,\n", ["A", "B"], ""),  # empty cells divide none
        ("A,2025-05-13,17,90\nTotal: 1,2025-05-13,,90\n", ["A"], "a total, not for a plate"),
        ("A,2025-05-13,17,90\n1 plates,2025-05-13,,90\n", ["A"], "a total, not for a plate"),
        ("A,2025-05-13,17,90\nweek 2,,,\nB,2025-05-14,18,95\n", ["A", "B"], "only one cell"),
        ("A,2025-05-13,17,90\n,,,285\n", ["A"], "only one cell"),
        ("Total 7 b,2025-05-13,17,90\n", ["Total 7 b"], ""),
    ),
)
def test_a_row_that_is_not_whole_is_listed(rows, labels, what):
    """Cells of a divided row were read one column too far, and a cut row as a short one."""
    table = open_notebook(None, "n.csv", f"{HEAD}\n{rows}".encode()).table
    assert [row.plate.label for row in table.rows] == labels
    assert [one.what for one in table.problems if what not in one.what] == []
    assert bool(table.problems) == bool(what)
