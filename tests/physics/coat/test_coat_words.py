"""The makers' words."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.coat import coat_words

# common practice: the order in which the colours pass
ORDER = [
    *["bare", "pale straw", "straw", "gold", "orange", "rose", "lilac", "violet", "blue"],
    *["steel", "grey-green"],
    *["yellow", "gold", "orange", "rose", "lilac", "violet", "blue", "blue-green", "green"],
    *["yellow", "gold", "orange"],
]


def test_words_come_in_the_makers_order():
    assert [one.word for one in coat_words.bands()] == ORDER
    assert [one.cycle for one in coat_words.bands()] == [0] + [1] * 10 + [2] * 9 + [3] * 3


def test_bands_follow_one_another_and_hold_their_typical_thickness():
    bands = coat_words.bands()
    assert bands[0].low_nm == 0
    assert bands[-1].high_nm == 250
    assert all(one.high_nm == following.low_nm for one, following in pairwise(bands))
    assert all(one.low_nm <= one.typical_nm < one.high_nm for one in bands)


@given(st.floats(0, 250))
def test_every_thickness_has_the_word_of_its_band(thickness):
    band = coat_words.band(thickness)
    assert band.low_nm <= thickness <= band.high_nm
    assert coat_words.colour_word(thickness) == (band.word, band.cycle)


def test_word_and_thickness_are_each_others_way_back():
    for one in coat_words.bands():
        assert coat_words.colour_word(coat_words.thickness_for(one.word, one.cycle)) == (
            one.word,
            one.cycle,
        )


def test_the_earliest_cycle_is_meant_without_one():
    assert coat_words.colour_word(coat_words.thickness_for("Gold")) == ("gold", 1)
    assert coat_words.colour_word(coat_words.thickness_for("yellow")) == ("straw", 1)
    assert coat_words.colour_word(coat_words.thickness_for("straw", 2)) == ("yellow", 2)
    assert coat_words.colour_word(coat_words.thickness_for("green")) == ("green", 2)


@pytest.mark.parametrize(
    ("word", "cycle"), [("mauve", None), ("", None), ("green", 1), ("bare", 2)]
)
def test_a_word_no_coat_has_is_refused(word, cycle):
    with pytest.raises(BadInput):
        coat_words.band_for(word, cycle)


@pytest.mark.parametrize("thickness", [-0.1, 250.1, float("nan")])
def test_a_thickness_out_of_range_is_refused(thickness):
    with pytest.raises(BadInput, match="out of range"):
        coat_words.colour_word(thickness)
