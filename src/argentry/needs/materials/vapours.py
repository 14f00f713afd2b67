"""Vapours in the room against published limits, airing, drying, and gel for a box."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.errors import BadInput, check_range
from argentry.physics.vapour.iodine import headspace_loss_mg
from argentry.physics.vapour.room_vapour import (
    drying_minutes,
    minutes_to_air,
    open_tray_mg_s,
    ppm_of,
    room_mg_m3,
    silica_gel_g,
    sulfur_dioxide_mg,
)
from argentry.trade.chemistry.substances import molar_mass_g_mol
from argentry.trade.facts import facts, toml, value

ESTIMATE = (
    "Estimates of a well-mixed room; near the source it is several times as much. No figure here "
    "says that a room is safe: use a hood, and look up the limits that hold where you are."
)
ABOVE = "{name}: {ppm} ppm in the room is above {limit:g} ppm ({by} {year}, {kind})."
NEAR = "{name}: near the source it may pass {limit:g} ppm ({by} {year}, {kind})."
BELOW = "{name}: {ppm} ppm in the room; the lowest limit here is {limit:g} ppm ({by} {year})."
AIR = "Air the room {minutes:.0f} minutes at {changes:g} changes an hour before you stay in it."
LEAVE = "{name}: leave the room and let it air; this is what one must flee ({limit:g} ppm)."
LEAK = "The box loses {mg:.1f} mg a day."
GAINED = "the box gained {gain:g} g"


def two_digits(number: float) -> str:
    """Return a number to two digits, and never by powers of ten where it is large.

    >>> two_digits(132.4), two_digits(0.0531)
    ('130', '0.053')
    """
    return f"{float(f'{number:.2g}'):g}"


@dataclass(frozen=True)
class Limit:
    """One published limit.

    Attributes
    ----------
    by : str
        Who publishes it.
    year : int
        When it was set or last published.
    kind : str
        ``"ceiling"``, ``"short"`` (15 minutes), ``"day"`` (8 hours) or ``"escape"``.
    ppm : float
        As published. [ppm]
    mg_m3 : float
        As published. [mg/m3]
    passed : bool
        True when the room's air is above it.
    passed_near : bool
        True when the air near the source may be.
    minutes_to_air : float
        Until the room's air is below it. [min]
    """

    by: str
    year: int
    kind: str
    ppm: float
    mg_m3: float
    passed: bool
    passed_near: bool
    minutes_to_air: float


@dataclass(frozen=True)
class Vapour:
    """One vapour in the room.

    Attributes
    ----------
    name : str
        Iodine, sulfur dioxide, alcohol or acetone.
    released_mg : float
        All that came. [mg]
    mg_m3 : float
        In the room's air when the last of it has come. [mg/m3]
    ppm : float
        The same. [ppm]
    near_ppm : float
        Near the source. [ppm]
    limits : tuple of Limit
        Of several regulators.
    minutes_to_air : float
        Until the lowest limit but the escape one is met. [min]
    """

    name: str
    released_mg: float
    mg_m3: float
    ppm: float
    near_ppm: float
    limits: tuple[Limit, ...]
    minutes_to_air: float


@dataclass(frozen=True)
class RoomVapours:
    """What came into the room and how it goes.

    Attributes
    ----------
    room_m3 : float
        The room. [m3]
    air_changes_h, airing_changes_h : float
        As usual, and while it is aired. [1/h]
    vapours : tuple of Vapour
        Those that came.
    minutes_to_air : float
        For all of them. [min]
    box_loss_mg_day : float or None
        Of iodine by weighing; null when the box was not weighed. [mg/day]
    advice : tuple of str
        What to do, one sentence each.
    """

    room_m3: float
    air_changes_h: float
    airing_changes_h: float
    vapours: tuple[Vapour, ...]
    minutes_to_air: float
    box_loss_mg_day: float | None
    advice: tuple[str, ...]


@dataclass(frozen=True)
class Drying:
    """How fast things dry in the room's air.

    Attributes
    ----------
    plate_minutes : float
        A draining film in still air, without heat. [min]
    shelf_minutes : float
        A wet shelf or tray. [min]
    gel_g : float or None
        Dry silica gel for a week of a box; null when no box is given. [g]
    """

    plate_minutes: float
    shelf_minutes: float
    gel_g: float | None = None


# what must be said before the room's vapours are told
SOURCES = {"open_s", "headspace_l", "box_lost_g", "acid_g", "alcohol_ml", "acetone_ml"}
SHELF_UM = 200.0  # water left on a shelf that was wiped


def room_vapours(
    temperature_c: float,
    *,
    room_m3: float | None = None,
    air_changes_h: float | None = None,
    airing_changes_h: float | None = None,
    open_s: float = 0.0,
    tray_cm2: float = 400.0,
    headspace_l: float = 0.0,
    openings: int = 1,
    box_lost_g: float | None = None,
    box_days: float = 1.0,
    hours: float = 8.0,
    acid_g: float = 0.0,
    alcohol_ml: float = 0.0,
    acetone_ml: float = 0.0,
    minutes: float = 1.0,
) -> RoomVapours:
    """Return the vapours that came into the room, against limits of several regulators.

    Parameters
    ----------
    temperature_c : float
        Room and crystals. [°C]
    room_m3, air_changes_h, airing_changes_h : float, optional
        Room [m3], its air changes as usual and while aired [1/h]. None: the trade's.
    open_s, tray_cm2 : float
        How long crystals lay open [s], and how much of them [cm2].
    headspace_l, openings : float, int
        Air of the box [L] that is swept out at each of so many openings.
    box_lost_g, box_days : float
        Weight the box lost [g] in so many days: its leak.
    hours : float
        How long the leak has filled the closed room. [h]
    acid_g : float
        Thiosulfate crystals that met acid. [g]
    alcohol_ml, acetone_ml : float
        Evaporated in the room. [mL]
    minutes : float
        In which alcohol and acetone evaporated. [min]
    """
    known = facts("room")
    sizes = []
    for key, given, option in (
        ("room", room_m3, "--room-m3"),
        ("air_changes", air_changes_h, "--air-changes"),
        ("airing_changes", airing_changes_h, "--airing"),
    ):
        fact = known[key]
        taken = fact.value if given is None else given
        sizes.append(check_range(f"{option}", taken, fact.low, fact.high, fact.unit))
    volume, changes, airing = sizes
    for option, amount, most, unit in (
        ("--open-s", open_s, 1e5, "s"), ("--tray-cm2", tray_cm2, 1e4, "cm2"),
        ("--headspace-l", headspace_l, 1e3, "L"), ("--openings", openings, 1e4, ""),
        ("--hours", hours, 1e4, "h"), ("--acid-g", acid_g, 1e4, "g"),
        ("--alcohol-ml", alcohol_ml, 1e5, "mL"), ("--acetone-ml", acetone_ml, 1e5, "mL"),
    ):  # fmt: skip
        check_range(option, amount, 0.0, most, unit)
    check_range("--minutes", minutes, 0.0, 1e4, "min", open_low=True)
    leak = None
    if box_lost_g is not None:
        check_range("--box-days", box_days, 0.0, 1e4, "days", open_low=True)
        if box_lost_g < 0.0:
            raise BadInput(
                "--box-lost-g", GAINED, "weigh it dry, before and after", gain=-box_lost_g
            )
        leak = check_range("--box-lost-g", box_lost_g, 0.0, 1e4, "g") * 1000.0 / box_days
    now = _iodine(
        temperature_c, volume, changes, open_s, tray_cm2, headspace_l * openings, leak, hours
    )
    seconds = minutes * 60.0
    for name, mg in (
        ("sulfur dioxide", float(sulfur_dioxide_mg(acid_g))),
        ("alcohol", alcohol_ml * _density("alcohol") * 1000.0),
        ("acetone", acetone_ml * _density("acetone") * 1000.0),
    ):
        if mg > 0.0:
            now[name] = (mg, float(room_mg_m3(mg / seconds, seconds, volume, changes)))
    vapours = tuple(
        _vapour(name, mg, strength, temperature_c, airing) for name, (mg, strength) in now.items()
    )
    longest = max((one.minutes_to_air for one in vapours), default=0.0)
    advice = [words for one in vapours for words in _said(one)]
    if longest > 0.0:
        advice.append(AIR.format(minutes=max(1.0, longest), changes=airing))
    if leak is not None:
        advice.append(LEAK.format(mg=leak))
    return RoomVapours(volume, changes, airing, vapours, longest, leak, (*advice, ESTIMATE))


def _iodine(
    celsius: float, volume: float, changes: float, open_s: float, tray: float, swept_l: float,
    leak_mg_day: float | None, hours: float,
) -> dict[str, tuple[float, float]]:  # fmt: skip
    """Return the iodine that came [mg] and its strength [mg/m3]; nothing when none came."""
    steady = (leak_mg_day or 0.0) / 86400.0
    before = float(room_mg_m3(steady, hours * 3600.0, volume, changes))
    puff = float(headspace_loss_mg(swept_l, celsius)) if swept_l else 0.0
    rate = float(open_tray_mg_s(tray, celsius)) if open_s else 0.0
    came = steady * hours * 3600.0 + puff + rate * open_s
    if came <= 0.0:
        return {}
    strength = float(room_mg_m3(rate, open_s, volume, changes, before + puff / volume))
    return {"iodine": (came, strength)}


def _density(name: str) -> float:
    return next(float(row["density"]) for row in toml("room")["vapour"] if row["key"] == name)


def _vapour(name: str, mg: float, strength: float, celsius: float, airing: float) -> Vapour:
    formula = next(row["formula"] for row in toml("room")["vapour"] if row["key"] == name)
    ppm = float(ppm_of(strength, molar_mass_g_mol(formula), celsius))
    near = ppm * value("room", "nearness")
    limits = []
    for row in toml("room")["limit"]:
        if row["vapour"] == name:
            wait = float(minutes_to_air(ppm, row["ppm"], airing))
            limits.append(
                Limit(
                    row["by"], row["year"], row["kind"], row["ppm"], row["mg_m3"],
                    ppm > row["ppm"], near > row["ppm"], wait,
                )
            )  # fmt: skip
    longest = max(one.minutes_to_air for one in limits if one.kind != "escape")
    return Vapour(name, mg, strength, ppm, near, tuple(limits), longest)


def _said(one: Vapour) -> list[str]:
    out = []
    flee = next(
        (limit for limit in one.limits if limit.kind == "escape" and limit.passed_near), None
    )
    if flee is not None:
        out.append(LEAVE.format(name=one.name, limit=flee.ppm))
    lowest = min((limit for limit in one.limits if limit.kind != "escape"), key=lambda x: x.ppm)
    words = ABOVE if lowest.passed else NEAR if lowest.passed_near else BELOW
    out.append(
        words.format(
            name=one.name, ppm=two_digits(one.ppm), limit=lowest.ppm, by=lowest.by,
            year=lowest.year,
            kind=lowest.kind,
        )
    )  # fmt: skip
    return out


def drying(
    temperature_c: float,
    relative_humidity_pct: float,
    box_l: float | None = None,
    openings: int = 1,
) -> Drying | None:
    """Return how fast things dry; None in air too damp for it.

    Parameters
    ----------
    temperature_c, relative_humidity_pct : float
        Of the air. [°C], [%]
    box_l : float, optional
        A box to keep dry. [L]
    openings : int
        How often it is opened in a week.
    """
    if relative_humidity_pct > 98.0 or not 0.0 <= temperature_c <= 45.0:
        return None
    gel = None
    if box_l is not None:
        check_range("--box-l", box_l, 0.0, 1e4, "L", open_low=True)
        gel = float(silica_gel_g(box_l, temperature_c, relative_humidity_pct, openings))
    return Drying(
        float(drying_minutes(temperature_c, relative_humidity_pct)),
        float(drying_minutes(temperature_c, relative_humidity_pct, SHELF_UM)),
        gel,
    )
