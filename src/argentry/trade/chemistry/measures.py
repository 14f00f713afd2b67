"""Grains, drams, ounces and pints, in and out; present measures with them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from unicodedata import normalize

from argentry.errors import BadInput, check_range
from argentry.trade.entries import made
from argentry.trade.facts import toml

_AMOUNT = re.compile(
    r"\s*(?:(\d+)\s+(?=\d+\s*/))?([-+]?\d+(?:[.,]\d+)?)(?:\s*/\s*(\d+))?\s*([^\d].*?)?\s*"
)
_FRACTION = re.compile("[\u00bc-\u00be\u2150-\u215e]")  # a half, a quarter and so on in one sign
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2},\d{3}")
MOST = 1e6
WHICH = "a pint, quart, fluid ounce, fluid dram or minim is of the US or imperial"
SAY = "write {us} or {imperial}"
NOT_AN_AMOUNT = "{text!r} is not an amount"
TWO_WAYS = "{number} can be read as a thousand or with a decimal comma"
ONE_WAY = "write {whole} or {point}"
LIKE = "write it as 15 gr, 0.5 oz, 250 mL or 1 US pint"


@dataclass(frozen=True)
class Measure:
    """One measure of mass or volume.

    Attributes
    ----------
    key : str
        Name within ``measures.toml``, as recipes name it.
    words : tuple of str
        By which it is known, in any letter case.
    kind : str
        ``"g"`` for mass, ``"mL"`` for volume.
    size : float
        Grams or millilitres in one.
    says : str
        As printed.
    basis, source : str
        How it is known.
    """

    key: str
    words: tuple[str, ...]
    kind: str
    size: float
    says: str
    basis: str
    source: str


@cache
def measures() -> tuple[Measure, ...]:
    """Return every measure of ``measures.toml``."""
    rows = toml("measures")["measure"]
    return tuple(made(Measure, "measures." + row["key"], row) for row in rows)


def _plain(name: str) -> str:
    return re.sub(r"[.\s]+", " ", name.casefold().replace("'", "")).strip()


def one_named(name: str, among: Iterable[Measure]) -> Measure | None:
    """Return the measure of that key or word; None when it is not among them."""
    plain = _plain(name)
    return next((one for one in among if plain in one.words or name == one.key), None)


def measure(name: str) -> Measure:
    """Return a measure by its key or one of its words.

    Raises
    ------
    BadInput
        If it is not known, or does not say whose pint is meant.
    """
    found = one_named(name, measures())
    if found is not None:
        return found
    plain = _plain(name)
    mine = {one.says for one in measures() for word in one.words if plain and word.endswith(plain)}
    us = next((says for says in sorted(mine) if says.startswith("US ")), None)
    imperial = next((says for says in sorted(mine) if says.startswith("imperial ")), None)
    if us and imperial:
        raise BadInput("unit", WHICH, SAY, us=us, imperial=imperial)
    says = ", ".join(one.says for one in measures())
    raise BadInput("unit", "{name!r} is not a unit", "use one of {says}", name=name, says=says)


def _spelt_out(sign: re.Match[str]) -> str:
    return " " + normalize("NFKC", sign[0]).replace("\u2044", "/")


def read_amount(text: str) -> tuple[float, str]:
    """Return an amount as typed in grams or millilitres, with which of the two.

    Parameters
    ----------
    text : str
        ``"15 gr"``, ``"1 1/2 oz"``, ``"250 mL"``, ``"1 US pint"``; a bare number is refused, and
        ``"1,000 g"``, which could be one gram.

    Raises
    ------
    BadInput
        If it is not an amount, or its measure is not known.

    Examples
    --------
    >>> [round(read_amount(text)[0], 3) for text in ("15 gr", "1/2 oz", "1 US pint")]
    [0.972, 14.175, 473.176]
    """
    found = _AMOUNT.fullmatch(_FRACTION.sub(_spelt_out, text))
    if found is None or not found[4] or (found[3] and not float(found[3])):
        raise BadInput("amount", NOT_AN_AMOUNT, LIKE, text=text)
    whole, over, under, named = found.groups()
    if _THOUSANDS.fullmatch(over):
        told = {"whole": over.replace(",", ""), "point": over.replace(",", ".")}
        raise BadInput("amount", TWO_WAYS, ONE_WAY, number=over, **told)
    number = float(whole or 0) + float(over.replace(",", ".")) / float(under or 1)
    unit = measure(named)
    check_range("amount", number * unit.size, 0.0, MOST, unit.kind, open_low=True)
    return number * unit.size, unit.kind


def written_in(amount: float, key: str) -> float:
    """Return grams or millilitres in another measure of their kind.

    Parameters
    ----------
    amount : float
        [g] or [mL]
    key : str
        The measure.

    Examples
    --------
    >>> round(written_in(28.35, "dram_avoirdupois"), 2)
    16.0
    """
    return amount / measure(key).size
