"""What plates use up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache

from argentry.errors import check_range
from argentry.trade.facts import facts, toml
from argentry.trade.sizes import area_ratio


@dataclass(frozen=True)
class Material:
    """What plates of one size use up of one material.

    Attributes
    ----------
    key, name : str
        Name within ``materials.toml`` and as printed.
    amount, low, high : float
        Amount and range. [unit]
    unit : str
        ``"mL"``, ``"mg"``, ``"g"``, ``"cm"`` or ``"piece"``.
    basis, source : str
        Where the amount for a quarter plate comes from.
    """

    key: str
    name: str
    amount: float
    low: float
    high: float
    unit: str
    basis: str
    source: str


@cache
def shared() -> frozenset[str]:
    """Return the materials of which one tray does all plates of a session."""
    return frozenset(use["material"] for use in toml("recipes")["use"] if use["law"] == "tray")


@lru_cache(maxsize=64)
def materials(area_cm2: float, plates: int = 1) -> tuple[Material, ...]:
    """Return what `plates` plates of a session use up, in the order of ``materials.toml``.

    Parameters
    ----------
    area_cm2 : float
        Area of one plate. [cm2] Within 1 to 5000.
    plates : int
        How many plates, 1 to 1000.

    Returns
    -------
    tuple of Material
        Amounts with range, basis and source.

    Raises
    ------
    BadInput
        If the area or the number of plates is out of range.
    """
    ratio = area_ratio(area_cm2)
    check_range("plates", plates, 1, 1000, "plates")
    names, scaling = toml("materials")["names"], toml("materials")["scaling"]
    out = []
    for key, fact in facts("materials").items():
        factor = (1 if key in shared() else plates) * ratio ** scaling[key]
        out.append(
            Material(
                key=key,
                name=names[key],
                amount=fact.value * factor,
                low=fact.low * factor,
                high=fact.high * factor,
                unit=fact.unit,
                basis=fact.basis,
                source=fact.source,
            )
        )
    return tuple(out)


@lru_cache(maxsize=64)
def each_plate(area_cm2: float, session: int) -> tuple[Material, ...]:
    """Return what one plate uses up where so many share a tray.

    Parameters
    ----------
    area_cm2 : float
        Area of one plate. [cm2] Within 1 to 5000.
    session : int
        Plates of a session, 1 to 1000.
    """
    return tuple(
        replace(one, amount=one.amount / session, low=one.low / session, high=one.high / session)
        for one in materials(area_cm2, session)
    )
