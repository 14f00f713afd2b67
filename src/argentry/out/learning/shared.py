"""What comes from other studios, for a terminal: each assumption next to the trade's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.needs.doubt.percent import percent_range
from argentry.out.learning.words import AT_70, NORMAL, plain_table, say
from argentry.records.day import Range
from argentry.trade.conditions import conditions

if TYPE_CHECKING:
    from rich.console import Console

    from argentry.records.learned import Adopted, PooledFigure

FROM = "{plates} plates of {files} other studios stand behind the starting assumptions."
FROM_ONE = "{plates} plates of one other studio stand behind the starting assumptions."
LEFT_OUT = "Left out, since it does not fit the others: {name}."
ALL_FILES = "all"
TAKES = "70 % to {share}"
TITLES = {
    "good": "share of good plates",
    "stage": "sound after the {title}",
    "effect": "effect of {title} ({stage})",
    "best": "best value of {title} ({stage})",
    "matters": "chance that {title} matters ({stage})",
    "number": "{title}",
}


def print_adopted(adopted: Adopted, console: Console) -> None:
    """Print which files count and every assumption that they change."""
    from rich.markup import escape

    for line in adopted_lines(adopted):
        say(console, line)
    if not adopted.figures:
        return
    table = plain_table("Assumed beforehand", "from files", "the trade", "plates", "files")
    for one in adopted.figures:
        whole = set(one.files) == set(adopted.files)
        table.add_row(
            escape(title_of(one)),
            _span(one, ("low", "value", "high")),
            _span(one, ("believed_low", "believed", "believed_high")),
            f"{one.plates:.0f}",
            ALL_FILES if whole else escape(", ".join(one.files)),
        )
    console.print(table)


def adopted_lines(adopted: Adopted) -> list[str]:
    """Return in sentences where starting assumptions come from; nothing without files."""
    said = FROM_ONE if len(adopted.files) == 1 else FROM
    lines = [said.format(plates=adopted.plates, files=len(adopted.files))] if adopted.files else []
    return lines + [LEFT_OUT.format(name=name) for name in adopted.left_out]


def title_of(figure: PooledFigure) -> str:
    """Return what a starting assumption is of, in words."""
    title = next((c.title for c in conditions() if c.key == figure.of), figure.of)
    return TITLES[figure.kind].format(title=title.replace("_", " "), stage=figure.stage)


def _span(figure: PooledFigure, keys: tuple[str, str, str]) -> str:
    low, value, high = (float(getattr(figure, key)) for key in keys)
    if figure.kind in ("good", "stage", "matters"):
        return percent_range(Range(low, value, high))
    if figure.kind == "effect":
        form = next(c.form for c in conditions() if (c.stage, c.key) == (figure.stage, figure.of))
        way = 1.0 if form in ("free", "switch", "more is better") else -1.0
        at = (NORMAL.cdf(AT_70 + way * size) for size in (low, value, high)[:: int(way)])
        return TAKES.format(share=percent_range(Range(*at)))
    return f"{value:.3g} ({low:.3g} to {high:.3g})"
