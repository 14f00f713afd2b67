"""The page of materials: what will not last this week; stock, baths, safety, waste and costs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from argentry.book.baths import taken_for
from argentry.desk.house import House, book_address
from argentry.errors import BadInput
from argentry.exchange.plates.numbers import typed_number
from argentry.exchange.stock_list import stock_list_in
from argentry.keeping.moments import today_of
from argentry.keeping.plates.wear import worn_of
from argentry.keeping.stock.baths import BathNow, baths_of, lacking_of, new_bath
from argentry.keeping.stock.baths import discard_bath as discard
from argentry.keeping.stock.corrections import note_lot, weigh_lot
from argentry.keeping.stock.cost import Cost, cost_of
from argentry.keeping.stock.known_baths import KnownBaths
from argentry.keeping.stock.lots import Stock, new_lot, stock_of
from argentry.keeping.stock.orders import Needs, needs_from
from argentry.keeping.stock.safety import RoomSafety, room_from
from argentry.keeping.stock.stock_list import StockImport, import_stock
from argentry.keeping.stock.waste import Waste, waste_of
from argentry.keeping.stock.waste import collected as note
from argentry.keeping.studio import load_studio
from argentry.needs.materials.plate_wear import PlateWear
from argentry.records.material import LotFacts
from argentry.trade.facts import value
from argentry.trade.recipes import recipes
from argentry.trade.stock import in_words

When = TypeVar("When", date, datetime)
NOT_A_NUMBER = "{given!r} is not a number that can be read in one way only"
A_NUMBER = "give a number, for example 12.5"
NOT_A_TIME, A_TIME = "{given!r} is not a time", "write it as 2026-06-21T18:00"
OF_LOT, NOTHING = "{amount} of {lot}", "nothing"
LACKED = "{told}; the opened lots lack {amount} of {lot} for such a bath"
NOT_A_DAY, A_DAY = "{given!r} is not a date", "write it as 2026-06-21"


@dataclass(frozen=True)
class MaterialsPage:
    """What the page shows.

    Attributes
    ----------
    stock : Stock
        The lots.
    needs : Needs
        What the coming days need against what is there.
    baths : tuple of BathNow
        Baths in use.
    took : Mapping[str, str]
        By id of a bath: what it took from opened lots when it was noted, in words; one that took
        nothing is left out.
    tired : tuple of BathNow
        Those of them that are to be renewed now or soon.
    worn : tuple of PlateWear
        Plates that one more repolish would wear through.
    least_um : float
        Silver that must be left on them. [µm]
    room : RoomSafety
        Safety of what is there.
    waste : Waste
        What waste was made this month and is kept.
    cost : Cost
        What the plates of the year until today cost.
    recipes : tuple of (str, str)
        Key and title of each recipe that a bath may be noted by.
    """

    stock: Stock
    needs: Needs
    baths: tuple[BathNow, ...]
    took: Mapping[str, str]
    tired: tuple[BathNow, ...]
    worn: tuple[PlateWear, ...]
    least_um: float
    room: RoomSafety
    waste: Waste
    cost: Cost
    recipes: tuple[tuple[str, str], ...]


def materials_page(house: House) -> MaterialsPage:
    """Return what the page of materials shows."""
    now, folder = house.clock.now(), house.studio_dir
    studio = load_studio(folder)
    today = today_of(folder, now)
    stock = stock_of(house.book, folder, all_of_them=True, studio=studio)
    known = KnownBaths(house.book, folder, studio)
    baths = baths_of(house.book, now, known=known).baths
    return MaterialsPage(
        stock=stock,
        needs=needs_from(house.book, studio, stock, today=today),
        baths=baths,
        took={bath.id: words for bath in baths if (words := _took(house, bath))},
        tired=tuple(bath for bath in baths if not bath.lasts),
        worn=worn_of(house.book),
        least_um=value("plating", "silver_least"),
        room=room_from(studio.name, stock, baths, now.astimezone(house.zone)),
        waste=waste_of(house.book, folder, now=now, studio=studio, known=known),
        cost=cost_of(house.book, folder, last=today, studio=studio),
        recipes=tuple((one.key, one.title) for one in (*known.own.values(), *recipes())),
    )


def _took(house: House, bath: BathNow) -> str:
    """Return what the opened lots gave for a bath, and what they lacked; empty for neither."""
    taken = taken_for(house.book, bath)
    told = ", ".join(
        OF_LOT.format(amount=in_words(each, unit), lot=lot) for lot, each, unit in taken
    )
    lacking = lacking_of(house.book, house.studio_dir, bath)
    if lacking is None:
        return told
    lot, amount, unit = lacking
    return LACKED.format(told=told or NOTHING, amount=in_words(amount, unit), lot=lot)


def weigh(house: House, form: Mapping[str, str], by: str) -> None:
    """Note what a weighing by the form of the page says is left of a lot."""
    amount = _number("amount", form.get("amount", ""))
    if amount is None:
        raise BadInput("amount", "nothing is given", A_NUMBER)
    weigh_lot(house.studio_dir, form.get("lot", ""), amount, book_address(house), by=by)


def add_lot(house: House, form: Mapping[str, str], by: str) -> None:
    """Note a lot that came in by the form of the page."""
    amount = _number("amount", form.get("amount", ""))
    if amount is None:
        raise BadInput("amount", "nothing is given", A_NUMBER)
    new_lot(
        house.studio_dir,
        form.get("name", ""),
        amount,
        form.get("unit", ""),
        book_address(house),
        supplier=form.get("supplier", ""),
        facts=_facts(form),
        by=by,
    )


def note_more(house: House, form: Mapping[str, str], by: str) -> None:
    """Note what the form of the page says of a lot that is there, or that is used up."""
    lot = form.get("lot", "")
    if not lot:
        raise BadInput("lot", "none is chosen", "choose one")
    note_lot(house.studio_dir, lot, _facts(form), book_address(house), by=by)


def _facts(form: Mapping[str, str]) -> LotFacts:
    return LotFacts(
        purity=_number("purity", form.get("purity", "")),
        price=_number("price", form.get("price", "")),
        opened_on=_day("opened", form.get("opened", "")),
        expires_on=_day("expires", form.get("expires", "")),
        lead_days=_number("lead days", form.get("lead_days", "")),
    )


def take_list(house: House, name: str, content: bytes, by: str) -> StockImport:
    """Note the lots of a list that the page sent; with a row to mend, none of them."""
    listed = stock_list_in(name, content)
    return import_stock(house.studio_dir, listed, book_address(house), by=by)


def add_bath(house: House, form: Mapping[str, str], _by: str) -> None:
    """Note a bath that was mixed, by the form of the page."""
    volume = _number("volume", form.get("volume_ml", ""))
    if volume is None:
        raise BadInput("volume", "nothing is given", A_NUMBER)
    recipe = form.get("recipe", "") or form.get("words", "").strip()
    if not recipe:
        raise BadInput("recipe", "none is chosen", "choose one, or say what is in it")
    new_bath(
        house.studio_dir, form.get("name", ""), recipe, volume, book_address(house),
        mixed_at=_moment("mixed", form.get("mixed", "")),
    )  # fmt: skip


def discard_bath(house: House, form: Mapping[str, str], _by: str) -> None:
    """Note that a bath was disposed of, by the button of the page."""
    discard(house.studio_dir, form.get("bath", ""), book_address(house))


def collected(house: House, _form: Mapping[str, str], by: str) -> None:
    """Note that the waste that was kept was collected, by the button of the page."""
    note(house.studio_dir, book_address(house), by=by)


def _number(where: str, text: str) -> float | None:
    if not text.strip():
        return None
    number = typed_number(text)
    if number is None:
        raise BadInput(where, NOT_A_NUMBER, A_NUMBER, given=text)
    return number


def _moment(where: str, text: str) -> datetime | None:
    return _iso(where, text, datetime.fromisoformat, NOT_A_TIME, A_TIME)


def _day(where: str, text: str) -> date | None:
    return _iso(where, text, date.fromisoformat, NOT_A_DAY, A_DAY)


def _iso(where: str, text: str, read: Callable[[str], When], wrong: str, right: str) -> When | None:
    if not text.strip():
        return None
    try:
        return read(text.strip())
    except ValueError:
        raise BadInput(where, wrong, right, given=text[:20]) from None
