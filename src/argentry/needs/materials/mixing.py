"""Solutions for so many plates: amounts, what the balance makes of them, and the order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from argentry.errors import BadInput, check_range
from argentry.physics.baths.solutions import cooling_k, rounded
from argentry.trade.chemistry.gilding import check_gilding, thiosulfate_per_gold
from argentry.trade.chemistry.measures import written_in
from argentry.trade.chemistry.pouring import Step
from argentry.trade.chemistry.substances import bottle_name, in_place_of
from argentry.trade.facts import facts, value
from argentry.trade.materials import materials
from argentry.trade.recipes import WATER, Part, Recipe, of_family, recipe, scaled, use_of
from argentry.trade.sizes import plate_size
from argentry.trade.steps import cautions

USUAL = ("fix", "gild", "water")
DISSOLVE = "Dissolve {grams:g} g of {name} in {water:g} mL of {solvent}."
STIR = "Stir {grams:g} g of {name} into {water:g} mL of {solvent}."
STIR_IN = "Then dissolve {grams:g} g of {name} in the same."
POUR = "Pour the {what} into the {into}, slowly, stirring: never the other way."
FILTER = "Filter."
PLAIN = "Take {water:g} mL of {solvent}."
COARSE = (
    "{grams:.3g} g of {name} is coarse for a balance of {step:g} g ({error:.0f} %): mix "
    "{more:.0f} mL, or weigh it finer."
)
TOO_FINE = "{grams:.2g} g of {name} does not show on a balance of {step:g} g"
MORE = "mix at least {more:.0f} mL, or give --balance-g"
COOLS = "It cools by about {cools:.0f} K while it dissolves: begin with water at {warm:.0f} °C."
LEAN = "By the balance's steps the thiosulfate for each gold lies from {low:.2f} to {high:.2f}."
NOT_A_PAIR = "{text!r} does not say which salt stands for which"
PAIR = "write it as Na2S2O3.5H2O=Na2S2O3"
SAME_SALT = "the recipes of this call do not hold {salt}"


@dataclass(frozen=True)
class Weighing:
    """One substance of a solution, as it is weighed.

    Attributes
    ----------
    substance : str
        Formula of what is weighed.
    name : str
        What stands on its bottle.
    grams : float
        Exact amount. [g]
    weigh_g : float
        What the balance shows: the nearest of its steps. [g]
    error_pct : float
        What rounding makes of it, and at most half a step more. [%]
    water_ml : float
        In how much liquid; 0 for a part that goes into another's. [mL]
    solvent : str
        Which liquid.
    grains : float
        The exact amount. [gr]
    ounces : float
        The exact amount, avoirdupois. [oz]
    """

    substance: str
    name: str
    grams: float
    weigh_g: float
    error_pct: float
    water_ml: float
    solvent: str
    grains: float
    ounces: float


@dataclass(frozen=True)
class Portion:
    """One solution for the plates asked for.

    Attributes
    ----------
    recipe, title : str
        Key and name of the recipe.
    step : str
        The step that uses it.
    volume_ml : float
        What is mixed. [mL]
    us_pints : float
        The same. [US pints]
    imperial_pints : float
        The same. [imperial pints]
    each_ml : float
        What one plate of the largest size takes, or the tray holds. [mL]
    depth_mm : float or None
        Liquid over the plate; null for what lies in no pool. [mm]
    weighings : tuple of Weighing
        Its substances.
    do : tuple of str
        What is done, in order.
    order : str
        The recipe's own words.
    thiosulfate_per_gold : float or None
        As weighed; null without gold. [1]
    thiosulfate_per_gold_range : (float, float) or None
        When each weighing errs by half a step; null without gold.
    keeps_hours : float or None
        How long it keeps; null where age is judged by the bath. [h]
    notes : tuple of str
        What the balance, the cold or the ratio asks for.
    cautions : tuple of str
        Cautions; local codes and suppliers' safety data sheets decide.
    basis, source : str
        How the recipe is known.
    """

    recipe: str
    title: str
    step: str
    volume_ml: float
    us_pints: float
    imperial_pints: float
    each_ml: float
    depth_mm: float | None
    weighings: tuple[Weighing, ...]
    do: tuple[str, ...]
    order: str
    thiosulfate_per_gold: float | None
    thiosulfate_per_gold_range: tuple[float, float] | None
    keeps_hours: float | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    basis: str
    source: str


@dataclass(frozen=True)
class Mixing:
    """Solutions for so many plates.

    Attributes
    ----------
    plates : int
        How many.
    area_cm2 : float
        All together. [cm2]
    balance_g : float
        Step of the balance. [g]
    portions : tuple of Portion
        One for each recipe, in the order of the steps.
    """

    plates: int
    area_cm2: float
    balance_g: float
    portions: tuple[Portion, ...]


def mixing(
    sizes: Mapping[str, int],
    keys: Sequence[str] = (),
    *,
    depth_mm: float | None = None,
    balance_g: float | None = None,
    spare_pct: float = 0.0,
    instead: Mapping[str, str] | None = None,
    purity: float = 1.0,
    room_c: float = 20.0,
    own: Sequence[Recipe] = (),
) -> Mixing:
    """Return the solutions for some plates.

    Parameters
    ----------
    sizes : Mapping of str to int
        How many plates of each size.
    keys : sequence of str
        Recipes, shipped or own; none: fixing bath, gilding bath and rinses.
    depth_mm : float, optional
        Liquid over the plate. [mm] None: as deep as the trade has it for each step.
    balance_g : float, optional
        Step of the balance. [g] None: the trade's.
    spare_pct : float
        How much more is mixed. [%]
    instead : Mapping of str to str, optional
        Salts on the shelf in place of a recipe's, by formula.
    purity : float
        Of the salts named in `instead`. [1]
    room_c : float
        The temperature that the bath should have. [°C]
    own : sequence of Recipe
        The maker's own, found before the shipped ones.

    Raises
    ------
    BadInput
        If a size, recipe, salt or amount cannot be used.
    """
    if not sizes:
        raise BadInput("plates", "none are named", "give for example --plates 3 --size quarter")
    areas = {}
    for name, count in sizes.items():
        check_range("plates", count, 1, 1000, "plates")
        areas[name] = plate_size(name).area_cm2
    step = value("substances", "balance") if balance_g is None else balance_g
    low, high = facts("substances")["balance"].low, facts("substances")["balance"].high
    check_range("balance (--balance-g)", step, low, high, "g")
    check_range("spare (--spare-pct)", spare_pct, 0.0, 300.0, "%")
    if depth_mm is not None:
        check_range("depth (--depth-mm)", depth_mm, 0.5, 100.0, "mm")
    owned = {bath.key: bath for bath in reversed(own)}
    baths = [owned.get(key) or recipe(key) for key in (keys or USUAL)]
    swaps = dict(instead or {})
    for salt in swaps:
        if not any(part.substance == salt for bath in baths for part in bath.parts):
            raise BadInput("salt", SAME_SALT, "name a salt of the recipe", salt=salt[:40])
    counts = [(areas[name], count) for name, count in sizes.items()]
    portions = tuple(
        _portion(bath, counts, depth_mm, step, spare_pct, swaps, purity, room_c) for bath in baths
    )
    area = sum(one * count for one, count in counts)
    return Mixing(sum(sizes.values()), area, step, portions)


def volume_ml(
    kind: str, counts: Sequence[tuple[float, int]], depth_mm: float | None = None
) -> tuple[float, float]:
    """Return what so many plates need of a kind of solution, and what the largest or a tray takes.

    Parameters
    ----------
    kind : str
        Of the recipe: ``"fix"``, ``"gild"``...
    counts : sequence of (float, int)
        Area of a plate [cm2] and how many.
    depth_mm : float, optional
        As in `mixing`.

    Returns
    -------
    tuple of (float, float)
        All, and one. [mL]
    """
    use = use_of(kind)

    def one(area: float) -> float:
        if depth_mm is not None and use.pool:
            return area * depth_mm / 10.0
        if not use.material:
            return area * use.ml_per_cm2
        return next(m.amount for m in materials(area) if m.key == use.material)

    largest = one(max(area for area, _ in counts))
    if use.law == "tray":
        return largest, largest
    return sum(one(area) * count for area, count in counts), largest


def _portion(
    bath: Recipe,
    counts: Sequence[tuple[float, int]],
    depth_mm: float | None,
    step: float,
    spare_pct: float,
    swaps: Mapping[str, str],
    purity: float,
    room_c: float,
) -> Portion:
    need, each = volume_ml(bath.kind, counts, depth_mm)
    volume = need * (1.0 + spare_pct / 100.0)
    parts = scaled(bath, volume)
    weighings = tuple(_weighing(part, step, volume, swaps, purity) for part in parts)
    ratio, span = _gold_ratio(bath, weighings, step)
    notes = list(_notes(weighings, step, volume, room_c))
    if span is not None and span[0] < value("recipes", "thiosulfate_gold_close"):
        notes.append(LEAN.format(low=span[0], high=span[1]))
    area = max(area for area, _ in counts)
    return Portion(
        recipe=bath.key,
        title=bath.title,
        step=use_of(bath.kind).step,
        volume_ml=volume,
        us_pints=written_in(volume, "us_pint"),
        imperial_pints=written_in(volume, "imperial_pint"),
        each_ml=each,
        depth_mm=each / area * 10.0 if use_of(bath.kind).pool else None,
        weighings=weighings,
        do=tuple(_words(one, weighings) for one in bath.sequence),
        order=bath.order,
        thiosulfate_per_gold=ratio,
        thiosulfate_per_gold_range=span,
        keeps_hours=None if ratio is None else value("recipes", "gild_keeps"),
        notes=tuple(notes),
        cautions=tuple(cautions()[caution].text for caution in bath.cautions),
        basis=bath.basis,
        source=bath.source,
    )


def _weighing(
    part: Part, step: float, volume: float, swaps: Mapping[str, str], purity: float
) -> Weighing:
    salt, grams = part.substance, part.grams
    if salt in swaps:
        salt = swaps[salt]
        grams = in_place_of(part.substance, grams, salt, purity=purity)
    weigh = rounded(grams, step)
    if salt == "H2O":  # measured, not weighed
        weigh = grams
    elif weigh <= 0.0:
        more = volume * 10.0 * step / grams
        right = MORE.format(more=more)
        raise BadInput(bottle_name(salt), TOO_FINE.format(
            grams=grams, name=bottle_name(salt), step=step), right)  # fmt: skip
    error = 0.0 if salt == "H2O" else (abs(weigh - grams) + 0.5 * step) / grams * 100.0
    return Weighing(
        substance=salt,
        name=bottle_name(salt),
        grams=grams,
        weigh_g=weigh,
        error_pct=error,
        water_ml=part.litres * 1000.0,
        solvent=part.solvent,
        grains=written_in(grams, "grain"),
        ounces=written_in(grams, "ounce"),
    )


def _gold_ratio(
    bath: Recipe, weighings: Sequence[Weighing], step: float
) -> tuple[float | None, tuple[float, float] | None]:
    """Return thiosulfate for each gold as weighed, with its range; refused where it may be lean."""
    gold, hypo = of_family(bath, "gold"), of_family(bath, "thiosulfate")
    if not gold:
        return None, None
    au = weighings[bath.parts.index(gold[0])]
    thio = weighings[bath.parts.index(hypo[0])]
    salts = {"gold_salt": au.substance, "thiosulfate": thio.substance}
    half = 0.5 * step
    worst = check_gilding(au.weigh_g + half, max(thio.weigh_g - half, 1e-6), **salts)[0]
    best = thiosulfate_per_gold(max(au.weigh_g - half, 1e-6), thio.weigh_g + half, **salts)
    return thiosulfate_per_gold(au.weigh_g, thio.weigh_g, **salts), (worst, best)


def _notes(weighings: Sequence[Weighing], step: float, volume: float, room_c: float) -> list[str]:
    out = []
    worst = value("substances", "rounding_worst")
    water = sum(one.water_ml for one in weighings)
    for one in weighings:
        if one.error_pct > worst:
            # half a step of rounding and half of reading, at the worst
            more = volume * step / one.grams / worst * 100.0
            told = {"grams": one.grams, "name": one.name, "step": step, "more": more}
            out.append(COARSE.format(error=one.error_pct, **told))
        cools = float(cooling_k(one.substance, one.grams, one.water_ml or water))
        if cools >= 1.0:
            out.append(COOLS.format(cools=cools, warm=room_c + cools))
    return out


def _words(step: Step, weighings: Sequence[Weighing]) -> str:
    one = weighings[step.part - 1]
    if step.do == "filter":
        return FILTER
    if step.do == "pour":
        into = weighings[step.into - 1]
        return POUR.format(what=one.name, into=into.name)
    if one.substance == "H2O":
        return PLAIN.format(water=round(one.water_ml, 1), solvent=one.solvent)
    if step.into:
        return STIR_IN.format(grams=round(one.weigh_g, 6), name=one.name)
    words = DISSOLVE if one.solvent == WATER else STIR
    grams, water = round(one.weigh_g, 6), round(one.water_ml, 1)
    return words.format(grams=grams, name=one.name, water=water, solvent=one.solvent)


def read_instead(texts: Sequence[str]) -> dict[str, str]:
    """Return salts on the shelf in place of a recipe's, from ``WRITTEN=OWNED``.

    Raises
    ------
    BadInput
        If a text is not such a pair.
    """
    out = {}
    for text in texts:
        written, equals, owned = (one.strip() for one in text.partition("="))
        if not written or not equals or not owned:
            raise BadInput("--instead", NOT_A_PAIR, PAIR, text=text[:60])
        out[written] = owned
    return out
