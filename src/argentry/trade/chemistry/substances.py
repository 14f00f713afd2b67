"""Masses by formula, and one salt in place of another by the element that both hold."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from functools import cache

from argentry.errors import BadInput, check_range
from argentry.trade.entries import made
from argentry.trade.facts import toml

_TOKEN = re.compile(r"([A-Z][a-z]?|\(|\))(\d*)")
_LONGEST = 60
FORM = "write it as Na2S2O3.5H2O"
NOT_OF_ONE = "{written} and {owned} do not stand for one another"
ONE_OF = "use one of {names}"


@dataclass(frozen=True)
class Family:
    """Salts that stand for one another by the element that they are bought for.

    Attributes
    ----------
    key, name : str
        Name within ``substances.toml`` and as printed.
    counts : str
        The element that is counted.
    per : int
        Atoms of it in one ion or metal atom that does the work.
    forms : tuple of str
        Formulas.
    low_share : float
        Least share of the label's content that an old or damp bottle may still hold. [1]
    basis, source : str
        How it is known.
    """

    key: str
    name: str
    counts: str
    per: float
    forms: tuple[str, ...]
    low_share: float
    basis: str
    source: str


@cache
def families() -> tuple[Family, ...]:
    """Return the families of salts of ``substances.toml``."""
    rows = toml("substances")["family"]
    return tuple(made(Family, "substances." + row["key"], row) for row in rows)


@cache
def atoms(formula: str) -> Counter[str]:
    """Return how many atoms of each element a formula holds, its water of crystals included.

    Parameters
    ----------
    formula : str
        ``"Na2S2O3.5H2O"``, ``"Na3Au(S2O3)2.2H2O"``.

    Raises
    ------
    BadInput
        If it is not a formula of elements known here.

    Examples
    --------
    >>> sorted(atoms("Na2S2O3.5H2O").items())
    [('H', 10), ('Na', 2), ('O', 8), ('S', 2)]
    """
    total: Counter[str] = Counter()
    for part in re.split(r"[.·*]", formula.strip()[:_LONGEST]):
        lead = re.match(r"\d*", part)
        times = lead[0] if lead else ""
        body = part[len(times) :]
        if not body or "".join(map("".join, _TOKEN.findall(body))) != body:
            raise _not_a_formula(formula)
        for element, count in _group(formula, body).items():
            total[element] += int(times or 1) * count
    return total


def _group(formula: str, body: str) -> Counter[str]:
    """Return the atoms of one part without its leading number, groups in brackets included."""
    stack: list[Counter[str]] = [Counter()]
    for sign, number in _TOKEN.findall(body):
        if sign == "(":
            if number:
                raise _not_a_formula(formula)
            stack.append(Counter())
        elif sign == ")":
            if len(stack) == 1:
                raise _not_a_formula(formula)
            for element, count in stack.pop().items():
                stack[-1][element] += count * int(number or 1)
        elif sign in toml("substances")["weights"]:
            stack[-1][sign] += int(number or 1)
        else:
            raise _not_a_formula(formula)
    if len(stack) != 1:
        raise _not_a_formula(formula)
    return stack[0]


def _not_a_formula(formula: str) -> BadInput:
    return BadInput("formula", "{formula!r} is not known", FORM, formula=formula[:_LONGEST])


def molar_mass_g_mol(formula: str) -> float:
    """Return the mass of one mole.

    Examples
    --------
    >>> round(molar_mass_g_mol("Na2S2O3.5H2O"), 2)
    248.17
    """
    weights = toml("substances")["weights"]
    return float(sum(weights[element] * n for element, n in atoms(formula).items()))


def mass_share(formula: str, element: str) -> float:
    """Return the share of an element by mass, 0 to 1.

    Examples
    --------
    >>> round(mass_share("HAuCl4.3H2O", "Au"), 4)
    0.5001
    """
    weight = float(toml("substances")["weights"][element])
    return weight * atoms(formula)[element] / molar_mass_g_mol(formula)


def family_of(formula: str) -> Family | None:
    """Return the family of salts a formula belongs to; None when it has none."""
    return next((one for one in families() if formula in one.forms), None)


def moles(formula: str, grams: float, purity: float = 1.0) -> float:
    """Return the moles of what a salt is bought for: gold, thiosulfate, silver.

    Parameters
    ----------
    formula : str
        The salt; one without a family counts as itself.
    grams : float
        [g]
    purity : float
        Share of the label's substance in it, 0 to 1. [1]
    """
    family = family_of(formula)
    each = 1.0 if family is None else atoms(formula)[family.counts] / family.per
    return grams * purity / molar_mass_g_mol(formula) * each


def in_place_of(written: str, grams: float, owned: str, *, purity: float = 1.0) -> float:
    """Return how much of the salt on the shelf does what a recipe's salt does.

    Parameters
    ----------
    written : str
        Salt of the recipe.
    grams : float
        As the recipe has it. [g]
    owned : str
        Salt on the shelf.
    purity : float
        Share of the owned salt that is what its label says, above 0 to 1. [1]

    Returns
    -------
    float
        [g]

    Raises
    ------
    BadInput
        If the two do not hold the same, or the purity is out of range.

    Examples
    --------
    >>> round(in_place_of("Na2S2O3.5H2O", 80.0, "Na2S2O3"), 2)
    50.96
    """
    check_range("purity", purity, 0.0, 1.0, "1", open_low=True)
    family = family_of(written)
    if owned != written and (family is None or owned not in family.forms):
        there = (written,) if family is None else family.forms
        raise BadInput(
            "salt", NOT_OF_ONE, ONE_OF, written=written, owned=owned[:_LONGEST],
            names=", ".join(there),
        )  # fmt: skip
    return grams * moles(written, 1.0) / moles(owned, 1.0, purity)


def bottle_name(formula: str) -> str:
    """Return what stands on the bottle: the name in words, or the formula."""
    return str(toml("substances")["names"].get(formula, formula))
