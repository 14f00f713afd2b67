"""Scores: log score, calibration, shares with their standard errors over studios."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import isnan

import numpy as np


def expected_log_loss(said, true):
    """Return the mean log loss over all that may come of true chances: free of the plates' luck."""
    p = np.clip(np.asarray(said, dtype=float), 1e-6, 1.0 - 1e-6)
    true = np.asarray(true, dtype=float)
    return float(-np.mean(true * np.log(p) + (1.0 - true) * np.log(1.0 - p)))


def calibration_error(said, came, bins=10):
    """Return the mean distance of what was said from what came, over equally filled bins."""
    said, came = np.asarray(said, dtype=float), np.asarray(came, dtype=float)
    parts = np.array_split(np.argsort(said, kind="stable"), min(bins, said.size))
    return float(sum(p.size * abs(said[p].mean() - came[p].mean()) for p in parts) / said.size)


def calibration_by_chance(said, came, draws=400, bins=10):
    """Return the calibration errors that a teller with no error of its own shows on these studios.

    `said` and `came` are lists of one array a studio. The plates of one studio are off together, so
    that a few studios show an error where none is. Each studio's whole misses change sides or not
    (wild bootstrap by clusters: Cameron, Gelbach and Miller, Rev. Econ. Stat. 90 (2008) 414).
    """
    rng = np.random.default_rng(20261129)
    told = np.concatenate(said)
    parts = np.array_split(np.argsort(told, kind="stable"), min(bins, told.size))
    studio = np.repeat(np.arange(len(said)), [len(one) for one in said])
    missed = np.concatenate(came) - told
    sides = rng.choice([-1.0, 1.0], (draws, len(said)))[:, studio] * missed
    return sum(np.abs(sides[:, part].sum(axis=1)) for part in parts) / told.size


@dataclass
class Mean:
    """A mean over studios, each weighing by what it counts, with its standard error."""

    sums: list = field(default_factory=list)
    counts: list = field(default_factory=list)

    def add(self, total, count=1.0):
        if count:
            self.sums.append(float(total))
            self.counts.append(float(count))

    @property
    def value(self):
        return sum(self.sums) / sum(self.counts) if self.counts else float("nan")

    @property
    def error(self):
        """Return the standard error of a ratio over studios."""
        n = len(self.sums)
        if n < 2:
            return float("nan")
        off = np.array(self.sums) - self.value * np.array(self.counts)
        return float(np.sqrt(n / (n - 1) * (off**2).sum()) / sum(self.counts))

    def shown(self, form="{:.0%}", scale=1.0):
        if not self.counts:
            return "none"
        text = form.format(self.value * scale)
        if isnan(self.error):
            return text
        return f"{text} ± {form.format(self.error * scale).lstrip('+')}"
