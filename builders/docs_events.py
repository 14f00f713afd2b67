"""Write docs/events.md and the tables in docs/book.md from the program itself.

Run: python builders/docs_events.py
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from argentry.book.tables import APPEND_ONLY, metadata
from argentry.records.event import KINDS, VERSION

if TYPE_CHECKING:
    from sqlalchemy import Table

DOCS = Path(__file__).parents[1] / "docs"
BEGIN, END = "<!-- begin: made by builders/docs_events.py -->", "<!-- end -->"

ABOUT = {
    "event": "What happened in the runs, in order: the truth, from which every state is derived.",
    "reading": "What was measured, by a person or a sensor, inside a run or outside.",
    "plate": "The silvered plates: size, silver, where from, how often used again when it came in.",
    "plate_work": "The polish history: plated, polished, polished back, recoated.",
    "making": "One passage of a plate through a run, or one row of an old notebook.",
    "grade": "Grades of makings; the last one counts.",
    "verdict": "Verdicts on the exposure; the last one counts.",
    "stage": "Whether each stage went well; the last word counts.",
    "defect": "Defects seen, with the step they came from; a withdrawn one stays written.",
    "bath": "Mixed baths: recipe, when, how much, when discarded.",
    "bath_use": "Plates and area that went through a bath.",
    "lot": "Lots of stock that came in.",
    "lot_use": "What was taken from a lot.",
    "material_note": "Notes on a lot, a bath or the waste: purity, price, dates; the last counts.",
    "photograph": "Pictures of plates; the bytes lie in `pictures/` under their SHA-256.",
    "judgement": "What was read out of a picture, and the maker's word on it; the last row counts.",
    "upgrade_note": "What an upgrade could not bring over as it was; `argentry book check` tells.",
    "device": "Tablets and sensors that were let in; of a token only its hash.",
}


HEAD = """# Events

Made by `builders/docs_events.py` from the program; change it there.

A run is a list of events that only grows. Each has an `id` (UUID version 7, made where it happens,
so that sending it twice is harmless), its `run`, a `kind`, the time `at`, and where the kind asks
for it a `plate` and a `step`; `body` holds what the kind says, `device` who reported it, `version`
the form ({version}), `seq` its place in the book's log.

`at` is the server's steady time: the wall clock at the server's start plus the seconds that passed
since, so that setting the clock or daylight-saving time changes no duration. What happened earlier
is sent with its age in seconds (`age_s`), by the device's own clock.

Nothing is edited: `corrected` names an earlier event and withdraws it or corrects its time or
body. How states follow from events: `docs/bench.md`.

| kind | plate | step | what it means | body |
|---|---|---|---|---|"""
TAIL = """
As JSON: `{seq, id, run, kind, at, plate, step, body, device, version}`, `at` in ISO 8601 UTC with
microseconds and `Z`.
"""


def events_page() -> str:
    """Return docs/events.md."""
    out = [HEAD.format(version=VERSION)]
    for kind, one in KINDS.items():
        keys = "; ".join(f"`{key}`: {text}" for key, text in one.body.items()) or "nothing"
        plate, step = ("yes" if needed else "" for needed in (one.plate, one.step))
        out.append(f"| `{kind}` | {plate} | {step} | {one.means} | {keys} |")
    out += [TAIL]
    return "\n".join(out)


def column_text(table: Table) -> str:
    """Return the columns of one table with their types and links."""
    out = []
    for column in table.columns:
        kind = {"BIGINT": "whole", "TEXT": "text", "DOUBLE": "number"}[
            str(column.type).split(" ", maxsplit=1)[0]
        ]
        links = "".join(f", of `{key.column.table.name}`" for key in column.foreign_keys)
        marks = ", key" if column.primary_key else ", once" if column.unique else ""
        out.append(
            f"`{column.name}` ({kind}{', may be empty' if column.nullable else ''}{marks}{links})"
        )
    return ", ".join(out)


def tables_page() -> str:
    """Return the list of tables for docs/book.md."""
    out = ["| table | what for | rows are | columns |", "|---|---|---|---|"]
    for name, about in ABOUT.items():
        kept = "only added" if name in APPEND_ONLY else "may change"
        out.append(f"| `{name}` | {about} | {kept} | {column_text(metadata.tables[name])} |")
    return "\n".join(out) + "\n"


def filled(text: str, part: str) -> str:
    """Return a page with its generated part put in."""
    head, _, rest = text.partition(BEGIN)
    _, _, tail = rest.partition(END)
    return f"{head}{BEGIN}\n\n{part}\n{END}{tail}"


def pages() -> dict[str, str]:
    """Return the text of each page this script writes."""
    book = (DOCS / "book.md").read_text(encoding="utf-8")
    return {"events.md": events_page(), "book.md": filled(book, tables_page())}


if __name__ == "__main__":
    for name, text in pages().items():
        (DOCS / name).write_text(text, encoding="utf-8")
        print(f"wrote docs/{name}")
