"""What a reading of water means for each use, and what treating it changes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from argentry.errors import BadInput, check_range
from argentry.physics.baths.water import (
    at_25c,
    drop_ring_nm,
    hardness_mg_l,
    residue_ug_cm2,
    silver_chloride_nm,
    solids_mg_l,
)
from argentry.trade.entries import made
from argentry.trade.facts import facts, toml, value

MEASURE = "nothing is given"
GIVE = "give --us-cm, --tds, --chloride, --hardness or --ph"
MOST_US_CM = 7e4  # the sea has 5e4; twice as much at 25 °C as at 0 °C still has solids within range
TOO_MUCH = "{what} {now:g} {unit} is above {most:g}"
PH = "pH {now:g} is outside {low:g} to {high:g}"
CONDUCTS, CHLORIDE, HARD = "conductivity", "chloride", "hardness"
UNKNOWN_CHLORIDE = "Chloride was not measured; tap water holds 5 to 250 mg/L."
BOILED = "Boiling throws down part of the lime and leaves all chloride, a little stronger."
DISTILLED = "Distilling leaves salts behind; keep it stoppered, it takes up carbonic acid."
DEIONISED = "A mixed bed takes out salts until it is spent: read it each time."


@dataclass(frozen=True)
class WaterUse:
    """What one use asks of the water; see ``water.toml``.

    Attributes
    ----------
    key, title : str
        Name and what it is for.
    conductivity, chloride, hardness : float
        The most. [µS/cm], [mg/L], [mg/L as CaCO3]
    ph_low, ph_high : float
        Range of pH.
    basis, source : str
        How it is known.
    """

    key: str
    title: str
    conductivity: float
    chloride: float
    hardness: float
    ph_low: float
    ph_high: float
    basis: str
    source: str


@dataclass(frozen=True)
class UseVerdict:
    """Whether the water serves one use.

    Attributes
    ----------
    use, title : str
        Key and what it is for.
    serves : bool
        True when nothing that was read speaks against it.
    why : tuple of str
        What speaks against it.
    """

    use: str
    title: str
    serves: bool
    why: tuple[str, ...]


@dataclass(frozen=True)
class Treated:
    """The water after one treatment.

    Attributes
    ----------
    treatment : str
        ``"as it is"``, ``"boiled"``, ``"deionised"`` or ``"distilled"``.
    conductivity_us_cm : float or None
        What is left; null when it was not read. [µS/cm]
    solids_mg_l, chloride_mg_l, hardness_mg_l : float or None
        What is left, hardness as calcium carbonate; null when it was not read. [mg/L]
    ring_nm : float or None
        Ring of one dried drop. [nm]
    spots : bool or None
        True when that ring would be seen; null when it is not known.
    serves : tuple of str
        Keys of the uses that it serves.
    note : str
        What to mind.
    """

    treatment: str
    conductivity_us_cm: float | None
    solids_mg_l: float | None
    chloride_mg_l: float | None
    hardness_mg_l: float | None
    ring_nm: float | None
    spots: bool | None
    serves: tuple[str, ...]
    note: str


@dataclass(frozen=True)
class WaterAnswer:
    """What a reading of water means.

    Attributes
    ----------
    conductivity_us_cm : float or None
        At 25 °C. [µS/cm]
    solids_mg_l, chloride_mg_l, hardness_mg_l : float or None
        As read, solids from the conductivity when they were not; null when not known. [mg/L]
    ph : float or None
        As read; null when it was not. [1]
    film_ug_cm2 : float or None
        What a draining film leaves on the plate. [µg/cm2]
    silver_chloride_nm : float or None
        What its chloride could make of the silver. [nm]
    ring_nm : float or None
        Ring of one dried drop. [nm]
    spots : bool or None
        True when it would be seen on a mirror.
    uses : tuple of UseVerdict
        For each use.
    treated : tuple of Treated
        As it is, boiled, deionised, distilled.
    last_rinse_us_cm : float
        What the last rinse should read at most, when it comes off the plate. [µS/cm]
    notes : tuple of str
        What to mind.
    """

    conductivity_us_cm: float | None
    solids_mg_l: float | None
    chloride_mg_l: float | None
    hardness_mg_l: float | None
    ph: float | None
    film_ug_cm2: float | None
    silver_chloride_nm: float | None
    ring_nm: float | None
    spots: bool | None
    uses: tuple[UseVerdict, ...]
    treated: tuple[Treated, ...]
    last_rinse_us_cm: float
    notes: tuple[str, ...]


def water_uses() -> tuple[WaterUse, ...]:
    """Return the uses of ``water.toml``."""
    return tuple(made(WaterUse, "water." + row["key"], row) for row in toml("water")["use"])


def water(
    *,
    conductivity_us_cm: float | None = None,
    temperature_c: float | None = None,
    solids: float | None = None,
    chloride: float | None = None,
    hardness: float | None = None,
    hardness_unit: str = "mg/L",
    ph: float | None = None,
    drop_ul: float | None = None,
) -> WaterAnswer:
    """Return what a reading means for each use.

    Parameters
    ----------
    conductivity_us_cm : float, optional
        [µS/cm]
    temperature_c : float, optional
        Of the water, for a meter that does not correct to 25 °C. [°C]
    solids : float, optional
        Dissolved solids. [mg/L] None: from the conductivity.
    chloride : float, optional
        [mg/L]
    hardness : float, optional
        [`hardness_unit`]
    hardness_unit : str
        As `argentry.physics.baths.water.hardness_mg_l`.
    ph : float, optional
        1 to 14.
    drop_ul : float, optional
        One drop. [µL]

    Raises
    ------
    BadInput
        If nothing is given, or a value is out of range.
    """
    if all(one is None for one in (conductivity_us_cm, solids, chloride, hardness, ph)):
        raise BadInput("water", MEASURE, GIVE)
    if temperature_c is not None and conductivity_us_cm is None:
        raise BadInput("--temp", "no conductivity is given", "give --us-cm too, or leave it out")
    now: dict[str, float | None] = {"us": None, "cl": None, "hard": None}
    if conductivity_us_cm is not None:
        check_range("conductivity (--us-cm)", conductivity_us_cm, 0.0, MOST_US_CM, "µS/cm")
        warm = 25.0 if temperature_c is None else temperature_c
        now["us"] = float(at_25c(conductivity_us_cm, warm))
    if solids is not None:
        check_range("solids (--tds)", solids, 0.0, 1e5, "mg/L")
        if now["us"] is None:
            now["us"] = solids / value("water", "tds_factor")
    elif now["us"] is not None:
        solids = float(solids_mg_l(now["us"]))
    if chloride is not None:
        now["cl"] = check_range("chloride (--chloride)", chloride, 0.0, 1e5, "mg/L")
    if hardness is not None:
        now["hard"] = hardness_mg_l(hardness, hardness_unit)
    if ph is not None:
        check_range("pH (--ph)", ph, 1.0, 14.0, "1")
    ring = None if solids is None else float(drop_ring_nm(solids, drop_ul))
    notes = () if chloride is not None else (UNKNOWN_CHLORIDE,)
    return WaterAnswer(
        conductivity_us_cm=now["us"],
        solids_mg_l=solids,
        chloride_mg_l=now["cl"],
        hardness_mg_l=now["hard"],
        ph=ph,
        film_ug_cm2=None if solids is None else float(residue_ug_cm2(solids)),
        silver_chloride_nm=None if chloride is None else float(silver_chloride_nm(chloride)),
        ring_nm=ring,
        spots=_seen(ring),
        uses=tuple(_verdict(use, now, ph) for use in water_uses()),
        treated=tuple(_treatments(now, solids, ph, drop_ul)),
        last_rinse_us_cm=next(u.conductivity for u in water_uses() if u.key == "last_rinse"),
        notes=notes,
    )


def _seen(ring: float | None) -> bool | None:
    return None if ring is None else ring > value("water", "spot_seen")


def _verdict(use: WaterUse, now: dict[str, float | None], ph: float | None) -> UseVerdict:
    why = []
    for key, what, most, unit in (
        ("us", CONDUCTS, use.conductivity, "µS/cm"),
        ("cl", CHLORIDE, use.chloride, "mg/L"),
        ("hard", HARD, use.hardness, "mg/L"),
    ):
        read = now[key]
        if read is not None and read > most:
            why.append(TOO_MUCH.format(what=what, now=round(read, 1), unit=unit, most=most))
    if ph is not None and not use.ph_low <= ph <= use.ph_high:
        why.append(PH.format(now=ph, low=use.ph_low, high=use.ph_high))
    return UseVerdict(use.key, use.title, not why, tuple(why))


def _treatments(
    now: dict[str, float | None], solids: float | None, ph: float | None, drop_ul: float | None
) -> Iterator[Treated]:
    """Return the water as it is, boiled, deionised and distilled."""
    known = facts("water")
    yield _treated("as it is", now, solids, ph, drop_ul, "")
    soft = dict(now)
    less = solids
    if now["hard"] is not None:
        left = min(now["hard"], known["boiled_hardness"].value)
        gone, soft["hard"] = now["hard"] - left, left
        if less is not None:
            less = max(0.0, less - gone)
        if now["us"] is not None:
            soft["us"] = max(0.0, now["us"] - gone / known["tds_factor"].value)
    yield _treated("boiled", soft, less, ph, drop_ul, BOILED)
    for name, note in (("deionised", DEIONISED), ("distilled", DISTILLED)):
        left = known[name].value
        if now["us"] is not None:
            left = min(left, now["us"])
        share = known["distil_carries"].value
        if name == "deionised":
            share = left / now["us"] if now["us"] else known["deionised_carries"].value
        clean = {
            "us": left,
            "cl": None if now["cl"] is None else now["cl"] * share,
            "hard": None if now["hard"] is None else now["hard"] * share,
        }
        yield _treated(name, clean, float(solids_mg_l(left)), None, drop_ul, note)


def _treated(
    name: str,
    now: dict[str, float | None],
    solids: float | None,
    ph: float | None,
    drop_ul: float | None,
    note: str,
) -> Treated:
    ring = None if solids is None else float(drop_ring_nm(solids, drop_ul))
    serves = tuple(use.key for use in water_uses() if _verdict(use, now, ph).serves)
    return Treated(name, now["us"], solids, now["cl"], now["hard"], ring, _seen(ring), serves, note)
