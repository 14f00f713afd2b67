"""The day sheet on a terminal: the answer in the first lines, then what the hands do and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.out.day import answer
from argentry.out.day.blocks import short_name
from argentry.out.day.caution_marks import marks, numbered_cautions
from argentry.out.day.hour_words import ROWS, figures, lit_hours
from argentry.out.day.screen import screen
from argentry.out.wording import clock
from argentry.records.units import told

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from argentry.records.day import DayPlan, PlannedStep

BAR = 8  # characters of a full bar
PLAIN_LETTERS = str.maketrans(
    {"–": "-", "·": ",", "°": " deg", "─": "-", "±": "+/-", "∞": "endless"}
)


def print_day(plan: DayPlan, console: Console, *, full: bool = False) -> None:
    """Print a day sheet: one screen of it, or all.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    console : rich.console.Console
        Where to; from 80 columns on, with or without colour: every state has its word or mark.
    full : bool
        True for the hours, each step, the cautions, the materials and the proof as well.
    """
    if console.encoding.lower().startswith("utf"):
        _print(plan, console, plain=False, full=full)
        return
    # A terminal without these letters gets plain ones rather than a failure.
    from io import StringIO

    from rich.console import Console as Screen

    paper = Screen(file=StringIO(), width=console.width, highlight=False, no_color=True)
    _print(plan, paper, plain=True, full=full)
    written = paper.file.getvalue().translate(PLAIN_LETTERS)  # type: ignore[attr-defined]
    console.file.write(written.encode(console.encoding, "replace").decode(console.encoding))


def _print(plan: DayPlan, console: Console, *, plain: bool, full: bool) -> None:
    for line in screen(plan, console, plain=plain, full=full):
        console.print(line, no_wrap=True, crop=True)
    if not full:
        return
    if lit_hours(plan):
        console.print(_hours(plan, plain=plain))
    if plan.steps:
        console.print(_each_step(plan))
    _foot(plan, console)


def _hanging(mark: str, words: str) -> Table:
    from rich.table import Table
    from rich.text import Text

    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column()
    grid.add_row(Text(mark, style="red"), Text(words, style="red"))
    return grid


def _table(title: str) -> Table:
    from rich import box
    from rich.table import Table

    return Table(
        box=box.SIMPLE_HEAD,
        title=title,
        title_justify="left",
        title_style="italic",
        header_style="",
        padding=(0, 1, 0, 0),
        pad_edge=False,
    )


def _bar(share: float, *, plain: bool) -> str:
    full = max(0, min(BAR, round(share * BAR)))
    return ("#" * full).ljust(BAR, ".") if plain else ("█" * full).ljust(BAR, "·")


def _hours(plan: DayPlan, *, plain: bool) -> Table:
    table = _table("Begun at that hour")
    table.add_column("hour", no_wrap=True)
    table.add_column("sun", justify="right", no_wrap=True)
    table.add_column(ROWS[0].replace("%", "in time"), no_wrap=True)
    table.add_column("camera, min", no_wrap=True)
    table.add_column("ripe by the end", no_wrap=True)
    table.add_column("ripe at", no_wrap=True)
    for hour in lit_hours(plan):
        exposed, minutes, done, when = figures(hour, plan.days_simulated)
        table.add_row(
            clock(hour.time),
            f"{hour.sun_elevation_deg:.0f}°",
            f"{_bar(hour.exposure_suffices, plain=plain)} {exposed:>3} %",
            minutes,
            f"{_bar(hour.development_suffices, plain=plain)} {done:>3} %",
            when,
        )
    return table


def _each_step(plan: DayPlan) -> Table:
    from rich.text import Text

    table = _table("Each step")
    table.add_column("step", no_wrap=True)
    table.add_column("what to do; right when; check", ratio=1)
    seen: dict[str, list[PlannedStep]] = {}
    for step in sorted(plan.steps, key=lambda one: (one.plate, one.start.timestamp())):
        seen.setdefault(step.step, []).append(step)
    numbered = numbered_cautions(plan)
    for step, *others in seen.values():
        words = Text(step.title, style="bold")
        words.append(f". {told(step.look_for, plan.units)}", style="not bold")
        if step.check:
            check = told(step.check, plan.units)
            words.append(f". Check: {check}", style="not bold italic")
        cautions = [text for one in (step, *others) for text in one.cautions]
        words.append(f"  {marks(cautions, numbered)}", style="not bold red")
        table.add_row(short_name(step), words)
    return table


def _foot(plan: DayPlan, console: Console) -> None:
    from rich.text import Text

    for caution, number in numbered_cautions(plan).items():
        console.print(_hanging(f"{f'!{number}':>3}", caution))
    console.print()
    coat = answer.coat_words(plan)
    if coat:
        line = Text(f"Coat: {coat}.")
        colour = answer.swatch(plan)
        if colour:
            line = Text("    ", style=f"on {colour}") + Text(" ") + line
        console.print(line)
    if plan.materials:
        console.print(Text(f"Uses {answer.uses(plan)}."))
    for line_text in answer.assumptions(plan):
        console.print(Text(line_text))
