"""Current, time and silver for plates; weighing; how much wear a plate bears."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.needs.materials.plate_wear import in_order, wear
from argentry.needs.materials.plating import plating_plan, weighed
from argentry.physics.baths.plating import Doubtful
from argentry.trade.sizes import plate_size

QUARTER = plate_size("quarter").area_cm2


def test_both_sides_and_racks_take_silver():
    plan = plating_plan("quarter", 3, um=10.0, sides=2, rack_cm2=20.0, density_a_dm2=1.0)
    assert plan.area_cm2 == pytest.approx(6 * QUARTER + 20.0)
    (main,) = plan.layers
    assert main.current_a == pytest.approx(plan.area_cm2 / 100.0)
    assert main.minutes == pytest.approx(15.64, abs=0.01)
    assert main.silver_g == pytest.approx(10e-4 * 10.49 * plan.area_cm2)
    assert plan.each_plate_g == pytest.approx(10e-4 * 10.49 * 2 * QUARTER)
    assert main.ampere_hours == pytest.approx(main.silver_g / 4.0247, rel=1e-4)
    usual = plating_plan("quarter", um=10.0)  # one plate, both sides, no rack
    assert usual.area_cm2 == pytest.approx(2 * QUARTER)
    masked = plating_plan("quarter", 3, um=10.0, sides=1, density_a_dm2=1.0)
    assert masked.silver_g == pytest.approx((main.silver_g - 10e-4 * 10.49 * 20.0) / 2.0)


@given(st.floats(0.1, 5.0), st.floats(0.9, 1.0), st.floats(0.5, 60.0))
def test_time_and_thickness_are_two_ways_of_saying_one_thing(density, share, um):
    there = plating_plan("half", um=um, density_a_dm2=density, efficiency=share)
    minutes = there.layers[-1].minutes
    back = plating_plan("half", minutes=minutes, density_a_dm2=density, efficiency=share)
    assert back.layers[-1].um == pytest.approx(um)
    by_amps = plating_plan("half", um=um, current_a=there.layers[-1].current_a, efficiency=share)
    assert by_amps.layers[-1].minutes == pytest.approx(minutes)


def test_the_strike_comes_first_with_its_own_current():
    plan = plating_plan(
        "sixth", um=10.0, density_a_dm2=0.5, strike_um=0.2, strike_density_a_dm2=1.0
    )
    strike, main = plan.layers
    assert (strike.name, main.name) == ("strike", "main")
    assert strike.current_a == pytest.approx(2.0 * main.current_a)
    assert plan.silver_g == pytest.approx(strike.silver_g + main.silver_g)
    assert plating_plan("sixth", strike_um=0.2).layers[0].density_a_dm2 == 0.5


def test_the_range_is_the_efficiencys_and_never_above_the_current():
    (layer,) = plating_plan("sixth", um=10.0, efficiency=0.95).layers
    assert layer.um_low == pytest.approx(10.0 * (1.0 - 1.2816 * 0.03 / 0.95), rel=1e-4)
    assert layer.um_high == pytest.approx(10.0 * (1.0 + 1.2816 * 0.03 / 0.95), rel=1e-4)
    (full,) = plating_plan("sixth", um=10.0, efficiency=1.0).layers
    assert full.um_high == 10.0


def test_no_bath_is_guided():
    words = plating_plan("sixth").caution
    assert "guides no plating bath" in words
    assert "acid" in words


def test_weighing_gives_thickness_and_efficiency():
    got = weighed(80.0, 80.94, "quarter", sides=1, balance_sd_g=0.005, ampere_hours=0.25)
    assert got.um == pytest.approx(0.94e4 / 10.49 / QUARTER)
    assert got.um_low < got.um < got.um_high
    assert got.efficiency == pytest.approx(0.94 / (4.0247 * 0.25), rel=1e-4)
    assert got.each_um is None
    assert weighed(80.0, 80.94, "quarter").um == pytest.approx(got.um / 2.0)


def test_weighing_teaches_what_a_repolish_takes():
    got = weighed(80.9, 80.5, "quarter", sides=1, passes=10)
    assert got.um == pytest.approx(0.4e4 / 10.49 / QUARTER)
    assert got.each_um == pytest.approx(got.um / 10.0, rel=0.02)
    assert got.each_low < got.each_um < got.each_high
    assert got.um - got.um_low == pytest.approx(got.um_high - got.um)
    assert 0.05 < got.um_high - got.um_low < 0.4
    assert got.silver_g == pytest.approx(0.4)


def test_worn_plates_are_set_apart_and_the_thickest_comes_first():
    each = Doubtful(0.4, 0.1)
    rows = [
        wear("thin", "quarter", 3.0, 2, 0, Doubtful(2.2, 0.3), each),
        wear("thick", "quarter", 12.0, 0, 0, Doubtful(12.0, 1.0), each),
        wear("middle", "quarter", 8.0, 3, 2, Doubtful(6.8, 0.5), each),
        wear("unknown", "quarter", None, 5, 0, None, each),
    ]
    found = in_order(rows, each, 4)
    assert found.choose == ("thick", "middle")
    assert found.worn == ("thin",)
    assert rows[3].left_um is None
    assert not rows[3].worn
    middle = rows[2]
    assert middle.repolishes_left_low < middle.repolishes_left < middle.repolishes_left_high
    assert middle.repolishes_left == pytest.approx(12.0)
    assert middle.left_low_um == pytest.approx(6.8 - 1.2816 * 0.5, rel=1e-4)
    assert middle.left_high_um == pytest.approx(6.8 + 1.2816 * 0.5, rel=1e-4)
    assert (found.each_um, found.each_sd_um, found.weighed) == (0.4, 0.1, 4)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: plating_plan("quarter", 0), "--plates"),
        (lambda: plating_plan("quarter", sides=3), "--sides"),
        (lambda: plating_plan("quarter", um=5.0, minutes=5.0), "give --um or --minutes"),
        (lambda: plating_plan("quarter", density_a_dm2=1.0, current_a=1.0), "one of the two"),
        (lambda: plating_plan("quarter", density_a_dm2=50.0), "current density"),
        (lambda: plating_plan("quarter", current_a=0.0), "--amps"),
        (lambda: plating_plan("quarter", um=0.0), "--um"),
        (lambda: plating_plan("quarter", minutes=0.0), "--minutes"),
        (lambda: plating_plan("quarter", efficiency=1.1), "--efficiency"),
        (lambda: plating_plan("quarter", rack_cm2=-1.0), "--rack-cm2"),
        (lambda: plating_plan("barn"), "is not a plate size"),
        (lambda: weighed(80.0, 81.0, "quarter", passes=3), "it gained 1.000 g"),
        (lambda: weighed(81.0, 80.0, "quarter", passes=0), "--passes"),
        (lambda: weighed(81.0, 80.0, "quarter", ampere_hours=0.3), "it lost 1.000 g"),
        (lambda: weighed(80.0, 81.0, "quarter", ampere_hours=0.0), "--ah"),
        # 107.87 g/mol / 96485 C/mol: 4.025 g an ampere hour, told as an efficiency of 248 %
        (lambda: weighed(80.0, 81.0, "quarter", ampere_hours=0.1), "0.1 Ah puts on 0.402 g at"),
        (lambda: weighed(80.0, 81.0, "quarter", sides=0), "--sides"),
    ],
)
def test_bad_input(call, words):
    with pytest.raises(BadInput, match=words):
        call()
