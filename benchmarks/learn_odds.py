"""Odds of a good plate: calibration on invented studios, and speed against a library of samplers.

``ARGENTRY_STUDIOS=20`` runs fewer studios than the 200 of each size.
"""

from __future__ import annotations

import importlib.util
import os
import time
import tracemalloc
from dataclasses import dataclass

import numpy as np

from argentry.learn.odds.odds import fit, odds
from argentry.learn.stages.scores import brier_score, calibration_error, log_score, reliability
from argentry.learn.stages.table import succeeded
from benchmarks.studios import simulate_studio

SIZES = (30, 60, 100, 250)
AFTER = 24  # plates predicted after each log


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


def predict_next(seed: int, plates: int) -> Told:
    rng = np.random.default_rng([1839, plates, seed])
    # a third of the studios have no main cause at all
    main = "any" if seed % 3 else None
    makings, _ = simulate_studio(rng, plates + AFTER, main_cause=main)
    fitted = fit(makings[:plates])
    rows = []
    for making in makings[plates:]:
        came = succeeded(making)
        if came is None:
            continue
        told = odds(fitted, making.conditions)
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
        told = [predict_next(seed, plates) for seed in range(studios)]
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
            for p, y, n in zip(table.predicted, table.came, table.count, strict=True)
        )
        out.append((f"{what}: predicted > came (plates)", curve))
    return out


def log_of(plates: int) -> list:
    return simulate_studio(np.random.default_rng([1839, plates]), plates)[0]


def in_the_reference_s_form(stage) -> tuple:
    """Return a stage's density as builders/posterior_reference.py wants it: columns by form."""
    model = stage.model
    u = model.unknowns
    column, doubt = u.columns(model.rows.design), u.doubts(model.rows.doubts)
    # that script takes its directions in turn; a condition turned round is the same condition
    turn = u.sign * np.where(np.arange(u.one_way.size) % 2, 1.0, -1.0)
    data = {
        "free": u.free.size,
        "one_way": u.one_way.size,
        "window": u.window.size,
        "sessions": u.sessions,
        "luck": column["luck"],
        "usual": u.usual,
        "mean": np.concatenate([column["free"], column["one_way"] * turn, column["x"]], axis=1),
        "variance": np.concatenate([doubt["free"], doubt["one_way"], doubt["twice"] / 4], axis=1),
    }
    prior = {
        part: [model.prior.mean[place].tolist(), model.prior.sd[place].tolist()]
        for part, place in u.parts.items()
    }
    return data, prior, model.low, model.high, model.weight


def update_seconds(plates: int, times: int = 5) -> tuple[float, float]:
    """Return the seconds of a whole update, the least of some, and the memory it adds [MB]."""
    makings = log_of(plates)
    fit(makings[:20])
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        fit(makings)
        spans.append(time.perf_counter() - start)
    tracemalloc.start()
    fit(makings)
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return min(spans), peak


def library_seconds(plates: int) -> tuple[float, float, float]:
    """Return NumPyro's seconds with and without compiling, and its least effective draws."""
    import jax
    import numpyro
    from builders.posterior_reference import sampler
    from numpyro.diagnostics import summary

    numpyro.enable_x64()
    first = again = 0.0
    worth = np.inf
    for stage in fit(log_of(plates)).stages.values():
        run = sampler(*in_the_reference_s_form(stage), warmup=500, draws=500, accept=0.8)
        for seed in (1, 2):
            start = time.perf_counter()
            run.run(jax.random.PRNGKey(seed))
            jax.block_until_ready(run.get_samples())
            took = time.perf_counter() - start
            first, again = (first + took, again) if seed == 1 else (first, again + took)
        found = summary(run.get_samples(group_by_chain=True))
        worth = min(worth, *(float(np.min(part["n_eff"])) for part in found.values()))
    return first, again, worth


def speed() -> list[tuple[str, str]]:
    fitted = fit(log_of(200))
    conditions = sum(stage.table.seen.size for stage in fitted.stages.values())
    out = []
    for plates in (30, 200, 500):
        seconds, peak = update_seconds(plates)
        out.append((f"{plates} plates: whole update", f"{seconds:.3f} s, {peak:.0f} MB more"))
        ours = seconds if plates == 200 else 0.0
        if plates != 200:
            continue
        settled = [stage.draws for stage in fitted.stages.values()]
        worst = min(d.effective for d in settled)
        out.append(
            (
                f"200 plates x {conditions} conditions: least effective draws, largest R-hat",
                f"{worst:.0f}, {max(d.rhat for d in settled):.3f}",
            )
        )
        what = "200 plates: NumPyro's time for the same five posteriors / ours (asked: 50)"
        if importlib.util.find_spec("numpyro") is None:
            missing = "NOT RUN: no NumPyro here; put one on PYTHONPATH from a venv of its own"
            out.append((what, missing))
            continue
        first, again, worth = library_seconds(200)
        out.append(
            (f"{what}, with compiling", f"{first / ours:.0f} ({first:.1f} s / {ours:.3f} s)")
        )
        out.append((f"{what}, once compiled", f"{again / ours:.0f} ({again:.1f} s / {ours:.3f} s)"))
        out.append(("200 plates: NumPyro's least effective draws of 2000", f"{worth:.0f}"))
    return out


def run() -> list[tuple[str, str]]:
    return speed() + calibration(int(os.environ.get("ARGENTRY_STUDIOS", "200")))
