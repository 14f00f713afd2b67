"""How far what is done with a plate may follow its own odds, by how they have held here."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from argentry.learn.odds.fitting import Fitted

SHARES = (np.arange(40) + 0.5) / 40.0  # of the plate's own odds, the rest of the usual plate's


def trust(fitted: Fitted) -> float:
    """Return the weight of a plate's own odds against those of a usual plate. [1].

    What the other sessions predict of each plate is mixed with their share of good plates; every
    mixture is as likely before any plate, and the plates decide between them. So without plates it
    is a half, and near 1 or 0 only where many plates say so.
    """
    good = np.array([came for came in fitted.came if came is not None], dtype=bool)
    mixed = np.outer(SHARES, fitted.by_others) + np.outer(1.0 - SHARES, fitted.shares)
    came = np.clip(np.where(good, mixed, 1.0 - mixed), 1e-9, 1.0)
    likely = np.log(came).sum(axis=1)
    weight = np.exp(likely - likely.max())
    return float(weight @ SHARES / weight.sum())
