"""Formulas, masses, and one salt in place of another."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.trade.chemistry.substances import (
    atoms,
    bottle_name,
    families,
    family_of,
    in_place_of,
    mass_share,
    molar_mass_g_mol,
    moles,
)

PAIRS = [(a, b) for family in families() for a in family.forms for b in family.forms]


def test_atoms_with_brackets_and_water():
    assert atoms("Na3Au(S2O3)2.2H2O") == {"Na": 3, "Au": 1, "S": 4, "O": 8, "H": 4}
    assert atoms("C2H5OH") == {"C": 2, "H": 6, "O": 1}
    assert atoms("Na2CO3·10H2O")["H"] == 20


@pytest.mark.parametrize(
    "text",
    [
        "",
        "hypo",
        "Na2S2O3.",
        "Xx2",
        "(S2O3",
        "S2O3)2",
        "5",
        "Na2(S2O3)2)",
        "2(H2O)3x",
        "(2H)",
        "..",
    ],
)
def test_what_is_not_a_formula(text):
    with pytest.raises(BadInput, match="write it as Na2S2O3"):
        atoms(text)


@pytest.mark.parametrize("family", families(), ids=lambda one: one.key)
def test_every_form_holds_what_it_is_counted_by(family):
    for form in family.forms:
        assert atoms(form)[family.counts] % family.per == 0
        assert atoms(form)[family.counts] > 0
        assert family_of(form) == family
        assert bottle_name(form) != form, "a bottle has a name"
    assert 0.0 < family.low_share <= 1.0


@given(st.sampled_from(PAIRS), st.floats(1e-4, 1e4), st.floats(0.05, 1.0))
def test_a_salt_for_another_keeps_the_moles(pair, grams, purity):
    written, owned = pair
    weighed = in_place_of(written, grams, owned, purity=purity)
    assert moles(owned, weighed, purity) == pytest.approx(moles(written, grams))
    assert in_place_of(owned, weighed * purity, written) == pytest.approx(grams)


def test_shares_and_the_thiosulfate_in_two_sulfurs():
    assert mass_share("AgNO3", "Ag") == pytest.approx(0.6350, abs=1e-4)
    assert moles("Na2S2O3", molar_mass_g_mol("Na2S2O3")) == pytest.approx(1.0)
    assert moles("H2O", 18.015) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("written", "owned", "purity", "words"),
    [
        ("Na2S2O3.5H2O", "Na2SO3", 1.0, "do not stand for one another"),
        ("Al2O3", "Na2SO3", 1.0, "use one of Al2O3"),
        ("Na2S2O3", "Na2S2O3.5H2O", 0.0, "purity"),
        ("Na2S2O3", "Na2S2O3.5H2O", 1.01, "purity"),
        ("Na2S2O3", "Na2S2O3.5H2O", float("nan"), "purity"),
    ],
)
def test_bad_swaps(written, owned, purity, words):
    with pytest.raises(BadInput, match=words):
        in_place_of(written, 1.0, owned, purity=purity)
