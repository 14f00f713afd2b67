"""`argentry mix`, in words and as JSON, with the maker's own recipes."""

import json

import pytest
from click.testing import CliRunner

from argentry.cli.materials.mix import mix
from argentry.cli.work.plating import plating
from argentry.errors import BadInput
from argentry.keeping.stock.mixing import mix_for

OWN = """\
[[recipe]]
key = "mine"
title = "My fixing bath"
kind = "fix"
order = "Dissolve; filter."
sequence = [{ do = "dissolve", part = 1 }, { do = "filter", part = 1 }]
[[recipe.part]]
substance = "Na2S2O3.5H2O"
amount = 2.0
unit = "oz"
volume = 1.0
volume_unit = "imperial pint"
"""
BOTH = 'part = 1 }, { do = "dissolve", part = 2 }, { do = "pour", part = 1, into = 2 }'
ONE = 'part = 1 }, { do = "filter", part = 1 }'
GOLD = (
    OWN.replace('"fix"', '"gild"')
    + """\
[[recipe.part]]
substance = "HAuCl4.3H2O"
amount = 1.0
unit = "g"
volume = 0.5
volume_unit = "L"
"""
)


def run(*arguments):
    return CliRunner().invoke(mix, arguments)


def test_in_words():
    told = run("plates", "--plates", "3", "--size", "quarter").output
    assert "Fixing bath, plain: 100 mL" in told
    assert "Pour the gold chloride" in told
    assert "four is the least" in told
    assert "Caution:" in told
    assert "Source (starting value):" in told


def test_an_own_recipe_is_scaled_like_any_other(tmp_path):
    (tmp_path / "mine.toml").write_text(OWN, encoding="utf-8")
    done = run(
        "plates", "mine", "--size", "half=2", "--file", str(tmp_path / "mine.toml"), "--json"
    )
    (portion,) = json.loads(done.output)["portions"]
    (weighed,) = portion["weighings"]
    assert weighed["grams"] / portion["volume_ml"] == pytest.approx(2 * 28.349523 / 568.26125)
    assert portion["basis"] == "seed"
    told = run("plates", "mine", "--size", "half", "--file", str(tmp_path / "mine.toml")).output
    assert "the maker's own" in told


def test_the_studio_folder_holds_own_recipes(tmp_path):
    (tmp_path / "recipes.toml").write_text(OWN, encoding="utf-8")
    done = CliRunner().invoke(mix, ["plates", "mine", "--studio", str(tmp_path), "--size", "half"])
    assert "My fixing bath" in done.output


def test_dilute_spirit_convert():
    poured = "200.0 mL of the stronger and 300.0 mL of {}."
    assert poured.format("water") in run("dilute", "200", "80", "500").output
    two = run("dilute", "200", "80", "500", "--weak", "0.0001").output
    assert poured.format("the weaker") in two
    warm = run("dilute", "200", "80", "500", "--temp", "20", "--temp", "40").output
    assert "about 32.0 °C" in warm
    assert "520.8 mL" in run("spirit", "96", "50", "1000").output
    assert "8 avoirdupois dram" in run("convert", "1/2", "oz").output


def turned(text, old, new):
    assert old in text
    return text.replace(old, new)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "it holds no recipe"),
        ("recipe = 3", "it holds no recipe"),
        ("recipe = [3]", "it is not a table"),
        (turned(OWN, "kind", "sort"), "unknown sort"),
        (turned(OWN, 'title = "My fixing bath"\n', ""), "lacks title"),
        (turned(OWN, '"fix"', '"mercury"'), "kind 'mercury' is not known"),
        (turned(OWN, '"My fixing bath"', "3"), "title is not words"),
        (turned(OWN, "amount = 2.0", 'amount = "two"'), "amount is not a number"),
        (turned(OWN, "amount = 2.0", "amount = nan"), "part 1 amount"),
        (turned(OWN, '"oz"', '"imperial pint"'), "does not measure a mass"),
        (turned(OWN, '"imperial pint"', '"g"'), "does not measure a volume"),
        (turned(OWN, '"imperial pint"', '"pint"'), "write US pint or imperial pint"),
        (turned(OWN, "volume = 1.0", "volume = 0.0"), "it holds no water"),
        (turned(OWN, "amount = 2.0", "amount = 30.0"), "do not dissolve"),
        (turned(OWN, "Na2S2O3.5H2O", "KCN"), "does not guide"),
        (turned(OWN, "Na2S2O3.5H2O", ""), "not words"),
        (turned(OWN, 'do = "filter"', 'do = "boil"'), "is not done here"),
        (turned(OWN, "sequence = [", "sequence = 3 #"), "not a list"),
        (turned(OWN, '"mine"', '"fix"'), "a key of its own"),
        (OWN + OWN, "a key of its own"),
        (OWN + 'cautions = ["fire"]', "unknown cautions"),
        (turned(OWN, 'key = "mine"', 'key = "mine"\ncautions = ["fire"]'), "unknown caution"),
        (turned(OWN, "[[recipe.part]]", "[recipe.parts]"), "it has the unknown parts"),
        (GOLD, "do not join all parts"),
        (turned(GOLD, ONE, BOTH), "dark powder"),
        (turned(turned(GOLD, ONE, BOTH), "Na2S2O3.5H2O", "NaCl"), "gold and no thiosulfate"),
    ],
)  # fmt: skip
def test_a_bad_own_recipe_is_refused_in_one_sentence(tmp_path, text, words):
    file = tmp_path / "own.toml"
    file.write_text(text, encoding="utf-8")
    done = run("plates", "mine", "--file", str(file))
    assert isinstance(done.exception, BadInput), done.output
    assert words in str(done.exception)
    assert "\n" not in str(done.exception)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("plates", "--size", "quarter=many"), "has no number of plates"),
        (("plates", "--instead", "hypo"), "write it as Na2S2O3.5H2O=Na2S2O3"),
        (("plates", "--file", "/nowhere/own.toml"), "there is no such file"),
        (("convert", "15"), "not an amount"),
    ],
)
def test_bad_input(arguments, words):
    done = run(*arguments)
    assert isinstance(done.exception, BadInput)
    assert words in str(done.exception)


def test_a_purity_of_no_salt_is_refused():
    """Eight grams of a salt that is nine tenths pure would be weighed in place of 8.9."""
    with pytest.raises(BadInput, match="no salt is named that is so pure"):
        mix_for(None, ["fix"], 3, ["quarter"], purity=0.9)
    made = mix_for(None, ["fix"], 3, ["quarter"], purity=0.9, instead=["Na2S2O3.5H2O=Na2S2O3.5H2O"])
    assert made.portions[0].weighings[0].grams == pytest.approx(8.0 / 0.9)


def test_silver_that_came_off_is_said_to_have_come_off():
    said = CliRunner().invoke(plating, ["weigh", "80", "79"]).output
    assert " ".join(said.split()).startswith("5.35 µm (5.26 to 5.43) of silver came off, 1.000 g")


def test_no_amount_is_written_with_a_power_of_ten():
    """A litre of water was 1.543e+04 grains."""
    told = run("plates", "water").output  # 1000 g at 0.06479891 g to the grain: the avoirdupois law
    assert "15430" in told
    assert "e+" not in run("plates", "--plates", "100").output


def test_a_number_in_place_of_a_recipe_is_told_where_it_belongs():
    with pytest.raises(BadInput, match="2 is not a recipe; for so many plates write --plates 2"):
        CliRunner().invoke(mix, ["plates", "2"], catch_exceptions=False)
