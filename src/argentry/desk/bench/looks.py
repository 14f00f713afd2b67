"""Looks from the bench, at a coat or a ripening plate: kept, read, and answered in one line."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from argentry.bench.reactions import light_constants, lights_found, waited_min
from argentry.bench.state_json import iso
from argentry.book.engine import Book
from argentry.book.log import events
from argentry.book.pictures.kept import Incoming, picture_file, pictures
from argentry.book.runs.corrections import read_moment
from argentry.book.runs.fold import fold
from argentry.desk.bench.run import readings_of
from argentry.desk.bench.standing import studio_of
from argentry.errors import BadInput
from argentry.keeping.plates.pictures import keep_picture
from argentry.keeping.seeing.coat import LONGEST_S, AskedCoat, judge_coat
from argentry.keeping.seeing.kept import keep_judged
from argentry.keeping.seeing.own_scale import scales_in_book
from argentry.keeping.seeing.ripening import AskedRipening, judge_ripening
from argentry.needs.red_light import light_behind
from argentry.records.answers.coat_seen import CoatSeen
from argentry.records.answers.ripening_seen import RipeningSeen
from argentry.records.needs import StudioNow
from argentry.records.run import PlateState, RunState
from argentry.trade.readings import LIGHT_LAWS, measured_for
from argentry.trade.steps import by_law

FUMING = "fuming"
MOST_LOOKS = 8  # of a plate that are read again at each new one: the first, the last, and between
SEEN_AT, NAMED = "seen_at", "the look at {:.0f} min"
NO_PLATE = ("plate", "this run has no such plate", "look at one that it has")
NOT_OUT = ("plate", "it does not lie under the filter", "look at one that develops")


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
    phone: str | None = None,
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
    light, bare, phone : str or None
        What the maker said of the light, the bare edge and, where the picture does not, the phone.

    Raises
    ------
    BadInput
        If the run has no such plate, or the picture cannot be used.
    """
    state = fold(events(book, run), now=at)
    own = _plate(state, plate)
    said = {
        key: value for key, value in (("light", light), ("bare", bare), ("phone", phone)) if value
    }
    made = keep_picture(book, came, own.label, at, kind="coat", named=named, said=said)
    laws = {step.key: step.law for step in state.steps}
    over = sum(step.elapsed_s for step in own.steps if laws.get(step.key) == FUMING)
    zone = {} if now.studio is None else {"zone": now.studio.site.time_zone}
    asked = AskedCoat(
        light, bare, seconds=min(over, LONGEST_S) or None, box_c=_box_c(state), phone=phone,
        own=scales_in_book(book, **zone),
    )  # fmt: skip
    file = picture_file(book, made.picture.sha256)
    seen = judge_coat(file, named or file.name, made.picture.sha256, asked, now)
    keep_judged(book, plate, seen, at)
    return seen


def look_at_ripening(
    book: Book,
    now: StudioNow,
    run: str,
    plate: str,
    came: Incoming,
    at: datetime,
    *,
    named: str = "",
    bare: str | None = None,
    age_s: float = 0.0,
) -> RipeningSeen:
    """Keep a picture of a plate that ripens, and return what it and those before it say.

    The light is the bench's own, with the readings of the run; nothing moves by itself.

    Parameters
    ----------
    book, now, run, plate, came, at, named
        As in `look_at_coat`.
    bare : str or None
        The plate's edge with bare silver.
    age_s : float
        How long ago it was taken, by the device's own steady clock. [s]

    Raises
    ------
    BadInput
        If that plate does not develop, or the picture cannot be used.
    """
    there = events(book, run)
    state = fold(there, now=at)
    own = _plate(state, plate)
    step = own.step(by_law("development").key)
    taken = at - timedelta(seconds=max(age_s, 0.0))
    if step.begun is None or taken < step.begun:
        raise BadInput(*NOT_OUT)
    said = {SEEN_AT: iso(taken)} | ({"bare": bare} if bare else {})
    made = keep_picture(book, came, own.label, at, kind="development", named=named, said=said)
    moments = {
        one.sha256: moment
        for one in pictures(book, plate)
        if (moment := read_moment(one.said.get(SEEN_AT))) is not None and step.begun <= moment
    }
    this = moments.setdefault(made.picture.sha256, taken)
    looks = sorted((moment, sha256) for sha256, moment in moments.items() if moment <= this)
    kept = np.linspace(0, len(looks) - 1, min(len(looks), MOST_LOOKS)).round().astype(int)
    chosen = [looks[k] for k in kept]
    assert now.studio is not None
    studio = studio_of(now.studio, state)
    lights = [one for one in readings_of(book, there, at) if one.what in measured_for(*LIGHT_LAWS)]
    light = light_behind(
        studio, step.begun, light_constants(state, own), lights_found(studio, state, own, lights),
        [(low, high or at) for low, high in own.stops],
    )  # fmt: skip
    minutes = tuple((moment - step.begun).total_seconds() / 60.0 for moment, _ in chosen)
    files = [
        (picture_file(book, sha), NAMED.format(m), sha)
        for m, (_, sha) in zip(minutes, chosen, strict=True)
    ]
    seen = judge_ripening(
        files, AskedRipening(bare, None, minutes), now.studio.habits, light,
        waited_min(own, step.begun),
    )  # fmt: skip
    keep_judged(book, plate, seen, at, "ripening")
    return seen


def _plate(state: RunState, plate: str) -> PlateState:
    own = next((one for one in state.plates if one.id == plate), None)
    if own is None:
        raise BadInput(*NO_PLATE)
    return own


def _box_c(state: RunState) -> float | None:
    return next((one.value for one in reversed(state.readings) if one.what == "box_c"), None)
