"""The next trial, a batch and all that was learned, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.needs.doubt.percent import percent
from argentry.out.learning.shared import adopted_lines, print_adopted
from argentry.out.learning.words import (
    bar,
    becomes,
    behind,
    number,
    plain_table,
    say,
    say_notes,
    share,
    span,
    whole_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from rich.console import Console

    from argentry.desk.learning.batch import Batch
    from argentry.desk.learning.causes import AllLearned
    from argentry.desk.learning.next_trial import NextPlate
    from argentry.records.decision import Learned, PlatesOnDay
    from argentry.records.learned import Effect

NO_CHANGE = "Change nothing on the next plate."
NO_OTHER = "Expose the next plate by the day plan, and change nothing else."
STRIPS = "Expose strips on one plate: {steps} {unit}."
EXPOSE = "Expose {to:+.2f} {unit}."
CHANGE = "Change only this: {t.title} from {t.from_:g} to {t.to:g} {t.unit}."
CHANCE_OK = "Chance that the {stage} comes out sound: {share}; {behind}."
CHANCE_RIGHT = "Chance that the {stage} comes out right: {share}; {behind}."
CHANCE_CHANGED = (
    "Chance that the {stage} comes out sound: {share}; {before} as you work now; {behind}."
)
CHANCE_EXPOSED = (
    "Chance that the {stage} comes out right: {share}; {before} as you work now; {behind}."
)
FROM = "From {behind}."
NONE_JUDGED = "No exposure is judged yet: only starting assumptions."
A_TRIAL = "This is a trial: not on a plate that is promised."
PRICES = "Amounts are the trade's starting values; so are prices that studio.toml does not say."
OF_MANY = (
    "That is the share among many plates; the chance of a single plate (argentry learn show, "
    "argentry day) is less sure, and its range is wider."
)
ONE_DAY, DAYS, A_DAY = (
    "{first:%a %Y-%m-%d}",
    "{first:%Y-%m-%d} to {last:%Y-%m-%d}",
    "{plates} a day",
)
USUAL = "Chance of a good plate, for an average plate: {share}; {behind}."
CAME_OUT = "{good} of {plates} plates came out good."
AS_MADE = (
    "{good} of {plates} plates came out good ({share}), each under its own conditions. Those of an "
    "average plate are not known yet, so its range spans what plates differ by here."
)
NONE_GRADED = "No plate is graded yet."
BETTER = "Plate by plate, these odds predicted better than the share of good plates ({behind})."
NOT_YET = (
    "Plate by plate, the conditions do not yet predict better than the share of good plates "
    "({behind})."
)
LAST, MOSTLY_ASSUMED = "last {day}", "mostly starting assumptions"
EFFECT = (
    "Where a typical change in the condition takes a stage that is sound on 70 % of plates; for a "
    "condition with a best value, where being a typical amount away from it does."
)
MORE = "{count} more have little effect: --all shows them."


def print_next(trial: NextPlate, console: Console) -> None:
    """Print what to change on the next plate, and what it would teach."""
    head, *lines = next_lines(trial)
    say(console, head, "bold")
    for line in lines:
        say(console, line)
    say_notes(console, trial.notes)


def next_lines(trial: NextPlate) -> list[str]:
    """Return the next trial in sentences; the first says what to do."""
    if not trial.change:
        head = NO_CHANGE if trial.exposed_off_stops is None else NO_OTHER
    elif trial.steps:
        strips = ", ".join(f"{step:+.2f}" if round(step, 2) else "0" for step in trial.steps)
        head = STRIPS.format(steps=strips, unit=trial.unit)
    elif trial.change == "exposure":
        head = EXPOSE.format(to=trial.to, unit=trial.unit)
    else:
        head = CHANGE.format(t=trial)
    sure = behind(trial.plates, prior=trial.mostly_prior)
    if trial.steps:
        chance = FROM.format(behind=sure) if trial.plates else NONE_JUDGED
    else:
        shown = trial.stage == "exposure"
        if trial.change:
            words = CHANCE_EXPOSED if shown else CHANCE_CHANGED
        else:
            words = CHANCE_RIGHT if shown else CHANCE_OK
        chance = words.format(
            stage=trial.stage or "plate",
            share=share(trial, "chance"),
            before=percent(trial.chance_before),
            behind=sure,
        )
    lines = [head, trial.reason, chance, trial.teaches]
    return [*lines, A_TRIAL] if trial.explores else lines


def print_need(need: Batch, console: Console) -> None:
    """Print how many plates to begin, on which days, and what they take."""
    say(console, need.words, "bold")
    say(console, OF_MANY)
    if need.days:
        table = plain_table("Day, where it has light", "plates")
        for day, plates in _grouped(need.days):
            table.add_row(day, plates)
        console.print(table)
    cost = need.cost
    table = plain_table(
        "What it takes", "if all are made", "on average, ending with the last good one"
    )
    low, high = cost.plates_low, cost.plates_high
    begun = f"{cost.expected_plates:.0f} ({low:.0f}–{high:.0f})"
    table.add_row("plates", number(float(need.start)), begun)
    for what, whole, mean, unit in (
        ("hands", cost.hours, cost.expected_hours, "h"),
        ("silver", cost.silver_g, cost.expected_silver_g, "g"),
        ("gold", cost.gold_mg, cost.expected_gold_mg, "mg"),
        ("money", cost.money, cost.expected_money, need.currency),
    ):
        table.add_row(what, number(whole, unit), number(mean, unit))
    console.print(table)
    say_notes(console, need.notes)
    say(console, PRICES)


def _grouped(days: Sequence[PlatesOnDay]) -> Iterator[tuple[str, str]]:
    """Yield days in runs of the same number of plates."""
    rows: list[tuple[date, date, int]] = []
    for row in days:
        if rows and (row.date - rows[-1][1]).days == 1 and rows[-1][2] == row.plates:
            rows[-1] = (rows[-1][0], row.date, row.plates)
        else:
            rows.append((row.date, row.date, row.plates))
    for first, last, plates in rows:
        if first == last:
            yield ONE_DAY.format(first=first), f"{plates}"
        else:
            yield DAYS.format(first=first, last=last), A_DAY.format(plates=plates)


NAMES = {
    "plate_speed": "plate speed",
    "half_latitude": "half latitude of the exposure",
    "plate_noise": "spread from plate to plate",
    "speed_drift": "wandering of the speed between sessions",
    "scatter": "how far plates strayed, against expected",
    "box_factor": "box factor",
    "development_dose": "development dose",
    "veil_ratio": "veil, over the ripe dose",
    "offset": "light of its own kind",
}


def name_of(row: Learned) -> str:
    """Return a learned number's name, with what it belongs to."""
    name = NAMES.get(row.what, row.what.replace("_", " "))
    return f"{name}: {row.of}" if row.of else name


