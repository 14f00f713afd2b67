"""How much a check tells in this studio, from what it showed and how its stage came out.

Both rows of a check's table, for a sound stage and for a fault, are Dirichlet: the trade's word,
worth a few plates, and the studio's counts.

References
----------
.. [1] A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section 3.4: multinomial counts.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.learn.deciding.stage_work import Check, trade_check
from argentry.trade.decide import KnownCheck

WORDS = ("clean", "faint", "plain")  # what a check shows of a fault
DRAWS = 2000


def learned_check(check: KnownCheck, sound: Sequence[float], fault: Sequence[float]) -> Check:
    """Return a check's table as this studio's plates have it.

    Parameters
    ----------
    check : KnownCheck
        As the trade has it.
    sound, fault : sequences of float
        How often it showed each of `WORDS` on plates whose stage came out ok, and on those with a
        fault there.

    Returns
    -------
    Check
        For `usual_work`.

    Raises
    ------
    BadInput
        If there are not three counts of each, or one is negative.
    """
    rows = [row / row.sum() for row in _counts(check, sound, fault)]
    made = trade_check(check)
    shares = [tuple(float(share) for share in row) for row in rows]
    return Check(made.key, made.minutes, shares[0], shares[1], made.title)


def _counts(
    check: KnownCheck, sound: Sequence[float], fault: Sequence[float]
) -> tuple[Floats, Floats]:
    """Return the counts with the trade's word added as a few plates."""
    for counts in (sound, fault):
        if len(counts) != len(WORDS):
            raise BadInput(
                "check {key}".format(key=check.key),
                "not three counts",
                "count {words}",
                words=", ".join(WORDS),
            )
        for count in counts:
            check_range("check {key}, count".format(key=check.key), count, 0, 1e6, "plates")
    believed = trade_check(check)
    worth = trade.value("decide", "check_plates")
    return (
        worth * np.array(believed.sound) + np.asarray(sound, dtype=np.float64),
        worth * np.array(believed.fault) + np.asarray(fault, dtype=np.float64),
    )
