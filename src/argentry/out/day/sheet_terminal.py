"""The day sheet on a terminal: the answer in the first lines, then what the hands do and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.out.day import answer
from argentry.out.day.band_text import band
from argentry.out.day.blocks import Block, blocks, names, ripe, short_name
from argentry.out.day.caution_marks import marks, numbered_cautions
from argentry.out.day.hour_words import ROWS, figures, lit_hours
from argentry.out.wording import clock, clock_range, length_range

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from argentry.records.day import DayPlan, PlannedStep, Range

BAR = 8  # characters of a full bar
PLAIN_LETTERS = str.maketrans(
    {"–": "-", "·": ",", "°": " deg", "─": "-", "±": "+/-", "∞": "endless"}
)


def print_day(plan: DayPlan, console: Console) -> None:
    """Print a day sheet.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    console : rich.console.Console
        Where to; from 80 columns on, with or without colour: every state has its word or mark.
    """
    if console.encoding.lower().startswith("utf"):
        _print(plan, console, plain=False)
        return
    # A terminal without these letters gets plain ones rather than a failure.
    from io import StringIO

    from rich.console import Console as Screen

    paper = Screen(file=StringIO(), width=console.width, highlight=False, no_color=True)
    _print(plan, paper, plain=True)
    written = paper.file.getvalue().translate(PLAIN_LETTERS)  # type: ignore[attr-defined]
    console.file.write(written.encode(console.encoding, "replace").decode(console.encoding))


def _print(plan: DayPlan, console: Console, *, plain: bool) -> None:
    from rich.text import Text

    _head(plan, console)
    notes = (*plan.warnings, answer.clock_change(plan))
    for note in (one for one in notes if one):
        console.print(_hanging("!", note, "bold red"))
    if plan.steps:
        console.print()
        for line in band(plan, console.width, plain=plain):
            console.print(Text(line), no_wrap=True, crop=True)
        console.print(_order(plan))
    if lit_hours(plan):
        console.print(_hours(plan, plain=plain))
    if plan.steps:
        console.print(_each_step(plan))
    _foot(plan, console)


def _head(plan: DayPlan, console: Console) -> None:
    from rich.text import Text

    mark = Text("  INVENTED", style="bold") if plan.invented else Text("")
    day = f"{plan.date:%A} {plan.date.day} {plan.date:%B %Y}"
    console.print(Text(f"{day} · {plan.studio} · {plan.place}") + mark)
    console.print(
        Text(
            "{plan} · times of {tzinfo}".format(plan=answer.sun_line(plan), tzinfo=plan.time_zone),
            style="dim",
        )
    )
    console.print()
    console.print(Text(answer.headline(plan), style="bold"))
    for words, figure in answer.odds_lines(plan):
        value, _, base = figure.partition(", ")
        console.print(
            Text(f"{value:>13}  ", style="bold") + Text(words) + Text(f", {base}" if base else "")
        )
    if plan.plates_most:
        console.print(Text(answer.holds(plan)))


def _hanging(mark: str, words: str, style: str) -> Table:
    from rich.table import Table
    from rich.text import Text

    grid = Table.grid(padding=(0, 1))
    grid.add_column(no_wrap=True)
    grid.add_column()
    grid.add_row(Text(mark, style=style), Text(words, style=style))
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


def _length(span: Range) -> str:
    middle, rest = length_range(span)
    return f"{middle} ({rest})" if rest else middle


def _order(plan: DayPlan) -> Table:
    from rich.text import Text

    table = _table("In order of time; ranges hold 80 % of days")
    table.add_column("start", no_wrap=True)
    table.add_column("range", no_wrap=True)
    table.add_column("latest", no_wrap=True)
    table.add_column("plate", no_wrap=True, justify="right")
    table.add_column("length", no_wrap=True)
    table.add_column("by hand; then the wait", ratio=1)
    for block in blocks(plan):
        table.add_row(
            Text(clock(block.start), style="bold"),
            clock_range(block.start_low, block.start_high),
            block.begin_by,
            str(block.plate) if block.plate else "",
            _length(block.minutes),
            Text(_work(block)),
        )
    return table


def _work(block: Block) -> str:
    parts = [names(block.hands)] if block.hands else []
    if block.wait is not None:
        early, middle, late = ripe(block.wait)
        parts.append(
            "{wait} to {middle} ({early}), no hands".format(
                wait=short_name(block.wait), middle=clock(middle), early=clock_range(early, late)
            )
        )
    return "; ".join(parts)


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
    seen: dict[str, PlannedStep] = {}
    for step in sorted(plan.steps, key=lambda one: (one.plate, one.start.timestamp())):
        seen.setdefault(step.step, step)
    numbered = numbered_cautions(plan)
    for step in seen.values():
        words = Text(step.title, style="bold")
        words.append(f". {step.look_for}", style="not bold")
        if step.check:
            words.append(f". Check: {step.check}", style="not bold italic")
        words.append(f"  {marks(step.cautions, numbered)}", style="not bold red")
        table.add_row(short_name(step), words)
    return table


def _foot(plan: DayPlan, console: Console) -> None:
    from rich.text import Text

    for caution, number in numbered_cautions(plan).items():
        console.print(_hanging(f"{f'!{number}':>3}", caution, "red"))
    console.print()
    coat = answer.coat_words(plan)
    if coat:
        line = Text(f"Coat: {coat}.")
        colour = answer.swatch(plan)
        if colour:
            line = Text("    ", style=f"on {colour}") + Text(" ") + line
        console.print(line)
    if plan.materials:
        uses = ", ".join(f"{one.name} {one.amount}" for one in plan.materials)
        console.print(Text(f"Uses {uses}."))
    for line_text in answer.assumptions(plan):
        console.print(Text(line_text))
