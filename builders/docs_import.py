"""Write the table of units in docs/import.md.

Run: python builders/docs_import.py
"""

from __future__ import annotations

from pathlib import Path

from argentry.exchange.plates.columns import columns
from argentry.exchange.plates.mapping import units_of

PAGE = Path(__file__).parents[1] / "docs" / "import.md"
BEGIN, END = "<!-- begin: made by builders/docs_import.py -->", "<!-- end -->"


def units_page() -> str:
    """Return the table of fields by the units they may be given in."""
    by_units: dict[tuple[str, ...], list[str]] = {}
    for column in columns():
        if len(units_of(column)) > 1:
            by_units.setdefault(units_of(column), []).append(f"`{column.name}`")
    lines = ["| kept in | may be given in | fields |", "|---|---|---|"]
    lines += [
        f"| {units[0]} | {', '.join(units[1:])} | {', '.join(names)} |"
        for units, names in by_units.items()
    ]
    return "\n".join(lines) + "\n"


def filled(text: str) -> str:
    """Return the page with its generated part put in."""
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n\n{units_page()}\n{END}{tail}"


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print("wrote docs/import.md")
