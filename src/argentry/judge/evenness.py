"""How even a coat is: its edges, the one that is thin, and stripes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.judge.bare_silver import SIDES

_RIM, _BORDER = 1, 2  # fields that make an edge, and that are not the middle


@dataclass(frozen=True)
class Evenness:
    """How even a coat is.

    Attributes
    ----------
    edges_nm : tuple of (str, float or None)
        Mean thickness at each edge; None where it is not seen. [nm]
    middle_nm : float
        Of the middle; NaN where too little of it is seen, and then no edge is told. [nm]
    thin_edge : str or None
        The thinnest edge, when it is thinner than the middle by more than the trade's share.
    """

    edges_nm: tuple[tuple[str, float | None], ...]
    middle_nm: float
    thin_edge: str | None


def evenness(fields_nm: Floats) -> Evenness:
    """Return how even a map of thicknesses is; what is not seen (bare, covered) does not count."""
    seen = np.isfinite(fields_nm)
    columns = np.nonzero(seen.sum(axis=0) >= 4)[0]
    rows = np.nonzero(seen.sum(axis=1) >= 4)[0]
    nothing = Evenness(tuple((side, None) for side in SIDES), float("nan"), None)
    if not columns.size or not rows.size:
        return nothing
    own = fields_nm[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    parts = {
        "left": own[:, :_RIM], "right": own[:, -_RIM:], "top": own[:_RIM], "bottom": own[-_RIM:],
    }  # fmt: skip
    inner = own[_BORDER:-_BORDER, _BORDER:-_BORDER]
    if not np.isfinite(inner).any():
        return nothing
    middle = float(np.nanmedian(inner))
    means = {name: _mean(part) for name, part in parts.items()}
    known = {name: one for name, one in means.items() if one is not None}
    share = trade.value("seeing", "thin_edge_share")
    thin = min(known, key=lambda name: known[name]) if known else None
    if thin is not None and known[thin] > (1.0 - share) * middle:
        thin = None
    return Evenness(tuple(means.items()), middle, thin)


def telling(maps: Sequence[Floats]) -> Floats:
    """Return the first map, or where no edge is thin in it the one in which one is thinnest."""
    first, *others = (_thinnest(one) for one in maps)
    if first < 1.0 or min(others, default=1.0) == 1.0:
        return maps[0]
    return maps[1 + int(np.argmin(others))]


def _thinnest(fields_nm: Floats) -> float:
    """Return a thin edge's share of the middle; 1 where none is thin."""
    found = evenness(fields_nm)
    nm = dict(found.edges_nm).get(found.thin_edge or "")
    return 1.0 if nm is None else nm / found.middle_nm


def _mean(part: Floats) -> float | None:
    there = np.isfinite(part)
    return None if there.sum() < 4 else float(np.median(part[there]))
