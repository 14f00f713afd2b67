"""The one loader of the trade's facts.

Facts live in ``trade/data/<subject>.toml``. Each is a TOML table with ``value``, ``unit``, ``low``,
``high``, ``basis`` and ``source``; tables of numbers live in ``trade/tables/<name>.csv`` with their
source in leading ``#`` lines; arrays built by a script in ``builders/`` in ``trade/tables/*.npz``.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from argentry.trade.entries import LACKS, UNKNOWN, one_of, wrong

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from argentry.arrays import Floats

FIELDS = ("value", "unit", "low", "high", "basis", "source")
BASES = {
    "published": "read in the named source",
    "computed": "computed from the named constants, again by its builder or by a test",
    "common practice": "common practice, no source",
    "recalled": "from memory, to be checked",
    "guard": "what may be typed or what a formula is good for; no claim of the trade",
    "seed": "starting value, to be replaced by your own log",
}


@dataclass(frozen=True)
class Fact:
    """One fact of the trade.

    Attributes
    ----------
    name : str
        ``subject.key``.
    value : float
        The value. [unit]
    unit : str
        Unit as the maker reads it; ``"1"`` for a pure number.
    low, high : float
        Range in which the value is believed, or in which a studio may set it. [unit]
    basis : str
        One of `BASES`.
    source : str
        Where the value was read, or why it was chosen.
    note : str
        Anything else a reader must know.
    """

    name: str
    value: float
    unit: str
    low: float
    high: float
    basis: str
    source: str
    note: str = ""


@dataclass(frozen=True)
class Table:
    """A table of numbers by column, with its source.

    Attributes
    ----------
    name : str
        File name without its ending.
    columns : Mapping[str, Floats]
        Column name (unit in the name) to values, all of one length.
    head : str
        The leading comment lines: source, basis, units.
    """

    name: str
    columns: Mapping[str, Floats]
    head: str


def _data() -> Any:
    return files("argentry.trade").joinpath("data")


def _tables() -> Any:
    return files("argentry.trade").joinpath("tables")


def subjects() -> list[str]:
    """Return the names of all TOML files of the trade, sorted."""
    return sorted(f.name[:-5] for f in _data().iterdir() if f.name.endswith(".toml"))


def tables() -> list[str]:
    """Return the names of all CSV tables of the trade, sorted."""
    return sorted(f.name[:-4] for f in _tables().iterdir() if f.name.endswith(".csv"))


@cache
def toml(subject: str) -> Mapping[str, Any]:
    """Return the parsed TOML file of `subject`."""
    text = _data().joinpath(f"{subject}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def facts(subject: str) -> Mapping[str, Fact]:
    """Return every fact of `subject` by key.

    Parameters
    ----------
    subject : str
        File name in ``trade/data`` without its ending.

    Returns
    -------
    Mapping[str, Fact]
        Facts by key; TOML tables without a ``value`` are structure, not facts, and are left out.

    Raises
    ------
    ArgentryError
        If a fact lacks a field, names an unknown basis, or lies outside its own range.
    """
    out: dict[str, Fact] = {}
    for key, entry in toml(subject).items():
        if isinstance(entry, dict) and "value" in entry:
            out[key] = _fact(f"{subject}.{key}", entry)
    return out


def _fact(name: str, entry: Mapping[str, Any]) -> Fact:
    where = "trade fact " + name
    missing = [key for key in FIELDS if key not in entry]
    if missing:
        raise wrong(where, LACKS, "give each of them", names=", ".join(missing))
    unknown = set(entry) - {*FIELDS, "note"}
    if unknown:
        right = "use {known}".format(known=", ".join(FIELDS))
        raise wrong(where, UNKNOWN, right, names=", ".join(sorted(unknown)))
    fact = Fact(name=name, **entry)
    one_of(where, "basis", fact.basis, BASES)
    if not fact.low <= fact.value <= fact.high:
        raise wrong(where, "its value is outside its own range", "give low <= value <= high")
    return fact


def value(subject: str, key: str) -> float:
    """Return the bare value of one fact, in the fact's own unit."""
    return facts(subject)[key].value


@cache
def table(name: str) -> Table:
    """Return the CSV table `name` from ``trade/tables``.

    Raises
    ------
    ArgentryError
        If the file names no source in its leading ``#`` lines.
    """
    import numpy as np

    text = _tables().joinpath(f"{name}.csv").read_text(encoding="utf-8")
    lines = text.splitlines()
    head = "\n".join(line.lstrip("# ") for line in lines if line.startswith("#"))
    if "source:" not in head.lower() or "basis:" not in head.lower():
        raise wrong("trade table " + name, "it names no source and basis", "name both above it")
    body = [line for line in lines if line and not line.startswith("#")]
    names = [n.strip() for n in body[0].split(",")]
    data = np.array([[float(cell) for cell in row.split(",")] for row in body[1:]])
    data.flags.writeable = False
    return Table(name, dict(zip(names, data.T, strict=True)), head)


@cache
def arrays(name: str) -> Mapping[str, NDArray[Any]]:
    """Return the arrays of ``trade/tables/<name>.npz`` (built by a script in ``builders/``)."""
    import numpy as np

    with (
        _tables().joinpath(f"{name}.npz").open("rb") as stream,
        np.load(stream, allow_pickle=False) as archive,
    ):
        return {key: archive[key] for key in archive.files}
