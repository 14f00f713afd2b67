"""Waste that was made: how much, what silver and gold it holds, against published limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from argentry.book.baths import area_through, bath_uses
from argentry.book.engine import Book
from argentry.book.materials.notes import add_notes, notes
from argentry.book.times import day_begins
from argentry.errors import BadInput
from argentry.keeping.book import by_folder, studio_book
from argentry.keeping.house_clock import entered_at
from argentry.keeping.moments import days_asked, zone_in
from argentry.keeping.stock.known_baths import KnownBaths
from argentry.keeping.studio import load_studio
from argentry.needs.materials.bath_silver import Dissolved, together
from argentry.needs.materials.mixing import volume_ml
from argentry.records.material import COLLECTED, WASTE, Bath, MaterialNote
from argentry.records.studio import Studio
from argentry.trade.chemistry.hazards import Limit, limits
from argentry.trade.facts import value
from argentry.trade.recipes import FIX, GILD, gold_mg_per_ml

TITLES = {FIX: "Used fixing bath", GILD: "Used gilding bath and quench"}
COPPER = (
    "Copper is not computed: it gets into a bath only where silver is worn through. Have a sample "
    "measured, or ask the collector."
)
RECOVERY = (
    "Information, not instruction: used fixing bath gives its silver up to a metal that is less "
    "noble, as in the steel-wool cartridges that collectors use, or is given to a licensed "
    "recycler as it is. Whether you may treat waste yourself, and what may go down a drain "
    "afterwards, your local code and waste authority decide. Never use acid, bleach, ammonia or "
    "cyanide on it."
)
WHO = "Your local waste authority decides what this waste is and where it goes."


@dataclass(frozen=True)
class WasteKind:
    """Waste of one kind.

    Attributes
    ----------
    kind : str
        fix or gild.
    title : str
        In words.
    made_ml : float
        Thrown away within the days asked for: a bath with its bottle, and of a gilding bath each
        plate's pool as it was poured off. [mL]
    kept_ml : float
        Kept since the last collection. [mL]
    in_use_ml : float
        In bottles still in use. [mL]
    plates : int
        Plates that went through it within the days asked for.
    silver_mg, silver_low_mg, silver_high_mg : float
        Silver that went into it within those days, with its 80 % range. [mg]
    kept_silver_mg, kept_silver_low_mg, kept_silver_high_mg : float
        Silver in what is kept, less what rinses carried out, with its 80 % range. [mg]
    kept_silver_mg_per_l, kept_silver_low_mg_per_l, kept_silver_high_mg_per_l : float or None
        The same by volume, the doubt of which is in the range; null while nothing is kept. [mg/L]
    gold_mg : float
        Gold in what was thrown away within those days, as mixed: what went onto plates is not
        taken off. [mg]
    """

    kind: str
    title: str
    made_ml: float
    kept_ml: float
    in_use_ml: float
    plates: int
    silver_mg: float
    silver_low_mg: float
    silver_high_mg: float
    kept_silver_mg: float
    kept_silver_low_mg: float
    kept_silver_high_mg: float
    kept_silver_mg_per_l: float | None
    kept_silver_low_mg_per_l: float | None
    kept_silver_high_mg_per_l: float | None
    gold_mg: float


@dataclass(frozen=True)
class LimitCompared:
    """A published limit next to what is kept.

    Attributes
    ----------
    name, year : str
        Whose, and of when.
    what : str
        silver or copper.
    mg_per_l : float
        The limit. [mg/L]
    over : bool or None
        True when what is kept holds more; null when that is not known.
    source : str
        Where it was read.
    """

    name: str
    year: str
    what: str
    mg_per_l: float
    over: bool | None
    source: str


@dataclass(frozen=True)
class Waste:
    """What waste was made and is kept.

    Attributes
    ----------
    studio : str
        Name of the studio.
    first, last : date
        Days asked for.
    coat_nm : float
        Coat that silver is computed from where no picture showed a plate's own: all of it goes into
        the fixing bath. [nm]
    kinds : tuple of WasteKind
        By kind.
    collected_at : datetime or None
        When waste was collected last; null: never.
    limits : tuple of LimitCompared
        Published limits; laws differ and change.
    copper : str
        What is known of copper.
    recovery : str
        How silver is got back, as information.
    silver_expected_g, silver_expected_low_g, silver_expected_high_g : float
        Silver in all fixing bath kept, with its 80 % range. [g]
    note : str
        Who decides.
    """

    studio: str
    first: date
    last: date
    coat_nm: float
    kinds: tuple[WasteKind, ...]
    collected_at: datetime | None
    limits: tuple[LimitCompared, ...]
    copper: str
    recovery: str
    silver_expected_g: float
    silver_expected_low_g: float
    silver_expected_high_g: float
    note: str = WHO


def collected(
    folder: Path | None, address: str | None = None, *, by: str = "", at: datetime | None = None
) -> Waste:
    """Note that the waste was collected: what was kept until then is gone.

    Raises
    ------
    BadInput
        If nothing is kept.
    """
    with studio_book(folder, address) as book:
        moment = entered_at(book, "--at", folder, at)
        before = waste_of(book, folder)
        if not any(kind.kept_ml for kind in before.kinds):
            right = "discard a bath first: argentry bath discard NAME"
            raise BadInput("waste", "nothing is kept that could be collected", right)
        add_notes(book, [MaterialNote(WASTE, "", COLLECTED, moment.isoformat(), moment, by)])
        return waste_of(book, folder)


def waste_of(
    book: Book,
    folder: Path | None,
    *,
    first: date | None = None,
    last: date | None = None,
    now: datetime | None = None,
    studio: Studio | None = None,
    known: KnownBaths | None = None,
) -> Waste:
    """Return what waste was made; what is read of the book already is not read again.

    Parameters
    ----------
    book, folder
        The open book; its studio's folder.
    first, last : date, optional
        Days; left out: this month until today.
    now, studio, known
        As read before.

    Raises
    ------
    BadInput
        If the days are the wrong way round.
    """
    now = now or datetime.now(UTC)
    if studio is None and folder is not None:
        studio = load_studio(folder)
    zone = zone_in(studio)
    today = now.astimezone(zone).date()
    first, last = days_asked(first, last, today, lambda day: day.replace(day=1))
    gone = [note.at for note in notes(book, WASTE) if note.what == COLLECTED]
    since = max(gone, default=None)
    known = known or KnownBaths(book, folder, studio)
    uses = bath_uses(book, first, last, zone)
    days = (day_begins(first, zone), day_begins(last + timedelta(days=1), zone))
    later = area_through(book, since)
    kinds = tuple(_kind(kind, known, uses, days, since, later) for kind in TITLES)
    return Waste(
        studio="" if studio is None else studio.name,
        first=first,
        last=last,
        coat_nm=known.usual().nm,
        kinds=kinds,
        collected_at=since,
        limits=tuple(_compared(limit, kinds) for limit in limits()),
        copper=COPPER,
        recovery=RECOVERY,
        silver_expected_g=sum(kind.kept_silver_mg for kind in kinds) / 1000.0,
        silver_expected_low_g=sum(kind.kept_silver_low_mg for kind in kinds) / 1000.0,
        silver_expected_high_g=sum(kind.kept_silver_high_mg for kind in kinds) / 1000.0,
    )


waste = by_folder(waste_of)


def _kind(
    kind: str,
    known: KnownBaths,
    uses: dict[str, tuple[int, float]],
    days: tuple[datetime, datetime],
    since: datetime | None,
    later: dict[str, float],
) -> WasteKind:
    mixed = ((bath, known.recipe(bath.recipe)) for bath in known.every)
    by = {bath.id: recipe for bath, recipe in mixed if recipe is not None and recipe.kind == kind}
    own = [bath for bath in known.every if bath.id in by]
    done = [bath for bath in own if bath.discarded_at is not None]
    made = [b for b in done if b.discarded_at and days[0] <= b.discarded_at < days[1]]
    kept = [b for b in done if b.discarded_at and (since is None or b.discarded_at > since)]
    rests = {bath.id: _rest(kind, bath) for bath in own}
    made_ml = {bath.id: _poured(kind, bath, uses.get(bath.id, (0, 0.0))[1]) for bath in own}
    for bath in made:
        made_ml[bath.id] += rests[bath.id]
    kept_ml = sum(_poured(kind, bath, later.get(bath.id, 0.0)) for bath in own)
    kept_ml += sum(rests[bath.id] for bath in kept)
    used = [bath for bath in own if bath.id in uses]
    known.look_at([*used, *kept])
    plates = sum(uses[bath.id][0] for bath in used)
    silver = together(_silver(kind, known, bath, uses[bath.id][1]) for bath in used).range_80()
    left = together(_left(kind, known, bath) for bath in kept)
    held, by_litre = left.range_80(), left.range_80(value("baths", "volume_sd_share"))
    low, middle, high = (
        1000.0 * mg / kept_ml if kept_ml else None
        for mg in (by_litre.low, by_litre.middle, by_litre.high)
    )
    return WasteKind(
        kind=kind,
        title=TITLES[kind],
        made_ml=sum(made_ml.values()),
        kept_ml=kept_ml,
        in_use_ml=sum(rests[bath.id] for bath in own if bath.discarded_at is None),
        plates=plates,
        silver_mg=silver.middle,
        silver_low_mg=silver.low,
        silver_high_mg=silver.high,
        kept_silver_mg=held.middle,
        kept_silver_low_mg=held.low,
        kept_silver_high_mg=held.high,
        kept_silver_mg_per_l=middle,
        kept_silver_low_mg_per_l=low,
        kept_silver_high_mg_per_l=high,
        gold_mg=sum(gold_mg_per_ml(by[bath.id]) * made_ml[bath.id] for bath in own),
    )


def _poured(kind: str, bath: Bath, area_cm2: float) -> float:
    """Return what so much area poured off: a gilding bath loses the pool of each plate. [mL]."""
    if kind != GILD or area_cm2 <= 0.0:
        return 0.0
    return min(volume_ml(GILD, [(area_cm2, 1)])[0], bath.volume_ml)


def _rest(kind: str, bath: Bath) -> float:
    """Return what is left in the bottle. [mL]."""
    return bath.volume_ml - _poured(kind, bath, max(bath.area_cm2_through, 0.0))


def _silver(kind: str, known: KnownBaths, bath: Bath, area_cm2: float) -> Dissolved:
    """Return the silver of so much area through a bath; gilding takes up none that is counted."""
    whole = bath.area_cm2_through
    if kind != FIX or whole <= 0.0:
        return Dissolved()
    return known.silver(bath).times(area_cm2 / whole)


def _left(kind: str, known: KnownBaths, bath: Bath) -> Dissolved:
    """Return the silver that is left in a whole bath."""
    area = max(bath.area_cm2_through, 0.0)
    return _silver(kind, known, bath, area).left_by_rinses(area, bath.volume_ml)


def _compared(limit: Limit, kinds: Sequence[WasteKind]) -> LimitCompared:
    held = [kind.kept_silver_mg_per_l for kind in kinds if kind.kind == FIX]
    known = limit.what == "silver" and held and held[0] is not None
    over = held[0] > limit.fact.value if known and held[0] is not None else None
    return LimitCompared(
        limit.name, limit.year, limit.what, limit.fact.value, over, limit.fact.source
    )
