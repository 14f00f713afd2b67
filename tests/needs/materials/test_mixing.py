"""Solutions for plates: amounts close, rounding loses no more than the balance, order holds."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.needs.materials.mixing import mixing, read_instead
from argentry.trade.chemistry.substances import family_of, moles
from argentry.trade.materials import materials
from argentry.trade.recipes import recipe, recipes, use_of
from argentry.trade.sizes import plate_size, plate_sizes

KEYS = [one.key for one in recipes()]
SIZES = [one.name for one in plate_sizes()]
SALTS = [(p.substance, f) for one in recipes() for p in one.parts if family_of(p.substance)
         for f in family_of(p.substance).forms]  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from(KEYS), st.sampled_from(SIZES), st.integers(1, 200),
    st.sampled_from([None, 1.0, 2.5, 20.0]), st.sampled_from([0.0001, 0.001, 0.01, 0.1]),
    st.sampled_from([None, *SALTS]), st.floats(0.5, 1.0), st.floats(0.0, 100.0),
)  # fmt: skip
def test_masses_close_for_every_recipe_scale_salt_and_balance(
    key, size, plates, depth, step, swap, purity, spare
):
    bath = recipe(key)
    instead = {swap[0]: swap[1]} if swap and swap[0] in [p.substance for p in bath.parts] else {}
    said, made = "", None
    try:
        made = mixing(
            {size: plates}, [key], depth_mm=depth, balance_g=step, instead=instead,
            purity=purity, spare_pct=spare,
        )  # fmt: skip
    except BadInput as no:
        said = str(no)
    if made is None:
        assert "does not show" in said or "too lean" in said or "volume: " in said
        return
    (portion,) = made.portions
    # litres join to the volume; each litre holds what the recipe's litre holds
    assert sum(w.water_ml for w in portion.weighings) == pytest.approx(portion.volume_ml)
    litres = sum(part.litres for part in bath.parts)
    for part, weighed in zip(bath.parts, portion.weighings, strict=True):
        share = purity if part.substance in instead else 1.0
        held = moles(weighed.substance, weighed.grams, share)
        wanted = moles(part.substance, part.grams) * portion.volume_ml / 1000.0 / litres
        assert held == pytest.approx(wanted)
        if weighed.substance != "H2O":
            off = abs(weighed.weigh_g - weighed.grams)
            assert off <= step / 2 * (1 + 1e-6)
            steps = weighed.weigh_g / step
            assert steps == pytest.approx(round(steps), abs=1e-6)
            assert weighed.error_pct >= off / weighed.grams * 100.0
    if portion.thiosulfate_per_gold is not None:
        low, high = portion.thiosulfate_per_gold_range
        assert 4.0 <= low <= portion.thiosulfate_per_gold <= high


def test_volumes_follow_the_step():
    two = mixing({"quarter": 2, "sixth": 3}, ["fix", "gild", "water", "slurry"])
    fix, gild, water, slurry = two.portions
    quarter, sixth = (plate_size(name).area_cm2 for name in ("quarter", "sixth"))
    assert fix.volume_ml == pytest.approx(100.0)  # one tray, for the largest
    pools = 2 * quarter + 3 * sixth
    assert gild.volume_ml == pytest.approx(pools * 22.3 / quarter, rel=1e-4)
    assert gild.depth_mm == pytest.approx(2.5, abs=0.01)
    assert water.volume_ml == pytest.approx(pools * 1000.0 / quarter, rel=1e-4)
    assert water.depth_mm is None
    assert slurry.volume_ml == pytest.approx(pools * 0.05)
    assert two.plates == 5
    assert two.area_cm2 == pytest.approx(pools)


def test_a_depth_is_area_times_depth_in_pools_alone():
    assert mixing({"quarter": 1}, ["fix"], depth_mm=100.0).portions  # the deepest that is taken
    deep = mixing({"quarter": 2}, ["fix", "gild", "water"], depth_mm=4.0)
    quarter = plate_size("quarter").area_cm2
    volumes = [portion.volume_ml for portion in deep.portions]
    assert volumes == pytest.approx([quarter * 0.4, 2 * quarter * 0.4, 2000.0], rel=1e-4)
    more = mixing({"quarter": 1}, ["fix"], spare_pct=50.0)
    assert more.portions[0].volume_ml == pytest.approx(150.0)


def test_the_words_are_in_the_order_of_the_data():
    (gild,) = mixing({"whole": 6}, ["gild"]).portions
    assert [words.split()[0] for words in gild.do] == ["Dissolve", "Dissolve", "Pour", "Filter."]
    assert gild.do[2].startswith("Pour the gold chloride")
    (kept,) = mixing({"whole": 1}, ["fix_kept"]).portions
    assert "sulfite" in kept.do[0]
    assert "in the same" in kept.do[1]
    assert mixing({"whole": 1}, ["slurry"]).portions[0].do[0].startswith("Stir")
    assert mixing({"whole": 1}, ["water"]).portions[0].do[0].startswith("Take")


def test_a_coarse_balance_is_told_with_the_volume_that_suits():
    (gild,) = mixing({"quarter": 3}, ["gild"]).portions
    (note,) = [note for note in gild.notes if "coarse" in note]
    volume = float(note.split("mix ")[1].split(" mL")[0])
    (enough,) = mixing(
        {"quarter": 3}, ["gild"], spare_pct=(volume / gild.volume_ml - 1.0) * 100.0 + 1.0
    ).portions
    assert not any("gold" in note and "coarse" in note for note in enough.notes)
    assert all(w.error_pct <= 5.0 for w in enough.weighings)
    for one in (*gild.weighings, *enough.weighings):  # half a step, and what rounding took
        off = abs(one.weigh_g - one.grams) + 0.005
        assert one.error_pct == pytest.approx(100.0 * off / one.grams)


def test_hypo_cools_and_begins_warmer():
    (fix,) = mixing({"whole": 1}, ["fix_strong"], room_c=21.0).portions
    (note,) = fix.notes
    assert "cools by about 5 K" in note
    assert "26 °C" in note
    assert not mixing({"whole": 1}, ["degrease"]).portions[0].notes


def test_every_recipe_has_a_step():
    assert {use_of(one.kind).step for one in recipes()} == {
        "scour", "clean", "fix", "gild", "rinse",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mixing({}), "none are named"),
        (lambda: mixing({"quarter": 0}), "plates"),
        (lambda: mixing({"elephant": 1}), "is not a plate size"),
        (lambda: mixing({"quarter": 1}, ["cold"]), "is not a recipe"),
        (lambda: mixing({"quarter": 1}, balance_g=0.0), "balance"),
        (lambda: mixing({"quarter": 1}, balance_g=float("nan")), "balance"),
        (lambda: mixing({"quarter": 1}, ["water"], balance_g=20.0), "--balance-g"),
        (lambda: mixing({"quarter": 1}, spare_pct=301.0), "spare"),
        (lambda: mixing({"quarter": 1}, depth_mm=101.0), "depth"),
        (lambda: mixing({"quarter": 1001}), "plates"),
        (lambda: mixing({"quarter": 1}, ["gild"], balance_g=1.0), "does not show on a balance"),
        (lambda: mixing({"quarter": 1}, depth_mm=-1.0), "depth"),
        (lambda: mixing({"quarter": 1}, spare_pct=-5.0), "spare"),
        (lambda: mixing({"quarter": 1}, ["fix"], instead={"NaCl": "KCl"}), "do not hold"),
        (
            lambda: mixing({"quarter": 1}, ["fix"], instead={"Na2S2O3.5H2O": "NaCl"}),
            "do not stand for one another",
        ),
        (lambda: mixing({"sixth": 1}, ["gild_fizeau"], balance_g=0.01), "too lean"),
    ],
)
def test_bad_input(call, words):
    with pytest.raises(BadInput, match=words):
        call()


def test_thiosulfate_that_may_come_near_four_for_each_gold_is_told():
    def told(balance_g):
        [gold] = mixing({"quarter": 1}, ["gild_fizeau"], balance_g=balance_g).portions
        return [note for note in gold.notes if "for each gold" in note]

    assert told(0.005) == [
        "By the balance's steps the thiosulfate for each gold lies from 4.41 to 6.12."
    ]
    assert told(0.001) == []  # from 4.5 on nothing is said


@pytest.mark.parametrize("text", ["hypo", "=Na2S2O3", "Na2S2O3.5H2O=", " = "])
def test_a_salt_in_place_of_another_is_a_pair(text):
    assert read_instead(["Na2S2O3.5H2O = Na2S2O3"]) == {"Na2S2O3.5H2O": "Na2S2O3"}
    with pytest.raises(BadInput, match="--instead"):
        read_instead([text])


def test_the_day_and_the_mixing_take_the_same_of_a_bath():
    quarter = plate_size("quarter").area_cm2
    amounts = {one.key: one.amount for one in materials(quarter, 3)}
    fix, gild = mixing({"quarter": 3}, ["fix", "gild"]).portions
    assert fix.volume_ml == pytest.approx(amounts["fixer"], rel=0.01)
    assert gild.volume_ml == pytest.approx(amounts["gold_bath"], rel=0.01)
