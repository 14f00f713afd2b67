"""What was learned, for a terminal: every figure with its range and the plates behind it."""

from __future__ import annotations

from decimal import Decimal
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from argentry.needs.doubt.percent import percent, percent_range
from argentry.out.wording import plates as count_of
from argentry.out.wording import ranged, shown_unit
from argentry.records.day import Range
from argentry.records.decision import ADVICE
from argentry.trade.defects import defect_look

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console
    from rich.table import Table

    from argentry.desk.learning.causes import WhyPlate, WhyStudio
    from argentry.desk.learning.comparison import Comparison, PairsMade
    from argentry.desk.learning.odds import PlateOdds
    from argentry.records.decision import Option

NORMAL = NormalDist()
AT_70 = NORMAL.inv_cdf(0.7)
BAR = 21  # characters of a range bar
NO_PLATE = "no plate yet: only starting assumptions"
NO_OTHER = "no other plate yet: only starting assumptions"
MOST_CAUSES = 12
MOSTLY = "{plates}, mostly starting assumptions"
PLATE, PLATE_AFTER = "Plate {plate}", "Plate {plate} after the {stage}"
GOOD = "Chance of a good plate: {share}; {behind}"
# z: what rounds to nothing has no sign
WORTH = (
    "{o.worth:z.2f} more good plates today than the next best ({o.worth_low:z.2f} to "
    "{o.worth_high:z.2f})"
)
RANGES = "Ranges hold four cases in five. The advice is yours to overrule."
RANGES_ALONE = "Ranges hold four cases in five."
HAPPENED: dict[str | None, str] = {"ok": "sound", "fault": "fault"}
SEEN_TO_BE = {"ok": "seen: sound", "fault": "seen: fault"}
TOLD, PREDICTED = "told then", "predicted"
NOT_NOTED, ENDED, BY_CHECK = "not noted", "end", "check {check}"
KNOWN, CHECKED, DONE = "{known} of {all}", "{known}, check {check}", "{stage}, done"
NEVER_PROMISED = "Never on plates that are promised. Ranges hold four cases in five."
ONE_PAIR, PAIRS = "1 pair", "{count} pairs"
COMPARE = "Compare {title} {old} and {new} in {pairs} of plates."
ALIKE = "Both plates of a pair in one session, in the order below, everything else alike."
BELIEVED = (
    "Chance of a good plate, as estimated now: {with_old} with {old}, {with_new} with {new}; "
    "{behind}. Chance that {new} is better: {better}."
)
DECIDES = "Chance that {pairs} decide for the better one: {chance}; decided means {certainty} sure."
NO_PAIRS = "There are no two plates of one session yet, one with each setting."
SO_FAR = (
    "So far {pairs}: {new} alone came out good in {made.won}, {old} alone in {made.lost}, alike in "
    "{made.alike}."
)
DECIDED = "Decided: {better} is better, {sure} sure."
OPEN = (
    "Not decided: the chance that {new} is better is {better}; it wins {share} of the pairs that "
    "differ."
)
MADE, SEEN = "made {day}", "Seen: {defects}"
ONLY_COMMON = "only by how common it is"
CHECK_OWN = "check: {check}"
CHECK, CHECK_FIRST = (
    "check, {minutes:.0f} min: {check}",
    "check, {minutes:.0f} min; make this check first: {check}",
)
ACCIDENT = "An accident that nothing points to: {chance}."
MATTERS = "chance it matters: {share}; plates: {plates:.0f}. {words}"
EXPLAINS = "Share of the failures each explains; ● may be named as a cause."
MORE = "{count} more explain less; see them with --json."
EVERY = "{days:.0f} days"
FROM = (
    "From {behind} of {why.source}, {why.failures} of which failed. Ranges hold four cases in five."
)
FROM_NONE = "No plate of {why.source} is graded yet: only starting assumptions."


def share(row: Any, key: str = "probability") -> str:
    """Return a share with its 80 % range: ``47 % (41–53)``."""
    low_key, high_key = ("low", "high") if key == "probability" else (f"{key}_low", f"{key}_high")
    return percent_range(Range(*(float(getattr(row, one)) for one in (low_key, key, high_key))))


def behind(plates: float, *, prior: bool = False) -> str:
    """Return how many plates stand behind a figure."""
    if plates < 0.5:
        return NO_PLATE
    count = count_of(round(plates))
    return MOSTLY.format(plates=count) if prior else count


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


