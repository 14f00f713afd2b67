"""Plate sizes by the names makers use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from argentry.errors import ArgentryError, BadInput, check_range
from argentry.trade.facts import BASES, toml, value


@dataclass(frozen=True)
class PlateSize:
    """A plate size of the trade, nominal.

    Attributes
    ----------
    name : str
        As the maker says it: ``"quarter"``, ``"9x12 cm"``.
    width_mm, height_mm : float
        Narrow and long side. [mm]
    area_cm2 : float
        [cm2]
    basis, source : str
        Where the size was read.
    """

    name: str
    width_mm: float
    height_mm: float
    area_cm2: float
    basis: str
    source: str


@cache
def plate_sizes() -> tuple[PlateSize, ...]:
    """Return every plate size of ``sizes.toml``, in the order of the file.

    Raises
    ------
    ArgentryError
        If an entry is incomplete.
    """
    data = toml("sizes")
    return tuple(_size(entry, data["sources"]) for entry in data["size"])


def _size(entry: Mapping[str, Any], sources: Mapping[str, str]) -> PlateSize:
    inch = value("sizes", "inch_mm")
    try:
        if "width_mm" in entry:
            width, height = float(entry["width_mm"]), float(entry["height_mm"])
        else:
            width, height = entry["width_in"] * inch, entry["height_in"] * inch
        basis, source = entry["basis"], sources[entry["source_key"]]
    except KeyError as error:
        raise ArgentryError(
            "plate size {name!r} lacks {error}.".format(name=entry.get("name"), error=error)
        ) from None
    if basis not in BASES or not 0 < width <= height:
        raise ArgentryError(
            "plate size {name!r} has a wrong basis or sides.".format(name=entry["name"])
        )
    return PlateSize(entry["name"], width, height, width * height / 100.0, basis, source)


def plate_size(name: str) -> PlateSize:
    """Return one plate size by name; case, spaces and the word "plate" do not matter.

    Parameters
    ----------
    name : str
        ``"quarter"``, ``"Quarter plate"``, ``"9x12 cm"``, ``"4x5"``.

    Raises
    ------
    BadInput
        If there is no such size; the sentence lists them.
    """
    wanted = _plain_size(name)
    for size in plate_sizes():
        if wanted == _plain_size(size.name):
            return size
    names = ", ".join(size.name for size in plate_sizes())
    raise BadInput(
        "plate size", "{name!r} is not a plate size", "use one of {names}", name=name, names=names
    )


def _plain_size(name: str) -> str:
    plain = name.casefold().replace("×", "x").removesuffix("plate").replace(" ", "")
    return plain.replace("-", "").removesuffix("cm").removesuffix("in")


def area_ratio(area_cm2: float) -> float:
    """Return the area over that of a quarter plate, to which minutes and amounts refer.

    Parameters
    ----------
    area_cm2 : float
        [cm2] Within 1 to 5000.

    Returns
    -------
    float
        [1]

    Raises
    ------
    BadInput
        If the area is not a number in its range.
    """
    check_range("plate area", area_cm2, 1.0, 5000.0, "cm2")
    return area_cm2 / value("sizes", "base_plate")
