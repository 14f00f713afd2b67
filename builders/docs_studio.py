"""Write the generated parts of docs/studio.md and docs/weather.md: every key, every unit.

Run: python builders/docs_studio.py
"""

from __future__ import annotations

from pathlib import Path

from argentry.exchange.weather.mapping import NAMED, QUANTITIES
from argentry.studio.keys import sections

DOCS = Path(__file__).parents[1] / "docs"
BEGIN, END = "<!-- begin: made by builders/docs_studio.py -->", "<!-- end -->"


def keys_page() -> str:
    """Return the table of every key in Markdown, for ``docs/studio.md``."""
    out: list[str] = []
    for part in sections():
        head = part.head or "at the top of the file"
        need = " May be left out." if part.optional else ""
        out += [f"### {part.title}: `{head}`" if part.head else f"### {part.title}: {head}", ""]
        out += [
            f"{part.about}{need}",
            "",
            "| key | what | allowed | left out |",
            "|---|---|---|---|",
        ]
        out += [
            f"| `{key.name}` | {key.about} | {key.allowed()} | {key.absent or '**required**'} |"
            for key in part.keys
        ]
        out.append("")
    return "\n".join(out)


def units_page() -> str:
    """Return the table of quantities, units and column names in Markdown."""
    out = [
        "| quantity | what | units (first: taken when none is named) | names that need no mapping |"
    ]
    out.append("|---|---|---|---|")
    for key, quantity in QUANTITIES.items():
        units = [quantity.unit, *(unit for unit in quantity.units if unit != quantity.unit)]
        names = ", ".join(f"`{name}`" for name, (of, _) in NAMED.items() if of == key)
        out.append(f"| `{key}` | {quantity.about} | {', '.join(units)} | {names} |")
    return "\n".join(out) + "\n"


PAGES = {"studio.md": keys_page, "weather.md": units_page}


def filled(text: str, part: str) -> str:
    """Return a page with its generated part put in."""
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n\n{part}\n{END}{tail}"


if __name__ == "__main__":
    for name, make in PAGES.items():
        page = DOCS / name
        page.write_text(filled(page.read_text(encoding="utf-8"), make()), encoding="utf-8")
        print(f"wrote docs/{name}")
