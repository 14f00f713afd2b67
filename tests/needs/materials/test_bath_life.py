"""How long a bath lasts, and what speaks for renewing it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.needs.materials.bath_life import bath_life, silver_limit_g_l
from argentry.needs.materials.bath_silver import Dissolved
from argentry.needs.materials.mixing import volume_ml
from argentry.physics.baths.speciation import silver_held
from argentry.physics.stops import Z80
from argentry.trade.chemistry.substances import molar_mass_g_mol
from argentry.trade.recipes import recipe, silver_mg

FIX, GILD = recipe("fix"), recipe("gild")
QUARTER = 89.1


@given(st.floats(50.0, 5000.0), st.floats(0.0, 2e4), st.floats(5.0, 100.0))
def test_silver_and_iodide_are_those_of_the_coats(volume, area, coat):
    life = bath_life(FIX, volume, area, 1.0, QUARTER, coat_nm=coat)
    assert life.silver_mg == pytest.approx(silver_mg(coat, area))
    assert life.silver_g_l == pytest.approx(life.silver_mg / volume)
    assert life.iodide_g_l == pytest.approx(life.silver_g_l * 126.90 / 107.87)
    assert 0.0 <= life.plates_left_low <= life.plates_left <= life.plates_left_high
    used = 1.0 - life.thiosulfate_left_share
    # two thiosulfates to each silver, and never more than that
    hypo = 80.0 / molar_mass_g_mol("Na2S2O3.5H2O")
    bound = 2.0 * life.silver_g_l / 107.87 / hypo
    assert used <= bound * (1 + 1e-6) + 1e-9
    if life.saturation < 1.0 and bound < 0.5:
        assert used == pytest.approx(bound, abs=2e-3)


def test_the_range_of_silver_in_a_litre_is_that_of_the_silver_and_the_volume():
    share = trade.value("baths", "volume_sd_share")
    life = bath_life(FIX, 500.0, 900.0, 1.0, QUARTER, silver=Dissolved(100.0, own_mg=10.0))
    for half in ((100.0 - life.silver_low_mg) / Z80, (life.silver_high_mg - 100.0) / Z80):
        assert half == pytest.approx(10.0)
    ends = (life.silver_low_g_l, life.silver_high_g_l)
    half = Z80 * np.hypot(10.0, 100.0 * share)
    assert ends == pytest.approx(((100.0 - half) / 500.0, (100.0 + half) / 500.0))


def test_a_fresh_bath_takes_what_the_published_limit_says():
    life = bath_life(FIX, 250.0, 0.0, 0.0, QUARTER, coat_nm=100.0)
    assert life.verdict == "good"
    assert life.reasons == ()
    assert life.plates_left == pytest.approx(
        250.0 * trade.value("recipes", "fix_silver_limit") / silver_mg(100.0, QUARTER)
    )
    assert life.limit_basis == "practice"
    assert life.thiosulfate_left_share == pytest.approx(1.0)
    assert life.thiosulfate_g_l == pytest.approx(80.0)
    assert life.keeps_days == 7.0


def test_a_weak_bath_is_limited_by_its_constants():
    strong, weak = silver_limit_g_l(0.4), silver_limit_g_l(0.1)
    assert strong[3] == "practice"
    assert strong[0] == 0.2
    assert weak[3] == "stability constants"
    assert weak[0] == pytest.approx(0.25 * float(silver_held(0.1)) * 107.87)
    for middle, low, high, _ in (strong, weak):
        assert low < middle < high


@pytest.mark.parametrize(
    ("how", "verdict", "words"),
    [
        ({"age_days": 7.5}, "renew", "7.5 days old"),
        ({"age_days": 7.0}, "good", ""),
        ({"area": 22 * QUARTER}, "renew", "0.20 g/L of silver (0.14–0.27); 0.20"),
        ({"area": 18 * QUARTER}, "soon", "About 4 more plates."),
        ({"area": 20.2 * QUARTER}, "soon", "About one more plate."),
        ({"area": 20.6 * QUARTER}, "renew", "0.19 g/L"),  # less than one more
        ({"clearing_s": (10.0, 20.0)}, "renew", "2.0 times the 10 s"),
        ({"clearing_s": (12.0, 18.5)}, "soon", "1.5 times the 12 s"),
        ({"clearing_s": (25.0,)}, "good", ""),  # the first is the fresh bath's
        ({"clearing_s": (300.0,)}, "renew", "300 s; a fresh bath takes 120 s at the most"),
        ({"temperature_c": 12.0}, "soon", "works slowly"),
        ({"temperature_c": 29.0}, "soon", "throws sulfur"),
        ({"clearing_s": (12.0, 17.0)}, "good", ""),
        ({"temperature_c": 20.0}, "good", ""),
        ({"area": 200 * QUARTER}, "renew", "no more silver iodide"),
    ],
)
def test_what_speaks_for_renewing(how, verdict, words):
    how = {"area": 0.0, "age_days": 1.0, **how}
    area, age = how.pop("area"), how.pop("age_days")
    life = bath_life(FIX, 250.0, area, age, QUARTER, coat_nm=100.0, **how)
    assert life.verdict == verdict
    assert words in " ".join(life.reasons)
    assert bool(life.reasons) == (verdict != "good")
    if "clearing_s" in how:
        assert life.clearing_s == how["clearing_s"][-1]


def test_a_gilding_bath_is_poured_away_pool_by_pool():
    fresh = bath_life(GILD, 223.0, 0.0, 0.1, QUARTER)
    assert fresh.plates_left == pytest.approx(10.0, rel=1e-3)
    assert fresh.gold_left_mg == pytest.approx(223.0 * 0.5001, rel=1e-3)
    assert fresh.verdict == "good"
    assert fresh.keeps_days == 1.0
    five = bath_life(GILD, 5.0 * volume_ml("gild", [(QUARTER, 1)])[0], 0.0, 0.1, QUARTER)
    assert (five.plates_left, five.verdict) == (5.0, "soon")
    half = bath_life(GILD, 223.0, 6 * QUARTER, 0.1, QUARTER)
    assert half.plates_left == pytest.approx(4.0, rel=1e-3)
    assert half.gold_left_mg == pytest.approx(0.4 * fresh.gold_left_mg, rel=1e-3)
    assert half.verdict == "soon"
    assert half.plates_left_low < half.plates_left < half.plates_left_high
    empty = bath_life(GILD, 223.0, 9.5 * QUARTER, 0.1, QUARTER)
    assert empty.verdict == "renew"
    assert "11 mL are left" in empty.reasons[0]
    assert (fresh.silver_mg, fresh.iodide_g_l) == (0.0, 0.0)
    assert bath_life(GILD, 223.0, 0.0, 1.0, QUARTER).verdict == "good"  # to its last hour
    assert "26 h old" in bath_life(GILD, 223.0, 0.0, 26 / 24, QUARTER).reasons[0]
    forgotten = bath_life(GILD, 223.0, 0.0, 335.6, QUARTER).reasons[0]  # was "8054 h old"
    assert forgotten == "It is 336 days old; it keeps about 24 h."


def test_it_takes_up_no_more_iodide_from_its_saturation_on_and_not_before():
    for plates, over in ((100, False), (110, True)):
        life = bath_life(FIX, 250.0, plates * QUARTER, 1.0, QUARTER, coat_nm=100.0)
        assert (life.saturation >= 1.0) == over
        assert ("no more silver iodide" in life.reasons[0]) == over


def test_the_last_pool_of_a_gilding_bath_is_used():
    pool = volume_ml("gild", [(QUARTER, 1)])[0]
    assert bath_life(GILD, pool, 0.0, 0.1, QUARTER).verdict == "soon"
    assert bath_life(GILD, 0.99 * pool, 0.0, 0.1, QUARTER).verdict == "renew"


def test_the_ends_of_what_may_be_given_are_taken():
    bath_life(FIX, 250.0, 1e7, 1e5, QUARTER, clearing_s=(3600.0,))
    for through, how in (((1e7 + 1.0, 1.0), {}), ((0.0, 1e5 + 1.0), {}),
                       ((0.0, 1.0), {"clearing_s": (3601.0,)})):  # fmt: skip
        with pytest.raises(BadInput, match="out of range"):
            bath_life(FIX, 250.0, *through, QUARTER, **how)


def test_other_solutions_end_by_age():
    clean = recipe("degrease")
    assert bath_life(clean, 500.0, 900.0, 1.0, QUARTER).verdict == "good"
    assert bath_life(clean, 500.0, 900.0, 7.0, QUARTER).verdict == "good"  # to its last day
    assert bath_life(clean, 500.0, 900.0, 9.0, QUARTER).verdict == "renew"


@pytest.mark.parametrize(
    ("given", "how"),
    [
        ((FIX, 0.0, 0.0, 1.0, QUARTER), {}),
        ((FIX, 250.0, -1.0, 1.0, QUARTER), {}),
        ((FIX, 250.0, 0.0, -1.0, QUARTER), {}),
        ((FIX, 250.0, 0.0, 1.0, QUARTER), {"coat_nm": 0.0}),
        ((FIX, 250.0, 0.0, 1.0, QUARTER), {"clearing_s": (0.0,)}),
    ],
)
def test_bad_input(given, how):
    with pytest.raises(BadInput, match="out of range"):
        bath_life(*given, **how)
