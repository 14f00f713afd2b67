"""Odds of a good plate: calibration on invented studios, and speed against a library of samplers.

``ARGENTRY_STUDIOS=20`` runs fewer studios than the 200 of each size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from argentry.learn.odds import fit, odds
from argentry.learn.scores import brier_score, calibration_error, log_score, reliability
from argentry.learn.table import succeeded
from benchmarks.studios import simulate_studio

SIZES = (30, 60, 100, 250)
AFTER = 24  # plates foretold after each log


@dataclass(frozen=True)
class Told:
    """Figures given for the plates after a log, and what came."""

    shown: np.ndarray
    model: np.ndarray
    base: np.ndarray
    came: np.ndarray
    low: np.ndarray
    high: np.ndarray
    used: bool


def foretell_next(seed: int, plates: int) -> Told:
    rng = np.random.default_rng([1839, plates, seed])
    # a third of the studios have no main cause at all
    main = "any" if seed % 3 else None
    outcomes, _ = simulate_studio(rng, plates + AFTER, main_cause=main)
    fitted = fit(outcomes[:plates])
    rows = []
    for outcome in outcomes[plates:]:
        came = succeeded(outcome)
        if came is None:
            continue
        told = odds(fitted, outcome.conditions)
        rows.append(
            (
                told.probability,
                told.model.probability,
                told.base_rate.probability,
                came,
                told.low,
                told.high,
            )
        )
    shown, model, base, came, low, high = np.array(rows).T
    return Told(shown, model, base, came.astype(bool), low, high, fitted.running.model_wins)


def calibration(studios: int) -> list[tuple[str, str]]:
    out = []
    for plates in SIZES:
        told = [foretell_next(seed, plates) for seed in range(studios)]
        came = np.concatenate([t.came for t in told])
        parts = {
            k: np.concatenate([getattr(t, k) for t in told]) for k in ("shown", "model", "base")
        }
        used = np.mean([t.used for t in told])
        gain = np.array([log_score(t.shown, t.came) - log_score(t.base, t.came) for t in told])
        error = gain.std(ddof=1) / np.sqrt(gain.size) if gain.size > 1 else 0.0
        what = f"{plates} plates, {studios} studios"
        out += [
            (
                f"{what}: log score shown / model / base rate",
                " / ".join(f"{log_score(parts[k], came):.4f}" for k in parts),
            ),
            (
                f"{what}: Brier score shown / model / base rate",
                " / ".join(f"{brier_score(parts[k], came):.4f}" for k in parts),
            ),
            (
                f"{what}: calibration error shown / model / base rate",
                " / ".join(f"{calibration_error(parts[k], came):.4f}" for k in parts),
            ),
            (f"{what}: gain in log score per studio", f"{gain.mean():+.4f} +- {error:.4f}"),
            (f"{what}: studios where the model was shown", f"{used:.0%}"),
        ]
        table = reliability(parts["shown"], came)
        curve = ", ".join(
            f"{p:.2f}>{y:.2f} ({n})"
            for p, y, n in zip(table.foretold, table.came, table.count, strict=True)
        )
        out.append((f"{what}: foretold > came (plates)", curve))
    return out
