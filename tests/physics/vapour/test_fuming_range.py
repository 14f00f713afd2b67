"""The range of the seconds over iodine."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.vapour import fuming, fuming_range

TEMPERATURES = st.floats(-5.0, 45.0)


GAPS = st.floats(5.0, 100.0)


COATS = st.floats(1.0, 250.0)


FEW = settings(max_examples=settings().max_examples // 6)  # up to 0.1 s each


def test_range_of_the_untuned_box_is_as_wide_as_its_doubts():
    """Four independent doubts (1 K, 1 mm, 8 %, 3 %) worked out beforehand: 98-151 s settled."""
    low, high = fuming.seconds_range(
        400.0, box_temperature_c=20.0, gap_mm=20.0, box_spread=0.0, share=0.9
    )
    settled = 400.0 / float(fuming.steady_rate_nm_s(box_temperature_c=20.0, gap_mm=20.0))
    assert low / settled == pytest.approx(98 / 122, abs=0.03)
    assert high / settled == pytest.approx(151 / 122, abs=0.04)


@FEW
@given(COATS, TEMPERATURES, GAPS, st.booleans())
def test_range_holds_the_middle_and_grows_with_doubt(nm, celsius, gap, rested):
    box = {"box_temperature_c": celsius, "gap_mm": gap, "rested": rested}
    low, high = fuming.seconds_range(nm, **box)
    assert low < fuming.seconds_to_thickness(nm, **box) < high
    # the range comes from 512 draws, so only a real difference in doubt is compared
    vague_low, vague_high = fuming.seconds_range(nm, temperature_sd_k=4.0, **box)
    assert vague_high / vague_low > high / low


def test_range_is_the_same_every_time_and_vectorised():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    low, high = fuming.seconds_range([30.0, 45.0], **box)
    again, _ = fuming.seconds_range(45.0, **box)
    assert low[1] == again
    assert low.shape == high.shape == (2,)


def test_range_scales_with_the_box_factor():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    assert np.allclose(
        fuming.seconds_range(45.0, box_factor=2.0, **box),
        2.0 * np.array(fuming.seconds_range(45.0, **box)),
    )


@pytest.mark.parametrize(
    "wrong", [{"share": 1.5}, {"temperature_sd_k": float("nan")}, {"gap_sd_mm": -1}]
)
def test_range_refuses_nonsense(wrong):
    with pytest.raises(BadInput):
        fuming.seconds_range(45.0, box_temperature_c=20.0, gap_mm=20.0, **wrong)


def test_the_draws_are_kept_from_change_standard_and_without_pattern():
    draws = fuming_range._normal_draws(fuming_range.DRAWS, 5)
    assert draws.shape == (512, 5)
    with pytest.raises(ValueError, match="read-only"):
        draws[0, 0] = 0.0
    assert np.allclose(draws.mean(axis=0), 0.0)
    assert np.allclose(draws.std(axis=0), 1.0)
    together = np.corrcoef(draws.T) - np.eye(5)
    assert np.abs(together).max() < 0.1


def test_each_doubt_alone_widens_the_range_by_its_own_part():
    # first order: a relative doubt s of the seconds is exp(2 z80 s) between the 10 and 90 % marks
    none = {"temperature_sd_k": 0.0, "gap_sd_mm": 0.0, "box_spread": 0.0}
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}

    def ratio(**doubts):
        low, high = fuming.seconds_range(45.0, **{**none, **doubts}, **box)
        return float(np.log(high / low))

    vapour = ratio()
    assert 0.0 < vapour < 0.3  # diffusion and pressure are known well
    for doubt in ({"temperature_sd_k": 1.0}, {"gap_sd_mm": 2.0}, {"box_spread": 0.15}):
        assert ratio(**doubt) > vapour
    wide = ratio(box_spread=0.5)
    assert wide == pytest.approx(2 * 1.2816 * np.hypot(0.5, vapour / (2 * 1.2816)), rel=0.1)


def test_the_draws_are_a_golden_lattice_made_normal():
    """Roberts' sequence in five dimensions: x^6 = x + 1 at 1.13472413840152."""
    count = np.arange(1, 513)[:, None]
    places = (0.5 + count * 1.13472413840152 ** -np.arange(1.0, 6.0)) % 1.0
    normal = np.vectorize(NormalDist().inv_cdf)(places)
    expected = (normal - normal.mean(axis=0)) / normal.std(axis=0)
    assert fuming_range._normal_draws(512, 5) == pytest.approx(expected, abs=1e-6)


BOX = {"box_temperature_c": 20.0, "gap_mm": 20.0}


@pytest.mark.parametrize(
    ("doubt", "asked", "expected"),
    [
        (0, {"temperature_sd_k": 2.0}, lambda: _plain(box_temperature_c=22.0)),
        (1, {"gap_sd_mm": 3.0}, lambda: _plain(gap_mm=23.0)),
        (2, {}, lambda: _plain() * np.exp(-trade.value("iodine", "diffusion_sd"))),
        (4, {"box_spread": 0.25}, lambda: _plain() * np.exp(0.25)),
        (4, {"box_spread": 0.25, "box_factor": 2.0}, lambda: 2.0 * _plain() * np.exp(0.25)),
        (4, {"film_resistance": 2e16, "box_spread": 0.0}, lambda: _plain(film_resistance=2e16)),
    ],
)
def test_each_doubt_moves_the_seconds_its_own_way(monkeypatch, doubt, asked, expected):
    """One deviation up: warmer and quicker vapour shortens, a wider gap and a slow box lengthen."""
    up = np.zeros((512, 5))
    up[:, doubt] = 1.0
    monkeypatch.setattr(fuming_range, "_normal_draws", lambda *asked: {(512, 5): up}[asked])
    low, high = fuming.seconds_range(45.0, **BOX, **{"temperature_sd_k": 0.0, "gap_sd_mm": 0.0,
                                     "box_spread": 0.0} | asked)  # fmt: skip
    assert low == high == pytest.approx(float(expected()), rel=1e-9)


def _plain(**more):
    return fuming.seconds_to_thickness(45.0, **(BOX | more))


def test_more_vapour_makes_a_coat_sooner_and_a_gap_never_shuts(monkeypatch):
    up = np.zeros((512, 5))
    up[:, 3] = 1.0
    monkeypatch.setattr(fuming_range, "_normal_draws", lambda *asked: {(512, 5): up}[asked])
    none = {"temperature_sd_k": 0.0, "gap_sd_mm": 0.0, "box_spread": 0.0}
    more = np.exp(trade.value("iodine", "pressure_sd"))
    low, _ = fuming.seconds_range(45.0, **BOX, **none)
    assert low == pytest.approx(float(fuming.seconds_to_thickness(45.0 / more, **BOX)), rel=1e-9)
    low, _ = fuming.seconds_range(45.0, **BOX, **none, constants_known=True)
    assert low == pytest.approx(float(_plain()), rel=1e-9)
    up[:, 1], up[:, 3] = -100.0, 0.0
    low, _ = fuming.seconds_range(45.0, **BOX, **none | {"gap_sd_mm": 5.0})
    settled = fuming.seconds_range(45.0, **BOX | {"gap_mm": 20.0}, **none)
    assert 0.0 < low < 0.5 * settled[0]


@pytest.mark.parametrize("wrong", [{"box_temperature_c": 200.0}, {"gap_mm": 0.0}])
def test_the_box_of_a_range_is_looked_at(wrong):
    with pytest.raises(BadInput):
        fuming.seconds_range(45.0, **(BOX | wrong))
