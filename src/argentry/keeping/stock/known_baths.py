"""What the life of a bath rests on, as the book and the studio know it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from argentry.book.baths import baths
from argentry.book.materials.bath_notes import NOTHING_NOTED, BenchNotes, bench_notes
from argentry.book.materials.through_baths import CLEARING, bath_at
from argentry.keeping.studio import load_studio
from argentry.records.studio import Habits
from argentry.trade.recipes import FIX, Recipe, recipes
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.needs.materials.bath_life import BathLife
    from argentry.needs.materials.bath_silver import Dissolved, Look, UsualCoat
    from argentry.records.material import Bath
    from argentry.records.plate import Reading
    from argentry.records.studio import Studio

WARMTH = "bath_c"
OF_BATH = "bath {id}"  # the source of a clearing time
LAST_DAY = datetime(9999, 12, 31, tzinfo=UTC)
BEFORE = 8  # fixing baths, the last of which is the one whose coats are asked for
FRESH = timedelta(hours=2)  # a bath's warmth read longer ago is not its warmth now


class KnownBaths:
    """What the life of every bath rests on: recipes, coat, size, clearing times, warmth."""

    def __init__(self, book: Book, folder: Path | None, studio: Studio | None = None) -> None:
        from argentry.keeping.stock.mixing import own_recipes

        if studio is None and folder is not None:
            studio = load_studio(folder)
        self.habits = Habits() if studio is None else studio.habits
        self.book = book
        self.own = {bath.key: bath for bath in own_recipes(folder)}
        self.plate_cm2 = plate_size(self.habits.plate_size).area_cm2
        self.every = baths(book)
        self.fixing = [
            one for one in self.every if (of := self.recipe(one.recipe)) and of.kind == FIX
        ]
        self.place = {one.id: number for number, one in enumerate(self.fixing)}
        self.noted: dict[str, BenchNotes] = {}
        self.look_at([one for one in self.every if one.discarded_at is None])
        self._warm: dict[datetime, float | None] = {}

    @cached_property
    def timed(self) -> Sequence[Reading]:
        """What was noted of clearing times since the first bath, in one question."""
        from argentry.book.readings import series

        first = min((bath.mixed_at for bath in self.every), default=LAST_DAY)
        return series(self.book, CLEARING, first, LAST_DAY, trusted=True)

    def warmth_c(self, at: datetime) -> float | None:
        """Return the warmth of the baths as noted last, if it was of late. [°C]."""
        from argentry.book.readings import latest

        if at not in self._warm:
            warm = latest(self.book, WARMTH, at - FRESH, at)
            self._warm[at] = None if warm is None else warm.value
        return self._warm[at]

    def recipe(self, key: str) -> Recipe | None:
        """Return the recipe a bath was mixed by, own or shipped; None for the maker's words."""
        return self.own.get(key) or _known_recipe(key)

    def _is_of(self, timed: Reading, bath: str, own: str) -> bool:
        """Return True for a time of this bath: by its name, or taken while it was at the bench."""
        named = timed.source.startswith(OF_BATH.format(id=""))
        return timed.source == own if named else bath_at(self.fixing, timed.at) == bath

    def look_at(self, baths: Sequence[Bath]) -> None:
        """Read what the bench noted of some baths, and of those before them, in one question."""
        wanted = {one.id for bath in baths for one in (bath, *self._until(bath))}
        if new := sorted(wanted - self.noted.keys()):
            self.noted |= dict.fromkeys(new, NOTHING_NOTED) | bench_notes(self.book, new)

    def of_bench(self, bath: Bath) -> BenchNotes:
        """Return what the bench noted of a bath."""
        if bath.id not in self.noted:
            self.look_at([bath])
        return self.noted[bath.id]

    def usual(self, bath: Bath | None = None) -> UsualCoat:
        """Return what the coats in a fixing bath are like; None: in the one mixed last."""
        from argentry.needs.materials.bath_silver import usual_coat

        bath = bath or (self.fixing[-1] if self.fixing else None)
        own = self.habits
        layer = (own.interlayer_nm, own.interlayer_silver, own.interlayer_growth_nm)
        looks = [self.looks(one) for one in self._until(bath)] if bath else [[]]
        return usual_coat(own.coat_nm, looks, layer_known=None not in layer)

    def _until(self, bath: Bath) -> Sequence[Bath]:
        """Return the fixing baths that say what the coats in one of them were like, it last."""
        end = self.place.get(bath.id, -1) + 1
        return self.fixing[max(end - BEFORE, 0) : end]

    def looks(self, bath: Bath) -> list[Look]:
        """Return the coats in a fixing bath that pictures showed."""
        from argentry.needs.materials.bath_silver import Look

        return [
            Look(one.area_cm2, one.nm * one.passes, one.half_nm or None, round(one.passes))
            for one in self.of_bench(bath).coats
        ]

    def silver(self, bath: Bath) -> Dissolved:
        """Return the silver that went into a fixing bath."""
        from argentry.needs.materials.bath_silver import dissolved

        area, plates = max(bath.area_cm2_through, 0.0), bath.plates_through
        return dissolved(self.usual(bath), area, plates, self.looks(bath))

    def life(self, bath: Bath, end: datetime, age_days: float) -> BathLife | None:
        """Return how long a bath lasts; None for one in the maker's own words."""
        from argentry.needs.materials.bath_life import bath_life

        found = self.recipe(bath.recipe)
        if found is None:
            return None
        own = OF_BATH.format(id=bath.id)
        timed = (one for one in self.timed if bath.mixed_at <= one.at <= end)
        by_hand = [(one.at, one.value) for one in timed if self._is_of(one, bath.id, own)]
        told = [one for one in self.of_bench(bath).clearing if one[0] <= end]
        clearing = [seconds for _, seconds in sorted([*by_hand, *told])]
        return bath_life(
            found, bath.volume_ml, bath.area_cm2_through, age_days, self.plate_cm2,
            coat_nm=self.usual().nm, clearing_s=clearing,
            silver=self.silver(bath) if found.kind == FIX else None,
            temperature_c=self.warmth_c(end),
        )  # fmt: skip


def _known_recipe(key: str) -> Recipe | None:
    return next((bath for bath in recipes() if bath.key == key), None)
