"""Write the generated part of docs/plates-csv.md: every column, every defect.

Run: python builders/docs_plates.py
"""

from __future__ import annotations

from pathlib import Path

from argentry.exchange.plates.columns import columns_page

PAGE = Path(__file__).parents[1] / "docs" / "plates-csv.md"
BEGIN, END = "<!-- begin: made by builders/docs_plates.py -->", "<!-- end -->"


def filled(text: str) -> str:
    """Return the page with its generated part put in."""
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n\n{columns_page()}\n{END}{tail}"


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print("wrote docs/plates-csv.md")
