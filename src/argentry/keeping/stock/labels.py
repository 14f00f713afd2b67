"""What stands on the labels of bottles, plates and sleeves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from argentry.errors import BadInput
from argentry.keeping.book import by_folder, studio_book
from argentry.keeping.moments import zone_of
from argentry.keeping.studio import name_of
from argentry.trade.chemistry import hazards as trade
from argentry.trade.sizes import plate_size
from argentry.trade.stock import in_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from argentry.book.engine import Book
    from argentry.keeping.stock.baths import BathNow
    from argentry.keeping.stock.lot_facts import LotNow
    from argentry.records.plate import Plate

USE_UNTIL, MIXED = "Use until {when:%Y-%m-%d %H:%M}", "Mixed {when:%Y-%m-%d %H:%M}"
UNTIL_OR = "Until {when:%Y-%m-%d} or {plates:.0f} plates in all, or cloudy, or slow to clear"
LOT_NO, VOLUME = "Lot {lot}", "{ml:g} mL"
RECEIVED, OPENED, EXPIRES = "Received {day}", "Opened {day}", "Use until {day}"
PURITY, FROM = "Purity {share:.4g} %", "From {supplier}"
WASTE = "Used: silver-bearing waste"
OWN_FOOT = "{studio}. Mixed here; the safety data sheets of what it is made of decide."
LOT_FOOT = "{studio}. Refilled from the supplier's package; its safety data sheet decides."
SIZE = "{size} plate"
UNTITLED, OF_PLATE = "Untitled", "{studio}, plate {label}"
# common practice, no source: a plate mirrors the room, and its picture is seen where that is dark
WALL_FOOT = "Stand where the plate mirrors something dark: there the picture comes up."
NO_PICTURE = "there is no finished picture on {label!r}"
FINISH_FIRST = "grade the plate when its run is finished; a wall label names a picture"
LONGEST_ON_WALL = 120  # signs of a title, a name or a place
TOO_LONG = "{words} is longer than {most} signs"
NOT_A_TITLE_EACH = "{titles} are given for {plates}"
PLATE_FOOT = "Touch the edges only. Never wipe a finished picture."
SHORT = 8  # signs of an id that tell one bottle from the next


@dataclass(frozen=True)
class Label:
    """One label.

    Attributes
    ----------
    title : str
        The largest words on it.
    lines : tuple of str
        What follows, the weightiest first.
    signal : str
        Danger, Warning or empty.
    pictograms : tuple of str
        Codes of the GHS pictograms.
    statements : tuple of str
        Hazard statements.
    advice : tuple of str
        Precautionary statements.
    address : str
        Where its code leads; empty without a code.
    foot : str
        Who made it and who decides.
    """

    title: str
    lines: tuple[str, ...]
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    statements: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    address: str = ""
    foot: str = ""


@dataclass(frozen=True)
class Labels:
    """Labels that were printed.

    Attributes
    ----------
    labels : tuple of Label
        The labels, in the order of the sheet.
    """

    labels: tuple[Label, ...]


def bottles_of(
    book: Book, folder: Path | None, names: Sequence[str], *, base: str = ""
) -> tuple[Label, ...]:
    """Return the labels of baths in use and of lots, by their names.

    Parameters
    ----------
    book, folder
        The open book; its studio's folder.
    names : sequence of str
        Of baths or lots; empty: every bath in use.
    base : str
        Address of the studio's server, to which the codes lead; empty: no codes.

    Raises
    ------
    BadInput
        If nothing has such a name, or there is no bath.
    """
    from argentry.keeping.stock.baths import baths_of
    from argentry.keeping.stock.lots import find_lot, stock_of

    zone, studio = zone_of(folder), name_of(folder)
    baths = {bath.name: bath for bath in baths_of(book, datetime.now(UTC)).baths}
    if not names:
        if not baths:
            raise BadInput("bottle", "no bath is in use", "argentry bath new NAME RECIPE")
        names = list(baths)
    lots = stock_of(book, folder, all_of_them=True).lots
    out = []
    for name in names:
        bath = baths.get(name)
        if bath is not None:
            out.append(_bath_label(bath, zone, studio, base))
            continue
        lot = find_lot(lots, name)
        out.append(_lot_label(next(one for one in lots if one.id == lot.id), studio, base))
    return tuple(out)


bottle_labels = by_folder(bottles_of)


def bath_address(base: str, bath: str) -> str:
    """Return the address of a bath's page; empty without a server."""
    return f"{base.rstrip('/')}/materials/bath/{bath}" if base else ""


def _bath_label(bath: BathNow, zone: ZoneInfo, studio: str, base: str) -> Label:
    from argentry.trade.recipes import FIX, GILD

    life, kind = bath.life, ""
    mixed = bath.mixed_at.astimezone(zone)
    lines = [MIXED.format(when=mixed)]
    if life is not None:
        until = mixed + timedelta(days=life.keeps_days)
        if life.gold_left_mg is not None:
            kind = GILD
            lines.append(USE_UNTIL.format(when=until))
        elif life.limit_g_l is not None:
            kind = FIX
            whole = bath.plates_through + (life.plates_left or 0.0)
            lines.append(UNTIL_OR.format(when=until, plates=whole))
    lines += [LOT_NO.format(lot=bath.id[-SHORT:]) + ", " + VOLUME.format(ml=bath.volume_ml)]
    lines.append(bath.title)
    used = kind == FIX and bath.plates_through > 0
    named = {GILD: "gilding bath", FIX: "used fixing bath" if used else "plain fixing bath"}
    hazard = trade.hazard_named(named.get(kind, bath.recipe))
    if used:
        lines.append(WASTE)
    return Label(
        title=bath.name,
        lines=tuple(lines),
        address=bath_address(base, bath.id),
        foot=OWN_FOOT.format(studio=studio),
        **_ghs(hazard),
    )


