"""The studio's own scales of coats, out of the book: the one for this phone in this light."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from argentry import trade
from argentry.book.pictures.judged import confirmed
from argentry.book.pictures.kept import pictures
from argentry.errors import ArgentryError, BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.studio import has_book, load_studio
from argentry.records.answers.coat_seen import ScaleUsed
from argentry.records.day import day_in_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date
    from pathlib import Path

    from argentry.arrays import Floats
    from argentry.book.engine import Book
    from argentry.records.answers.scale_seen import ScaleSeen
    from argentry.records.answers.seen import PhoneOfPicture

COLUMNS = ("thickness_nm", "red", "green", "blue")
FEWEST, MOST = 3, 30
HIGHEST = 3.0  # times bare silver: brighter is no coat
BY_OWN = "By your own scale of {day}, this phone, {light}."
NAME_LIGHT = "the light was not named; yours are for {scales}"
NAME_PHONE = "the picture does not name its camera, and neither did you; yours are for {scales}"
OTHERS = "this is {phone}, {light}; yours are for {scales}"
ONE_SCALE = "{phone}, {light}"
NOT_USABLE = "nothing can be read by this scale"
NEEDED = "it needs its bands, the phone and the light"
UTC = "UTC"


@dataclass(frozen=True)
class OwnScale:
    """A scale that the maker confirmed.

    Attributes
    ----------
    sha256 : str
        Of the picture of its bands.
    taken_on : date
        When it was taken, in the studio's time zone.
    phone, light : str
        The pair that it holds for.
    rows : ndarray of shape (n, 4)
        Thickness [nm], and red, green and blue over those of silver.
    """

    sha256: str
    taken_on: date
    phone: str
    light: str
    rows: Floats

    @property
    def used(self) -> ScaleUsed:
        """What an answer says of it."""
        return ScaleUsed(
            self.sha256, self.taken_on, float(self.rows[0, 0]), float(self.rows[-1, 0])
        )

    @property
    def words(self) -> str:
        """What a coat read by it says."""
        return BY_OWN.format(day=day_in_words(self.taken_on), light=self.light)


def scales_in_book(book: Book, zone: str = UTC) -> tuple[OwnScale, ...]:
    """Return the scales that the maker confirmed, the last confirmed first.

    Parameters
    ----------
    book : Book
        The studio's.
    zone : str
        Its time zone.
    """
    found = []
    for one in reversed(confirmed(book, "scale")):
        taken = next((o for o in pictures(book, one.plate) if o.sha256 == one.picture), None)
        rows = _rows(one.answer)
        if taken is not None and rows is not None and usable(one.answer):
            day = taken.taken_at.astimezone(ZoneInfo(zone)).date()
            phone, light = str(one.answer["phone"]["name"]), str(one.answer["light"])
            found.append(OwnScale(one.picture, day, phone, light, rows))
    return tuple(found)


def _rows(answer: Mapping[str, Any]) -> Floats | None:
    """Return the rows of a scale in the book; None where another program wrote none that can be."""
    try:
        rows = np.array([[float(band[key]) for key in COLUMNS] for band in answer["bands"]])
    except (KeyError, TypeError, ValueError):
        return None
    return rows if sound(rows) else None


def sound(rows: Floats) -> bool:
    """Return True when rows are a scale: 3 to 30 coats by rising thickness, with their colours."""
    if not (FEWEST <= len(rows) <= MOST and np.isfinite(rows).all()):
        return False
    nm, colours = rows[:, 0], rows[:, 1:]
    high = trade.value("film", "thickness_high_nm")
    rises = bool((np.diff(nm) > 0.0).all()) and 0.0 <= nm[0] <= nm[-1] <= high
    return bool(rises and colours.min() > 0.0 and colours.max() <= HIGHEST)


def scales_of_studio(folder: Path | None, address: str | None = None) -> tuple[OwnScale, ...]:
    """Return the scales of a studio's book; none without a book that can be read.

    Whoever takes the studio's numbers warns of such a book: it keeps no coat from being read.
    """
    if not has_book(folder, address):
        return ()
    zone = UTC if folder is None else load_studio(folder).site.time_zone
    try:
        with studio_book(folder, address) as book:
            return scales_in_book(book, zone)
    except ArgentryError:
        return ()


def stated_phones(book: Book) -> tuple[str, ...]:
    """Return the phones that makers named for their scales, as their pictures do not."""
    phones = [one.answer["phone"] for one in confirmed(book, "scale") if usable(one.answer)]
    return tuple(dict.fromkeys(one["name"] for one in phones if one["from"] == "said"))


def usable(answer: Mapping[str, Any]) -> bool:
    """Return True when coats can be read by a scale: its bands, phone and light are known."""
    phone = answer.get("phone")
    named = isinstance(phone, dict) and phone.keys() >= {"name", "from"}
    return named and all(answer.get(key) for key in ("bands", "light"))


def need_usable(answer: ScaleSeen) -> None:
    """Refuse to confirm a scale by which nothing can be read.

    Raises
    ------
    BadInput
        If its bands, the phone or the light is not known.
    """
    if not (answer.bands and answer.phone and answer.light):
        raise BadInput("scale", NOT_USABLE, NEEDED)


def fitting(
    scales: Sequence[OwnScale], phone: PhoneOfPicture | None, light: str | None
) -> OwnScale | str:
    """Return the newest scale for a phone in a light, or why none is used; empty without scales.

    A scale is never used for another phone, another lens of it, or another light.
    """
    if not scales:
        return ""
    known = "; ".join(
        dict.fromkeys(ONE_SCALE.format(phone=one.phone, light=one.light) for one in scales)
    )
    if light is None:
        return NAME_LIGHT.format(scales=known)
    if phone is None:
        return NAME_PHONE.format(scales=known)
    own = phone.name.casefold(), light.casefold()
    for one in scales:
        if (one.phone.casefold(), one.light.casefold()) == own:
            return one
    return OTHERS.format(phone=phone.name, light=light, scales=known)
