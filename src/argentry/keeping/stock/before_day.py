"""What the plan of a day says of materials: what will not last it, what is mixed for it."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.records.day import DayPlan

RENEW = "Bath {name}: renew it before the first plate. {why}"
AT = "At {at:%H:%M} {why}"
SOON = "Bath {name}: renew it soon. {why}"
TOO_FEW = "Bath {name} lasts for about {lasts:.0f} of the {plates} plates planned."
WORN = "Do not take {worn}: another picture would wear the silver through."
TAKE = "Take {choose} in place of it."
MIX = "{when}, mix {baths}: argentry label mixing --plates {plates}"
EVENING, FIRST = "The evening before", "Before the first plate"
EMPTY = "{title}: {there} left of the {needed} that the plan needs."
MOST = 5  # plates named
AHEAD = timedelta(hours=36)  # what stands this evening is used tomorrow; later days mix their own


def with_materials(
    plan: DayPlan,
    folder: Path | None,
    address: str | None,
    now: datetime,
    book: Book | None = None,
) -> DayPlan:
    """Return a plan that warns first of materials that lack, baths that will not last, worn plates.

    They come before all else that a plan says: they are done the evening before, and a short
    screen may leave out what comes last.

    Parameters
    ----------
    plan : DayPlan
        As planned.
    folder, address : Path or None, str or None
        Studio folder, and address of a book outside it.
    now : datetime
        UTC.
    book : Book, optional
        The open book; None: it is opened, when there is one.
    """
    from argentry.keeping.studio import has_book

    try:
        if book is None and not has_book(folder, address):
            return plan
        from argentry.keeping.book import studio_book

        with studio_book(folder, address) if book is None else nullcontext(book) as there:
            plates = plan.plates_placed + plan.one_more
            when = FIRST if _is_today(plan, now) else EVENING
            said = said_of_materials(there, folder, now, plates, _last_use(plan, now), when)
    except ArgentryError:  # a book that cannot be read is warned of where it is learned from
        return plan
    warnings = (*said.lacking, *said.others, *plan.warnings)
    return replace(plan, warnings=warnings, lacking=said.lacking)


@dataclass(frozen=True)
class OfMaterials:
    """What a plan says of materials.

    Attributes
    ----------
    lacking : tuple of str
        One sentence for each material of which the lots hold too little.
    others : tuple of str
        One for each bath that will not last, and one for the worn plates.
    """

    lacking: tuple[str, ...]
    others: tuple[str, ...]


def _last_use(plan: DayPlan, now: datetime) -> datetime:
    """Return when the plan last uses a bath, where that is today or tomorrow; else now."""
    from argentry.trade.recipes import FIX, GILD  # heavy: only where there is a book

    last = max((one.end for one in plan.steps if one.step in (FIX, GILD)), default=now)
    return last if now < last <= now + AHEAD else now


def _is_today(plan: DayPlan, now: datetime) -> bool:
    first = min((one.end for one in plan.steps), default=None)
    return first is not None and first.date() == now.astimezone(first.tzinfo).date()


def said_of_materials(
    book: Book,
    folder: Path | None,
    now: datetime,
    plates: int,
    used: datetime | None = None,
    when: str = EVENING,
) -> OfMaterials:
    """Return what is to be said of lots, baths and worn plates before a day of so many plates."""
    mixed: set[str] = set()
    others = tuple(_of_baths(book, folder, now, plates, used, when, mixed))
    return OfMaterials(tuple(_of_stock(book, folder, now, plates, mixed)), others)


def _of_baths(
    book: Book,
    folder: Path | None,
    now: datetime,
    plates: int,
    used: datetime | None,
    when: str,
    mixed: set[str],
) -> Iterator[str]:
    """Yield what is said of baths and worn plates; note the salts that stand mixed."""
    from argentry.keeping.plates.wear import wear_of, worn_of
    from argentry.keeping.stock.baths import baths_of
    from argentry.keeping.stock.known_baths import KnownBaths
    from argentry.trade.recipes import bath_takes

    mix: dict[str, None] = {}
    known = KnownBaths(book, folder or book.folder)
    there = by_then = baths_of(book, now, folder=folder, known=known).baths
    if used is not None and used != now:
        by_then = baths_of(book, used, folder=folder, known=known).baths
    for today, bath in zip(there, by_then, strict=True):
        life, recipe = bath.life, known.recipe(bath.recipe)
        if today.life is None or life is None or recipe is None:
            continue
        few = life.plates_left is not None and life.plates_left < plates
        takes = bath_takes(recipe, bath.volume_ml)
        if takes and not few and life.verdict != "renew":
            mixed.add(takes[0])
        if few or life.verdict == "renew":
            title = bath.title.partition(",")[0]
            mix[f"{title[:1].lower()}{title[1:]}"] = None
        if life.verdict == "renew":
            why = life.reasons[0]
            if today.life.verdict != "renew":
                why = AT.format(at=used, why=why[:1].lower() + why[1:])
            yield RENEW.format(name=bath.name, why=why)
        elif few:
            yield TOO_FEW.format(name=bath.name, lasts=life.plates_left, plates=plates)
        elif life.verdict == "soon":
            yield SOON.format(name=bath.name, why=life.reasons[0])
    if worn := [one for one in worn_of(book) if one.repolishes]:  # as bought it bears a picture
        words = WORN.format(worn=", ".join(one.plate for one in worn[:MOST]))
        choose = ", ".join(wear_of(book).choose[:MOST])
        yield " ".join([words, TAKE.format(choose=choose)]) if choose else words
    if mix and plates:
        yield MIX.format(when=when, baths=", ".join(mix), plates=plates)


def _of_stock(
    book: Book, folder: Path | None, now: datetime, plates: int, mixed: set[str]
) -> Iterator[str]:
    """Yield what the lots do not hold for the plates planned; nothing while no lot is noted.

    What stands mixed for them is not asked of the lots.
    """
    from argentry.keeping.stock.orders import needs_of
    from argentry.trade.stock import in_words

    if not plates:
        return
    for one in needs_of(book, folder, plates=plates, now=now).materials:
        if not one.lacks_tomorrow or one.material in mixed:
            continue
        yield EMPTY.format(
            title=one.title[:1].upper() + one.title[1:],
            there=in_words(one.there, one.unit),
            needed=in_words(one.tomorrow, one.unit),
        )
