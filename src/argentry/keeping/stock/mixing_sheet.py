"""What is mixed the evening before: each bath step by step, in the one order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argentry.day.day_clock import wall_time
from argentry.errors import check_range
from argentry.keeping.book import studio_book
from argentry.keeping.moments import zone_of
from argentry.keeping.stock.baths import baths_of
from argentry.keeping.stock.known_baths import KnownBaths
from argentry.keeping.stock.lots import usual_day
from argentry.keeping.stock.mixing import mix_for, own_recipes
from argentry.keeping.studio import has_book, load_studio
from argentry.needs.materials.mixing import Portion
from argentry.trade.recipes import FIX, GILD, Recipe
from argentry.trade.recipes import recipes as shipped

USUAL = (FIX, GILD)
LABELLED = "Write name and time on it, or print: argentry label bottle"
TOMORROW = "For {plates} plates of the size {size} on {day}. Ready by {start}."
TITLE = "{title}, {ml:.0f} mL"
STAND = "Let it stand, stoppered, at room temperature until the morning."
APART = "Let the bottles stand apart, stoppered, at room temperature, until they are joined."
STANDS = "{title}, as {name}: it stands mixed and lasts that day, so that none is mixed tonight."
KEEPS = "Use it within {hours:g} hours of joining, once."


@dataclass(frozen=True)
class BathToMix:
    """One bath to mix.

    Attributes
    ----------
    recipe : str
        Its key.
    title : str
        Its name and volume.
    tonight : tuple of str
        What is done the evening before, in this order.
    before_use : tuple of str
        What is left for the day, in this order; empty: nothing.
    notes : tuple of str
        What else to know.
    """

    recipe: str
    title: str
    tonight: tuple[str, ...]
    before_use: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class MixingSheet:
    """What is mixed the evening before.

    Attributes
    ----------
    studio : str
        Name of the studio.
    day : str
        Day of the work.
    ready : str
        For what, and by when.
    standing : tuple of str
        Usual baths that are not mixed, as one that lasts stands mixed.
    baths : tuple of BathToMix
        In the order in which they are mixed.
    cautions : tuple of str
        Cautions of all of them.
    """

    studio: str
    day: str
    ready: str
    baths: tuple[BathToMix, ...]
    cautions: tuple[str, ...]
    standing: tuple[str, ...] = ()


def mixing_sheet(
    folder: Path | None,
    plates: int | None = None,
    recipes: tuple[str, ...] = (),
    address: str | None = None,
    *,
    now: datetime | None = None,
) -> MixingSheet:
    """Return what is mixed tonight for the plates of tomorrow.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    plates : int, optional
        Plates of tomorrow, of the studio's usual size; None: as many as a usual day makes.
    recipes : tuple of str
        Keys of the baths; empty: the usual ones, other than those that stand mixed and last.
    address : str, optional
        Of a PostgreSQL book.
    now : datetime, optional
        None: now.

    Raises
    ------
    BadInput
        If a recipe is not known or the number of plates is out of range.
    """
    from argentry.keeping.plates.plates import usual_size
    from argentry.records.studio import Hours

    if plates is None:
        with studio_book(folder, address) as book:
            plates = usual_day(book)
    check_range("--plates", plates, 1, 100, "plates")
    studio = None if folder is None else load_studio(folder)
    zone = zone_of(folder)
    day = ((now or datetime.now(UTC)).astimezone(zone) + timedelta(days=1)).date()
    hours = Hours() if studio is None else studio.hours
    over = wall_time("studio.toml hours.end", day, hours.end, zone)
    standing = {} if recipes else _standing(folder, address, over, plates)
    left = recipes or tuple(key for key in USUAL if key not in standing)
    portions = mix_for(folder, left, plates, []).portions if left else ()
    known = {one.key: one for one in (*shipped(), *own_recipes(folder))}
    return MixingSheet(
        studio="" if studio is None else studio.name,
        day=f"{day:%A} {day}",
        ready=TOMORROW.format(plates=plates, size=usual_size(folder), day=day, start=hours.start),
        baths=tuple(_bath(one, known[one.recipe]) for one in portions),
        cautions=tuple(dict.fromkeys(text for one in portions for text in one.cautions)),
        standing=tuple(standing.values()),
    )


def _standing(
    folder: Path | None, address: str | None, over: datetime, plates: int
) -> dict[str, str]:
    """Return in words, by the kind of bath, one that stands mixed and lasts all that day."""
    if not has_book(folder, address):
        return {}
    with studio_book(folder, address) as book:
        known = KnownBaths(book, folder or book.folder)
        found = {}
        for bath in baths_of(book, over, folder=folder, known=known).baths:
            life, recipe = bath.life, known.recipe(bath.recipe)
            if life is None or recipe is None or life.verdict == "renew":
                continue
            if recipe.kind in USUAL and (life.plates_left or 0.0) >= plates:
                found[recipe.kind] = STANDS.format(title=bath.title, name=bath.name)
    return found


def _bath(portion: Portion, bath: Recipe) -> BathToMix:
    """Return a bath split where its solutions are joined: what keeps for hours is joined last."""
    joins = [at for at, step in enumerate(bath.sequence) if step.do == "pour"]
    at = joins[0] if joins and portion.keeps_hours is not None else len(portion.do)
    notes = list(portion.notes)
    if portion.keeps_hours is not None:
        notes.append(KEEPS.format(hours=portion.keeps_hours))
    return BathToMix(
        recipe=portion.recipe,
        title=TITLE.format(title=portion.title, ml=portion.volume_ml),
        tonight=(*portion.do[:at], LABELLED),
        before_use=portion.do[at:],
        notes=(APART if at < len(portion.do) else STAND, *notes, portion.order),
    )