def span(row: Any, key: str = "value", unit: str = "") -> str:
    """Return a number of a row with its 80 % range and unit: ``1.215 (1.193–1.237)``."""
    low, high = ("low", "high") if key == "value" else (f"{key}_low", f"{key}_high")
    middle = getattr(row, key)
    return "–" if middle is None else ranged(middle, getattr(row, low), getattr(row, high), unit)


def becomes(row: Any, key: str = "effect") -> str:
    """Return what a stage that is sound on 70 % of plates becomes: ``51 % (38–62)``."""
    ends = ("low", "high") if key == "effect" else (f"{key}_low", f"{key}_high")
    low, middle, high = (NORMAL.cdf(AT_70 + getattr(row, k)) for k in (ends[0], key, ends[1]))
    return percent_range(Range(low, middle, high))


def plain_table(*heads: str) -> Table:
    """Return an empty table with hairlines and these heads."""
    from rich.box import SIMPLE
    from rich.table import Table

    table = Table(box=SIMPLE, pad_edge=False)
    for head in heads:
        table.add_column(head, overflow="fold")
    return table


def whole_words(table: Table) -> Table:
    """Return the table with columns wide enough that no word or number of it is broken."""
    for column in table.columns:
        told = (str(column.header), *map(str, column.cells))
        column.min_width = max(len(word) for one in told for word in one.split())
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


def print_odds(odds: PlateOdds, console: Console) -> None:
    """Print the odds of a plate and what to do with it."""
    say(console, (PLATE_AFTER if odds.stage else PLATE).format(plate=odds.plate, stage=odds.stage))
    say(console, "")
    sure = behind(odds.plates, prior=odds.mostly_prior)
    if odds.looked_back and sure == NO_PLATE:
        sure = NO_OTHER
    say(console, GOOD.format(share=share(odds), behind=sure), "bold")
    say(console, odds.reason)
    say(console, "")
    if odds.looked_back:
        _print_look_back(odds, console)
        say_notes(console, odds.notes)
        say(console, RANGES_ALONE)
        return
    say(console, f"{ADVICE[odds.advice].upper()}: {odds.words}", "bold")
    if odds.options:
        say(console, WORTH.format(o=odds))
    say(console, odds.rule)
    _print_stages(odds, console)
    _print_options(odds.options, console)
    say_notes(console, odds.notes)
    say(console, RANGES)


def _print_look_back(odds: PlateOdds, console: Console) -> None:
    """Print what was to be told at each checkpoint, and what happened."""
    table = plain_table("After the", "chance of a good plate", "", "happened")
    for row in odds.looked_back:
        known = TOLD if row.told else PREDICTED
        unseen = BY_CHECK.format(check=row.check) if row.check else NOT_NOTED
        table.add_row(row.stage, share(row), known, HAPPENED.get(row.happened, unseen))
    table.add_row(ENDED, "", "", odds.grade or "")
    console.print(table)


def _print_stages(odds: PlateOdds, console: Console) -> None:
    table = plain_table("Stage", "comes out sound", "0 to 100 %", "plates", "known")
    for row in odds.stages:
        known = KNOWN.format(known=len(row.known), all=len(row.known) + len(row.unknown))
        said = CHECKED.format(known=known, check=row.check) if row.check else known
        table.add_row(
            DONE.format(stage=row.stage) if row.done else row.stage,
            share(row) if row.came is None else SEEN_TO_BE[row.came],
            bar(row.low, row.probability, row.high) if row.came is None else "",
            f"{row.plates:.0f}" if row.came is None else "",
            said,
        )
    for column in table.columns[:4]:
        column.no_wrap = True
    console.print(table)


def _print_options(options: Sequence[Option], console: Console) -> None:
    if not options:
        return
    table = plain_table("What can be done", "minutes", "good plates by the day's end")
    for row in options:
        worth = f"{row.worth:.2f} ({row.low:.2f}–{row.high:.2f})"
        table.add_row(row.words, f"{row.minutes:.0f}", worth)
    console.print(table)


def print_compare(told: Comparison, console: Console) -> None:
    """Print a planned comparison: its plates, its chance to decide, what pairs say so far."""
    head, *lines = compare_lines(told)
    say(console, head, "bold")
    for line in lines:
        say(console, line)
    unit = told.unit
    table = plain_table("Pair", "first plate", "second plate")
    for pair in range(1, told.pairs + 1):
        mine = sorted((one.order, one.to) for one in told.plan if one.pair == pair)
        table.add_row(f"{pair}", *(f"{to:g} {shown_unit(unit)}".strip() for _, to in mine))
    console.print(table)
    say_notes(console, told.notes)
    say(console, NEVER_PROMISED)


