"""`argentry recipe`: amounts, and one sentence for what is refused."""

import json

import pytest
from click.testing import CliRunner

from argentry.cli.materials.recipe import recipe
from argentry.errors import BadInput


def run(*arguments):
    return CliRunner().invoke(recipe, arguments)


def test_mix_as_json():
    result = run("mix", "gild", "--ml", "22", "--json")
    data = json.loads(result.output)
    assert result.exit_code == 0
    assert [part["grams"] for part in data["parts"]] == pytest.approx([0.022, 0.088])
    assert sum(part["water_ml"] for part in data["parts"]) == pytest.approx(22)
    assert data["thiosulfate_per_gold"] == pytest.approx(6.35, abs=0.01)
    assert data["keeps_hours"] == 24
    assert any("ammonia" in caution for caution in data["cautions"])


def test_fixing_bath_has_no_gold():
    data = json.loads(run("mix", "fix", "--ml", "250", "--json").output)
    assert data["parts"][0]["grams"] == pytest.approx(20)
    assert data["thiosulfate_per_gold"] is None
    assert data["keeps_hours"] is None


def test_mix_in_words():
    result = run("mix", "gild_humphrey")
    assert "15 gr in 1 US pint" in result.output
    assert "Caution:" in result.output
    assert "Humphrey" in result.output
    assert "Use it once, within 24 h." in result.output


def test_list_of_baths():
    assert "gild_snelling" in run("mix").output


def test_check_says_how_each_name_was_read():
    result = run("check", "sel d'or", "Fixiernatron")
    assert result.exit_code == 0
    assert "Nothing here is refused; that is not a promise" in result.output
    assert "Fixiernatron" in result.output
    assert "thiosulfate" in result.output


def test_an_unknown_name_is_never_nothing_refused():
    result = run("check", "sel d'or", "hypo", "unicorn dust")
    words = " ".join(result.output.split())
    assert result.exit_code == 0
    assert "Nothing here is refused" not in words
    assert "'unicorn dust' is not known here: read its safety data sheet" in words
    data = json.loads(run("check", "sel d'or", "unicorn dust", "--json").output)
    assert data["refused"] is None
    assert [bool(one["not_known"]) for one in data["ingredients"]] == [False, True]
    assert json.loads(run("check", "sel d'or", "--json").output)["refused"] is False


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("check", "iodine", "ammonia"), "explodes"),
        (("check", "gold chloride", "sal volatile"), "fulminating"),
        (("check", "gold chloride", "rapid fixer"), "'rapid fixer' (ammonium thiosulfate)"),
        (("check", "KCN"), "does not guide"),
        (("check", "  "), "no ingredient"),
        (("mix", "cold"), "is not a recipe"),
        (("mix", "fix", "--ml", "nan"), "volume"),
        (("mix", "fix", "--ml", "0"), "volume"),
    ],
)
def test_bad_input_is_one_sentence(arguments, words):
    result = run(*arguments)
    assert isinstance(result.exception, BadInput)
    assert words in str(result.exception)
    assert "\n" not in str(result.exception)
