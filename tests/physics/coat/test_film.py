"""Light on a coat."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.coat import colour, film
from argentry.physics.coat.coat_colour import coat_lab
from argentry.physics.coat.interlayer import Interlayer, interlayer
from argentry.physics.coat.silver_iodide import mixed_index, silver_index, silver_iodide_index

GRID = np.arange(0.0, 250.5, 0.5)
DAYLIGHT = colour.light("D65")

NONE = Interlayer(0, 0.5, 15)

thickness = st.floats(0, 250)
wavelength = st.floats(342.5, 892)
angle = st.floats(0, 80)
layer = st.builds(Interlayer, st.floats(0, 60), st.floats(0, 1), st.floats(2, 60))


@settings(max_examples=150, deadline=None)
@given(thickness, wavelength, angle, layer)
def test_every_share_is_between_0_and_1_and_they_add_up(d, w, turn, under):
    shares = film.layer_shares(w, d, angle_deg=turn, layer=under)
    four = [shares.reflected, shares.film, shares.interlayer, shares.silver]
    assert sum(float(one[0, 0]) for one in four) == pytest.approx(1, abs=1e-12)
    assert all(-1e-12 <= one[0, 0] <= 1 for one in four)


@settings(max_examples=80, deadline=None)
@given(thickness, wavelength, angle, layer)
def test_reflectance_and_shares_agree(d, w, turn, under):
    view = {"angle_deg": turn, "layer": under}
    shares = film.layer_shares(w, d, **view)
    assert film.reflectance(w, d, **view)[0, 0] == pytest.approx(shares.reflected[0, 0], abs=1e-12)


def test_a_film_that_cannot_absorb_absorbs_nothing():
    # Beyond 650 nm the iodide is clear: the flux at its foot must be all that was not reflected.
    shares = film.layer_shares(np.arange(700.0, 880.0, 20), GRID[::20], angle_deg=50)
    assert np.abs(shares.film).max() < 1e-9


def test_an_interlayer_of_iodide_alone_only_thickens_the_film():
    w = np.arange(380.0, 781.0, 20)
    iodide = Interlayer(30, 0, 10)
    whole = 80.0 + float(iodide.under(80.0))
    with_layer = film.reflectance(w, 80.0, layer=iodide, angle_deg=40)
    assert with_layer == pytest.approx(film.reflectance(w, whole, layer=NONE, angle_deg=40))


def test_an_interlayer_of_silver_alone_is_no_layer():
    w = np.arange(380.0, 781.0, 20)
    with_layer = film.reflectance(w, 80.0, layer=Interlayer(30, 1, 10), angle_deg=40)
    assert with_layer == pytest.approx(film.reflectance(w, 80.0, layer=NONE, angle_deg=40))


def test_a_vanishing_film_is_bare_silver():
    w = np.arange(380.0, 781.0, 20)
    n = silver_index(w)
    bare = np.abs((1 - n) / (1 + n)) ** 2
    assert film.reflectance(w, 0.0)[0] == pytest.approx(bare, abs=1e-12)
    assert film.reflectance(w, 1e-9)[0] == pytest.approx(bare, abs=1e-9)


def test_bare_silver_is_white():
    # Computed with an independent program for Johnson & Christy silver.
    assert coat_lab(0.0, DAYLIGHT)[0] == pytest.approx([99.4, 0.08, 0.40], abs=0.05)


def test_mixed_index_returns_its_constituents_and_absorbs():
    w = np.array([450.0, 550.0, 650.0])
    silver, iodide = silver_index(w), silver_iodide_index(w)
    assert mixed_index(silver, iodide, 0.0) == pytest.approx(iodide)
    assert mixed_index(silver, iodide, 1.0) == pytest.approx(silver)
    half = mixed_index(silver, iodide, 0.5)
    assert half == pytest.approx([1.4645 + 1.5126j, 1.5477 + 1.8186j, 1.6029 + 2.0800j], abs=2e-3)


def test_mixture_solves_its_own_equation():
    w = np.arange(350.0, 890.0, 15)
    inside, host = silver_index(w) ** 2, silver_iodide_index(w) ** 2
    for f in (0.1, 0.33, 0.5, 0.9):
        e = mixed_index(silver_index(w), silver_iodide_index(w), f) ** 2
        left = f * (inside - e) / (inside + 2 * e) + (1 - f) * (host - e) / (host + 2 * e)
        assert np.abs(left).max() < 1e-10


def test_iodide_has_the_index_of_the_mineral():
    assert silver_iodide_index(589.3).real == pytest.approx(2.213, abs=2e-4)


def test_the_textbook_film_shows_almost_no_colour():
    # Why the lossy layer is needed: without it the plate is never darker than L* 97.
    ideal = coat_lab(GRID, DAYLIGHT, layer=NONE)
    assert ideal[:, 0].min() > 97
    assert np.hypot(ideal[:, 1], ideal[:, 2]).max() < 28
    assert ideal[:, 1].max() < 1  # no rose anywhere
    real = coat_lab(GRID, DAYLIGHT)
    assert real[:, 0].min() < 75
    assert real[:, 1].max() > 20


def test_gold_is_fast_and_steel_slow():
    share = film.coat_share(GRID)
    first, steel = GRID[:80][share[:80].argmax()], GRID[60:160][share[60:160].argmin()]
    second = GRID[160:280][share[160:280].argmax()]
    assert 22 <= first <= 29
    assert 55 <= steel <= 65
    assert 105 <= second <= 115


def test_speed_is_1_at_the_reference_and_0_without_a_coat():
    assert float(film.relative_coat_speed(25.0)) == pytest.approx(1.0)
    assert float(film.relative_coat_speed(0.0)) == pytest.approx(0.0, abs=1e-12)
    assert film.relative_coat_speed([[25.0, 60.0], [110.0, 5.0]]).shape == (2, 2)
    assert 0.6 < float(film.relative_coat_speed(60.0)) < 0.8
    assert float(film.relative_coat_speed(110.0)) > 1.5


def test_large_arrays_are_the_same_as_small_ones():
    w = np.linspace(380, 780, 97)
    d = np.linspace(0, 250, 700)
    whole = film.reflectance(w, d, angle_deg=30)
    for i in (0, 168, 169, 350, 699):
        assert whole[i] == pytest.approx(film.reflectance(w, d[i], angle_deg=30)[0], abs=1e-14)


def test_a_plate_is_seen_from_straight_above_unless_told():
    thick, violet = np.array([20.0, 60.0, 110.0]), np.array([420.0, 500.0])
    for one in (
        lambda **turn: film.reflectance(violet, thick, **turn),
        lambda **turn: film.layer_shares(violet, thick, **turn).film,
        lambda **turn: film.coat_share(thick, **turn),
    ):
        assert one() == pytest.approx(one(angle_deg=0.0), rel=1e-12)


def test_tilt_makes_a_coat_look_thinner():
    straight = coat_lab(GRID, DAYLIGHT)
    for d in (45.0, 115.0, 160.0):
        tilted = coat_lab(d, DAYLIGHT, angle_deg=45)[0]
        near = (d * 0.8 < GRID) & (d * 1.05 > GRID)
        alike = GRID[near][colour.delta_e_2000(straight[near], tilted).argmin()]
        assert alike == pytest.approx(film.seen_as_nm(d, 45), abs=3)
        assert alike < d


@pytest.mark.parametrize(
    "call",
    [
        lambda: film.reflectance(550, -1),
        lambda: film.reflectance(550, 250.1),
        lambda: film.reflectance(550, np.nan),
        lambda: film.reflectance(300, 20),
        lambda: film.reflectance(np.nan, 20),
        lambda: film.reflectance(550, 20, angle_deg=81),
        lambda: film.reflectance(550, 20, angle_deg=-1),
        lambda: interlayer(nm=-1),
        lambda: interlayer(silver=1.1),
        lambda: interlayer(growth_nm=np.nan),
        lambda: film.coat_share([20, 251]),
        lambda: film.relative_coat_speed(np.nan),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(BadInput, match=r"out of range|outside"):
        call()


def test_each_coat_of_many_is_as_fast_as_it_is_alone():
    coats = np.array([[12.0, 25.0, 40.0], [60.0, 110.0, 170.0]])
    together = film.relative_coat_speed(coats)
    assert together.shape == (2, 3)
    for coat, speed in zip(coats.ravel(), together.ravel(), strict=True):
        alone = film.coat_share(coat) / film.coat_share(25.0)
        assert speed == pytest.approx(float(alone), rel=1e-9)
    assert together[0, 1] == pytest.approx(1.0)