def compare_lines(told: Comparison) -> list[str]:
    """Return a planned comparison in sentences; the first says what to do."""
    unit = f" {shown_unit(told.unit)}".rstrip()  # with each: a unit may be the studio's own
    old, new = f"{told.old:g}{unit}", f"{told.new:g}{unit}"
    count = _pairs(told.pairs)
    return [
        COMPARE.format(title=told.title, old=old, new=new, pairs=count),
        ALIKE,
        BELIEVED.format(
            with_old=share(told, "chance_old"),
            old=old,
            with_new=share(told, "chance_new"),
            new=new,
            behind=behind(told.plates, prior=told.mostly_prior),
            better=percent(told.better, 1),
        ),
        DECIDES.format(
            pairs=count, chance=share(told, "decides"), certainty=percent(told.certainty)
        ),
        _pairs_so_far(told.made, old, new),
    ]


def _pairs(count: int) -> str:
    return (ONE_PAIR if count == 1 else PAIRS).format(count=count)


def _pairs_so_far(made: PairsMade, old: str, new: str) -> str:
    """Return what the pairs say that there are already, one sentence or two."""
    if not made.pairs:
        return NO_PAIRS
    said = SO_FAR.format(pairs=_pairs(made.pairs), new=new, old=old, made=made)
    if made.decided:
        sure = percent(max(made.better, 1.0 - made.better), 1)
        return f"{said} {DECIDED.format(better=new if made.better > 0.5 else old, sure=sure)}"
    better = percent(made.better, 1)
    return f"{said} {OPEN.format(new=new, better=better, share=share(made, 'share'))}"


def print_why_plate(why: WhyPlate, console: Console) -> None:
    """Print what most likely went wrong with one plate."""
    from rich.markup import escape

    head = [PLATE.format(plate=why.plate), *([MADE.format(day=why.day)] if why.day else [])]
    say(console, ", ".join([*head, *([why.grade] if why.grade else [])]))
    seen = ", ".join(f"{defect_look(key)} ({origin})" for key, origin in why.defects)
    if seen:
        say(console, SEEN.format(defects=seen))
    say(console, "")
    say(console, why.words, "bold")
    if why.causes:
        table = _blocks()
        for row in why.causes:
            check = CHECK_FIRST if row.cause == why.next_check else CHECK
            check = check if row.check_minutes else CHECK_OWN
            table.add_row(
                f"{share(row)}\n{bar(row.low, row.probability, row.high, 15)}",
                "[bold]{title}[/bold] ({stage})\n".format(title=escape(row.title), stage=row.stage)
                + escape("; ".join(row.because) or ONLY_COMMON)
                + "\n"
                + escape(check.format(minutes=row.check_minutes, check=row.check)),
            )
        console.print(table)
        say(console, accident(why))
    _foot(why, console)


def accident(why: WhyPlate) -> str:
    """Return the sentence on what no cause explains, the same on the screen, the page and paper."""
    return ACCIDENT.format(chance=percent(why.chance))


def print_why_studio(why: WhyStudio, console: Console) -> None:
    """Print what explains the failures over all plates, and what drifts."""
    from rich.markup import escape

    say(console, why.words, "bold")
    told = [row for row in why.causes if row.probability >= 0.02 or row.named]
    if told:
        table = _blocks()
        for row in told[:MOST_CAUSES]:
            mark = "● " if row.named else ""
            check = CHECK.format(minutes=row.check_minutes, check=row.check) if row.check else ""
            matters = MATTERS.format(share=share(row), plates=row.plates, words=row.words)
            lines = [
                "[bold]{mark}{title}[/bold] ({stage})".format(
                    mark=mark, title=escape(row.title), stage=row.stage
                ),
                escape(matters),
                escape(check),
            ]
            table.add_row(
                f"{share(row, 'share')}\n" + bar(row.share_low, row.share, row.share_high, 15),
                "\n".join(line for line in lines if line),
            )
        say(console, EXPLAINS)
        console.print(table)
        if len(told) > MOST_CAUSES:
            say(console, MORE.format(count=len(told) - MOST_CAUSES))
    if why.charts:
        table = plain_table("Drift of", "", "days read", "false alarm every")
        for chart in why.charts:
            every = EVERY.format(days=chart.false_alarm_every) if chart.enough else "–"
            table.add_row(escape(chart.title), chart.words, f"{len(chart.days)}", every)
        console.print(table)
    _foot(why, console)


def _foot(why: WhyPlate | WhyStudio, console: Console) -> None:
    said = FROM if why.plates else FROM_NONE
    say(console, said.format(behind=behind(why.plates), why=why))
    say_notes(console, why.notes)
