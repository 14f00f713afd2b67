"""Baths of the book: mixed, used, thrown away as the local code says."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from argentry.desk.book import studio_book
from argentry.desk.moments import past_moment
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import Bath

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.book.engine import Book

DAY_S = 86400.0


def new_bath(
    folder: Path | None,
    name: str,
    recipe: str,
    volume_ml: float,
    address: str | None = None,
    *,
    mixed_at: datetime | None = None,
) -> dict[str, Any]:
    """Note that a bath was mixed.

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

    Returns
    -------
    dict
        The bath as kept, and ``cautions``.

    Raises
    ------
    BadInput
        If a bath in use has that name, the volume is out of range, or the words name a bath that
        is refused.
    """
    from argentry.book.baths import add_bath, baths
    from argentry.trade.refusals import check_recipe

    if not name.strip():
        raise BadInput("name", "it is empty", "give what is on the bottle")
    known = _known_recipe(recipe)
    if known is None:
        check_recipe([recipe])
    moment = past_moment("--mixed", folder, mixed_at)
    with studio_book(folder, address) as book:
        if any(bath.name == name.strip() for bath in baths(book, all_of_them=False)):
            raise BadInput("name", f"a bath {name!r} is in use", "discard it, or choose another")
        made = Bath(new_id(), name.strip(), recipe, moment, volume_ml)
        add_bath(book, made)
    return {**asdict(made), "title": known or recipe, "cautions": _cautions(recipe)}


def use_bath(
    folder: Path | None,
    name: str,
    address: str | None = None,
    *,
    labels: Sequence[str] = (),
    count: int | None = None,
    size: str | None = None,
    by: str = "",
) -> dict[str, Any]:
    """Note that plates went through a bath.

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

    Returns
    -------
    dict
        The bath as it stands now.

    Raises
    ------
    BadInput
        If there is no such bath in use, a plate or size is not known, or no plate is given.
    """
    from argentry.book.baths import use_bath as use
    from argentry.desk.plates.plates import find_plate

    if not labels and not count:
        raise BadInput("plates", "none is named", "name plates, or give --count")
    with studio_book(folder, address) as book:
        bath = _find(book, name)
        # a plate imported without its size counts as one of the usual size
        area = sum(_size_area_cm2(folder, find_plate(book, label).size) for label in labels)
        if count:
            area += count * _size_area_cm2(folder, size)
        use(book, bath.id, len(labels) + (count or 0), area, by)
        return _row(_find(book, name), datetime.now(UTC))


def list_baths(
    folder: Path | None, address: str | None = None, *, all_of_them: bool = False
) -> dict[str, Any]:
    """Return the baths, oldest first.

    Returns
    -------
    dict
        ``baths``: each its own values, ``title``, ``age_days`` and ``area_cm2_per_litre``.
    """
    from argentry.book.baths import baths

    now = datetime.now(UTC)
    with studio_book(folder, address) as book:
        return {"baths": [_row(bath, now) for bath in baths(book, all_of_them=all_of_them)]}


def discard_bath(folder: Path | None, name: str, address: str | None = None) -> dict[str, Any]:
    """Note that a bath was disposed of; how, your local code says.

    Raises
    ------
    BadInput
        If no bath in use has that name.
    """
    from argentry.book.baths import discard_bath as discard

    now = datetime.now(UTC)
    with studio_book(folder, address) as book:
        bath = _find(book, name)
        discard(book, bath.id, now)
    return {**_row(bath, now), "discarded_at": now}


def _row(bath: Bath, now: datetime) -> dict[str, Any]:
    end = bath.discarded_at or now
    return {
        **asdict(bath),
        "title": _known_recipe(bath.recipe) or bath.recipe,
        "age_days": max(0.0, (end - bath.mixed_at).total_seconds() / DAY_S),
        "area_cm2_per_litre": bath.area_cm2_through * 1000.0 / bath.volume_ml,
    }


def _find(book: Book, name: str) -> Bath:
    from difflib import get_close_matches

    from argentry.book.baths import baths

    there = {bath.name: bath for bath in baths(book, all_of_them=False)}
    if name in there:
        return there[name]
    near = get_close_matches(name, there, n=1, cutoff=0.5)
    right = f"did you mean {near[0]!r}" if near else "see: argentry bath list"
    raise BadInput("bath", f"no bath in use is named {name[:40]!r}", right)


def _size_area_cm2(folder: Path | None, size: str | None) -> float:
    from argentry.desk.plates.plates import usual_size
    from argentry.trade.sizes import plate_size

    return plate_size(size or usual_size(folder)).area_cm2


def _known_recipe(key: str) -> str | None:
    from argentry.trade.recipes import recipes

    return next((bath.title for bath in recipes() if bath.key == key), None)


def _cautions(key: str) -> list[str]:
    from argentry.trade.recipes import recipes
    from argentry.trade.steps import cautions

    found = next((bath for bath in recipes() if bath.key == key), None)
    return [cautions()[name].text for name in found.cautions] if found else []
