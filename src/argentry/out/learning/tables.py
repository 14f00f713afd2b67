"""The next trial, a batch and all that was learned, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from argentry.out.learning.words import (
    bar,
    behind,
    number,
    plain_table,
    say,
    say_notes,
    share,
    span,
)
from argentry.out.wording import percent

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import Console


def print_next(trial: Mapping[str, Any], console: Console) -> None:
    """Print what to change on the next plate, and what it would teach."""
    for line in next_lines(trial):
        say(console, line, "bold" if line is next_lines(trial)[0] else None)
    say_notes(console, trial["notes"])


def next_lines(trial: Mapping[str, Any]) -> list[str]:
    """Return the next trial in sentences; the first says what to do."""
    unit = trial["unit"]
    if not trial["change"]:
        head = "Change nothing on the next plate."
    elif trial["steps"]:
        strips = ", ".join(f"{step:+.2f}" for step in trial["steps"])
        head = f"Expose strips on one plate: {strips} {unit}."
    elif trial["change"] == "exposure":
        head = f"Expose {trial['to']:+.2f} {unit}."
    else:
        head = (
            f"Change only this: {trial['title']} from {trial['from']:g} to {trial['to']:g} {unit}."
        )
    stage = trial.get("stage") or "plate"
    whole = f"that the {stage} comes out {'right' if stage == 'exposure' else 'ok'}"
    of = share(trial, "chance")
    lines = [head, trial["reason"]]
    if not trial["steps"]:
        was = f"; {percent(trial['chance_before'])} without the change" if trial["change"] else ""
        lines.append(f"{of} {whole}{was}; {behind(trial['plates'], prior=trial['mostly_prior'])}.")
    else:
        lines.append(f"From {behind(trial['plates'], prior=trial['mostly_prior'])}.")
    lines.append(trial["teaches"])
    if trial["explores"]:
        lines.append("This is a trial: not on a plate that is promised.")
    return lines


def print_need(need: Mapping[str, Any], console: Console) -> None:
    """Print how many plates to begin, on which days, and what they take."""
    say(console, need["words"], "bold")
    if need["days"]:
        table = plain_table("Day", "plates")
        for day, plates in _grouped(need["days"]):
            table.add_row(day, plates)
        console.print(table)
    cost = need["cost"]
    table = plain_table(
        "What it takes", "if all are made", "on average, ending with the last good one"
    )
    for what, key, unit in (
        ("plates", "plates", ""),
        ("hands", "hours", "h"),
        ("silver", "silver_g", "g"),
        ("gold", "gold_mg", "mg"),
        ("money", "money", "EUR"),
    ):
        whole = float(need["start"]) if key == "plates" else cost[key]
        mean = number(cost[f"expected_{key}"], unit)
        if key == "plates":
            low, high = cost["plates_low"], cost["plates_high"]
            mean = f"{cost['expected_plates']:.0f} ({low:.0f}–{high:.0f})"
        table.add_row(what, number(whole, unit), mean)
    console.print(table)
    say_notes(console, need["notes"])
    say(console, "Prices and amounts are the trade's starting values; put in what you pay.")


def _grouped(days: Sequence[Mapping[str, Any]]) -> list[tuple[str, str]]:
    """Return days in runs of the same number of plates."""
    rows: list[list[Any]] = []
    for row in days:
        near = rows and (row["date"] - rows[-1][1]).days == 1 and rows[-1][2] == row["plates"]
        if near:
            rows[-1][1] = row["date"]
        else:
            rows.append([row["date"], row["date"], row["plates"]])
    return [
        (
            f"{first:%a %Y-%m-%d}" if first == last else f"{first:%Y-%m-%d} to {last:%Y-%m-%d}",
            f"{plates}" if first == last else f"{plates} a day",
        )
        for first, last, plates in rows
    ]


NAMES = {
    "plate_speed": "plate speed",
    "half_latitude": "half latitude of the exposure",
    "plate_noise": "spread from plate to plate",
    "box_factor": "box factor",
    "development_dose": "development dose",
    "offset": "light of its own kind",
}


def name_of(row: Mapping[str, Any]) -> str:
    """Return a learned number's name, with what it belongs to."""
    name = NAMES.get(row["what"], row["what"].replace("_", " "))
    return f"{name}: {row['of']}" if row["of"] else name


def print_learned(
    learned: Mapping[str, Any], console: Console, *, all_of_them: bool = False
) -> None:
    """Print what was learned, each beside what was believed before.

    Parameters
    ----------
    learned : Mapping
        Of `argentry.desk.learning.causes.learned`.
    console : Console
        Where to print.
    all_of_them : bool
        True for every condition; else those that tell most.
    """
    from rich.markup import escape

    odds, running = learned["odds"], learned["running"]
    say(
        console,
        f"A usual plate: {share(odds)} good; {behind(odds['plates'], prior=odds['mostly_prior'])}.",
        "bold",
    )
    say(console, f"{learned['good']} of {learned['plates']} plates came out good.")
    say(console, odds["reason"])
    if running["plates"]:
        say(
            console,
            f"Foretold plate by plate, mean log score {running['log_score']:.3f} against "
            f"{running['base_log_score']:.3f} of the share of good plates (nearer 0 is better; "
            f"{behind(running['plates'])}).",
        )
    table = plain_table("Stage", "comes out sound", "0 to 100 %", "plates", "believed before")
    for row in learned["stages"]:
        table.add_row(
            row["stage"],
            share(row),
            bar(row["low"], row["probability"], row["high"], 15),
            f"{row['plates']:.0f}",
            share(row, "believed"),
        )
    for column in table.columns:
        column.no_wrap = True
    console.print(table)
    if learned["numbers"]:
        table = plain_table(
            "Number for the day plan", "learned", "plates", "last", "believed before"
        )
        for row in learned["numbers"]:
            table.add_row(
                escape(name_of(row)),
                span(row, unit=_unit(row["unit"])),
                f"{row['plates']}{', mostly belief' if row['mostly_prior'] else ''}",
                f"{row['day'] or '–'}",
                span(row, "believed"),
            )
        console.print(table)
    _print_effects(learned["effects"], console, all_of_them=all_of_them)
    say_notes(console, learned["notes"])


def telling(effects: Sequence[Mapping[str, Any]], most: int = 12) -> list[Mapping[str, Any]]:
    """Return the conditions that tell most: the largest effects for their doubt."""
    read = [row for row in effects if row["plates"]]
    strength = [abs(row["effect"]) / max(row["high"] - row["low"], 0.2) for row in read]
    order = sorted(range(len(read)), key=lambda at: -strength[at])
    return [read[at] for at in order[:most]]


def _print_effects(
    effects: Sequence[Mapping[str, Any]], console: Console, *, all_of_them: bool
) -> None:
    from rich.markup import escape

    told = [row for row in effects if row["plates"]] if all_of_them else telling(effects)
    if not told:
        return
    table = plain_table("Condition", "effect on its stage", "believed", "best", "plates")
    for row in told:
        table.add_row(
            escape(f"{row['title']} ({row['stage']})"),
            span(row, "effect"),
            span(row, "believed"),
            span(row, "best", row["unit"]) if row["best"] is not None else "–",
            f"{row['plates']:.0f}",
        )
    console.print(table)
    left = sum(1 for row in effects if row["plates"]) - len(told)
    say(
        console,
        "Effect: what one width of the condition does to the probit of its stage coming out ok "
        "(-0.5 takes 70 % to 51 %); for one with a best value, the fall one width off it."
        + (f" {left} more tell little: --all." if left else ""),
    )


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit
