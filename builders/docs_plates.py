"""Write the generated part of docs/plates-csv.md: every column, every defect.

Run: python builders/docs_plates.py
"""

from __future__ import annotations

from pathlib import Path

from argentry import trade
from argentry.exchange.plates.columns import columns

PAGE = Path(__file__).parents[1] / "docs" / "plates-csv.md"
BEGIN, END = "<!-- begin: made by builders/docs_plates.py -->", "<!-- end -->"


def columns_page() -> str:
    """Return the table of columns and the list of defects in Markdown."""
    out: list[str] = []
    for group in dict.fromkeys(column.group for column in columns()):
        out += [
            f"### {group[0].upper()}{group[1:]}",
            "",
            "| column | unit | what | allowed | empty means |",
            "|---|---|---|---|---|",
        ]
        out += [
            f"| `{c.name}` | {c.unit} | {c.about} | {c.allowed()} | {c.empty} |"
            for c in columns()
            if c.group == group
        ]
        out.append("")
    out += ["### Defects", "", "| key | look | may come from | first seen |", "|---|---|---|---|"]
    out += [
        f"| `{row['key']}` | {row['look']} | {', '.join(row['stages'])} | {row['first_seen']} |"
        for row in trade.toml("defects")["defect"]
    ]
    return "\n".join(out) + "\n"


def filled(text: str) -> str:
    """Return the page with its generated part put in."""
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n\n{columns_page()}\n{END}{tail}"


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print("wrote docs/plates-csv.md")
