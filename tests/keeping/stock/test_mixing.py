"""A studio's solutions: sizes as they are typed, and recipes of the maker's own."""

import pytest
from tests.own_recipes import OWN

from argentry.errors import BadInput
from argentry.keeping.stock.mixing import mix_for, own_recipes


def ml(folder, plates, sizes, **how):
    return mix_for(folder, ("gild",), plates, sizes, **how).portions[0].volume_ml


def test_a_size_with_a_number_has_its_own_and_sizes_add_up():
    assert ml(None, 3, ["quarter=2"]) == ml(None, 2, ["quarter"])
    assert ml(None, 1, [" quarter =2", "quarter"]) == ml(None, 3, ["quarter"])
    assert ml(None, 2, []) == ml(None, 2, ["quarter"])  # the usual size
    for wrong, words in (("quarter=two", "quarter=two"), ("quarter=123456", "123456")):
        with pytest.raises(BadInput, match=words):
            ml(None, 1, [wrong])


def test_own_recipes_come_from_the_studio_or_the_file_that_is_named(tmp_path):
    assert own_recipes(None) == own_recipes(tmp_path) == ()
    file = tmp_path / "recipes.toml"
    file.write_text(OWN, encoding="utf-8")
    assert [one.key for one in own_recipes(tmp_path)] == ["weak", "gold_twice"]
    assert own_recipes(None, file) == own_recipes(tmp_path)
    assert mix_for(tmp_path, ("weak",), 1, ["quarter"]).portions[0].recipe == "weak"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a = 1", "recipes.toml: it holds no recipe"),
        ("recipe = []", "it holds no recipe"),
        (OWN + OWN, "recipes.toml, recipe 3: its key is one of the shipped"),
        (OWN.replace('"weak"', '"fix"'), "recipes.toml, recipe 1: its key"),
        (OWN.replace('"gold_twice"', "7"), "recipes.toml, recipe 2"),
    ],
)
def test_a_recipe_that_cannot_be_is_named_by_its_number(tmp_path, text, words):
    (tmp_path / "recipes.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=words):
        own_recipes(tmp_path)
