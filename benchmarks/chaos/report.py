"""The figures of `make chaos`: kept run by run in figures.json, and shown in the docs from there.

Nobody writes that file by hand. A run that was cut short never takes the place of a longer one.
"""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from benchmarks.chaos.ground import Figures

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
DOCS = ROOT / "docs"
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
# of several runs the largest is told, of all else the sum
LARGEST = {"servers", "tables", "longest s", "most MB", "operations and ways", "sentences"}
SLOWEST = 1.5  # times; one post with streams against one without
GROWTH = 0.05  # of the memory after the first two minutes: flat
TITLES = {
    "kills-sqlite": "processes killed (SIGKILL), SQLite",
    "kills-postgresql": "processes killed (SIGKILL), three servers on one PostgreSQL book",
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


def wrong(found: Figures) -> str:
    """Return what is not as it must be, in brackets."""
    bad = [f"{what} {found[what]}" for what in NOTHING if found.get(what)]
    if found.get("times as slow", 0.0) > SLOWEST:
        bad.append(f"times as slow {found['times as slow']}")
    settled = found.get("memory after two minutes MB")
    if settled and found["most after that MB"] > settled * (1.0 + GROWTH):
        bad.append(f"memory grows from {settled} to {found['most after that MB']} MB")
    return f"  <-- WRONG: {', '.join(bad)}" if bad else ""


def line(found: Figures) -> str:
    return ", ".join(f"{what} {value}" for what, value in found.items())


def code() -> str:
    """Return the commit that is checked out, with a plus where the code differs from it."""

    def git(*words: str) -> str:
        done = subprocess.run(
            ["git", *words], cwd=ROOT, capture_output=True, text=True, check=False
        )
        return done.stdout.strip()

    changed = git("status", "--porcelain", "-uno", "--", "src", "tests", "benchmarks/*.py")
    return (git("rev-parse", "--short=8", "HEAD") or "unknown") + ("+" if changed else "")


def read() -> dict[str, list[Figures]]:
    """Return the runs that are kept of each part."""
    kept: dict[str, list[Figures]] = json.loads(KEPT.read_text(encoding="utf-8"))
    return kept


def merged(
    kept: Sequence[Figures], found: Figures, counted: str, *, short: bool, add: bool
) -> tuple[list[Figures], str]:
    """Return the runs to keep of one part, and what is to be said of that.

    Parameters
    ----------
    kept : sequence of dict
        Runs that are kept of it.
    found : dict
        The new run, with its seed.
    counted : str
        The figure that says how much it did.
    short : bool
        True when it ended before its full count.
    add : bool
        True to count it beside those that are kept.
    """
    before = sum(run[counted] for run in kept)
    if not found[counted]:
        return list(kept), "nothing was counted: what was kept stays"
    if add:
        if any((run["seed"], run["code"]) == (found["seed"], found["code"]) for run in kept):
            return list(kept), f"seed {found['seed']} is counted already: give another"
        return [*kept, found], f"added: {before + found[counted]} {counted} now"
    if short and found[counted] < before:
        return list(kept), f"cut short: the {before} {counted} that were kept stay"
    return [found], "written"


def write(kept: dict[str, list[Figures]]) -> None:
    """Keep the runs and write the pages that show them."""
    ordered = {name: kept[name] for name in TITLES if kept.get(name)}
    KEPT.write_text(json.dumps(ordered, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    for page, names in PAGES.items():
        file = DOCS / page
        file.write_text(
            section_in(file.read_text(encoding="utf-8"), ordered, names), encoding="utf-8"
        )


def in_all(runs: Sequence[Figures]) -> Figures:
    """Return the figures of all runs of a part together, without their seeds and code."""
    out: Figures = {}
    for run in runs:
        for what, value in run.items():
            if what in {"seed", "code"}:
                continue
            had = out.get(what, 0)
            out[what] = max(had, value) if what in LARGEST else had + value
    return out


def section_in(text: str, kept: dict[str, list[Figures]], names: tuple[str, ...]) -> str:
    """Return a page with its table of figures made again."""
    rows = []
    for name in names:
        if runs := kept.get(name):
            ran = ", ".join(f"{run['seed']} on {run['code']}" for run in runs)
            rows.append(f"| {TITLES[name]} | {ran} | {line(in_all(runs))} |")
    table = "\n".join(["", "| what | seed and commit | figures |", "|---|---|---|", *rows, ""])
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n{table}\n{END}{after}"
