"""Safety of what is really in stock: what it can do, what to do first, what stands apart."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from argentry.keeping.book import studio_book
from argentry.keeping.moments import zone_of
from argentry.keeping.studio import name_of
from argentry.trade.chemistry import hazards as trade
from argentry.trade.refusals import read_name

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.keeping.stock.baths import BathNow
    from argentry.keeping.stock.lots import Stock
    from argentry.trade.chemistry.hazards import Hazard

NOTE = (
    "The safety data sheet of what you bought and your local rules decide; this is a reminder, "
    "not medical or legal advice."
)


@dataclass(frozen=True)
class Coded:
    """A statement of the GHS.

    Attributes
    ----------
    code : str
        As H314 or P305+P351+P338.
    text : str
        Its text.
    """

    code: str
    text: str


@dataclass(frozen=True)
class Never:
    """What must never meet something.

    Attributes
    ----------
    what : str
        The other, in words.
    why : str
        What would happen.
    """

    what: str
    why: str


@dataclass(frozen=True)
class MaterialSafety:
    """What one material can do, and what to do first.

    Attributes
    ----------
    material : str
        Its key.
    title : str
        In words.
    number : str
        CAS number; empty for a mixture.
    signal : str
        Danger, Warning or empty.
    pictograms : tuple of str
        Codes of the GHS pictograms.
    statements : tuple of Coded
        Hazard statements.
    advice : tuple of Coded
        Precautionary statements.
    eyes, skin, breathed, swallowed : str
        What to do first.
    spill : str
        What to do when it is spilt.
    store : str
        Where it stands.
    never_with : tuple of Never
        What it must never meet.
    basis : str
        What it rests on.
    source : str
        Where it was read.
    note : str
        Who decides.
    """

    material: str
    title: str
    number: str
    signal: str
    pictograms: tuple[str, ...]
    statements: tuple[Coded, ...]
    advice: tuple[Coded, ...]
    eyes: str
    skin: str
    breathed: str
    swallowed: str
    spill: str
    store: str
    never_with: tuple[Never, ...]
    basis: str
    source: str
    note: str = NOTE


@dataclass(frozen=True)
class Held(MaterialSafety):
    """A material that is in the room.

    Attributes
    ----------
    names : tuple of str
        Lots and baths by which it is there.
    """

    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Apart:
    """Two things in the room that must not stand or be poured together.

    Attributes
    ----------
    one, other : str
        Names of lots or baths.
    why : str
        What would happen.
    """

    one: str
    other: str
    why: str


@dataclass(frozen=True)
class RoomSafety:
    """What is really in stock, for the card on the wall.

    Attributes
    ----------
    studio : str
        Name of the studio.
    on : datetime
        When the stock was looked at, by the studio's clocks.
    materials : tuple of Held
        What is known of it, the most dangerous first.
    apart : tuple of Apart
        What stands apart.
    not_known : tuple of str
        Lots of which nothing is known here: their safety data sheets decide.
    note : str
        Who decides.
    """

    studio: str
    on: datetime
    materials: tuple[Held, ...]
    apart: tuple[Apart, ...]
    not_known: tuple[str, ...]
    note: str = NOTE


@dataclass(frozen=True)
class StepEquipment:
    """What a step asks to be worn or had ready.

    Attributes
    ----------
    step : str
        Its title.
    wear : tuple of str
        What is worn or stands ready.
    """

    step: str
    wear: tuple[str, ...]


@dataclass(frozen=True)
class DayEquipment:
    """The protective equipment of a day.

    Attributes
    ----------
    whole : tuple of str
        All of it, to lay out before the day.
    steps : tuple of StepEquipment
        By steps, in the order of the work; steps that ask for nothing are left out.
    note : str
        Who decides.
    """

    whole: tuple[str, ...]
    steps: tuple[StepEquipment, ...]
    note: str = NOTE


def material_safety(name: str) -> MaterialSafety:
    """Return what one material can do.

    Raises
    ------
    BadInput
        If it is refused, as argentry does not guide it, or not known here.
    """
    return MaterialSafety(**_facts(trade.hazard_of(name)))


def room_safety(folder: Path | None, address: str | None = None) -> RoomSafety:
    """Return the safety of what is really in stock."""
    from argentry.keeping.stock.baths import baths_of
    from argentry.keeping.stock.lots import stock_of

    with studio_book(folder, address) as book:
        now = datetime.now(UTC)
        baths, today = baths_of(book, now).baths, now.astimezone(zone_of(folder))
        return room_from(name_of(folder), stock_of(book, folder), baths, today)


def room_from(studio: str, stock: Stock, baths: Sequence[BathNow], now: datetime) -> RoomSafety:
    """Return the same from lots and baths in use, as the book gives them."""
    lots = [lot.name for lot in stock.lots if lot.left > 0.0]
    names = [*lots, *_bottles(baths)]
    by_key: dict[str, list[str]] = {}
    for name in names:
        found = trade.hazard_named(name)
        if found is not None:
            by_key.setdefault(found.key, []).append(name)
    held = [
        Held(**_facts(one), names=tuple(by_key[one.key]))
        for one in trade.hazards()
        if one.key in by_key
    ]
    rank = {"Danger": 0, "Warning": 1, "": 2}
    return RoomSafety(
        studio=studio,
        on=now,
        materials=tuple(sorted(held, key=lambda one: rank[one.signal])),
        apart=tuple(Apart(*found) for found in trade.apart(names)),
        not_known=tuple(name for name in lots if not _known(name)),
    )


def _known(name: str) -> bool:
    from argentry.trade.stock import is_plates, stuff_named

    known = trade.hazard_named(name) or stuff_named(name) or is_plates(name)
    return bool(known) or not read_name(name).not_known


def _bottles(baths: Sequence[BathNow]) -> list[str]:
    """Return the baths in use by what they are: a gilding bath, or a used fixing bath."""
    from argentry.trade.recipes import FIX, GILD, recipes

    kinds = {one.key: one.kind for one in recipes()}
    words = {GILD: "gilding bath", FIX: "used fixing bath"}
    found = (words.get(kinds.get(bath.recipe, ""), "") for bath in baths)
    return [name for name in dict.fromkeys(found) if name]


def day_equipment() -> DayEquipment:
    """Return the protective equipment of a day by steps, from the cautions of each."""
    from argentry.trade.steps import steps

    asked, out = trade.equipment(), []
    for step in steps():
        wear = dict.fromkeys(one for caution in step.cautions for one in asked.get(caution, ()))
        if wear:
            out.append(StepEquipment(step.title, tuple(wear)))
    whole = dict.fromkeys(one for step in out for one in step.wear)
    return DayEquipment(tuple(whole), tuple(out))


def _facts(of: Hazard) -> dict[str, Any]:
    return {
        "material": of.key,
        "title": of.title,
        "number": of.number,
        "signal": of.signal,
        "pictograms": of.pictograms,
        "statements": tuple(Coded(code, trade.statement(code)) for code in of.h),
        "advice": tuple(Coded(code.replace("_", "+"), trade.advice(code)) for code in of.p),
        "eyes": of.eyes,
        "skin": of.skin,
        "breathed": of.breathed,
        "swallowed": of.swallowed,
        "spill": of.spill,
        "store": trade.shelf(of),
        "never_with": tuple(Never(*one) for one in trade.never_with(of)),
        "basis": of.basis,
        "source": of.source,
    }
