"""Baths scale to a volume, and too lean a gilding bath is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.trade import recipes as module
from argentry.trade.chemistry.gilding import check_gilding, thiosulfate_per_gold
from argentry.trade.recipes import mix, recipe, recipes, silver_mg


@given(st.sampled_from([r.key for r in recipes()]), st.floats(1.0, 20_000.0))
def test_mix_keeps_volume_and_strength(key, volume_ml):
    parts, written = mix(key, volume_ml), recipe(key).parts
    assert sum(part.litres for part in parts) == pytest.approx(volume_ml / 1000)
    litres = sum(source.litres for source in written)
    for part, source in zip(parts, written, strict=True):
        assert part.grams * 1000 / volume_ml == pytest.approx(source.grams / litres)


def test_one_quarter_plate_of_gilding_bath():
    gold, hypo = mix("gild", 22.0)
    assert gold.grams == pytest.approx(0.022)
    assert hypo.grams == pytest.approx(0.088)
    assert gold.litres == pytest.approx(0.011)


@pytest.mark.parametrize("bath", [r for r in recipes() if r.kind == "gild"], ids=lambda r: r.key)
def test_every_gilding_bath_holds_enough_thiosulfate(bath):
    gold, hypo = bath.parts
    ratio, note = check_gilding(gold.grams, hypo.grams)
    assert ratio >= 4.5
    assert note == ""
    assert "into" in bath.order
    assert {"gold_salt", "gold_ammonia", "flame"} <= set(bath.cautions)


def test_lean_bath_is_told_and_too_lean_is_refused():
    ratio, note = check_gilding(1.0, 2.7)
    assert 4 < ratio < 4.5
    assert "lean" in note
    with pytest.raises(BadInput, match="too lean"):
        check_gilding(1.0, 2.5)


def test_anhydrous_thiosulfate_counts_for_more():
    crystals = thiosulfate_per_gold(1.0, 4.0)
    anhydrous = thiosulfate_per_gold(1.0, 4.0, thiosulfate="Na2S2O3")
    assert anhydrous / crystals == pytest.approx(1.57, abs=0.001)


@pytest.mark.parametrize(
    ("arguments", "salts", "where"),
    [
        ((0.0, 4.0), {}, "gold salt"),
        ((1.0, float("nan")), {}, "thiosulfate"),
        ((1.0, -4.0), {}, "thiosulfate"),
        ((1.0, 4.0), {"gold_salt": "gold"}, "gold salt"),
        ((1.0, 4.0), {"thiosulfate": "hypo"}, "thiosulfate"),
    ],
)
def test_bad_gilding_input(arguments, salts, where):
    with pytest.raises(BadInput, match=where):
        thiosulfate_per_gold(*arguments, **salts)


@pytest.mark.parametrize("volume", [0.0, -1.0, float("nan"), 1e6])
def test_bad_volume(volume):
    with pytest.raises(BadInput, match="volume"):
        mix("gild", volume)


def test_unknown_bath_lists_the_known_ones():
    with pytest.raises(BadInput, match="use one of fix, fix_strong, gild"):
        recipe("cold_gild")


def test_silver_in_the_bath_is_not_what_ends_it():
    held = 250 * trade.value("recipes", "fix_silver_limit")
    assert held / silver_mg(100, 89.1) == pytest.approx(21.5, abs=0.1)
    assert held / silver_mg(25, 89.1) == pytest.approx(86, abs=0.5)


def test_a_recipe_that_must_be_refused_cannot_be_shipped():
    part = {"amount": 1.0, "unit": "g", "volume": 1.0, "volume_unit": "L"}
    entry = {
        "key": "x",
        "title": "x",
        "kind": "gild",
        "order": "x",
        "sequence": [{"do": "dissolve", "part": 1}],
        "cautions": [],
        "basis": "seed",
        "source": "x",
        "part": [{"substance": "HAuCl4"} | part, {"substance": "NH3"} | part],
    }
    with pytest.raises(BadInput, match="fulminating"):
        module.read_recipe("recipe x", entry)
    entry |= {"basis": "heard", "part": []}
    with pytest.raises(BadInput, match="wrong basis"):
        module.read_recipe("recipe x", entry)
