"""Dilution keeps the solids, spirit shrinks, an amount is the same in every measure."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.needs.materials.dilution import converted, dilution, spirit


@given(st.floats(10.0, 500.0), st.floats(0.0, 9.0), st.floats(0.0, 1.0), st.floats(1.0, 5000.0))
def test_dilution_keeps_the_solids(strong, weak, share, volume):
    wanted = weak + share * (strong - weak)
    made = dilution(strong, wanted, volume, weak)
    assert made.first_ml + made.second_ml == pytest.approx(volume)
    assert made.first_ml * strong + made.second_ml * weak == pytest.approx(volume * wanted)


def test_spirit_shrinks_and_temperatures_mix():
    made = spirit(96.0, 50.0, 1000.0)
    assert made.first_ml + made.second_ml > 1020.0
    assert dilution(2.0, 1.0, 100.0, temperatures_c=(40.0, 20.0)).temperature_c == 30.0


def test_converted_says_its_own_measure_too():
    also = {one.unit: one.amount for one in converted("60 gr").also}
    assert also["drachm"] == pytest.approx(1.0)
    assert also["gr"] == pytest.approx(60.0)
    assert "mL" not in also


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: dilution(50.0, 80.0, 100.0), "does not lie between"),
        (lambda: dilution(50.0, 20.0, 0.0), "volume"),
        (lambda: dilution(50.0, 20.0, 100.0, temperatures_c=(20.0,)), "give both"),
        (lambda: spirit(50.0, 70.0, 100.0), "wanted spirit"),
    ],
)
def test_bad_input(call, words):
    with pytest.raises(BadInput, match=words):
        call()