def came_out(learned: AllLearned) -> str:
    """Return how many plates came out good, and why that is not the chance of an average plate."""
    if not learned.plates:
        return NONE_GRADED
    said = AS_MADE if learned.odds.model_used else CAME_OUT
    of_all = percent(learned.good / learned.plates)
    return said.format(good=learned.good, plates=learned.plates, share=of_all)


def print_learned(learned: AllLearned, console: Console, *, all_of_them: bool = False) -> None:
    """Print what was learned, each next to what was assumed before.

    Parameters
    ----------
    learned : AllLearned
        What was learned.
    console : Console
        Where to print.
    all_of_them : bool
        True for every condition; else those that tell most.
    """
    from rich.markup import escape

    odds, running = learned.odds, learned.running
    sure = behind(odds.plates, prior=odds.mostly_prior)
    say(console, USUAL.format(share=share(odds), behind=sure), "bold")
    say(console, came_out(learned))
    say(console, odds.reason)
    if running.plates and all_of_them:
        say(
            console,
            (BETTER if running.model_wins else NOT_YET).format(behind=behind(running.plates)),
        )
    table = plain_table("Stage", "comes out sound", "0 to 100 %", "plates", "assumed before")
    for row in learned.stages:
        table.add_row(
            row.stage,
            share(row),
            bar(row.low, row.probability, row.high, 15),
            f"{row.plates:.0f}",
            share(row, "believed"),
        )
    for column in table.columns:
        column.no_wrap = True
    console.print(table)
    if learned.numbers:
        table = plain_table("Number for the day plan", "learned", "plates", "assumed before")
        for one in learned.numbers:
            table.add_row(
                escape(name_of(one)),
                span(one, unit=_unit(one.unit)),
                _plates_behind(one),
                span(one, "believed"),
            )
        console.print(whole_words(table))
    _print_effects(learned.effects, console, all_of_them=all_of_them)
    if all_of_them:
        print_adopted(learned.adopted, console)
    else:
        for line in adopted_lines(learned.adopted):
            say(console, line)
    say_notes(console, learned.notes)


def _plates_behind(one: Learned) -> str:
    """Return how many plates a number is learned from, and the day of the last."""
    parts = [f"{one.plates}"]
    if one.day is not None:
        parts.append(LAST.format(day=one.day))
    if one.mostly_prior:
        parts.append(MOSTLY_ASSUMED)
    return ", ".join(parts)


def telling(effects: Sequence[Effect], most: int = 12) -> list[Effect]:
    """Return the conditions that tell most: the largest effects for their doubt."""
    read = [row for row in effects if row.plates]
    return sorted(read, key=lambda row: -abs(row.effect) / max(row.high - row.low, 0.2))[:most]


def _print_effects(effects: Sequence[Effect], console: Console, *, all_of_them: bool) -> None:
    from rich.markup import escape

    told = [row for row in effects if row.plates] if all_of_them else telling(effects)
    if not told:
        return
    table = plain_table("Condition", "takes 70 % to", "assumed before", "best", "plates")
    for row in told:
        table.add_row(
            escape(f"{row.title} ({row.stage})"),
            becomes(row),
            becomes(row, "believed"),
            span(row, "best", row.unit) if row.best is not None else "–",
            f"{row.plates:.0f}",
        )
    console.print(table)
    left = sum(1 for row in effects if row.plates) - len(told)
    say(console, f"{EFFECT} {MORE.format(count=left)}" if left else EFFECT)


def _unit(unit: str) -> str:
    return "" if unit == "1" else unit
