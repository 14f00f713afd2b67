"""Fixing and gilding baths as published, scaled to a volume, and their gold arithmetic."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from argentry.errors import BadInput, check_range
from argentry.trade.chemistry.gilding import check_gilding, thiosulfate_per_gold
from argentry.trade.chemistry.measures import measure
from argentry.trade.chemistry.pouring import Step, check_order, read_sequence
from argentry.trade.chemistry.substances import (
    family_of,
    in_place_of,
    mass_share,
    molar_mass_g_mol,
    moles,
)
from argentry.trade.entries import made, one_of
from argentry.trade.facts import BASES, toml, value
from argentry.trade.refusals import check_recipe
from argentry.trade.steps import cautions, steps

__all__ = [
    "FIX",
    "GILD",
    "Part",
    "Recipe",
    "check_gilding",
    "check_recipe",
    "gold_mg_per_ml",
    "mix",
    "recipe",
    "recipes",
    "thiosulfate_per_gold",
]

WATER = "distilled water"
FIX, GILD = "fix", "gild"  # kinds of bath, and the usual bath of each
SOLUBILITY = {
    "thiosulfate": "solubility_thiosulfate",
    "sulfite": "solubility_sulfite",
    "carbonate": "solubility_soda",
}


@dataclass(frozen=True)
class Part:
    """One solution of a bath.

    Attributes
    ----------
    substance : str
        Formula of what is dissolved.
    grams : float
        [g]
    litres : float
        Volume of this solution. [L]
    as_written : str
        The amounts as the source writes them.
    solvent : str
        What it is dissolved or stirred in.
    """

    substance: str
    grams: float
    litres: float
    as_written: str
    solvent: str = WATER


@dataclass(frozen=True)
class Recipe:
    """A bath as published.

    Attributes
    ----------
    key, title, kind : str
        Name in ``recipes.toml``, as printed, and the kind of solution: ``"fix"``, ``"gild"``...
    parts : tuple of Part
        Solutions made apart, then joined.
    sequence : tuple of Step
        What is dissolved and poured, in order.
    order : str
        How they are made and joined.
    cautions : tuple of str
        Keys of ``cautions.toml``.
    basis, source : str
        Where it was read.
    """

    key: str
    title: str
    kind: str
    parts: tuple[Part, ...]
    sequence: tuple[Step, ...]
    order: str
    cautions: tuple[str, ...]
    basis: str
    source: str


@dataclass(frozen=True)
class Use:
    """How one step uses a solution.

    Attributes
    ----------
    step : str
        As a maker says it: scour, clean, fix, gild, rinse.
    bench : tuple of str
        Keys of ``steps.toml``: a plate has gone through it once one of these has ended.
    kinds : tuple of str
        Kinds of recipes that serve.
    law : str
        ``"tray"``: one for the session; ``"each"``: used once by every plate.
    pool : bool
        True when it lies over the plate to a depth.
    material : str
        Key of ``materials.toml`` that says how much; empty with `ml_per_cm2`.
    ml_per_cm2 : float
        Of plate, where no material says it. [mL/cm2]
    basis, source : str
        How it is known.
    """

    step: str
    bench: tuple[str, ...]
    kinds: tuple[str, ...]
    law: str
    pool: bool
    material: str
    ml_per_cm2: float
    basis: str
    source: str


@cache
def uses() -> tuple[Use, ...]:
    """Return which steps use which kinds of solution."""
    rows = toml("recipes")["use"]
    found = tuple(made(Use, "recipes." + row["step"], row, ("material",)) for row in rows)
    known = [rule.key for rule in steps()]
    for one in found:
        for key in one.bench:
            one_of("recipes." + one.step, "bench", key, known)
    return found


def use_of(kind: str) -> Use:
    """Return the step that uses solutions of a kind."""
    return next(one for one in uses() if kind in one.kinds)


@cache
def recipes() -> tuple[Recipe, ...]:
    """Return every bath of ``recipes.toml``.

    Raises
    ------
    ArgentryError
        If an entry is incomplete, or is itself one that must be refused.
    """
    return tuple(
        read_recipe("recipe {key}".format(key=entry.get("key")), entry)
        for entry in toml("recipes")["recipe"]
    )


KEYS = {"key", "title", "kind", "order", "sequence", "cautions", "basis", "source", "part"}
PART_KEYS = {"substance", "amount", "unit", "volume", "volume_unit"}
LACKS, HAS = "it lacks {names}", "it has the unknown {names}"
NOT_WORDS = "{key} is not words"
NOT_OF_KIND = "{unit!r} does not measure a {kind}"
STRONG = "{grams:.0f} g in a litre do not dissolve"
AT_MOST = "take at most {most:g} g in a litre"


def read_recipe(where: str, entry: Mapping[str, Any]) -> Recipe:
    """Return a recipe from its data, shipped or a maker's own, once every check is passed.

    Parameters
    ----------
    where : str
        File and recipe, for the sentence.
    entry : Mapping
        As ``recipes.toml`` writes it; ``cautions``, ``basis`` and ``source`` may be left out.

    Raises
    ------
    BadInput
        If a key is unknown, missing or wrong, it is refused, its order spoils it, a gilding bath is
        too lean, or more is dissolved than water takes.
    """
    if isinstance(entry, dict):
        entry = {"cautions": [], "basis": "seed", "source": "the maker's own", **entry}
    _only(where, entry, KEYS)
    for key in KEYS - {"cautions", "sequence", "part"}:
        if not isinstance(entry[key], str) or not entry[key].strip():
            raise BadInput(where, NOT_WORDS, "write it in quotes", key=key)
    if entry["basis"] not in BASES or not set(entry["cautions"]) <= set(cautions()):
        raise BadInput(where, "it has a wrong basis or an unknown caution", "see docs/trade.md")
    kinds = [kind for one in uses() for kind in one.kinds]
    if entry["kind"] not in kinds:
        right = "use one of {kinds}".format(kinds=", ".join(kinds))
        raise BadInput(where, "its kind {kind!r} is not known", right, kind=entry["kind"])
    if not isinstance(entry["part"], list) or not entry["part"]:
        raise BadInput(where, "it has no part", "write at least one [[recipe.part]]")
    if not isinstance(entry["sequence"], list):
        raise BadInput(where, "its sequence is not a list", "write { do, part } steps in it")
    parts = tuple(
        _part("{where}, part {number}".format(where=where, number=number), part)
        for number, part in enumerate(entry["part"], 1)
    )
    if sum(part.litres for part in parts) <= 0.0:
        raise BadInput(where, "it holds no water", "give a part its volume")
    check_recipe([name for part in parts for name in (part.substance, part.solvent)])
    sequence = read_sequence(where, entry["sequence"])
    check_order(where, [(part.substance, part.solvent) for part in parts], sequence)
    bath = Recipe(
        **{key: entry[key] for key in ("key", "title", "kind", "order", "basis", "source")},
        cautions=tuple(entry["cautions"]),
        parts=parts,
        sequence=sequence,
    )
    thiosulfate_for_gold(bath)
    _check_dissolves(where, bath)
    return bath


def _only(where: str, entry: Mapping[str, Any], keys: set[str], may: str = "") -> None:
    if not isinstance(entry, dict):
        raise BadInput(where, "it is not a table", "write it as docs/trade.md shows the baths")
    known = "use {known}".format(known=", ".join(sorted(keys)))
    if unknown := sorted(set(entry) - keys - {may}):
        raise BadInput(where, HAS, known, names=", ".join(unknown))
    if missing := sorted(keys - set(entry)):
        raise BadInput(where, LACKS, "give each of them", names=", ".join(missing))


def _part(where: str, part: Mapping[str, Any]) -> Part:
    _only(where, part, PART_KEYS, "solvent")
    sizes = []
    for key, unit_key, kind, word in (
        ("amount", "unit", "g", "mass"),
        ("volume", "volume_unit", "mL", "volume"),
    ):
        given, unit = part[key], measure(str(part[unit_key]))
        if isinstance(given, bool) or not isinstance(given, int | float):
            raise BadInput(where, "{key} is not a number", "give one", key=key)
        check_range(f"{where} {key}", given, 0.0, 1e5, unit.says, open_low=key == "amount")
        if unit.kind != kind:
            right = "use another unit for its {word}".format(word=word)
            raise BadInput(where, NOT_OF_KIND, right, unit=unit.says, kind=word)
        sizes.append((float(given), unit))
    (amount, unit), (volume, volume_unit) = sizes
    written = f"{amount:g} {unit.says} in {volume:g} {volume_unit.says}"
    substance, solvent = part["substance"], part.get("solvent", WATER)
    if not all(isinstance(name, str) and name.strip() for name in (substance, solvent)):
        raise BadInput(where, NOT_WORDS, "write it in quotes", key="substance or solvent")
    litres = volume * volume_unit.size / 1000.0
    return Part(substance, amount * unit.size, litres, written, solvent)


def of_family(bath: Recipe, family: str) -> list[Part]:
    """Return the parts of a bath whose salt belongs to a family of ``substances.toml``."""
    found = ((part, family_of(part.substance)) for part in bath.parts)
    return [part for part, kin in found if kin is not None and kin.key == family]


def thiosulfate_for_gold(bath: Recipe) -> float | None:
    """Return thiosulfate for each gold of a bath, refused when too lean; None without gold."""
    gold, hypo = of_family(bath, "gold"), of_family(bath, "thiosulfate")
    if not gold:
        return None
    if not hypo:
        raise BadInput("gilding bath", "it holds gold and no thiosulfate", "add thiosulfate")
    ratio, _ = check_gilding(
        gold[0].grams, hypo[0].grams, gold_salt=gold[0].substance, thiosulfate=hypo[0].substance
    )
    return ratio


def _check_dissolves(where: str, bath: Recipe) -> None:
    litres = sum(part.litres for part in bath.parts)
    for part in bath.parts:
        family = family_of(part.substance)
        name = None if family is None else SOLUBILITY.get(family.key)
        if family is None or name is None:
            continue
        most = value("substances", name)
        grams = in_place_of(part.substance, part.grams, family.forms[0])
        water = part.litres or litres
        if grams / water > most:
            raise BadInput(where, STRONG, AT_MOST, grams=grams / water, most=most)


def recipe(key: str) -> Recipe:
    """Return one bath by its key.

    Raises
    ------
    BadInput
        If there is no such bath; the sentence lists them.
    """
    for entry in recipes():
        if entry.key == key:
            return entry
    names = ", ".join(entry.key for entry in recipes())
    raise BadInput("recipe", "{key!r} is not a recipe", "use one of {names}", key=key, names=names)


def mix(key: str, volume_ml: float) -> tuple[Part, ...]:
    """Return the parts of a bath scaled to `volume_ml` of the joined bath.

    Parameters
    ----------
    key : str
        A key of ``recipes.toml``.
    volume_ml : float
        Volume wanted. [mL] Above 0, up to 20,000.

    Returns
    -------
    tuple of Part
        Grams and litres of each solution.

    Raises
    ------
    BadInput
        If there is no such bath or the volume is out of range.
    """
    check_range("volume", volume_ml, 0.0, 20_000.0, "mL", open_low=True)
    return scaled(recipe(key), volume_ml)


def scaled(bath: Recipe, volume_ml: float) -> tuple[Part, ...]:
    """Return the parts of any bath scaled to a volume, as `mix` does, for any number of plates."""
    check_range("volume", volume_ml, 0.0, 1e7, "mL", open_low=True)
    scale = volume_ml / 1000.0 / sum(part.litres for part in bath.parts)
    return tuple(
        replace(part, grams=part.grams * scale, litres=part.litres * scale) for part in bath.parts
    )


def silver_mg(coat_nm: float, area_cm2: float) -> float:
    """Return the silver that fixing takes off with a coat, in milligrams."""
    return value("recipes", "silver_per_coat") * coat_nm * area_cm2 / 1000.0


def gold_mg_per_ml(bath: Recipe) -> float:
    """Return the gold in a bath as mixed. [mg/mL]."""
    litres = sum(part.litres for part in bath.parts)
    salts = of_family(bath, "gold")
    return sum(part.grams * mass_share(part.substance, "Au") for part in salts) / litres


def bath_takes(bath: Recipe, volume_ml: float) -> tuple[str, float] | None:
    """Return what mixing a bath takes from stock: a key of ``materials.toml``, and how much.

    Of a tray its thiosulfate, see `tray_takes`; of a bath with gold the gold [mg]; None for others.
    """
    gold = gold_mg_per_ml(bath) * volume_ml
    return ("gold", gold) if gold > 0.0 else tray_takes(bath, volume_ml)


def tray_takes(bath: Recipe, volume_ml: float) -> tuple[str, float] | None:
    """Return what a tray takes from stock: a key of ``materials.toml``, and how much.

    Thiosulfate is told as so much bath of the usual strength [mL]; None for a bath without it, and
    for pools that each plate uses once.
    """
    use, salts = use_of(bath.kind), of_family(bath, "thiosulfate")
    if use.law != "tray" or not salts:
        return None
    crystals = "Na2S2O3.5H2O"
    mol = sum(moles(part.substance, part.grams) for part in salts)
    per_ml = mol * molar_mass_g_mol(crystals) / sum(part.litres for part in bath.parts) / 1000.0
    return use.material, per_ml * volume_ml * value("stock", "fixing_bath")