def _lot_label(lot: LotNow, studio: str, base: str) -> Label:
    hazard = trade.hazard_named(lot.name)
    lines = [RECEIVED.format(day=lot.received_on)]
    for words, day in ((OPENED, lot.opened_on), (EXPIRES, lot.expires_on)):
        if day is not None:
            lines.append(words.format(day=day))
    lines.append(LOT_NO.format(lot=lot.id[-SHORT:]) + f", {in_words(lot.amount, lot.unit)}")
    if lot.purity is not None:
        lines.append(PURITY.format(share=100.0 * lot.purity))
    if lot.supplier:
        lines.append(FROM.format(supplier=lot.supplier))
    if hazard is not None and hazard.number:
        lines.append(f"CAS {hazard.number}")
    return Label(
        title=lot.name,
        lines=tuple(lines),
        address=f"{base.rstrip('/')}/materials" if base else "",
        foot=LOT_FOOT.format(studio=studio),
        **_ghs(hazard),
    )


def _ghs(hazard: trade.Hazard | None) -> dict[str, Any]:
    if hazard is None:
        return {}
    return {
        "signal": hazard.signal,
        "pictograms": hazard.pictograms,
        "statements": tuple(f"{trade.statement(code)}." for code in hazard.h),
        "advice": tuple(trade.advice(code) for code in hazard.p),
    }


def plate_labels(
    folder: Path | None, labels: Sequence[str], address: str | None = None, *, base: str = ""
) -> tuple[Label, ...]:
    """Return the labels of plates.

    Raises
    ------
    BadInput
        If no plate is named, or one is not in the book.
    """
    from argentry.keeping.plates.plates import find_plate

    _some_named(labels)
    with studio_book(folder, address) as book:
        studio = "" if folder is None else name_of(folder)
        own = [find_plate(book, label) for label in labels]
        return tuple(_plate_label(book, plate, studio, base) for plate in own)


def wall_labels(
    folder: Path | None,
    labels: Sequence[str],
    address: str | None = None,
    *,
    base: str = "",
    titles: Sequence[str] = (),
    maker: str = "",
    place: str = "",
) -> tuple[Label, ...]:
    """Return the labels that hang beside pictures: title, maker, day and place, what it is.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    labels : sequence of str
        The plates.
    address : str, optional
        Of a PostgreSQL book.
    base : str
        Address of the studio's server, to which the codes lead; empty: no codes.
    titles : sequence of str
        One for each plate, in their order; empty: they are untitled.
    maker : str
        Who made them; empty: the studio's name stands for it.
    place : str
        Where they were taken.

    Raises
    ------
    BadInput
        If no plate is named, one is not in the book or bears no finished picture, there are more
        or fewer titles than plates, or words are too long for a label.
    """
    from argentry.keeping.plates.description import picture_lines
    from argentry.keeping.plates.plates import find_plate

    _some_named(labels)
    if titles and len(titles) != len(labels):
        raise BadInput(
            "--title", NOT_A_TITLE_EACH, "give one for each plate, in their order",
            titles=len(titles), plates=len(labels),
        )  # fmt: skip
    for option, words in (
        *(("--title", one) for one in titles),
        ("--maker", maker),
        ("--place", place),
    ):
        if len(words) > LONGEST_ON_WALL:
            shown = repr(words[:20] + "...")
            raise BadInput(option, TOO_LONG, "shorten it", words=shown, most=LONGEST_ON_WALL)
    studio = "" if folder is None else name_of(folder)
    made = []
    with studio_book(folder, address) as book:
        for label, title in zip(labels, titles or [""] * len(labels), strict=True):
            plate = find_plate(book, label)
            lines = picture_lines(book, plate)
            if not lines:
                raise BadInput("plate", NO_PICTURE, FINISH_FIRST, label=plate.label)
            taken = ", ".join(filter(None, (place.strip(), lines[0])))
            made.append(
                Label(
                    title=title.strip() or UNTITLED,
                    lines=(maker.strip() or studio, taken, *lines[1:]),
                    address=_plate_address(base, plate),
                    foot=f"{WALL_FOOT} {OF_PLATE.format(studio=studio, label=plate.label)}",
                )
            )
    return tuple(made)


def _some_named(labels: Sequence[str]) -> None:
    if not labels:
        raise BadInput("plate", "none is named", "give labels of the book's plates")


def _plate_address(base: str, plate: Plate) -> str:
    return f"{base.rstrip('/')}/plates/{quote(plate.label, safe='')}" if base else ""


def _plate_label(book: Book, plate: Plate, studio: str, base: str) -> Label:
    from argentry.keeping.plates.description import plate_lines

    return Label(
        title=plate.label,
        lines=(SIZE.format(size=plate.size).capitalize(), *plate_lines(book, plate)),
        address=_plate_address(base, plate),
        foot=". ".join(filter(None, (studio, PLATE_FOOT))),
    )


def plate_sizes_mm(
    folder: Path | None, labels: Sequence[str], address: str | None = None
) -> tuple[tuple[float, float], ...]:
    """Return the narrow and the long side of plates. [mm]."""
    from argentry.keeping.plates.plates import find_plate

    with studio_book(folder, address) as book:
        sizes = [plate_size(find_plate(book, label).size) for label in labels]
    return tuple((size.width_mm, size.height_mm) for size in sizes)
