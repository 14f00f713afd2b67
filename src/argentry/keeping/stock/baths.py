"""Baths of the book: mixed, used, thrown away as the local code says."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from argentry.book.baths import add_bath, baths, lacking_for, taken_for
from argentry.book.baths import discard_bath as discard
from argentry.book.baths import use_bath as use
from argentry.book.materials.through_baths import CLEARING, put_through
from argentry.errors import BadInput, check_range, did_you_mean
from argentry.keeping.book import studio_book
from argentry.keeping.house_clock import agreed_clock, entered_at
from argentry.keeping.moments import zone_of
from argentry.keeping.stock.known_baths import OF_BATH, KnownBaths
from argentry.records.ids import new_id
from argentry.records.material import Bath
from argentry.records.plate import Reading
from argentry.trade.readings import quantity
from argentry.trade.recipes import bath_takes, recipes
from argentry.trade.refusals import check_recipe
from argentry.trade.sizes import plate_size
from argentry.trade.steps import cautions

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.needs.materials.bath_life import BathLife
    from argentry.trade.recipes import Recipe

DAY_S = 86400.0
OWN_WORDS = (
    "{recipe!r} is not one of the recipes here ({names}): its life is not worked out and its "
    "cautions are not known. Read the safety data sheets of what is in it. If it is one of them, "
    "discard this bath and note it again by that name."
)
BY_BENCH = "the bench has booked {names} through {bath} already"
COUNT_IT = "leave them out; what went through once more is told by --count"


@dataclass(frozen=True, kw_only=True)
class BathNow(Bath):
    """A bath as it stands now.

    Attributes
    ----------
    title : str
        The recipe in words.
    age_days : float
        From mixing to now, or to when it was disposed of. [days]
    area_cm2_per_litre : float
        Area that went through it for each litre of it. [cm2/L]
    cautions : tuple of str
        Cautions; local codes and suppliers' safety data sheets decide. Empty for a bath in the
        maker's own words.
    life : BathLife or None
        What is in it and how long it lasts; null for a bath in the maker's own words.
    """

    title: str
    age_days: float
    area_cm2_per_litre: float
    cautions: tuple[str, ...]
    life: BathLife | None = None

    @property
    def lasts(self) -> bool:
        """False for a bath that is to be renewed now or soon."""
        return self.life is None or self.life.verdict == "good"


@dataclass(frozen=True)
class NotedBath:
    """A bath as it was noted, with what it took from stock.

    Attributes
    ----------
    bath : BathNow
        The bath.
    taken : tuple of (str, float, str)
        What the opened lots gave: name, amount and unit of each.
    lacking : (str, float, str) or None
        What it needed and no opened lot held, in the same form.
    """

    bath: BathNow
    taken: tuple[tuple[str, float, str], ...]
    lacking: tuple[str, float, str] | None


@dataclass(frozen=True)
class Baths:
    """The baths, the oldest first.

    Attributes
    ----------
    baths : tuple of BathNow
        The baths.
    """

    baths: tuple[BathNow, ...]


def new_bath(
    folder: Path | None,
    name: str,
    recipe: str,
    volume_ml: float,
    address: str | None = None,
    *,
    mixed_at: datetime | None = None,
) -> BathNow:
    """Return the bath of `note_bath` alone."""
    return note_bath(folder, name, recipe, volume_ml, address, mixed_at=mixed_at).bath


def note_bath(
    folder: Path | None,
    name: str,
    recipe: str,
    volume_ml: float,
    address: str | None = None,
    *,
    mixed_at: datetime | None = None,
) -> NotedBath:
    """Note that a bath was mixed; the bench puts the plates of its step through it.

    The salt of a tray and the gold of a gilding bath are taken from the lots that are opened.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    name : str
        What is on the bottle; unique among the baths still in use.
    recipe : str
        A key of ``recipes.toml``, or your own words.
    volume_ml : float
        [mL]
    address : str, optional
        Of a PostgreSQL book.
    mixed_at : datetime, optional
        When, without an offset in the studio's zone; None for now.

    Raises
    ------
    BadInput
        If a bath in use has that name, the volume is out of range, or the words name a bath that
        is refused.
    """
    if not name.strip():
        raise BadInput("name", "it is empty", "give what is on the bottle")
    known = _known_recipe(folder, recipe)
    if known is None:
        check_recipe([recipe])
    with studio_book(folder, address) as book:
        moment = entered_at(book, "--mixed", folder, mixed_at)
        if any(bath.name == name.strip() for bath in baths(book, all_of_them=False)):
            raise BadInput(
                "name", "a bath {name!r} is in use", "discard it, or choose another", name=name
            )
        made = Bath(new_id(), name.strip(), recipe, moment, volume_ml)
        kind = "" if known is None else known.kind
        takes = None if known is None else bath_takes(known, volume_ml)
        add_bath(book, made, kind, takes, zone_of(folder))
        return NotedBath(
            _now(made, datetime.now(UTC), KnownBaths(book, folder)),
            tuple(taken_for(book, made)),
            lacking_of(book, folder, made),
        )


def lacking_of(book: Book, folder: Path | None, bath: Bath) -> tuple[str, float, str] | None:
    """Return what a bath needed when it was mixed and no opened lot held: name, amount, unit."""
    known = _known_recipe(folder, bath.recipe)
    takes = None if known is None else bath_takes(known, bath.volume_ml)
    return None if takes is None else lacking_for(book, bath, takes, zone_of(folder))


def _known_recipe(folder: Path | None, key: str) -> Recipe | None:
    from argentry.keeping.stock.mixing import own_recipes

    return {bath.key: bath for bath in (*recipes(), *own_recipes(folder))}.get(key)


def use_bath(
    folder: Path | None,
    name: str,
    address: str | None = None,
    *,
    labels: Sequence[str] = (),
    count: int | None = None,
    size: str | None = None,
    by: str = "",
) -> BathNow:
    """Note that plates went through a bath, other than those that the bench books by itself.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    name : str
        The bath.
    address : str, optional
        Of a PostgreSQL book.
    labels : sequence of str
        Plates of the book that went through it: their sizes are known.
    count : int, optional
        How many others; negative puts a mistake right.
    size : str, optional
        Their size; None: the studio's usual one.
    by : str
        Who.

    Raises
    ------
    BadInput
        If there is no such bath in use, a plate or size is not known, no plate is given, or the
        bench booked one of them.
    """
    from argentry.book.makings import makings
    from argentry.keeping.plates.plates import find_plate

    if not labels and not count:
        raise BadInput("plates", "none is named", "name plates, or give --count")
    with studio_book(folder, address) as book:
        bath = _find(book, name)
        # a plate imported without its size counts as one of the usual size
        plates = {label: find_plate(book, label) for label in dict.fromkeys(labels)}
        area = sum(_size_area_cm2(folder, plate.size) for plate in plates.values())
        if count:
            area += count * _size_area_cm2(folder, size)
        ids = [plate.id for plate in plates.values()]
        last = (making for one in ids for making in makings(book, one, newest=1))
        done = put_through(book, bath.id, {one.plate: one.run for one in last if one.run})
        if twice := [label for label, plate in plates.items() if plate.id in done]:
            raise BadInput("plates", BY_BENCH, COUNT_IT, names=", ".join(twice), bath=name)
        use(book, bath.id, len(ids) + (count or 0), area, by, named=ids)
        return _now(_find(book, name), datetime.now(UTC), KnownBaths(book, folder))


def note_clearing(
    folder: Path | None, name: str, seconds: float, address: str | None = None
) -> BathNow:
    """Keep how long a coated waste plate took to clear in a bath.

    The first of a bath is its fresh time; twice that means: renew.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    name : str
        The bath.
    seconds : float
        [s]
    address : str, optional
        Of a PostgreSQL book.

    Raises
    ------
    BadInput
        If there is no such bath in use, or the time is out of range.
    """
    from argentry.book.readings import add_readings

    asked = quantity("what", CLEARING)
    check_range("clearing time", seconds, asked.low, asked.high, asked.unit)
    with studio_book(folder, address) as book:
        now = agreed_clock(book).now()
        bath = _find(book, name)
        said = Reading(new_id(), CLEARING, seconds, asked.unit, now, OF_BATH.format(id=bath.id))
        add_readings(book, [said])
        return _now(bath, now, KnownBaths(book, folder))


def list_baths(
    folder: Path | None, address: str | None = None, *, all_of_them: bool = False
) -> Baths:
    """Return the baths, oldest first."""
    with studio_book(folder, address) as book:
        return baths_of(book, datetime.now(UTC), all_of_them=all_of_them, folder=folder)


def baths_of(
    book: Book,
    now: datetime,
    *,
    all_of_them: bool = False,
    folder: Path | None = None,
    known: KnownBaths | None = None,
) -> Baths:
    """Return the same of an open book, at a moment; what is known of it is not read again."""
    known = known or KnownBaths(book, folder or book.folder)
    found = [one for one in known.every if all_of_them or one.discarded_at is None]
    return Baths(tuple(_now(bath, now, known) for bath in found))


def discard_bath(folder: Path | None, name: str, address: str | None = None) -> BathNow:
    """Note that a bath was disposed of; how, your local code says.

    Raises
    ------
    BadInput
        If no bath in use has that name.
    """
    with studio_book(folder, address) as book:
        now = agreed_clock(book).now()
        bath = _find(book, name)
        discard(book, bath.id, now)
        return _now(replace(bath, discarded_at=now), now, KnownBaths(book, folder))


def _now(bath: Bath, now: datetime, about: KnownBaths) -> BathNow:
    end = bath.discarded_at or now
    known = about.recipe(bath.recipe)
    age_days = max(0.0, (end - bath.mixed_at).total_seconds() / DAY_S)
    return BathNow(
        **vars(bath),
        title=known.title if known else bath.recipe,
        age_days=age_days,
        life=about.life(bath, end, age_days),
        area_cm2_per_litre=bath.area_cm2_through * 1000.0 / bath.volume_ml,
        cautions=tuple(cautions()[name].text for name in known.cautions)
        if known
        else (OWN_WORDS.format(recipe=bath.recipe, names=", ".join(one.key for one in recipes())),),
    )


def _find(book: Book, name: str) -> Bath:
    there = {bath.name: bath for bath in baths(book, all_of_them=False)}
    if name in there:
        return there[name]
    right = did_you_mean(name, there, "see: argentry bath list", 0.5)
    raise BadInput("bath", "no bath in use is named {name!r}".format(name=name[:40]), right)


def _size_area_cm2(folder: Path | None, size: str | None) -> float:
    from argentry.keeping.plates.plates import usual_size

    return plate_size(size or usual_size(folder)).area_cm2
