"""Silver left on the book's plates: from what was plated, polished back and weighed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from itertools import pairwise
from math import hypot
from pathlib import Path

from argentry.book.baths import WEIGHT
from argentry.book.engine import Book
from argentry.book.rows import AT_ONCE
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.moments import zone_of_book
from argentry.needs.materials.plate_wear import PlateWear, Wear, in_order, wear
from argentry.physics.baths.plating import Doubtful, silver_left_um, takes_um, weighed_um
from argentry.records.plate import GRADES, Plate, Reading
from argentry.records.plate_record import FREES, PlateWork
from argentry.records.studio import USUAL_SIZE
from argentry.trade.facts import facts, value
from argentry.trade.sizes import plate_size

HOLDS = "it holds the {grade} picture of {day}, which a new one would take off"
FREE_IT = "name another, or note first that it is gone: argentry plate work {label} polished_back"
AT_WORK = "it is begun and not finished in the open run “{title}”"
END_IT = "go on with it there, or give it up there or close that run first"
FIRST = datetime(1970, 1, 1, tzinfo=UTC)
OF_PLATE = "plate {label}"
THIN = "{left:.1f} µm of silver are left, less than {least:g} µm"
WORN = "another repolish would wear it through ({left:.1f} µm left, chance {percent:.0f} %)"
PLATE_AGAIN = "have it silvered and note: argentry plate work {label} plated; or name another"


def list_wear(folder: Path | None, address: str | None = None) -> Wear:
    """Return the silver left on every plate of the book, and which plates to choose."""
    with studio_book(folder, address) as book:
        return wear_of(book)


def worn_of(book: Book) -> tuple[PlateWear, ...]:
    """Return the plates that one more repolish would wear through; quick in a book of very many."""
    from argentry.book.plates import thinnest

    most, least = facts("plating")["repolish_takes"].high, value("plating", "silver_least")
    found = wear_of(book, thinnest(book, most, least))
    return tuple(one for one in found.plates if one.plate in found.worn)


def wear_of(book: Book, ids: set[str] | None = None) -> Wear:
    """Return the same of an open book; with ids, of these plates and of those weighed."""
    from argentry.book.makings import last_begun
    from argentry.book.plates import plates, works
    from argentry.book.readings import series

    weights: dict[str, list[Reading]] = {}
    for reading in series(book, WEIGHT, FIRST, datetime.now(UTC)):
        if reading.plate is not None:
            weights.setdefault(reading.plate, []).append(reading)
    asked: tuple[str, ...] = ()
    if ids is not None:
        ids = {*weights, *ids}
        # in one question of a few hundred; a book asked for more is read whole
        asked = tuple(sorted(ids)) if len(ids) <= AT_ONCE else ()
    nothing = ids is not None and not ids
    done: dict[str, list[PlateWork]] = {}
    for work in () if nothing else works(book, *asked):
        done.setdefault(work.plate, []).append(work)
    last = {} if nothing else last_begun(book, *asked, zone=zone_of_book(book.folder))
    stories = [
        _story(one, done.get(one.id, ()), weights.get(one.id, ()), last.get(one.id))
        for one in plates(book, ids)
    ]
    losses = [loss for story in stories for loss in story.losses]
    each = takes_um("repolish_takes", losses)
    rows = [
        wear(
            one.plate.label, one.plate.size, one.plate.silver_um, one.repolishes, one.weighings,
            one.left(each), each, ready=one.ready,
        )
        for one in stories
    ]  # fmt: skip
    return in_order(rows, each, len(losses))


def refuse_worn(book: Book, labels: Sequence[str]) -> None:
    """Refuse plates that a run would wear through.

    Raises
    ------
    BadInput
        For the first that is worn; the sentence says how much silver is left.
    """
    from argentry.book.plates import plate_by_label

    named = (plate_by_label(book, label) for label in labels)
    ids = {one.id for one in named if one is not None}
    known = {one.plate: one for one in wear_of(book, ids).plates}
    for label in labels:
        one = known.get(label)
        if one is not None and one.worn and one.repolishes:
            left, least = one.left_um or 0.0, value("plating", "silver_least")
            percent = 100.0 * (one.worn_chance or 0.0)
            what = (THIN if left < least else WORN).format(left=left, least=least, percent=percent)
            raise BadInput(OF_PLATE.format(label=label[:40]), what, PLATE_AGAIN.format(label=label))


def refuse_kept(book: Book, labels: Sequence[str]) -> None:
    """Refuse plates that hold a good or fine picture, which a new one would take off.

    Raises
    ------
    BadInput
        For the first of them; the sentence says of which day the picture is.
    """
    from argentry.book.from_runs import begun_at
    from argentry.book.plates import makings, plate_by_label, works

    for label in labels:
        plate = plate_by_label(book, label)
        made = [] if plate is None else makings(book, plate.id)
        last = max(made, key=lambda one: (one.day, one.order), default=None)
        if plate is None or last is None or last.grade not in GRADES[2:]:
            continue
        begun = begun_at(f"{last.day}", last.id, last.run)
        if not any(one.at > begun for one in works(book, plate.id) if one.kind in FREES):
            what = HOLDS.format(grade=last.grade, day=last.day)
            raise BadInput(OF_PLATE.format(label=label[:40]), what, FREE_IT.format(label=label))


def refuse_at_work(book: Book, labels: Sequence[str], now: datetime) -> None:
    """Refuse plates that are begun and not finished in another open run.

    Raises
    ------
    BadInput
        For the first of them; the sentence names the run.
    """
    from argentry.book.log import open_runs
    from argentry.book.plates import makings, plate_by_label

    going = {one.run: one.title for one in open_runs(book, now)}
    for label in labels if going else ():
        plate = plate_by_label(book, label)
        for made in () if plate is None else makings(book, plate.id):
            if made.state == "going" and made.run in going:
                what = AT_WORK.format(title=going[made.run])
                raise BadInput(OF_PLATE.format(label=label[:40]), what, END_IT)


class _Story:
    """One plate since it was last plated."""

    def __init__(
        self,
        plate: Plate,
        before: int,
        losses: list[tuple[Doubtful, int]],
        after: int,
        *,
        ready: bool,
        off: Doubtful | None = None,
    ) -> None:
        self.plate, self.losses, self.ready, self.off = plate, losses, ready, off
        self.before, self.after = before, after
        self.weighings = len(losses) + 1 if losses else 0
        self.repolishes = before + sum(passes for _, passes in losses) + after

    def left(self, each: Doubtful) -> Doubtful | None:
        """Return the silver left; what was weighed off counts as weighed, the rest as learned.

        From the first weighing to the last: what buffing took in between is in it too, and the
        balance is wrong twice and not once more with each repolish.
        """
        if self.plate.silver_um is None:
            return None
        plated = Doubtful(
            self.plate.silver_um, self.plate.silver_um * value("plating", "layer_doubt")
        )
        if self.off is not None:
            left = min(plated.value, max(0.0, plated.value - self.off.value))
            plated = Doubtful(left, hypot(plated.sd, self.off.sd))
        return silver_left_um(plated, self.before + self.after, 0, each, Doubtful(0.0, 0.0))


def _story(
    plate: Plate,
    works: Sequence[PlateWork],
    weights: Sequence[Reading],
    begun: datetime | None,
) -> _Story:
    ready = begun is None or any(work.at > begun for work in works if work.kind in FREES)
    backs = [work.at for work in works if work.kind == "polished_back"]
    first = max((work.at for work in works if work.kind == "plated"), default=None)
    earlier = plate.times_repolished - len(backs)
    if first is not None:
        backs, earlier = [at for at in backs if at > first], 0
        weights = [one for one in weights if one.at > first]
    if len(weights) < 2:
        return _Story(plate, earlier + len(backs), [], 0, ready=ready)
    area = plate_size(plate.size or USUAL_SIZE).area_cm2
    losses = []
    for start, end in pairwise(weights):
        passes = sum(start.at < at <= end.at for at in backs)
        if passes:
            losses.append((_lost(start, end, area), passes))
    off = _lost(weights[0], weights[-1], area)
    before = earlier + sum(at <= weights[0].at for at in backs)
    after = sum(at > weights[-1].at for at in backs)
    return _Story(plate, before, losses, after, ready=ready, off=off)


def _lost(start: Reading, end: Reading, area_cm2: float) -> Doubtful:
    found = weighed_um(start.value, end.value, area_cm2)
    return Doubtful(-found.value, found.sd)
