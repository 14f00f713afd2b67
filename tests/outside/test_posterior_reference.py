"""Posterior means and sds against a general-purpose NUTS library on three data sets.

Source: NumPyro (version in each fixture's ``made_by``), run once by
builders/posterior_reference.py, which writes the model a second time from its formula. Asked for:
means within 0.1 sd and sds within 10 %, for every unknown.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from argentry.learn.stages.model import StageModel
from argentry.learn.stages.posterior import climb, walk
from argentry.learn.stages.unknowns import Prior, Unknowns, rows_of, session_root

FOLDER = Path(__file__).parents[1] / "fixtures" / "posterior"
SETS = ("n30", "n100", "n200")
PARTS = ("base", "gaps", "free", "one_way", "curve", "best", "session")


def read(name):
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def vector(parts):
    return np.concatenate([np.asarray(parts.get(part, []), dtype=float) for part in PARTS])


def model_of(given):
    x = np.array(given["x"], dtype=float)
    free, ways, window = given["free"], given["one_way"], given["window"]
    session = np.array(given["session"])
    kinds = int(session.max()) + 1 if given["drift"] else 0
    luck = np.zeros((x.shape[0], 0))
    if kinds:
        luck = given["drift"] * session_root(np.arange(kinds))[session]
    unknowns = Unknowns(
        free=np.arange(free),
        one_way=np.arange(free, free + ways),
        window=np.arange(free + ways, x.shape[1]),
        sign=np.where(np.arange(ways) % 2, 1.0, -1.0),
        usual=np.full(window, given["usual"]),
        gaps=given["levels"] - 2,
        sessions=kinds,
    )
    mean, variance = np.array(given["missing_mean"]), np.array(given["missing_variance"])
    prior = Prior(*(vector({k: v[i] for k, v in given["prior"].items()}) for i in (0, 1)))
    low, high = np.array(given["low"]), np.array(given["high"])
    rows = rows_of(unknowns, x, mean, variance, luck)
    return StageModel(unknowns, prior, rows, low, high, np.ones(low.size))


@pytest.mark.parametrize("name", SETS)
def test_reference_is_sound(name):
    given = read(name)
    words = given["made_by"].split()
    assert float(words[words.index("R-hat") + 1].strip(",")) < 1.01
    assert float(words[words.index("draws", words.index("effective")) + 1].strip(",")) > 2000


@pytest.mark.parametrize("name", SETS)
def test_means_and_sds(name):
    given = read(name)
    model = model_of(given)
    summit = climb(model, model.prior.mean)
    draws = walk(model, summit, walks=160, draws=100, warm=30, leaps=4, seed=7)
    mean, sd = vector(given["posterior_mean"]), vector(given["posterior_sd"])
    off = (draws.points.mean(axis=0) - mean) / sd
    assert np.abs(off).max() < 0.1
    assert np.abs(draws.points.std(axis=0) / sd - 1.0).max() < 0.1
    assert draws.settled


@pytest.mark.parametrize("name", SETS)
def test_everyday_draws_are_near(name):
    # the few draws of an everyday update: what a figure with an 80 % range needs
    given = read(name)
    model = model_of(given)
    draws = walk(model, climb(model, model.prior.mean))
    mean, sd = vector(given["posterior_mean"]), vector(given["posterior_sd"])
    assert np.abs((draws.points.mean(axis=0) - mean) / sd).max() < 0.25
    assert np.abs(draws.points.std(axis=0) / sd - 1.0).max() < 0.25
