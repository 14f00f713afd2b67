"""Opened lots follow the log: what the steps of a run used up is taken from them, and given back.

A lot of silvered plates gives one for each plate whose first making begins; where a lot's name says
a size, it gives plates of that size.

One tray of fixing bath does a session: its salt is taken when the bath is noted as mixed, or, where
none is noted, once for a run's largest plate. A gilding bath that took its gold when it was noted
gilds the plates of its day that it holds pools for; any other takes the gold of its own pool.

Whatever becomes of the run, what is booked for it is brought to what its events say: a step that is
undone, a plate or run that is withdrawn, gives back. A lot never goes below nothing: what it does
not hold is taken from the next one opened, and beyond the last nothing is booked.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select

from argentry.book import tables
from argentry.book.materials.notes import facts_there
from argentry.book.materials.through_baths import bath_at, in_use
from argentry.book.rows import add_rows
from argentry.book.runs.corrections import effective
from argentry.book.times import to_us, zone_of_place
from argentry.records.material import RUN, THROUGH
from argentry.records.plate import WITHDRAWN
from argentry.records.studio import USUAL_SIZE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy import Connection

    from argentry.book.materials.through_baths import InUse
    from argentry.records.event import Event
    from argentry.records.run import RunState

DUST = 1e-9  # of an amount: below this nothing is booked
WHO, MIXED = "bench", "mixed: {bath}"
GILDS = ("gold_bath", "gold")  # what a plate is gilded with
SILVERED = "silvered plates"


@dataclass
class _Opened:
    """An opened lot within the transaction."""

    id: str
    material: str
    opened_on: date
    each: float  # of the material in one unit of the lot
    left: float
    booked: float  # by this run
    ready: bool = False  # the material itself, not what it is made of


def follow_lots(connection: Connection, state: RunState, events: Sequence[Event]) -> None:
    """Bring what a run took from opened lots in line with its events."""
    opened = _opened(connection, state.run)
    if not opened:
        return
    begins = {lot.material: lot.opened_on for lot in reversed(opened)}
    wanted = _wanted(connection, state, events, begins)
    rows: list[dict[str, Any]] = []
    for material in begins:
        own = [lot for lot in opened if lot.material == material]
        change = wanted.get(material, 0.0) - sum(lot.booked * lot.each for lot in own)
        rows += _takes(own, change) if change > 0.0 else _gives(own, -change)
    # of the day of the work, also where a tablet sent it later: costs are told by days
    ended = [to_us(event.at) for event in events if event.kind == "step_ended"]
    stamp = {"at_us": max(ended, default=to_us(datetime.now(UTC))), "who": WHO}
    remark = RUN.format(run=state.run)
    add_rows(connection, tables.lot_use, [{**row, **stamp, "remark": remark} for row in rows])


def _opened(connection: Connection, run: str) -> list[_Opened]:
    """Return the opened lots that plates are known to use up, those opened first at the head."""
    from argentry.trade.stock import is_plates, material_in, size_named, size_of_piece, stuff_named

    facts = facts_there(connection)
    opened = {of: one.opened_on for of, one in facts.items() if one.opened_on is not None}
    if not opened:
        return []
    table, use = tables.lot, tables.lot_use
    found = connection.execute(select(table).where(table.c.id.in_(list(opened)))).all()
    sums = select(use.c.lot, func.sum(use.c.amount)).group_by(use.c.lot)
    gone = dict(connection.execute(sums.where(use.c.lot.in_(list(opened)))).all())
    own = dict(connection.execute(sums.where(use.c.remark == RUN.format(run=run))).all())
    out = []
    for row in found:
        stuff = stuff_named(row.name)
        if is_plates(row.name):
            material, each = _sized(SILVERED, size_named(row.name)), 1.0
        elif stuff and (held := material_in(stuff, facts[row.id].purity or 1.0, row.unit)):
            material, each = _sized(stuff.material, size_of_piece(row.name, row.unit)), held[1]
        else:
            continue
        ready = stuff is not None and stuff.gives is None
        left = row.amount - gone.get(row.id, 0.0)
        booked = own.get(row.id, 0.0)
        out.append(_Opened(row.id, material, opened[row.id], each, left, booked, ready))
    return sorted(out, key=lambda lot: (lot.opened_on, lot.id))


def _wanted(
    connection: Connection,
    state: RunState,
    events: Sequence[Event],
    begins: Mapping[str, date],
) -> dict[str, float]:
    """Return what the steps of a run used up, in the units of ``materials.toml``."""
    from argentry.trade.materials import materials, shared
    from argentry.trade.sizes import plate_size
    from argentry.trade.steps import steps

    uses = {rule.key: tuple(name for name, _, _ in rule.uses) for rule in steps()}
    kept = {plate.id for plate in state.plates if plate.state != WITHDRAWN}
    query = select(tables.plate.c.id, tables.plate.c.size).where(tables.plate.c.id.in_(kept))
    sizes: dict[str, str] = dict(connection.execute(query).all())
    out: dict[str, float] = {}
    first: dict[str, date] = {}
    zone = zone_of_place(state.place)
    not_counted = {one.event for one in state.odd if not one.counted}
    mixed = _mixed(connection, events) if {*shared(), *GILDS} & begins.keys() else {}
    pools = _Pools(connection, state.run) if mixed else None
    for event in effective(events)[0]:
        if event.kind != "step_ended" or event.id in not_counted or event.plate not in kept:
            continue
        day = event.at.astimezone(zone).date()  # lots are opened on days of the studio
        first.setdefault(event.plate, day)
        size = sizes.get(event.plate) or USUAL_SIZE
        area = plate_size(size).area_cm2
        each = {one.key: one.amount for one in materials(area)}
        there = mixed.get(event.step or "", ())
        bath = _gilds_at(there, event.at)
        gilded = bath is not None and pools is not None and pools.pour(bath, event.at, area)
        for material in uses.get(event.step or "", ()):
            if gilded and material in GILDS:
                continue
            cut = _sized(material, size)
            name = cut if cut in begins else material
            if name not in begins or day < begins[name]:
                continue
            if name in shared():
                noted = bath_at((one for one, _ in there), event.at) is not None
                out[name] = max(out.get(name, 0.0), 0.0 if noted else each[material])
            else:
                out[name] = out.get(name, 0.0) + each[material]
    if any(name.startswith(SILVERED) for name in begins):
        for plate in _new_plates(connection, state.run, list(first)):
            own = _sized(SILVERED, sizes.get(plate) or USUAL_SIZE)
            name = own if own in begins else SILVERED
            if name in begins and first[plate] >= begins[name]:
                out[name] = out.get(name, 0.0) + 1.0
    return out


def _mixed(connection: Connection, events: Sequence[Event]) -> dict[str, list[tuple[InUse, bool]]]:
    """Return the baths that are noted as mixed, by the step that they serve.

    With whether each took from stock when it was noted: baths of older books took no gold.
    """
    from argentry.trade.recipes import uses

    there = in_use(connection, min(event.at for event in events))[0]
    bath, use = tables.bath, tables.lot_use
    took = select(bath.c.id).join(use, use.c.at_us == bath.c.mixed_us)
    took = took.where(use.c.remark == MIXED.format(bath="") + bath.c.name)
    own = set(connection.execute(took).scalars()) if there else set()
    kinds = {step: use.kinds for use in uses() for step in use.bench}
    return {
        step: [(one, one.id in own) for one in there if one.kind in of]
        for step, of in kinds.items()
    }


@dataclass
class _Pools:
    """What is left of gilding baths: each plate pours its pool away, whichever run it is of."""

    connection: Connection
    run: str
    own: dict[str, float] = field(default_factory=dict)  # poured by this run [cm2]

    def pour(self, bath: InUse, at: datetime, area_cm2: float) -> bool:
        """Pour the pool of a plate; False where the bath held no whole one for it any more."""
        from argentry.trade.materials import materials

        use = tables.bath_use
        others = select(func.sum(use.c.area_cm2)).where(
            use.c.bath == bath.id,
            use.c.at_us < to_us(at),
            use.c.who.not_like(THROUGH.format(run=self.run, plate="") + "%"),
        )
        poured = self.connection.execute(others).scalar() or 0.0
        self.own[bath.id] = self.own.get(bath.id, 0.0) + area_cm2
        through = poured + self.own[bath.id]
        pool = next(one.amount for one in materials(area_cm2) if one.key == GILDS[0]) / area_cm2
        return pool * through <= bath.volume_ml * (1.0 + DUST)


def _gilds_at(there: Sequence[tuple[InUse, bool]], at: datetime) -> InUse | None:
    """Return the bath whose mixing took the gold of a plate gilded then; it keeps some hours."""
    from argentry.trade.facts import facts

    keeps = timedelta(hours=facts("recipes")["gild_keeps"].value)
    chosen = bath_at((one for one, _ in there), at)
    return next(
        (one for one, took in there if took and one.id == chosen and at - one.mixed_at <= keeps),
        None,
    )


def take_for_bath(
    connection: Connection,
    bath: str,
    material: str,
    amount: float,
    volume_ml: float,
    at: datetime,
    day: date,
) -> None:
    """Take from the opened lots what a bath was mixed from.

    Parameters
    ----------
    connection : Connection
        Within the writing transaction that notes the bath.
    bath : str
        Its name.
    material : str
        Key of what is taken.
    amount : float
        How much, as the trade's usual strength. [its unit]
    volume_ml : float
        What is taken of a lot that is the bath itself. [mL]
    at : datetime
        When it was mixed, UTC.
    day : date
        The same by the studio's clocks; a lot that was opened later gave nothing.
    """
    own = _lots_for_bath(connection, material, amount / volume_ml, day)
    stamp = {"at_us": to_us(at), "who": WHO, "remark": MIXED.format(bath=bath)}
    add_rows(connection, tables.lot_use, [{**row, **stamp} for row in _takes(own, amount)])


def lacking_for_bath(
    connection: Connection,
    bath: str,
    material: str,
    amount: float,
    volume_ml: float,
    at: datetime,
    day: date,
) -> tuple[str, float] | None:
    """Return what `take_for_bath` found in no lot: the lot opened last, and so much in its unit.

    None where nothing is lacking, or where no lot of it is opened: it is not counted then.
    """
    own = _lots_for_bath(connection, material, amount / volume_ml, day)
    use = tables.lot_use
    of_bath = (use.c.remark == MIXED.format(bath=bath), use.c.at_us == to_us(at))
    sums = select(use.c.lot, func.sum(use.c.amount)).where(*of_bath).group_by(use.c.lot)
    took = dict(connection.execute(sums).all())
    lacking = amount - sum(took.get(lot.id, 0.0) * lot.each for lot in own)
    return (own[-1].id, lacking / own[-1].each) if own and lacking > DUST * amount else None


def _lots_for_bath(
    connection: Connection, material: str, per_ml: float, day: date
) -> list[_Opened]:
    return [
        replace(lot, each=lot.each * per_ml) if lot.ready else lot
        for lot in _opened(connection, "")
        if lot.material == material and lot.opened_on <= day
    ]


def _sized(material: str, size: str) -> str:
    """Return the key of what is cut for one size of plate; without a size that of the material."""
    return " ".join(filter(None, (material, size)))


def _new_plates(connection: Connection, run: str, plates: Sequence[str]) -> set[str]:
    """Return those of some plates that were never made before this run and never polished back."""
    table = tables.making
    query = select(table.c.plate, table.c.run, table.c.day, table.c.id).where(
        table.c.plate.in_(plates), table.c.state != WITHDRAWN
    )
    firsts: dict[str, tuple[str, str, str | None]] = {}
    for plate, of, day, key in connection.execute(query):
        firsts[plate] = min((day, key, of), firsts.get(plate, (day, key, of)))
    own = {plate for plate, (_, _, of) in firsts.items() if of == run}
    used = select(tables.plate.c.id).where(
        tables.plate.c.id.in_(own), tables.plate.c.times_repolished > 0
    )
    return own - set(connection.execute(used).scalars())


def _takes(lots: Sequence[_Opened], wanted: float) -> list[dict[str, Any]]:
    rows = []
    for lot in lots:
        amount = min(wanted / lot.each, max(lot.left, 0.0))
        if amount * lot.each > DUST * wanted and amount > 0.0:
            rows.append({"lot": lot.id, "amount": amount})
            wanted -= amount * lot.each
    return rows


def _gives(lots: Sequence[_Opened], given: float) -> list[dict[str, Any]]:
    rows = []
    for lot in reversed(lots):
        amount = min(given / lot.each, lot.booked)
        if amount > DUST * max(lot.booked, DUST):
            rows.append({"lot": lot.id, "amount": -amount})
            given -= amount * lot.each
    return rows
