"""Write docs/truth.md: what each figure of the day sheet rests on, and how it meets the trade.

Run from anywhere: ``python builders/docs_truth.py``. A test proves that the committed page is what
this script writes, that every number of a planned day has its row, that every fact and test named
here exists. The doubts are those that the commands tell; the outside checks are asked anew.
"""

from __future__ import annotations

import importlib.util
import sys
import tomllib
from dataclasses import dataclass, fields
from math import hypot
from pathlib import Path
from typing import Any

from argentry import trade
from argentry.physics.stops import Z80
from argentry.records import day as records

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "truth.md"

HEAD = """# What the figures rest on

Written by `builders/docs_truth.py` from the program's own answers; do not edit by hand.

Every figure that a day sheet prints stands below with the equation behind it, the facts it takes
from [the trade](trade.md) with how each is known, its share of the doubt, and the test that checks
it. After that come published figures of makers and handbooks, each asked of the commands: where the
program misses, the row says why, and nothing was tuned to hide it.
"""


@dataclass(frozen=True)
class Figure:
    """One printed figure.

    Attributes
    ----------
    name : str
        As a reader of the sheet would call it.
    numbers : tuple of str
        ``Record.field`` of the planned day that hold it.
    equation : str
        Of what it is made.
    facts : tuple of str
        ``subject/key`` of the trade.
    doubt : str
        Where it comes from; a name in curly brackets stands for a table of parts below.
    checks : tuple of str
        Test files, from the top of the repository.
    """

    name: str
    numbers: tuple[str, ...]
    equation: str
    facts: tuple[str, ...]
    doubt: str
    checks: tuple[str, ...]


TOLD = tomllib.loads((ROOT / "builders/truth.toml").read_text(encoding="utf-8"))
FIGURES = tuple(
    Figure(**{key: tuple(one) if isinstance(one, list) else one for key, one in row.items()})
    for row in TOLD["figure"]
)
ASKED = set(TOLD["asked"])
RECORDS = (
    records.DayPlan, records.PlannedStep, records.HourLight, records.Proof, records.Appointment,
    records.Amount,
)  # fmt: skip
WORDS, NUMBER_IN_WORDS = ("str", "bool", "tuple[str, ...]"), {"Amount.amount"}

REFERENCE = "--lat 50 --lon 0 --tz UTC --{start} 2026-06-21T10:00"
EXPOSE = "expose " + REFERENCE.format(start="at") + " --f-number 4"
DEVELOP = "develop " + REFERENCE.format(start="start")
FUME = "fume --nm 22 --box-temp 20 --gap-mm 30 --cover 1"


def makers() -> Any:
    """The module of the outside checks, which the tests use too."""
    name = "makers_of_truth"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, ROOT / "tests/outside/makers.py")
        sys.modules[name] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    return sys.modules[name]


def numbers() -> set[str]:
    """``Record.field`` of all that a planned day holds besides words."""
    return {
        f"{record.__name__}.{field.name}"
        for record in RECORDS
        for field in fields(record)
        if field.type not in WORDS
    } | NUMBER_IN_WORDS


def told_parts(ask: str) -> list[tuple[str, float]]:
    """The parts of the doubt that a command tells. [stops]."""
    return [(one["cause"], one["sigma_stops"]) for one in makers().said(ask)["doubt"]["parts"]]


def parts() -> dict[str, tuple[str, list[tuple[str, float]]]]:
    """The tables of doubt by name: what is asked, and the parts."""
    return {
        name: (f"`argentry {ask}`, no studio", told_parts(ask))
        for name, ask in (("expose", EXPOSE), ("develop", DEVELOP), ("fume", FUME))
    }


def known(key: str) -> str:
    """A fact in words: its name and how it is known."""
    subject, name = key.split("/")
    return f"{name} ({trade.facts(subject)[name].basis})"


def cell(text: str) -> str:
    return text.replace("|", "\\|")


def figure_rows() -> str:
    out = "| figure | equation | facts | its share of the doubt | check |\n" + "| --- " * 5 + "|\n"
    for one in FIGURES:
        doubt = one.doubt
        for name in ("expose", "develop", "fume"):
            doubt = doubt.replace(f"{{{name}}}", f"[table {name}](#{name})")
        row = (
            one.name,
            one.equation,
            ", ".join(known(key) for key in one.facts) or "none",
            doubt,
            ", ".join(f"[{Path(check).stem}](../{check})" for check in one.checks),
        )
        out += "| " + " | ".join(map(cell, row)) + " |\n"
    return out


def doubt_tables() -> str:
    out = ""
    for name, (asked, rows) in parts().items():
        whole = hypot(*(sigma for _, sigma in rows))
        out += f"\n### {name}\n\nOf {asked}: {whole:.2f} stops in all, so four cases in five lie "
        out += f"within {2 ** (Z80 * whole):.2g} times either way.\n\n"
        out += "| cause | stops | share |\n| --- | --- | --- |\n"
        for cause, sigma in rows:
            out += f"| {cause} | {sigma:.2f} | {100 * sigma**2 / whole**2:.0f} % |\n"
    return out


def check_rows() -> str:
    checks = makers().checks()
    hits = [one.hits() for one in checks]
    out = f"\n{sum(hits)} of {len(checks)} hit. Read: {sum(c.basis == 'read' for c in checks)}; "
    out += f"from memory: {sum(c.basis == 'memory' for c in checks)}. The commands behind them "
    out += "stand in [makers.toml](../tests/outside/makers.toml).\n\n"
    out += "| published | must come out | comes out | | why this range; why it misses | source |\n"
    out += "| --- " * 6 + "|\n"
    for one, hit in zip(checks, hits, strict=True):
        low, high = one.must
        why = one.why + (f". **Missed:** {one.miss}" if one.miss else "")
        source = one.source + (" (from memory)" if one.basis == "memory" else "")
        row = (
            one.says,
            f"{low:g} to {high:g} {one.unit}",
            f"{one.value():.3g}",
            "hit" if hit else "**miss**",
            why,
            source,
        )
        out += "| " + " | ".join(map(cell, row)) + " |\n"
    return out


def page() -> str:
    """The whole page."""
    return (
        HEAD
        + "\n## The figures of a day sheet\n\n"
        + figure_rows()
        + "\n## Shares of the doubt\n\nStandard deviations in stops (a stop is a factor of two); "
        "shares are of their squares. Your own numbers take the place of the largest first.\n"
        + doubt_tables()
        + "\n## Held up to the trade\n"
        + check_rows()
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.relative_to(ROOT)}")
