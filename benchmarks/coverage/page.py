"""The page of the figures, written by the run that found them."""

from __future__ import annotations

from datetime import UTC, datetime
from math import inf
from pathlib import Path

import numpy as np

from argentry import version

PAGE = Path(__file__).resolve().parents[2] / "docs" / "decisions" / "coverage.md"
BEGIN, END = "<!-- written by the run from here -->", "<!-- to here -->"
ABOUT = (
    "Measured on {day} for {version} by `python -m benchmarks coverage --draws {draws} "
    "--seed {seed}`. "
    "New studio: "
    "{draws} draws of each kind, each of another studio. 100 plates: {studios} studios, "
    "{each} draws of each kind from each."
)
HEAD = (
    "| question | new: held, % | shorter / longer, % | two ends, % | width | off "
    "| no upper end: share, within | 100 plates: held, % | shorter / longer, % | two ends, % "
    "| width | off | no upper end: share, within |"
)
ENOUGH = 1000  # fewer draws are not written down


def cells(tally):
    """Return the six columns of one tally."""
    share, error = tally.share()
    sides = (100 * side for side in (tally.below, tally.above))
    return (
        f"{100 * share:.1f} ± {100 * error:.1f}",
        " / ".join(f"{side:.1f}" for side in sides),
        f"{100 * tally.between:.1f}",
        f"{np.median(tally.widths or [inf]):.1f}",
        f"{np.median(tally.offs or [inf]):+.2f}",
        _open(tally),
    )


def _open(tally):
    if not tally.open:
        return "–"
    part = len(tally.open) / tally.count
    return f"{100 * part:.0f} %, {100 * np.mean(tally.open):.0f} %"


def table(new, old):
    """Return the lines of the table."""
    rows = ("| " + " | ".join((kind, *cells(new[kind]), *cells(old[kind]))) + " |" for kind in new)
    return (HEAD, "|" + "---|" * 13, *rows)


def write(draws, seed, new, old):
    """Put the figures between the page's marks, when there are enough of them."""
    if draws < ENOUGH:
        return
    studios = max(len(tally.groups) for tally in old.values())
    about = ABOUT.format(
        day=datetime.now(tz=UTC).date(), version=version.VERSION, draws=draws, seed=seed,
        studios=studios, each=-(-draws // studios),
    )  # fmt: skip
    text = PAGE.read_text(encoding="utf-8")
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    written = "\n".join((BEGIN, about, "", *table(new, old), END))
    PAGE.write_text(before + written + after, encoding="utf-8")
