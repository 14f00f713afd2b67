"""The lossy layer under a coat, and the layers it may be."""

import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.coat.interlayer import Interlayer, interlayer, likely


def test_it_grows_with_the_coat_and_bare_silver_has_none():
    layer = Interlayer(12.0, 0.5, 15.0)
    assert layer.under(0.0) == 0.0
    assert layer.under(15.0) == pytest.approx(12 * (1 - np.exp(-1)))
    assert layer.under(250.0) == pytest.approx(12.0, abs=1e-6)
    assert (np.diff(layer.under([[0.0, 5.0, 20.0, 60.0]])) > 0).all()


def test_what_is_known_is_in_every_layer_and_the_middle_comes_first():
    seed = interlayer()
    assert likely()[0] == (pytest.approx(0.0), seed)
    assert [seed.nm, seed.silver, seed.growth_nm] == [
        trade.value("film", key)
        for key in ("interlayer_nm", "interlayer_silver", "interlayer_growth_nm")
    ]
    assert likely(7.0, 0.4, 9.0) == ((1.0, Interlayer(7.0, 0.4, 9.0)),)
    part = likely(nm=7.0, silver=0.4)
    assert len(part) == 3
    assert {(one.nm, one.silver) for _, one in part} == {(7.0, 0.4)}


def test_weighted_means_and_spreads_are_those_of_the_seeds():
    layers = likely()
    weights = np.array([weight for weight, _ in layers])
    assert weights.sum() == pytest.approx(1)
    for part, values in (
        ("nm", np.log([one.nm for _, one in layers])),
        ("silver", np.array([one.silver for _, one in layers])),
        ("growth_nm", np.log([one.growth_nm for _, one in layers])),
    ):
        seed = trade.value("film", f"interlayer_{part}")
        mean = np.average(values, weights=weights)
        assert mean == pytest.approx(seed if part == "silver" else np.log(seed))
        spread = np.sqrt(np.average((values - mean) ** 2, weights=weights))
        assert spread == pytest.approx(trade.value("film", f"interlayer_{part}_spread"))


@pytest.mark.parametrize(
    "known", [{"nm": -1}, {"silver": 1.1}, {"growth_nm": 1.0}, {"growth_nm": np.nan}]
)
def test_what_cannot_be_is_refused(known):
    with pytest.raises(BadInput, match="out of range"):
        likely(**known)
