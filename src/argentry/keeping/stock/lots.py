"""Stock of the book: what came in, what was taken, how many plates the rest will do."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.keeping.book import by_folder, studio_book
from argentry.keeping.moments import past_day, today_of
from argentry.keeping.stock.lot_facts import LotNow, check_facts, facts_noted
from argentry.records.ids import new_id
from argentry.records.material import Lot, LotFacts

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.keeping.stock.use import Use
    from argentry.records.studio import Studio
    from argentry.trade.materials import Material

LEFT = "{left:g} {unit} of lot {name!r} are left"
EMPTY = 1e-9  # share of a lot below which nothing is left: the dust of adding decimals


@dataclass(frozen=True)
class Stock:
    """What is left, and how many plates it will do.

    Attributes
    ----------
    lots : tuple of LotNow
        The lots, the oldest first.
    size : str
        Plate size that plates are counted in.
    ahead : int
        Plates looked ahead: as many as a usual day makes, or the trade's word before any day.
        [plates]
    used_up : tuple of str
        Materials of which there were lots and nothing is left.
    """

    lots: tuple[LotNow, ...]
    size: str
    ahead: int
    used_up: tuple[str, ...]


def new_lot(
    folder: Path | None,
    name: str,
    amount: float,
    unit: str,
    address: str | None = None,
    *,
    supplier: str = "",
    received_on: date | None = None,
    facts: LotFacts | None = None,
    by: str = "",
) -> LotNow:
    """Note that a lot of stock came in.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    name : str
        What it is; unique among the lots of which something is left.
    amount : float
        How much. [unit]
    unit : str
        ``"g"``, ``"mL"``, ``"piece"``...
    address : str, optional
        Of a PostgreSQL book.
    supplier : str
        From whom.
    received_on : date, optional
        When; None: today.
    facts : LotFacts, optional
        Purity, price, dates and lead time as far as they are known.
    by : str
        Who notes them.

    Raises
    ------
    BadInput
        If it is refused, a lot of that name has something left, or a value is out of range.
    """
    from argentry.book.lots import add_lots, lots

    wanted = name.strip()
    day = past_day("--received", folder, received_on)
    with studio_book(folder, address) as book:
        check_facts(facts or LotFacts(), day, folder)
        made = Lot(new_id(), wanted, amount, unit.strip(), supplier.strip(), day)
        notes = facts_noted(made.id, facts or LotFacts(), datetime.now(UTC), by)
        noted = False
        while not noted:  # another page may note one of the same name between the two
            there = lots(book)
            check_new(there, wanted, made.unit, day)
            noted = add_lots(book, [made], notes, seen=len(there))
        return told(folder, book, made.id)


def check_new(there: Sequence[Lot], name: str, unit: str, day: date) -> None:
    """Refuse a lot without a name or unit, of what no recipe may hold, or of a name in use.

    Raises
    ------
    BadInput
        With what is wrong; of a name in use the lot of which something is left.
    """
    if not name or not unit:
        empty = "unit" if name else "name"
        raise BadInput(empty, "it is empty", "write for example: Iodine 100 g")
    _check_stuff(name)
    for lot in there:
        if same_name(lot.name, name) and _left(lot) > 0.0:
            said = LEFT.format(name=lot.name, left=_left(lot), unit=lot.unit)
            right = "tell them apart, for example {wanted!r}".format(
                wanted=name + " " + day.isoformat()
            )
            raise BadInput("name", said, right)


def _check_stuff(name: str) -> None:
    """Refuse a lot of what no recipe may hold."""
    from argentry.trade.refusals import check_recipe

    try:
        check_recipe([name])
    except BadInput as no:
        raise BadInput("name", no.what, no.right) from None


def use_stock(
    folder: Path | None,
    name: str,
    amount: float,
    address: str | None = None,
    *,
    by: str = "",
    remark: str = "",
) -> LotNow:
    """Take from a lot; a negative amount puts a mistake right.

    Parameters
    ----------
    folder, address
        As `new_lot`.
    name : str
        Of the lot, or its id.
    amount : float
        How much. [unit of the lot]
    by, remark : str
        Who, and what for.

    Raises
    ------
    BadInput
        If no one lot is meant, or it does not hold so much.
    """
    from argentry.book.lots import lots, use_lot

    if amount == 0.0:
        raise BadInput("amount", "nothing is taken", "give how much; less than 0 puts it back")
    with studio_book(folder, address) as book:
        lot = find_lot(lots(book), name)
        use_lot(book, lot.id, amount, by, remark=remark)
        return told(folder, book, lot.id)


def stock_of(
    book: Book,
    folder: Path | None,
    *,
    all_of_them: bool = False,
    studio: Studio | None = None,
) -> Stock:
    """Return what is left, and how many plates of the studio's usual size it will do.

    Parameters
    ----------
    book, folder
        The open book; its studio's folder.
    all_of_them : bool
        True: also lots of which nothing is left.
    studio : Studio, optional
        As read before.
    """
    from argentry.book.lots import lots
    from argentry.trade.sizes import plate_size

    named = None if studio is None else plate_size(studio.habits.plate_size).name
    size, ahead = named or _size(folder), usual_day(book)
    rows = _rows(book, lots(book), size, ahead, today_of(folder))
    shown = tuple(row for row in rows if all_of_them or row.left > 0.0)
    return Stock(shown, size, ahead, _used_up(rows))


list_stock = by_folder(stock_of)


def find_lot(there: Sequence[Lot], name: str) -> Lot:
    """Return the one lot that a name or an id means.

    Of several of one name it is the one of which something is left.

    Raises
    ------
    BadInput
        If there is none, or more than one; the sentence names what is near.
    """
    from difflib import get_close_matches

    wanted = name.strip()
    own = [lot for lot in there if lot.id == wanted] or [
        lot for lot in there if same_name(lot.name, wanted)
    ]
    own = [lot for lot in own if _left(lot) > 0.0] or own
    if len(own) > 1:
        ids = " or ".join(f"{lot.id} (received {lot.received_on})" for lot in own)
        raise BadInput(
            "lot",
            "{own_count} lots are named {wanted!r}",
            "give one id: {ids}",
            own_count=len(own),
            wanted=wanted,
            ids=ids,
        )
    if own:
        return own[0]
    names = {lot.name.casefold(): lot.name for lot in there}
    key = wanted.casefold()
    starts = [names[one] for one in names if key and one.startswith(key)]
    near = starts or [names[one] for one in get_close_matches(key, names, n=1, cutoff=0.5)]
    right = (
        "did you mean {near}".format(near=" or ".join(repr(one) for one in near[:3]))
        if near
        else "see: argentry stock list --all"
    )
    raise BadInput("lot", "no lot is named {wanted!r}".format(wanted=wanted[:40]), right)


def same_name(one: str, other: str) -> bool:
    """Say whether two lots are named alike: upper and lower case do not count."""
    return one.casefold() == other.casefold()


def _left(lot: Lot) -> float:
    left = lot.amount - lot.used
    return left if left > EMPTY * lot.amount else 0.0


def _size(folder: Path | None) -> str:
    from argentry.keeping.plates.plates import usual_size
    from argentry.trade.sizes import plate_size

    return plate_size(usual_size(folder)).name


def usual_day(book: Book) -> int:
    """Return how many plates ahead to look: a usual day's, or the trade's word before any day."""
    from argentry import trade
    from argentry.book.makings import newest_sessions
    from argentry.learn.deciding.plates_a_day import usual_of

    newest = newest_sessions(book, int(trade.value("decide", "newest_plates")))
    return usual_of(newest) or int(trade.value("stock", "plates_ahead"))


def told(folder: Path | None, book: Book, lot: str) -> LotNow:
    """Return a lot by its id as it stands now."""
    return next(row for row in rows_of(folder, book) if row.id == lot)


def rows_of(folder: Path | None, book: Book) -> list[LotNow]:
    """Return all lots as they stand now, the oldest first."""
    from argentry.book.lots import lots

    return _rows(book, lots(book), _size(folder), usual_day(book), today_of(folder))


def _rows(book: Book, found: Sequence[Lot], size: str, ahead: int, today: date) -> list[LotNow]:
    from argentry.book.materials.notes import lot_facts
    from argentry.trade.sizes import plate_size

    area, facts = plate_size(size).area_cm2, lot_facts(book)
    rows = [_row(lot, facts.get(lot.id, LotFacts()), (size, area), ahead, today) for lot in found]
    rows = _as_weighed(book, rows, area, ahead, today)
    return [replace(row, then=tuple(_others(row, rows))) for row in rows]


def _as_weighed(
    book: Book, rows: list[LotNow], area_cm2: float, ahead: int, today: date
) -> list[LotNow]:
    """Return lots with the plates that they will do by what weighing taught of the use."""
    from argentry.keeping.stock.use import uses_of
    from argentry.trade.materials import each_plate

    own = {one: [row for row in rows if row.key == one.key] for one in each_plate(area_cm2, ahead)}
    there = [(one, lots) for one, lots in own.items() if lots]
    uses = zip(there, uses_of(book, there, today), strict=True)
    taught = {one.key: (one, use) for (one, _), use in uses if use.plates}
    told = [_taught(row, *taught[row.key]) if row.key in taught else row for row in rows]
    return [replace(row, runs_out=_runs_out(row, ahead)) for row in told]


def _taught(row: LotNow, by_trade: Material, use: Use) -> LotNow:
    ends = (row.plates_left, row.plates_left_low, row.plates_left_high)
    uses = ((by_trade.amount, use.middle), (by_trade.high, use.high), (by_trade.low, use.low))
    middle, low, high = (
        None if end is None else end * was / now for end, (was, now) in zip(ends, uses, strict=True)
    )
    return replace(row, plates_left=middle, plates_left_low=low, plates_left_high=high)


def _runs_out(row: LotNow, ahead: int) -> bool:
    """Return True for a lot of which something is left, for fewer plates than are looked ahead."""
    few = row.plates_left is not None and row.plates_left < ahead * (1.0 - EMPTY)
    return few and row.left > 0.0


def _others(row: LotNow, rows: Sequence[LotNow]) -> Iterator[str]:
    for other in rows:
        alike = row.material is not None and other.material == row.material
        if alike and other.left > 0.0 and other is not row and not other.expired:
            yield other.name


def _row(lot: Lot, facts: LotFacts, plate: tuple[str, float], ahead: int, today: date) -> LotNow:
    from argentry.trade.facts import toml
    from argentry.trade.stock import material_in, plates_left, size_of_piece, stuff_named

    stuff, left = stuff_named(lot.name), _left(lot)
    share = 1.0 if facts.purity is None else facts.purity
    one = None if stuff is None else material_in(stuff, share, lot.unit)
    expired = facts.expires_on is not None and facts.expires_on < today
    pure = 0.0 if expired else left * share
    plates = None if stuff is None else plates_left(stuff, pure, lot.unit, plate[1], ahead)
    if size_of_piece(lot.name, lot.unit) not in ("", plate[0]):
        plates = None  # cut for other plates
    return LotNow(
        **vars(lot),
        **vars(facts),
        key="" if stuff is None else stuff.material,
        each=0.0 if one is None else one[1],
        expired=expired,
        left=left,
        material=None if stuff is None else toml("materials")["names"][stuff.material],
        plates_left=plates.middle if plates else None,
        plates_left_low=plates.low if plates else None,
        plates_left_high=plates.high if plates else None,
        runs_out=False,
    )


def _used_up(rows: Sequence[LotNow]) -> tuple[str, ...]:
    """Return the materials of which there was a lot and nothing is left."""
    known = dict.fromkeys(row.material for row in rows if row.material)
    there = {row.material for row in rows if row.left > 0.0 and not row.expired}
    return tuple(material for material in known if material not in there)
