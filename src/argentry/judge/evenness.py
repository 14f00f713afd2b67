"""How even a coat is: its edges, the one that is thin, and stripes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.arrays import Floats

_RIM, _BORDER = 1, 2  # fields that make an edge, and that are not the middle


@dataclass(frozen=True)
class Evenness:
    """How even a coat is.

    Attributes
    ----------
    edges_nm : tuple of (str, float or None)
        Mean thickness at each edge; None where it is not seen. [nm]
    middle_nm : float
        Of the middle. [nm]
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
    own = fields_nm[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    parts = {
        "left": own[:, :_RIM], "right": own[:, -_RIM:], "top": own[:_RIM], "bottom": own[-_RIM:],
    }  # fmt: skip
    middle = float(np.nanmedian(own[_BORDER:-_BORDER, _BORDER:-_BORDER]))
    means = {name: _mean(part) for name, part in parts.items()}
    known = {name: one for name, one in means.items() if one is not None}
    share = trade.value("seeing", "thin_edge_share")
    thin = min(known, key=lambda name: known[name]) if known else None
    if thin is not None and known[thin] > (1.0 - share) * middle:
        thin = None
    return Evenness(tuple(means.items()), middle, thin)


def _mean(part: Floats) -> float | None:
    there = np.isfinite(part)
    return None if there.sum() < 4 else float(np.median(part[there]))
