"""Baths follow the log: a plate has gone through the bath in use once the step at it has ended.

Whatever becomes of the run, what is booked for it is brought to what its events say: a step done
again books again, one that is undone, a plate or run that is withdrawn, takes back. What was booked
stays with its bath, whatever is mixed later. A plate that was noted by hand is not booked again.
Where a picture showed the coat of the plate, its thickness is noted of the bath as well, and so are
the clearing times that the bench was told.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING, Any, NamedTuple, TypeGuard

from sqlalchemy import func, or_, select

from argentry.book import tables
from argentry.book.engine import reading
from argentry.book.materials.bath_notes import COAT, TIMED
from argentry.book.materials.notes import notes_there, put_notes
from argentry.book.rows import add_rows
from argentry.book.runs.corrections import effective
from argentry.book.times import from_us, to_us
from argentry.records.material import BATH, BY_HAND, KIND, THROUGH, MaterialNote
from argentry.records.plate import WITHDRAWN
from argentry.records.studio import USUAL_SIZE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

    from sqlalchemy import Connection

    from argentry.book.engine import Book
    from argentry.records.event import Event
    from argentry.records.material import Bath
    from argentry.records.run import RunState

WHO = "bench"
TAKES_BACK = ("corrected", "plate_withdrawn", "run_withdrawn")  # what may undo a gilding
CLEARING = "clearing_s"


class InUse(NamedTuple):
    """A bath that the bench books into, within the transaction."""

    id: str
    kind: str
    mixed_at: datetime
    discarded_at: datetime | None
    volume_ml: float


class _Booked(NamedTuple):
    """What is booked into a bath for one plate of the run."""

    bath: str
    plates: int
    area_cm2: float


def follow_baths(connection: Connection, state: RunState, events: Sequence[Event]) -> None:
    """Bring what a run put through baths in line with its events."""
    from argentry.trade.recipes import FIX, uses

    kind_of = {step: use.kinds[0] for use in uses() for step in use.bench}
    if not any(event.step in kind_of or event.kind == "reading_taken" for event in events):
        return
    begun = min(event.at for event in events)
    baths, noted = in_use(connection, begun)
    if not baths:
        return
    kinds = {bath.id: bath.kind for bath in baths}
    by_hand = Counter(
        (note.value, kinds[note.of])
        for note in noted
        if note.of in kinds and note.what == BY_HAND and note.at >= begun
    )
    ends, last = _ends(state, events, kind_of)
    booked = _booked(connection, state.run, baths)
    areas = _areas(connection, {plate for plate, _ in last})
    held = _held(connection, baths)
    shown = _shown(events)
    wanted_notes = _timed(state.run, events, [one for one in baths if one.kind == FIX])
    rows: list[dict[str, Any]] = []
    for (plate, kind), at in last.items():
        own = [one for one in baths if one.kind == kind]
        there = [one for one in booked[plate] if one.bath in {bath.id for bath in own}]
        count = sum(one.plates for one in there)
        wanted = ends.get((plate, kind), [])[by_hand[plate, kind] :]
        who = {"who": THROUGH.format(run=state.run, plate=plate)}
        for end in wanted[count:]:
            if (chosen := bath_at(own, end)) is not None:
                row = {"bath": chosen, "plates": 1, "area_cm2": areas[plate], "at_us": to_us(end)}
                rows.append(row | who)
        back = _back(there, max(count - len(wanted), 0), held)
        rows += [row | who | {"at_us": to_us(at)} for row in back]
        for bath in own if kind == FIX else ():
            mine = [row for row in rows if row["who"] == who["who"] and row["bath"] == bath.id]
            mine += [one._asdict() for one in there if one.bath == bath.id]
            area, passes = (sum(row[key] for row in mine) for key in ("area_cm2", "plates"))
            if plate in shown and passes > 0:
                # its coat goes into the bath once, however often it is put in
                nm, half = shown[plate]
                value = COAT.format(area=area, nm=nm / passes, half=half, passes=passes)
                wanted_notes[bath.id, who["who"]] = (value, at)
    add_rows(connection, tables.bath_use, rows)
    _bring_notes(connection, state.run, noted, wanted_notes)


def _bring_notes(
    connection: Connection,
    run: str,
    noted: Sequence[MaterialNote],
    wanted: Mapping[tuple[str, str], tuple[str, datetime]],
) -> None:
    """Bring what is noted of baths for a run to what is wanted; an empty one takes back."""
    heads = (THROUGH.format(run=run, plate=""), TIMED.format(run=run, event=""))
    last = {(one.of, one.what): one for one in noted if one.what.startswith(heads)}
    gone = {key: ("", one.at) for key, one in last.items() if one.value and key not in wanted}
    put_notes(
        connection,
        [
            MaterialNote(BATH, bath, what, value, at, WHO)
            for (bath, what), (value, at) in {**gone, **wanted}.items()
            if (bath, what) not in last or last[bath, what].value != value
        ],
    )


def _timed(
    run: str, events: Sequence[Event], fixing: Sequence[InUse]
) -> dict[tuple[str, str], tuple[str, datetime]]:
    """Return the clearing times that the bench was told, by the bath that stood there."""
    from argentry.trade.readings import quantity

    asked, out = quantity("what", CLEARING), {}
    for event in effective(events)[0]:
        seconds = event.body.get("value")
        told = event.kind == "reading_taken" and event.body.get("what") == CLEARING
        bath = bath_at(fixing, event.at) if told else None
        if bath is not None and _lies(seconds, asked.low, asked.high):
            key = (bath, TIMED.format(run=run, event=event.id))
            out[key] = (repr(float(seconds)), event.at)
    return out


def _lies(given: object, low: float, high: float) -> TypeGuard[float]:
    """Return True for a number within a range; what a device sends need not be one."""
    return isinstance(given, int | float) and low <= given <= high


def _shown(events: Sequence[Event]) -> dict[str, tuple[float, float]]:
    """Return the coat of each plate as a picture showed it and the maker confirmed. [nm].

    And half of the 80 % range that the picture told; 0 where it told none.
    """
    from argentry.trade.facts import value

    thickest = value("film", "thickness_high_nm")
    found: dict[str, tuple[float, float]] = {}
    by_step: dict[str, str | None] = {}
    for event in effective(events)[0]:
        plate, nm, seen = event.plate or "", event.body.get("value"), event.body.get("seen")
        seen = seen if isinstance(seen, dict) else {}
        looked = event.kind == "check_answered" and bool(seen)
        coated_again = event.kind == "step_begun" and by_step.get(plate) == event.step
        if looked or coated_again:
            found.pop(plate, None)
        if looked and event.body.get("answer") == "right" and _lies(nm, 1.0, thickest):
            low, high = seen.get("coat_low_nm"), seen.get("coat_high_nm")
            if _lies(low, 0.0, thickest) and _lies(high, low, thickest):
                half = 0.5 * (high - low)
            else:
                half = 0.0
            found[plate] = (float(nm), half)
            by_step[plate] = event.step
    return found


def bath_at(baths: Iterable[InUse | Bath], at: datetime) -> str | None:
    """Return which of some baths of one kind stood at the bench: of those in use the last mixed."""
    there = [
        (bath.mixed_at, bath.id)
        for bath in baths
        if bath.mixed_at <= at and (bath.discarded_at is None or at < bath.discarded_at)
    ]
    return max(there)[1] if there else None


def gilded_later(connection: Connection, fresh: Sequence[Mapping[str, Any]]) -> set[str]:
    """Return the runs, of which nothing is new, that gilded after a plate sent late or taken back.

    Each plate pours a pool of its bath away, so that they may have found none, or find one now.

    Parameters
    ----------
    connection : Connection
        Within the writing transaction.
    fresh : sequence of mapping
        Rows of the events that it added.
    """
    from argentry.trade.recipes import GILD, use_of

    gilding = use_of(GILD).bench
    use, of = tables.bath_use, THROUGH.partition("{")[0]
    poured: dict[str, int] = {}
    for row in fresh:
        if row["step"] in gilding and row["kind"] == "step_ended":
            poured[row["run"]] = min(row["at_us"], poured.get(row["run"], row["at_us"]))
    for run in {row["run"] for row in fresh if row["kind"] in TAKES_BACK} - poured.keys():
        own = use.c.who.startswith(THROUGH.format(run=run, plate=""))
        back = select(use.c.bath).where(own, use.c.area_cm2 < 0.0)
        first = connection.execute(
            select(func.min(use.c.at_us)).where(own, use.c.bath.in_(back))
        ).scalar()
        if first is not None:
            poured[run] = first
    later: set[str] = set()
    for run, at_us in poured.items():
        head = THROUGH.format(run=run, plate="")
        baths = select(use.c.bath).where(use.c.who.startswith(head), use.c.at_us >= at_us)
        found = select(use.c.who).where(
            use.c.bath.in_(baths), use.c.at_us > at_us, use.c.who.startswith(of)
        )
        later |= {who.removeprefix(of).split()[0] for who in connection.execute(found).scalars()}
    return later - poured.keys()


def put_through(book: Book, bath: str, runs: Mapping[str, str]) -> set[str]:
    """Return which plates the bench put through a bath, of those asked for.

    Parameters
    ----------
    book : Book
        The book.
    bath : str
        Its id.
    runs : Mapping of str to str
        Id of a plate to the run that is looked at.
    """
    use = tables.bath_use
    who = {THROUGH.format(run=run, plate=plate): plate for plate, run in runs.items()}
    query = select(use.c.who, func.sum(use.c.plates)).where(use.c.bath == bath)
    with reading(book) as connection:
        found = connection.execute(query.where(use.c.who.in_(who)).group_by(use.c.who)).all()
    return {who[name] for name, plates in found if plates > 0}


def in_use(connection: Connection, begun: datetime) -> tuple[list[InUse], list[MaterialNote]]:
    """Return the baths that the bench books into and that were in use since, with their notes."""
    table = tables.bath
    late = or_(table.c.discarded_us.is_(None), table.c.discarded_us >= to_us(begun))
    rows = {row.id: row for row in connection.execute(select(table).where(late))}
    if not rows:
        return [], []
    noted = notes_there(connection, BATH, list(rows))
    kinds = {note.of: note.value for note in noted if note.what == KIND}
    found = [
        InUse(
            row.id,
            kinds[row.id],
            from_us(row.mixed_us),
            None if row.discarded_us is None else from_us(row.discarded_us),
            row.volume_ml,
        )
        for row in rows.values()
        if row.id in kinds
    ]
    return found, noted


def _ends(
    state: RunState, events: Sequence[Event], kind_of: Mapping[str, str]
) -> tuple[dict[tuple[str, str], list[datetime]], dict[tuple[str, str], datetime]]:
    """Return when steps at a bath ended, by plate and kind; and the last of all, undone or not."""
    kept = {plate.id for plate in state.plates if plate.state != WITHDRAWN}
    not_counted = {one.event for one in state.odd if not one.counted}
    ends: dict[tuple[str, str], list[datetime]] = defaultdict(list)
    last: dict[tuple[str, str], datetime] = {}
    for event in events:
        if event.kind == "step_ended" and event.plate and (kind := kind_of.get(event.step or "")):
            last[event.plate, kind] = event.at
    for event in effective(events)[0]:
        if event.kind != "step_ended" or event.id in not_counted or event.plate not in kept:
            continue
        if kind := kind_of.get(event.step or ""):
            ends[event.plate, kind].append(event.at)
    return {key: sorted(found) for key, found in ends.items()}, last


def _booked(connection: Connection, run: str, baths: Sequence[InUse]) -> dict[str, list[_Booked]]:
    """Return what is booked for a run, by plate; the bath that was mixed first at the head."""
    use = tables.bath_use
    head = THROUGH.format(run=run, plate="")
    query = (
        select(use.c.bath, use.c.who, func.sum(use.c.plates), func.sum(use.c.area_cm2))
        .where(use.c.bath.in_([bath.id for bath in baths]), use.c.who.startswith(head))
        .group_by(use.c.bath, use.c.who)
    )
    mixed = {bath.id: bath.mixed_at for bath in baths}
    out: dict[str, list[_Booked]] = defaultdict(list)
    for bath, who, plates, area in sorted(
        connection.execute(query).all(), key=lambda row: (mixed[row[0]], row[0])
    ):
        if plates > 0:
            out[who[len(head) :]].append(_Booked(bath, int(plates), float(area)))
    return out


def _areas(connection: Connection, plates: set[str]) -> dict[str, float]:
    from argentry.trade.sizes import plate_size

    query = select(tables.plate.c.id, tables.plate.c.size).where(tables.plate.c.id.in_(plates))
    sizes = dict(connection.execute(query).all())
    return {one: plate_size(sizes.get(one) or USUAL_SIZE).area_cm2 for one in plates}


def _held(connection: Connection, baths: Sequence[InUse]) -> dict[str, int]:
    """Return how many plates went through each bath, by whomever it was noted."""
    use = tables.bath_use
    sums = select(use.c.bath, func.sum(use.c.plates)).where(
        use.c.bath.in_([one.id for one in baths])
    )
    return {of: int(plates) for of, plates in connection.execute(sums.group_by(use.c.bath))}


def _back(there: Sequence[_Booked], count: int, held: dict[str, int]) -> list[dict[str, Any]]:
    """Return rows that take so many plates back, from the bath mixed last first.

    What was taken back by hand before is not taken back again: no bath falls below nothing.
    """
    rows = []
    for one in reversed(there):
        plates = min(count, one.plates, max(held.get(one.bath, 0), 0))
        if plates:
            area = one.area_cm2 * plates / one.plates
            rows.append({"bath": one.bath, "plates": -plates, "area_cm2": -area})
            held[one.bath] -= plates
            count -= plates
    return rows
