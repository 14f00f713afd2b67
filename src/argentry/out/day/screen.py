"""The day on one screen: the answer, the band, the rows in order of time, where the rest is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.text import Text

from argentry.out.day import answer
from argentry.out.day.band_text import band
from argentry.out.day.rows import rows, wait_rules
from argentry.records.day import weekday_and_date

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from argentry.out.day.rows import Row
    from argentry.records.day import DayPlan

LINES = 40  # of a screen: warnings take what the plan leaves of it, and at least
WARNING_LINES = 5
CLOSE_ABOVE = 18  # rows before they are set in two columns
WIDE = 96  # columns of a terminal from which the range of each start has room
GAP = "  "

ODDS = "odds: {odds}"
COLUMNS = {"start": "start", "range": "80 %", "latest": "at the latest", "plate": "plate"}
HANDS = "hands; then the wait (80 % of days)"
CLOSE = "start, plate, hands; at the latest (ranges hold 80 % of days)"
BY = "; by {latest}"
WAITS = "waits: {rules}"
REST = "Hours, each step, cautions, materials and proof: --full; on paper: --pdf FILE"
REST_WARNINGS = "{more}, hours, each step, cautions, materials and proof: --full; paper: --pdf FILE"
ONE_MORE, MORE = "1 more note", "{notes} more notes"


def screen(plan: DayPlan, console: Console, *, plain: bool, full: bool) -> list[Text]:
    """Return the lines of a day's first screen.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    console : rich.console.Console
        For its width.
    plain : bool
        True for ASCII marks in the band.
    full : bool
        True for every warning, however many lines they take.

    Returns
    -------
    list of rich.text.Text
        None wider than the terminal: 40 for three plates on 100 columns.
    """
    head = [line for words in _head(plan) for line in _wrapped(words, console)]
    below: list[Text] = []
    if plan.steps:
        pieces = rows(plan)
        below += [] if len(pieces) > CLOSE_ABOVE else [Text()]
        below += (Text(line) for line in band(plan, console.width, plain=plain))
        below += _rows(pieces, console)
        rules = "; ".join(wait_rules(plan))
        if rules:
            below += _wrapped(Text(WAITS.format(rules=rules)), console, indent=7)
    notes = answer.notes(plan)
    room = max(WARNING_LINES, LINES - 1 - len(head) - len(below))
    loud: list[Text] = []
    left = 0
    for number, note in enumerate(notes):
        told = _wrapped(Text(f"! {note}", style="bold red"), console, indent=2)
        if not full and loud and len(loud) + len(told) > room:
            left = len(notes) - number
            break
        loud += told
    rest = []
    if not full:
        more = ONE_MORE if left == 1 else MORE.format(notes=left)
        words = REST_WARNINGS.format(more=more) if left else REST
        rest = _wrapped(Text(words, style="dim"), console)
    return [*head, *loud, *below, *rest]


def _head(plan: DayPlan) -> Iterator[Text]:
    mark = Text("  INVENTED", style="bold") if plan.invented else Text("")
    day = weekday_and_date(plan.date)
    yield Text(f"{day} · {plan.studio} · {plan.place}") + mark
    sun = "{plan} · times of {tzinfo}".format(plan=answer.sun_line(plan), tzinfo=plan.time_zone)
    yield Text(sun, style="dim")
    yield Text(answer.headline(plan), style="bold")
    yield Text(ODDS.format(odds="; ".join(answer.odds_words(plan))))
    for line in answer.of_this_day(plan):
        yield Text(line)
    if plan.weather_origin is not None:  # the licence asks to be shown with the data
        yield Text(answer.weather_line(plan), style="dim")


def _wrapped(words: Text, console: Console, indent: int = 0) -> list[Text]:
    """Return words in lines of the terminal's width, all but the first indented."""
    first, *rest = words.wrap(console, console.width - indent)
    return [first, *(Text(" " * indent) + line for line in rest)]


def _rows(pieces: tuple[Row, ...], console: Console) -> list[Text]:
    if len(pieces) > CLOSE_ABOVE:
        close = _in_two_columns(pieces, console.width)
        if close:
            return [Text(CLOSE, style="italic"), *close]
    shown = [name for name in COLUMNS if name != "range" or console.width >= WIDE]
    told = [[COLUMNS[name] for name in shown]]
    told += [[getattr(piece, name) for name in shown] for piece in pieces]
    words = [HANDS]
    words += [
        f"{_with_length(piece)}; {piece.wait}" if piece.wait else _with_length(piece)
        for piece in pieces
    ]
    widths = [max(map(cell_len, column)) for column in zip(*told, strict=True)]
    indent = sum(widths) + len(GAP) * len(widths)
    lines = []
    for cells, what in zip(told, words, strict=True):
        padded = [
            word + " " * (wide - cell_len(word)) for word, wide in zip(cells, widths, strict=True)
        ]
        line = Text.assemble((padded[0], "bold"), GAP, GAP.join(padded[1:]), GAP)
        first, *more = Text(what).wrap(console, console.width - indent)
        lines += [line + first, *(Text(" " * indent) + one for one in more)]
    lines[0].stylize("italic not bold")
    return lines


def _with_length(piece: Row) -> str:
    return f"{piece.what}, {piece.length}" if piece.length else piece.what


def _in_two_columns(pieces: tuple[Row, ...], width: int) -> list[Text]:
    """Return rows side by side, read down each column; nothing where one is too long for that."""
    each = (width - len(GAP)) // 2
    words = [
        (piece.start, f"{GAP}{piece.plate:>2}{GAP}{piece.what}{_by(piece.latest)}")
        for piece in pieces
    ]
    if max(sum(map(cell_len, parts)) for parts in words) > each:
        return []
    half = -(-len(words) // 2)
    cells = [Text.assemble((start, "bold"), what) for start, what in words]
    left, right = cells[:half], [*cells[half:], Text()][:half]
    for cell, other in zip(left, right, strict=True):
        if other:
            cell.pad_right(each + len(GAP) - cell.cell_len)
    return [cell + other for cell, other in zip(left, right, strict=True)]


def _by(latest: str) -> str:
    if not latest:
        return ""
    return BY.format(latest=latest) if latest[0].isdigit() else f"; {latest}"
