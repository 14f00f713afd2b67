"""Dangerous mixtures are refused by whatever name, and harmless work is let through."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.every import every

from argentry.errors import BadInput
from argentry.trade.recipes import check_recipe, recipes
from argentry.trade.refusals import read_name, refusals, substances
from argentry.trade.steps import materials, steps

AMMONIA = [
    "ammonia",
    "NH3",
    "NH₃",
    "ammonium hydroxide",
    "NH4OH",
    "aqua ammoniae",
    "spirits of hartshorn",
    "Sal volatile",
    "sal ammoniac",
    "(NH4)2CO3",
    "window cleaner",
    "ammoniaque",
    "Amoníaco",
    "amonia",
    "ammonia water 25 %",
]
IODINE = [
    "iodine",
    "I2",
    "I₂",
    "iodine crystals",
    "tincture of iodine",
    "Lugol's",
    "iode",
    "iodene",
]
GOLD = [
    "gold chloride",
    "chloride of gold",
    "HAuCl4",
    "HAuCl4·3H2O",
    "AuCl3",
    "chloroauric acid",
    "Sel d'or",
    "sodium tetrachloroaurate",
    "NaAuCl4.2H2O",
    "auric chloride",
    "gold toner",
]
THIOSULFATE = ["hypo", "Na2S2O3·5H2O", "sodium thiosulphate", "hyposulphite of soda"]
THIOSULFATE += ["Fixiernatron"]
ACID = ["vinegar", "acetic acid", "HCl", "stop bath", "citric acid", "H2SO4", "oil of vitriol"]
BANNED = [
    "mercury",
    "quicksilver",
    "Hg",
    "HgCl2",
    "Hg(NO3)2",
    "calomel",
    "bromine water",
    "Br2",
    "bromide of lime",
    "KBr",
    "chlorine",
    "bleach",
    "chloride of lime",
    "NaOCl",
    "Ca(ClO)2",
    "iodine monochloride",
    "KCN",
    "cyanide of potassium",
    "KAg(CN)2",
    "Prussic acid",
    "ferricyanide",
    "aqua fortis",
    "HNO3",
    "thiourea",
    "mercry",
]
HARMLESS = [
    "distilled water",
    "H2O",
    "rouge",
    "table salt",
    "NaCl",
    "calcium chloride",
    "potassium iodide",
    "silver iodide",
    "sodium sulfite",
    "acid-free paper",
    "cyan filter",
    "glass",
]
UNKNOWN = ["flour", "gelatine", "agar", "silica", "", "42", "???", "sodium citrate"]


def refused(ingredients, words):
    with pytest.raises(BadInput, match=words):
        check_recipe(ingredients)


@every("one, other", itertools.product(AMMONIA, IODINE))
def test_ammonia_with_iodine(one, other):
    refused([one, "water", other], "explodes at a touch")


@every("one, other", itertools.product(AMMONIA, GOLD))
def test_ammonia_with_gold(one, other):
    refused([other, one], "fulminating gold")


@every("one, other", itertools.product(ACID, THIOSULFATE))
def test_acid_with_thiosulfate(one, other):
    refused([one, other], "sulfur dioxide")


@every("name", BANNED)
def test_never_guided(name):
    refused(["distilled water", name], "refused")


@pytest.mark.parametrize(
    ("ingredients", "words"),
    [
        (["KCN", "vinegar"], "hydrogen cyanide"),
        (["cyanide", "aqua fortis"], "hydrogen cyanide"),
        (["bleach", "ammonia"], "chloramine"),
        (["bleach", "HCl"], "chlorine gas"),
        (["bleach", "hypo"], "poisonous gas"),
        (["silver nitrate", "NH3"], "silver compound"),
        (["used fixer", "ammonia"], "silver compound"),
        (["gold chloride", "caustic soda"], "gold oxides"),
        (["sel d'or", "alcohol"], "takes fire"),
        (["liver of sulphur", "acid"], "hydrogen sulfide"),
        (["zinc dust", "iodine"], "alight"),
        (["1 part gold chloride, 4 parts hypo and a drop of ammonia"], "fulminating gold"),
    ],
)
def test_each_other_refusal(ingredients, words):
    refused(ingredients, words)


def test_every_refusal_can_be_reached():
    name = {"silver_salt": "silver nitrate", "metal_powder": "zinc dust", "acid": "vinegar"}
    name |= {"alkali": "lye", "chlorine": "bleach", "terpene": "turpentine", "metal": "zinc"}
    name |= {"oxidiser": "saltpetre", "bisulfite": "metabisulfite"}
    for refusal in refusals():
        with pytest.raises(BadInput) as caught:
            check_recipe([name.get(kind, kind) for kind in refusal.classes])
        assert refusal.why in str(caught.value)


@pytest.mark.parametrize(
    ("name", "held"),
    [
        ("Rapid Fixer 1+4", "ammonium thiosulfate"),
        ("SCHNELLFIXIERLOESUNG", "ammonium thiosulfate"),
        ("schnell-fixierbäder", "ammonium thiosulfate"),
        ("fixateurs rapides", "ammonium thiosulfate"),
        ("fijadores rapidos", "ammonium thiosulfate"),
        ("Stoppbad", "acetic or citric acid"),
        ("Fensterreiniger", "ammonia and alcohol"),
        ("limpiahornos", "lye, sometimes with aluminium"),
    ],
)
def test_a_kind_of_bath_is_read_as_what_it_holds(name, held):
    assert [found.what for found in read_name(name).found] == [held]
    assert read_name(name).not_known == ()


def test_a_name_no_shop_explains_is_not_known_even_next_to_one_that_is():
    assert read_name("Zonax rapid fixer").not_known == ("zonax",)
    assert read_name("Zonax rapid fixer").found == read_name("rapid fixer").found
    assert read_name("ferric chloride").not_known  # not harmless for its chloride


@pytest.mark.parametrize("name", ["toilet cleaner", "acid fixer", "hypo eliminator", "used fixer"])
def test_a_product_is_not_refused_with_itself(name):
    if name == "toilet cleaner":  # holds bleach in some
        refused([name], "chlorine")
    else:
        check_recipe([name, name])


@pytest.mark.parametrize("name", ["cyanoacrylate glue", "nitrile gloves", "lauric acid", "alumina"])
def test_names_that_merely_sound_alike(name):
    assert not substances(name) & {"cyanide", "oxidiser", "gold", "metal"}


def test_a_fixer_of_no_named_kind_is_taken_for_the_worse():
    refused(["gold chloride", "fixer"], "many bought fixers are ammonium thiosulfate")


@every("gold, hypo", itertools.product(GOLD, THIOSULFATE))
def test_gilding_itself_is_allowed(gold, hypo):
    check_recipe([gold, hypo, "distilled water", "table salt"])


@every("name", HARMLESS + AMMONIA + IODINE + GOLD + THIOSULFATE + ACID)
def test_single_ordinary_ingredients_are_allowed(name):
    check_recipe([name])
    assert read_name(name).not_known == ()


@every("name", UNKNOWN)
def test_what_is_not_known_is_said(name):
    assert read_name(name).not_known


@given(
    st.sampled_from(AMMONIA),
    st.sampled_from(IODINE + GOLD),
    st.lists(st.sampled_from([*HARMLESS, "flour", "agar"]), max_size=5),
    st.randoms(),
    st.booleans(),
)
def test_no_company_or_order_hides_a_dangerous_pair(ammonia, other, company, random, joined):
    ingredients = [ammonia, other, *company]
    random.shuffle(ingredients)
    with pytest.raises(BadInput, match="refused"):
        check_recipe([" + ".join(ingredients)] if joined else ingredients)


@given(
    st.sampled_from([*AMMONIA, *IODINE, *GOLD, *BANNED]),
    st.sampled_from([str.upper, str.lower, str.title, str.swapcase]),
    st.sampled_from(["", " ", "  ", "\t", '"', "(", "5 g of "]),
)
def test_letter_case_and_dress_do_not_hide_a_substance(name, case, dress):
    assert substances(name) <= substances(dress + case(name))


@given(st.lists(st.text(max_size=40), max_size=6))
def test_any_text_ends_in_silence_or_one_sentence(ingredients):
    sentence = "recipe: nothing refused."
    try:
        check_recipe(ingredients)
    except BadInput as error:
        sentence = str(error)
    assert sentence.startswith("recipe: ")
    assert sentence.endswith(".")
    assert "\n" not in sentence


@pytest.mark.parametrize("ingredients", [[], [""], ["  ", "\t"]])
def test_nothing_named(ingredients):
    refused(ingredients, "no ingredient is named")


@given(st.sampled_from(BANNED), st.lists(st.text(max_size=20) | st.sampled_from(HARMLESS)))
def test_adding_ingredients_never_frees_a_banned_one(banned, company):
    refused([*company, banned], "refused")


def test_no_instruction_shipped_guides_a_banned_substance():
    banned = {"mercury", "bromine", "chlorine", "cyanide", "nitric", "thiourea", "ammonia"}
    texts = [rule.title for rule in steps()]
    texts += [rule.look_for for rule in steps()]
    texts += [check.text for rule in steps() for check in rule.checks]
    texts += [bath.order for bath in recipes()] + [bath.title for bath in recipes()]
    texts += [material.name for material in materials(100.0)]
    for text in texts:
        assert not substances(text) & banned, text
    # one plate's own materials may stand side by side in one room
    check_recipe([m.name for m in materials(100.0)] + ["distilled water"])
