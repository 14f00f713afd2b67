"""The figures of `make chaos`: kept in figures.json, and shown in the docs from there."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from benchmarks.chaos.ground import Figures

HERE = Path(__file__).parent
DOCS = HERE.parents[1] / "docs"
KEPT = HERE / "figures.json"
BEGIN = "<!-- begin: made by benchmarks/chaos -->"
END = "<!-- end: made by benchmarks/chaos -->"
# what must be nothing, whatever the part
NOTHING = (
    "lost",
    "faults",
    "not told",
    "missed by a stream",
    "damaged",
    "halves",
    "silent",
    "untouched lost",
    "tracebacks",
    "failed",
    "taken",
    "hangs",
    "too large",
)
TITLES = {
    "kills-sqlite": "server killed (SIGKILL), SQLite",
    "kills-postgresql": "servers killed, one PostgreSQL book",
    "cuts-sqlite": "power cuts over a trace of the running server, SQLite",
    "cuts-postgresql": "power cuts over a trace of the running servers, PostgreSQL",
    "rot-sqlite": "one byte rotten, any table, SQLite file",
    "rot-postgresql": "one value rotten, any table, PostgreSQL",
    "full-sqlite": "disk full under a server, SQLite",
    "full-postgresql": "disk full under a server, PostgreSQL",
    "clocks": "the machine's clock jumps by seconds to a year",
    "load": "devices post while streams are open",
    "hostile-lines": "command lines and files made to do harm",
    "hostile-requests": "HTTP requests made to do harm, to a real server",
    "hostile-described": "HTTP requests made from the API's own description",
    "hostile-messages": "MQTT messages made to do harm, through a real broker",
}
PAGES = {
    "book.md": tuple(name for name in TITLES if not name.startswith("hostile")),
    "security.md": tuple(name for name in TITLES if name.startswith("hostile")),
}


def wrong(_name: str, found: Figures) -> str:
    """Return what should be nothing and is not, in brackets."""
    bad = [f"{what} {found[what]}" for what in NOTHING if found.get(what)]
    return f"  <-- WRONG: {', '.join(bad)}" if bad else ""


def line(found: Figures) -> str:
    return ", ".join(f"{what} {value}" for what, value in found.items())


def write(name: str, found: Figures) -> None:
    """Keep the figures of one part and write the pages that show them."""
    kept = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    kept[name] = found
    ordered = {one: kept[one] for one in TITLES if one in kept}
    KEPT.write_text(json.dumps(ordered, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    for page, names in PAGES.items():
        file = DOCS / page
        file.write_text(
            section_in(file.read_text(encoding="utf-8"), ordered, names), encoding="utf-8"
        )


def section_in(text: str, kept: dict[str, Figures], names: tuple[str, ...]) -> str:
    """Return a page with its table of figures made again."""
    rows = [f"| {TITLES[name]} | {line(kept[name])} |" for name in names if name in kept]
    table = "\n".join(["", "| what | figures |", "|---|---|", *rows, ""])
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n{table}\n{END}{after}"
