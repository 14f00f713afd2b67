"""What a lot is by its name, and how many plates it will do."""

import pytest

from argentry import trade
from argentry.errors import ArgentryError
from argentry.trade import stock
from argentry.trade.materials import materials
from argentry.trade.refusals import check_recipe
from argentry.trade.stock import plates_left, stuff_named, stuffs

QUARTER = 3.25 * 4.25 * 2.54**2


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Iodine, resublimed", "iodine"),
        ("IODINE 2026", "iodine"),
        ("tincture of iodine", None),
        ("potassium iodide", None),
        ("Gold chloride (1 g vial)", "gold_acid_trihydrate"),
        ("HAuCl4.3H2O", "gold_acid_trihydrate"),
        ("anhydrous gold chloride", "gold_acid"),
        ("HAuCl4", "gold_acid"),
        ("gold leaf", None),
        ("Fixing bath", "fixing_bath"),
        ("hypo", "thiosulfate"),
        ("Sodium thiosulfate, anhydrous", "thiosulfate_anhydrous"),
        ("Na2S2O3", "thiosulfate_anhydrous"),
        ("Na2S2O3.5H2O", "thiosulfate"),
        ("hypodermic needles", None),
        ("copper", None),
        ("", None),
    ],
)
def test_a_lot_is_known_by_the_longest_name_that_fits(name, key):
    found = stuff_named(name)
    assert (found.key if found else None) == key


def test_every_material_may_be_kept_and_no_word_means_two_stuffs():
    assert {one.material for one in stuffs()} == {"", *(m.key for m in materials(QUARTER))}
    words = [word for one in stuffs() for word in one.words]
    assert len(words) == len(set(words))
    for word in words:
        check_recipe([word])  # nothing refused is calculated with


def test_plates_left_by_hand():
    # 8 mg of iodine a quarter plate, 3 to 30
    found = plates_left(stuff_named("iodine"), 2.4, "g", QUARTER)
    assert (found.low, found.middle, found.high) == pytest.approx((80.0, 300.0, 800.0), rel=1e-3)
    # half of a plate twice as large
    half = plates_left(stuff_named("iodine"), 2.4, "g", 2 * QUARTER)
    assert half.middle == pytest.approx(150.0, rel=1e-3)
    # 1 g of the salt holds 500 mg of gold, of which a plate takes 11.2
    gold = plates_left(stuff_named("gold chloride"), 1.0, "g", QUARTER)
    assert gold.middle == pytest.approx(500.1 / 11.2, rel=1e-3)
    # 8 g of thiosulfate make 100 mL of bath, one plate's
    hypo = plates_left(stuff_named("hypo"), 0.8, "kg", QUARTER)
    assert hypo.middle == pytest.approx(100.0, rel=1e-3)
    assert plates_left(stuff_named("cover glass"), 3, "pcs", QUARTER).middle == 3.0


@pytest.mark.parametrize("unit", ["mg", "G", "kg", " g "])
def test_the_unit_does_not_change_the_plates(unit):
    grams = {"mg": 1e-3, "kg": 1e3}.get(unit, 1.0)
    found = plates_left(stuff_named("rouge"), 50.0 / grams, unit, QUARTER)
    assert found.middle == pytest.approx(100.0, rel=1e-3)


def test_a_lot_in_old_measures_is_known_too():
    """One avoirdupois ounce is 28.349 523 125 g, a grain 64.798 91 mg (NIST Handbook 44, C)."""
    iodine = stuff_named("Iodine")
    assert stock.material_in(iodine, 1.0, "oz.") == pytest.approx((28349.523125,) * 3)  # [mg]
    assert stock.material_in(iodine, 2.0, "Grains") == pytest.approx((2 * 64.79891,) * 3)
    assert plates_left(iodine, 1.0, "lb", 89.1) == plates_left(iodine, 16.0, "oz", 89.1)


@pytest.mark.parametrize(
    ("name", "unit"),
    [("iodine", "mL"), ("iodine", "jars"), ("hypo", "mL"), ("gold chloride", "mL"), ("tape", "g")],
)
def test_a_unit_that_measures_something_else_says_nothing(name, unit):
    assert plates_left(stuff_named(name), 5.0, unit, QUARTER) is None


@pytest.mark.parametrize(
    "change", [{"material": "moonlight"}, {"basis": "hearsay"}, {"gives": "stock.moon"}, {"x": 1}]
)
def test_a_bad_entry_is_told(change, monkeypatch):
    entry = {**trade.toml("stock")["stuff"][0], **change}
    monkeypatch.setattr(stock, "toml", lambda _: {"stuff": [entry]})
    stuffs.cache_clear()
    with pytest.raises(ArgentryError, match="stock"):
        stuffs()
    monkeypatch.undo()
    stuffs.cache_clear()
