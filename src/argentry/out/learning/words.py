"""What was learned, for a terminal: every figure with its range and the plates behind it."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from argentry.out.wording import percent, ranged, shown_unit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from rich.console import Console
    from rich.table import Table

BAR = 21  # characters of a range bar
DO = {
    "continue": "go on",
    "redo": "redo",
    "stop": "stop",
    "check": "look first",
}


def share(row: Mapping[str, Any], key: str = "probability") -> str:
    """Return a share with its 80 % range: ``47 % (41–53)``."""
    low_key, high_key = ("low", "high") if key == "probability" else (f"{key}_low", f"{key}_high")
    low, high = (percent(float(row[k])).removesuffix(" %") for k in (low_key, high_key))
    return f"{percent(float(row[key]))} ({low}–{high})"


def behind(plates: float, *, prior: bool = False) -> str:
    """Return how many plates stand behind a figure."""
    if plates < 0.5:
        return "no plate yet: the trade's belief"
    count = f"{plates:.0f} plate{'' if round(plates) == 1 else 's'}"
    return f"{count}, mostly the trade's belief" if prior else count


def bar(low: float, middle: float, high: float, width: int = BAR) -> str:
    """Return a range from 0 to 1 as characters: dots, a line over 80 %, a mark at the middle."""

    def at(value: float) -> int:
        return min(width - 1, max(0, round(value * (width - 1))))

    marks = ["·"] * width
    for place in range(at(low), at(high) + 1):
        marks[place] = "─"
    marks[at(middle)] = "●"
    return "".join(marks)


def number(value: float | None, unit: str = "", digits: int = 3) -> str:
    """Return a number in a few digits with its unit; a dash for none."""
    if value is None:
        return "–"
    if abs(value) < 1e-9:
        text = "0"
    elif abs(value) >= 10.0**digits:
        text = f"{value:.0f}"
    else:  # never as 8.6e-05: a maker reads 0.000086
        text = f"{Decimal(f'{value:.{digits}g}'):f}"
    return f"{text} {shown_unit(unit)}".strip()


def span(row: Mapping[str, Any], key: str = "value", unit: str = "") -> str:
    """Return a number of a row with its 80 % range and unit: ``1.215 (1.193–1.237)``."""
    low, high = ("low", "high") if key in ("value", "effect") else (f"{key}_low", f"{key}_high")
    if row[key] is None:
        return "–"
    return ranged(row[key], row[low], row[high], unit)


def plain_table(*heads: str) -> Table:
    """Return an empty table with hairlines and these heads."""
    from rich.box import SIMPLE
    from rich.table import Table

    table = Table(box=SIMPLE, pad_edge=False)
    for head in heads:
        table.add_column(head, overflow="fold")
    return table


def _blocks() -> Table:
    """Return a table of two columns: a figure, and what there is to say of it."""
    from rich.table import Table

    table = Table.grid(padding=(0, 2, 1, 0))
    table.add_column(no_wrap=True, width=16)
    table.add_column(overflow="fold")
    return table


def say(console: Console, text: str, style: str | None = None) -> None:
    """Print one sentence as it is."""
    console.print(text, markup=False, style=style, soft_wrap=False)


def say_notes(console: Console, notes: Iterable[str]) -> None:
    """Print what to know, one note a line."""
    for note in notes:
        say(console, f"! {note}")


def print_odds(odds: Mapping[str, Any], console: Console) -> None:
    """Print the odds of a plate and what to do with it.

    Parameters
    ----------
    odds : Mapping
        Of `argentry.desk.learning.odds.plate_odds`.
    console : Console
        Where to print.
    """
    stood = f" after the {odds['stage']}" if odds["stage"] else ""
    say(console, f"Plate {odds['plate']}{stood}")
    say(console, "")
    say(
        console,
        f"{share(odds)} that it comes out good; "
        f"{behind(odds['plates'], prior=odds['mostly_prior'])}",
        "bold",
    )
    say(console, odds["reason"])
    say(console, "")
    say(console, f"{DO[odds['advice']].upper()}: {odds['words']}", "bold")
    if odds["options"]:
        low, high = odds["worth_low"], odds["worth_high"]
        say(
            console,
            f"worth {odds['worth']:.2f} good plates today over the next best "
            f"({low:.2f} to {high:.2f})",
        )
    say(console, odds["rule"])
    _print_stages(odds, console)
    _print_options(odds["options"], console)
    say_notes(console, odds["notes"])
    say(console, "Ranges hold four cases in five. The advice is yours to overrule.")


def _print_stages(odds: Mapping[str, Any], console: Console) -> None:
    table = plain_table("Stage", "comes out sound", "0 to 100 %", "plates", "known")
    for row in odds["stages"]:
        known = f"{len(row['known'])} of {len(row['known']) + len(row['unknown'])}"
        said = f"{known}, check {row['check']}" if row["check"] else known
        table.add_row(
            f"{row['stage']}{', done' if row['done'] else ''}",
            share(row),
            bar(row["low"], row["probability"], row["high"]),
            f"{row['plates']:.0f}",
            said,
        )
    for column in table.columns[:4]:
        column.no_wrap = True
    console.print(table)


def _print_options(options: Sequence[Mapping[str, Any]], console: Console) -> None:
    if not options:
        return
    table = plain_table("What can be done", "minutes", "good plates by the day's end")
    for row in options:
        worth = f"{row['worth']:.2f} ({row['low']:.2f}–{row['high']:.2f})"
        table.add_row(row["words"], f"{row['minutes']:.0f}", worth)
    console.print(table)


def print_compare(told: Mapping[str, Any], console: Console) -> None:
    """Print a planned comparison: its plates, its chance to decide, what pairs say so far.

    Parameters
    ----------
    told : Mapping
        Of `argentry.desk.learning.comparison.compare_settings`.
    console : Console
        Where to print.
    """
    head, *lines = compare_lines(told)
    say(console, head, "bold")
    for line in lines:
        say(console, line)
    unit = told["unit"]
    table = plain_table("Pair", "first plate", "second plate")
    for pair in range(1, told["pairs"] + 1):
        mine = sorted((one["order"], one["to"]) for one in told["plan"] if one["pair"] == pair)
        table.add_row(f"{pair}", *(f"{to:g} {shown_unit(unit)}".strip() for _, to in mine))
    console.print(table)
    say_notes(console, told["notes"])
    say(console, "Never on plates that are promised. Ranges hold four cases in five.")


def compare_lines(told: Mapping[str, Any]) -> list[str]:
    """Return a planned comparison in sentences; the first says what to do."""
    old, new = (f"{told[key]:g}" for key in ("old", "new"))
    count = "1 pair" if told["pairs"] == 1 else f"{told['pairs']} pairs"
    unit = f" {shown_unit(told['unit'])}".rstrip()
    believed = f"{_of_100(told, 'chance_old')} with {old}, {_of_100(told, 'chance_new')} with {new}"
    plates = behind(told["plates"], prior=told["mostly_prior"])
    better = f"That {new} is better: {percent(told['better'], 1)}"
    decides = f"Chance that {count} decide for the better one: {_of_100(told, 'decides')}"
    return [
        f"Compare {told['title']} {old} and {new}{unit} in {count} of plates.",
        "Both plates of a pair in one session, in the order below, everything else alike.",
        f"Good plates as now believed: {believed}; {plates}. {better}.",
        f"{decides}; decided means {percent(told['certainty'])} sure.",
        _pairs_so_far(told["made"], old, new),
    ]


def _of_100(row: Mapping[str, Any], key: str) -> str:
    middle, low, high = (100.0 * row[end] for end in (key, f"{key}_low", f"{key}_high"))
    return ranged(middle, low, high, "%")


def _pairs_so_far(made: Mapping[str, Any], old: str, new: str) -> str:
    """Return what the pairs say that there are already, one sentence or two."""
    if not made["pairs"]:
        return "No two plates of one session, one with each setting, are there so far."
    count = "1 pair" if made["pairs"] == 1 else f"{made['pairs']} pairs"
    said = (
        f"So far {count}: {new} alone came out good in {made['won']}, {old} alone in "
        f"{made['lost']}, alike in {made['alike']}. "
    )
    sure = percent(max(made["better"], 1.0 - made["better"]), 1)
    if made["decided"]:
        return f"{said}Decided: {new if made['better'] > 0.5 else old} is better, {sure} sure."
    return (
        f"{said}Not decided: {new} is better with {percent(made['better'], 1)}; of pairs that "
        f"differ it wins {_of_100(made, 'share')}."
    )


def print_why_plate(why: Mapping[str, Any], console: Console) -> None:
    """Print what most likely went wrong with one plate."""
    from rich.markup import escape

    day = f", made {why['day']}" if why["day"] else ""
    grade = f", {why['grade']}" if why["grade"] else ""
    say(console, f"Plate {why['plate']}{day}{grade}")
    seen = ", ".join(f"{key.replace('_', ' ')} ({origin})" for key, origin in why["defects"])
    if seen:
        say(console, f"Seen: {seen}")
    say(console, "")
    say(console, why["words"], "bold")
    if why["causes"]:
        table = _blocks()
        for row in why["causes"]:
            first = "; make this check first" if row["cause"] == why["next_check"] else ""
            table.add_row(
                f"{share(row)}\n{bar(row['low'], row['probability'], row['high'], 15)}",
                f"[bold]{escape(row['title'])}[/bold] ({row['stage']})\n"
                + escape("; ".join(row["because"]) or "only by how common it is")
                + f"\ncheck, {row['check_minutes']:.0f} min{first}: {escape(row['check'])}",
            )
        console.print(table)
        say(console, f"An accident that nothing tells of: {percent(why['chance'])}.")
    _foot(why, console)


def print_why_studio(why: Mapping[str, Any], console: Console, most: int = 12) -> None:
    """Print what explains the failures over all plates, and what drifts."""
    from rich.markup import escape

    say(console, why["words"], "bold")
    told = [row for row in why["causes"] if row["probability"] >= 0.02 or row["named"]]
    if told:
        table = _blocks()
        for row in told[:most]:
            mark = "● " if row["named"] else ""
            check = f"check, {row['check_minutes']:.0f} min: {row['check']}" if row["check"] else ""
            lines = [
                f"[bold]{mark}{escape(row['title'])}[/bold] ({row['stage']})",
                f"that it matters: {share(row)}, {row['plates']:.0f} plates. "
                + escape(row["words"]),
                escape(check),
            ]
            table.add_row(
                f"{share(row, 'share')}\n"
                + bar(row["share_low"], row["share"], row["share_high"], 15),
                "\n".join(line for line in lines if line),
            )
        say(console, "Share of the failures each explains; ● may be named as a cause.")
        console.print(table)
        if len(told) > most:
            say(console, f"{len(told) - most} more explain less; see them with --json.")
    if why["charts"]:
        table = plain_table("Drift of", "", "days read", "false alarm every")
        for row in why["charts"]:
            days = f"{len(row['days'])}"
            every = f"{row['false_alarm_every']:.0f} days" if row["enough"] else "–"
            table.add_row(escape(row["title"]), row["words"], days, every)
        console.print(table)
    _foot(why, console)


def _foot(why: Mapping[str, Any], console: Console) -> None:
    say(
        console,
        f"From {behind(why['plates'])} of {why['source']}, {why['failures']} of them failed. "
        "Ranges hold four cases in five.",
    )
    say_notes(console, why["notes"])
