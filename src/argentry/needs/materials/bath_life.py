"""How long a bath lasts: silver, iodide, thiosulfate, gold, age, warmth and the clearing time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from argentry.errors import check_range
from argentry.needs.materials.bath_silver import Dissolved, dissolved, usual_coat
from argentry.needs.materials.mixing import volume_ml
from argentry.physics.baths.speciation import silver_held, speciation
from argentry.trade.chemistry.substances import mass_share, molar_mass_g_mol, moles
from argentry.trade.facts import facts, value
from argentry.trade.recipes import Recipe, of_family, silver_mg

Verdict = Literal["good", "soon", "renew"]
PRACTICE, CONSTANTS, POOL = "practice", "stability constants", "volume of the pools"
SILVER = (
    "It holds {now:.2f} g/L of silver ({low:.2f}–{high:.2f}); {limit:.2f} g/L is where it is "
    "renewed ({basis})."
)
FEW, ONE_MORE = "About {plates:.0f} more plates.", "About one more plate."
OLD = "It is {age} days old; it keeps about {keeps:.0f}."
AGES = "It is {age:.0f} h old; it keeps about {keeps:.0f}."
LONG_GONE = "It is {age} days old; it keeps about {keeps:.0f} h."
MOST_HOURS = 96.0  # an age in hours that is read at a glance
SLOW = "It cleared in {now:.0f} s, {ratio:.1f} times the {fresh:.0f} s of the fresh bath."
SLOW_AT_FIRST = "It cleared in {now:.0f} s; a fresh bath takes {fresh:.0f} s at the most."
COLD = "At {celsius:.0f} °C it works slowly: warm it to 18 to 24 °C."
WARM = "At {celsius:.0f} °C it throws sulfur sooner: cool it to 18 to 24 °C."
EMPTY = "{left:.0f} mL are left; a pool takes {pool:.0f}."
NO_SILVER = (0.0,) * 6
IODIDE_STAYS = "By its constants it takes up no more silver iodide."


@dataclass(frozen=True)
class BathLife:
    """What is in a bath and how long it lasts.

    Attributes
    ----------
    verdict : {"good", "soon", "renew"}
        Good; renew it soon; or renew it before the next plate.
    reasons : tuple of str
        What speaks for that, the weightiest first; empty when nothing does.
    silver_mg : float
        Dissolved from the plates that went through it. [mg]
    silver_low_mg, silver_high_mg : float
        80 % range of it. [mg]
    silver_g_l : float
        Its strength in silver. [g/L]
    silver_low_g_l, silver_high_g_l : float
        80 % range of it: what is not known of the bath's volume is in it. [g/L]
    iodide_g_l : float
        Its strength in iodide. [g/L]
    thiosulfate_g_l : float or None
        As crystals, not bound to silver; null for a bath without. [g/L]
    thiosulfate_left_share : float or None
        Of what was mixed. [1]
    saturation : float or None
        Silver times iodide over the solubility product; 1: nothing more dissolves. [1]
    gold_left_mg : float or None
        In what was not used yet; null for a bath without. [mg]
    limit_g_l, limit_low_g_l, limit_high_g_l : float or None
        Silver at which a fixing bath is renewed, with its range. [g/L]
    limit_basis : str
        What the limit rests on.
    plates_left, plates_left_low, plates_left_high : float or None
        Of the studio's usual size; null where none is counted. [plates]
    clearing_s : float or None
        Measured last; null when not measured. [s]
    clearing_ratio : float or None
        Over the fresh bath's. [1]
    keeps_days : float
        How long it keeps. [days]
    """

    verdict: Verdict
    reasons: tuple[str, ...]
    silver_mg: float
    silver_low_mg: float
    silver_high_mg: float
    silver_g_l: float
    silver_low_g_l: float
    silver_high_g_l: float
    iodide_g_l: float
    thiosulfate_g_l: float | None = None
    thiosulfate_left_share: float | None = None
    saturation: float | None = None
    gold_left_mg: float | None = None
    limit_g_l: float | None = None
    limit_low_g_l: float | None = None
    limit_high_g_l: float | None = None
    limit_basis: str = ""
    plates_left: float | None = None
    plates_left_low: float | None = None
    plates_left_high: float | None = None
    clearing_s: float | None = None
    clearing_ratio: float | None = None
    keeps_days: float = 0.0


def days_told(age_days: float) -> str:
    """Return an age in days, in tenths below ten.

    Examples
    --------
    >>> days_told(8.96), days_told(335.61)
    ('9.0', '336')
    """
    return f"{age_days:.1f}" if age_days < 10.0 else f"{age_days:.0f}"


def bath_life(
    bath: Recipe,
    volume: float,
    through_cm2: float,
    age_days: float,
    plate_cm2: float,
    *,
    coat_nm: float | None = None,
    silver: Dissolved | None = None,
    temperature_c: float | None = None,
    clearing_s: Sequence[float] = (),
) -> BathLife:
    """Return what is in a bath and how long it lasts.

    Parameters
    ----------
    bath : Recipe
        What was mixed.
    volume : float
        [mL]
    through_cm2 : float
        Area of the plates that went through it. [cm2]
    age_days : float
        Since it was mixed. [days]
    plate_cm2 : float
        Of the plates to come. [cm2]
    coat_nm : float, optional
        Of silver iodide on them. [nm] None: the trade's.
    silver : Dissolved, optional
        What those that went through it left in a fixing bath. None: coats as on those to come.
    temperature_c : float, optional
        [°C]
    clearing_s : sequence of float
        Clearing times of a coated waste plate in this bath, in order of time; the first is the
        fresh bath's, unless no fresh bath takes so long. [s]
    """
    check_range("volume", volume, 0.0, 1e6, "mL", open_low=True)
    check_range("area through it", through_cm2, 0.0, 1e7, "cm2")
    check_range("age", age_days, 0.0, 1e5, "days")
    known = facts("baths")
    coat = known["coat"].value if coat_nm is None else coat_nm
    check_range("coat", coat, known["coat"].low, known["coat"].high, "nm")
    for seconds in clearing_s:
        check_range("clearing time", seconds, 0.0, 3600.0, "s", open_low=True)
    if bath.kind == "gild":
        return _gilding(bath, volume, through_cm2, age_days, plate_cm2)
    if bath.kind == "fix":
        return _fixing(
            bath,
            volume,
            silver or _unseen(coat, through_cm2, plate_cm2),
            age_days,
            silver_mg(coat, plate_cm2),
            temperature_c,
            clearing_s,
        )
    keeps = known["fix_keeps"].value
    late = age_days > keeps
    reasons = (OLD.format(age=days_told(age_days), keeps=keeps),) if late else ()
    return BathLife("renew" if late else "good", reasons, *NO_SILVER, 0.0, keeps_days=keeps)


def _unseen(coat_nm: float, through_cm2: float, plate_cm2: float) -> Dissolved:
    """Return the silver of plates of one size at whose coats nobody looked."""
    usual = usual_coat(coat_nm, [()])
    return dissolved(usual, through_cm2, round(through_cm2 / plate_cm2))


@lru_cache(maxsize=64)  # the same for every bath of one recipe, and solved twice each time
def silver_limit_g_l(thiosulfate_mol_l: float) -> tuple[float, float, float, str]:
    """Return the silver at which a fixing bath is renewed: middle, low, high, and what decides.

    Practice sets a figure; no more than a share of what the bath could hold is allowed.

    Parameters
    ----------
    thiosulfate_mol_l : float
        As mixed. [mol/L]
    """
    gram = molar_mass_g_mol("Ag")
    held = float(silver_held(thiosulfate_mol_l)) * gram
    most = float(silver_held(thiosulfate_mol_l, "log_beta")) * gram
    practice, share = facts("recipes")["fix_silver_limit"], facts("baths")["safe_share"]
    middle = min(practice.value, share.value * held)
    low = min(practice.low, share.low * held)
    high = min(practice.high, share.high * most)
    return middle, low, max(high, middle), PRACTICE if middle == practice.value else CONSTANTS


def _fixing(
    bath: Recipe,
    volume: float,
    found_silver: Dissolved,
    age_days: float,
    each_mg: float,
    temperature_c: float | None,
    clearing_s: Sequence[float],
) -> BathLife:
    litres = volume / 1000.0
    salts = of_family(bath, "thiosulfate")
    mixed = sum(part.litres for part in bath.parts)
    hypo = sum(moles(part.substance, part.grams) for part in salts) / mixed
    known = found_silver.range_80()
    by_litre = found_silver.range_80(value("baths", "volume_sd_share"))
    silver = known.middle / 1000.0 / litres
    ends = (by_litre.low / 1000.0 / litres, by_litre.high / 1000.0 / litres)
    silver_mol = silver / molar_mass_g_mol("Ag")
    found = speciation(min(silver_mol, 10.0), min(hypo, 10.0), min(silver_mol, 10.0))
    middle, low, high, basis = silver_limit_g_l(min(hypo, 10.0))
    each = each_mg / 1000.0 / litres
    left = tuple(max(0.0, (limit - silver) / each) for limit in (middle, low, high))
    keeps = value("baths", "fix_keeps")
    slowest = facts("baths")["fresh_clearing"].high
    fresh = clearing_s[0] if len(clearing_s) > 1 else min((*clearing_s, slowest))
    ratio = clearing_s[-1] / fresh if clearing_s else None
    renew: list[str] = []
    soon: list[str] = []
    if ratio is not None and ratio >= value("baths", "clearing_watch"):
        tired = renew if ratio >= value("baths", "clearing_renew") else soon
        words = SLOW if len(clearing_s) > 1 else SLOW_AT_FIRST
        tired.append(words.format(now=clearing_s[-1], ratio=ratio, fresh=fresh))
    if float(found.saturation) >= 1.0:
        renew.append(IODIDE_STAYS)
    if left[0] < 1.0:
        renew.append(
            SILVER.format(now=silver, low=ends[0], high=ends[1], limit=middle, basis=basis)
        )
    elif left[0] <= value("baths", "plates_soon"):
        soon.append(few_left(left[0]))
    if age_days > keeps:
        renew.append(OLD.format(age=days_told(age_days), keeps=keeps))
    soon.extend(_warmth(temperature_c))
    return BathLife(
        verdict="renew" if renew else "soon" if soon else "good",
        reasons=(*renew, *soon),
        silver_mg=known.middle,
        silver_low_mg=known.low,
        silver_high_mg=known.high,
        silver_g_l=silver,
        silver_low_g_l=ends[0],
        silver_high_g_l=ends[1],
        iodide_g_l=silver_mol * molar_mass_g_mol("I"),
        thiosulfate_g_l=float(found.thiosulfate) * molar_mass_g_mol("Na2S2O3.5H2O"),
        thiosulfate_left_share=float(found.thiosulfate) / hypo,
        saturation=float(found.saturation),
        limit_g_l=middle,
        limit_low_g_l=low,
        limit_high_g_l=high,
        limit_basis=basis,
        plates_left=left[0],
        plates_left_low=left[1],
        plates_left_high=left[2],
        clearing_s=clearing_s[-1] if clearing_s else None,
        clearing_ratio=ratio,
        keeps_days=keeps,
    )


def few_left(plates: float) -> str:
    """Return that few plates are left in a bath."""
    return ONE_MORE if plates < 1.5 else FEW.format(plates=plates)


def _warmth(temperature_c: float | None) -> list[str]:
    if temperature_c is None:
        return []
    if temperature_c < value("baths", "bath_coldest"):
        return [COLD.format(celsius=temperature_c)]
    if temperature_c > value("baths", "bath_warmest"):
        return [WARM.format(celsius=temperature_c)]
    return []


def _gilding(
    bath: Recipe, volume: float, through_cm2: float, age_days: float, plate_cm2: float
) -> BathLife:
    """Return the life of a gilding bath: each plate pours its pool away."""
    litres = sum(part.litres for part in bath.parts)
    gold_g_l = (
        sum(part.grams * mass_share(part.substance, "Au") for part in of_family(bath, "gold"))
        / litres
    )
    pool = volume_ml("gild", [(plate_cm2, 1)])[0]
    used = through_cm2 / plate_cm2 * pool
    left_ml = max(0.0, volume - used)
    keeps = facts("recipes")["gild_keeps"]
    pools = facts("materials")["gold_bath"]
    plates = left_ml / pool
    renew, soon = [], []
    if plates < 1.0:
        renew.append(EMPTY.format(left=left_ml, pool=pool))
    elif plates <= value("baths", "plates_soon"):
        soon.append(few_left(plates))
    if age_days * 24.0 > keeps.value:
        hours = age_days * 24.0
        told = AGES.format(age=hours, keeps=keeps.value)
        long = LONG_GONE.format(age=days_told(age_days), keeps=keeps.value)
        renew.append(told if hours <= MOST_HOURS else long)
    return BathLife(
        "renew" if renew else "soon" if soon else "good",
        (*renew, *soon),
        *NO_SILVER,
        iodide_g_l=0.0,
        gold_left_mg=left_ml * gold_g_l,
        limit_basis=POOL,
        plates_left=plates,
        plates_left_low=plates * pools.value / pools.high,
        plates_left_high=plates * pools.value / pools.low,
        keeps_days=keeps.value / 24.0,
    )
