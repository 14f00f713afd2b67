"""The settings of the next plate, if it is begun now: as far as they last, those of this one.

A hot room is as hot for the plate that would be begun in the place of this one, and the bottle is
the same; buff and wait are the hands' own each time. How far a condition lasts from plate to plate
is seen in the studio's own plates.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from argentry.learn.stages.table import in_order

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.records.plate import Making

    Known = Mapping[str, float | str]

LIKE = 8  # plates, evenly over the log, whose settings stand for those that do not last
FIRST = 10.0  # pairs of plates, as which it counts that nothing lasts; judged
LASTS = 0.5  # from which a word is taken to be the same on the next plate


def lasting(makings: Sequence[Making], column: str) -> float:
    """Return how far a condition lasts from one plate to the next: 0 not at all, 1 wholly.

    Of numbers their correlation on one plate and the next; of words how much oftener they are the
    same than two plates at any time.

    Parameters
    ----------
    makings : sequence of Making
        In order of time.
    column : str
        Of the table of plates.
    """
    found = [one.conditions[column] for one in makings if column in one.conditions]
    words = [one for one in found if isinstance(one, str)]
    if len(words) > len(found) / 2:
        pairs = len(words) - 1
        same = sum(a == b for a, b in pairwise(words)) / max(pairs, 1)
        _, counts = np.unique(words, return_counts=True)
        chance = float(((counts / counts.sum()) ** 2).sum())
        lasts = (same - chance) / (1.0 - chance) if chance < 1.0 else 0.0
    else:
        values = np.array([one for one in found if not isinstance(one, str)], dtype=np.float64)
        pairs = values.size - 1
        off = values - values.mean() if values.size else values
        spread = float(off @ off)
        lasts = float(off[1:] @ off[:-1]) / spread if spread > 0.0 else 0.0
    return max(lasts, 0.0) * pairs / (pairs + FIRST) if pairs > 0 else 0.0


def like_to_come(makings: Sequence[Making], known: Known) -> list[tuple[Known, Known]]:
    """Return settings of some plates, and the same as they would be after this plate.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates.
    known : Mapping[str, float or str]
        Of this plate.

    Returns
    -------
    list of tuple
        Both of each plate; none where no plate is known.
    """
    ordered = in_order(makings)
    last = {column: lasting(ordered, column) for column in known}
    out: list[tuple[Known, Known]] = []
    some = np.unique(np.linspace(0, len(ordered) - 1, min(LIKE, len(ordered))).astype(int))
    for one in (ordered[i] for i in some):
        then = dict(one.conditions)
        for column, value in known.items():
            before = then.get(column)
            if isinstance(value, str) or isinstance(before, str) or before is None:
                if last[column] >= LASTS:
                    then[column] = value
            else:
                then[column] = last[column] * value + (1.0 - last[column]) * before
        out.append((one.conditions, then))
    return out
