"""A look at the coat from the bench: the picture is kept, read, and answered in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.book.log import events
from argentry.book.pictures.kept import picture_file
from argentry.book.runs.fold import fold
from argentry.desk.plates.pictures import keep_picture
from argentry.desk.seeing.coat import LONGEST_S, AskedCoat, judge_coat
from argentry.desk.seeing.kept import keep_judged
from argentry.errors import BadInput

if TYPE_CHECKING:
    from datetime import datetime

    from argentry.book.engine import Book
    from argentry.book.pictures.kept import Incoming
    from argentry.records.answers.coat_seen import CoatSeen
    from argentry.records.needs import StudioNow
    from argentry.records.run import RunState

FUMING = "fuming"


def look_at_coat(
    book: Book,
    now: StudioNow,
    run: str,
    plate: str,
    came: Incoming,
    at: datetime,
    *,
    named: str = "",
    light: str | None = None,
    bare: str | None = None,
) -> CoatSeen:
    """Keep a picture of the coat of a plate on the bench, and return what it says.

    Parameters
    ----------
    book : Book
        With a folder.
    now : StudioNow
        The studio as its plates have taught it.
    run, plate : str
        Ids.
    came : Incoming
        The picture.
    at : datetime
        The house's time, UTC.
    named : str
        The file's own name.
    light, bare : str or None
        What the maker said of the light and the bare edge.

    Raises
    ------
    BadInput
        If the run has no such plate, or the picture cannot be used.
    """
    state = fold(events(book, run), now=at)
    own = next((one for one in state.plates if one.id == plate), None)
    if own is None:
        raise BadInput("plate", "this run has no such plate", "look at one that it has")
    said = {key: value for key, value in (("light", light), ("bare", bare)) if value}
    made = keep_picture(book, came, own.label, at, kind="coat", named=named, said=said)
    laws = {step.key: step.law for step in state.steps}
    over = sum(step.elapsed_s for step in own.steps if laws.get(step.key) == FUMING)
    asked = AskedCoat(light, bare, seconds=min(over, LONGEST_S) or None, box_c=_box_c(state))
    file = picture_file(book, made.picture.sha256)
    seen = judge_coat(file, named or file.name, made.picture.sha256, asked, now)
    keep_judged(book, plate, seen, at)
    return seen


def _box_c(state: RunState) -> float | None:
    return next((one.value for one in reversed(state.readings) if one.what == "box_c"), None)
