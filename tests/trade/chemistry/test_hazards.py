"""What materials can do: complete, in line with the refusals, and nothing refused is guided."""

import re

import pytest

from argentry.errors import BadInput
from argentry.trade.chemistry.hazards import (
    PICTOGRAMS,
    advice,
    apart,
    equipment,
    hazard_named,
    hazard_of,
    hazards,
    limits,
    never_with,
    shelf,
    statement,
)
from argentry.trade.facts import toml
from argentry.trade.steps import cautions, steps
from argentry.trade.stock import stuffs

# Which pictogram and signal word a statement brings: GHS (UN, ST/SG/AC.10/30/Rev.9), annex 3,
# section 3, and Regulation (EC) 1272/2008, annex I and annex VI, table 1.1, from memory.
BRINGS = {
    "H225": ("GHS02", "Danger"),
    "H272": ("GHS03", "Danger"),  # category 2
    "H290": ("GHS05", "Warning"),
    "H302": ("GHS07", "Warning"),
    "H312": ("GHS07", "Warning"),
    "H314": ("GHS05", "Danger"),
    "H315": ("GHS07", "Warning"),
    "H317": ("GHS07", "Warning"),
    "H318": ("GHS05", "Danger"),
    "H319": ("GHS07", "Warning"),
    "H332": ("GHS07", "Warning"),
    "H335": ("GHS07", "Warning"),
    "H336": ("GHS07", "Warning"),
    "H372": ("GHS08", "Danger"),
    "H400": ("GHS09", "Warning"),
    "H410": ("GHS09", "Warning"),
    "H411": ("GHS09", ""),
    "EUH031": ("", ""),
}


@pytest.mark.parametrize("one", hazards(), ids=lambda one: one.key)
def test_pictograms_and_signal_word_follow_from_the_statements(one):
    brought = {BRINGS[code][0] for code in one.h} - {""}
    assert set(one.pictograms) == brought
    signals = {BRINGS[code][1] for code in one.h}
    assert one.signal == (
        "Danger" if "Danger" in signals else "Warning" if "Warning" in signals else ""
    )


def test_every_code_has_a_text_and_every_text_is_used_or_known():
    data = toml("hazards")
    assert set(data["statements"]) == set(BRINGS)
    used = {code for one in hazards() for code in one.p}
    assert used == set(data["advice"])
    assert {key for one in hazards() for key in one.pictograms} == set(PICTOGRAMS)
    for one in hazards():
        assert all(statement(code) for code in one.h)
        assert all(advice(code) for code in one.p)
        assert shelf(one)


def test_never_with_follows_from_the_refusals():
    said = dict(never_with(hazard_of("iodine")))
    assert "explodes at a touch" in said["ammonia or an ammonium salt"]
    assert "tear gas" in said["acetone"]
    assert "iodine" not in said
    assert never_with(hazard_of("calcium_chloride")) == ()
    gold = dict(never_with(hazard_of("gold chloride")))
    assert "fulminating gold" in gold["ammonia or an ammonium salt"]


def test_what_stands_apart_is_told_pair_by_pair():
    (pair,) = apart(["Iodine", "Acetone", "Distilled water"])
    assert pair == ("Iodine", "Acetone", "they form iodoacetone, a tear gas")
    assert apart(["Iodine", "Iodine"]) == ()
    found = {frozenset(one[:2]) for one in apart(["Gold chloride", "Ethanol", "Hypo", "Vinegar"])}
    assert found == {frozenset(["Gold chloride", "Ethanol"]), frozenset(["Hypo", "Vinegar"])}


@pytest.mark.parametrize("name", ["mercury", "bromine", "potassium cyanide", "KCN", "nitric acid"])
def test_what_is_refused_is_not_guided(name):
    with pytest.raises(
        BadInput, match=r"is refused: it is or holds .*argentry does not guide this"
    ):
        hazard_of(name)


def test_an_unknown_material_is_sent_to_its_sheet():
    with pytest.raises(BadInput, match="'moon milk' is not known here; read its safety data sheet"):
        hazard_of("moon milk")
    with pytest.raises(BadInput, match="did you mean ethanol"):
        hazard_of("ethanul")


def test_the_longest_name_decides_and_none_is_shared():
    assert hazard_named("used fixing bath").key == "used_fixer"
    assert hazard_named("plain fixing bath").key == "thiosulfate"
    assert hazard_named("Gold chloride, 1 g").key == "gold_chloride"
    assert hazard_named("Copper sheet") is None
    words = [word for one in hazards() for word in one.words]
    assert len(words) == len(set(words))


def test_every_stuff_that_can_harm_has_its_entry():
    known = {
        one.key for one in stuffs() if one.material in {"iodine", "gold", "gold_bath", "polish"}
    }
    for one in stuffs():
        if one.key in known and one.key != "gold_acid":
            assert any(hazard_named(word) for word in one.words), one.key


def test_every_caution_that_steps_show_is_worn_for_or_needs_nothing():
    asked = equipment()
    assert set(asked) <= set(cautions())
    shown = {key for step in steps() for key in step.cautions}
    assert shown - set(asked) <= {
        *("iodine_health", "iodine_ammonia", "gold_ammonia", "finished_plate", "red_lamp"),
    }


def test_limits_carry_name_year_and_source():
    assert {one.what for one in limits()} == {"silver", "copper"}
    d011 = next(one for one in limits() if "D011" in one.name)
    assert d011.fact.value == 5.0  # 40 CFR 261.24, table 1
    assert all(one.year and one.fact.source and one.fact.unit == "mg/L" for one in limits())


def test_nothing_in_the_file_guides_what_is_refused():
    text = str(toml("hazards")).casefold()
    for word in ("mercury", "bromine"):
        assert word not in text
    assert not re.search(r"add .*cyanide|use .*cyanide", text)
