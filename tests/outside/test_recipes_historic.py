"""Published baths in today's units, against unit tables and molar masses made elsewhere.

Sources
-------
Units: `scipy.constants` (grain, avoirdupois ounce, US and imperial gallon).
Molar masses: package `chemicals`, from IUPAC atomic weights.
Baths: Humphrey, American Hand Book of the Daguerreotype, 5th ed. 1858; Snelling, History and
Practice of the Art of Photography, 1849; The Athenaeum no. 686, 19 Dec 1840, p. 1013 (Fizeau's
bath, read at daguerreotypearchive.org); Cyclopedia of Photography, art. Daguerreotype Process
(Fizeau's bath again, read at gluedideas.com).
"""

import pytest
import scipy.constants as units
from chemicals.elements import molecular_weight, simple_formula_parser

from argentry import trade
from argentry.trade.chemistry.gilding import thiosulfate_per_gold
from argentry.trade.chemistry.measures import measure
from argentry.trade.chemistry.substances import molar_mass_g_mol
from argentry.trade.recipes import recipe, silver_mg

US_PINT_L = units.gallon / 8 * 1000
IMPERIAL_PINT_L = units.gallon_imp / 8 * 1000


def mass(formula):
    return molecular_weight(simple_formula_parser(formula))


@pytest.mark.parametrize(
    ("key", "outside"),
    [
        ("grain", units.grain * 1000),
        ("ounce", units.oz * 1000),
        ("us_pint", US_PINT_L * 1000),
        ("imperial_pint", IMPERIAL_PINT_L * 1000),
    ],
)
def test_old_units(key, outside):
    assert measure(key).size == pytest.approx(outside, rel=1e-9)


@pytest.mark.parametrize(
    ("key", "formula", "share"),
    [
        ("gold_share_acid_trihydrate", "HAuCl4H6O3", 0.5001),
        ("gold_share_acid", "HAuCl4", 0.5797),
        ("gold_share_chloride", "AuCl3", 0.6494),
        ("gold_share_sodium_dihydrate", "NaAuCl4H4O2", 0.4951),
    ],
)
def test_gold_in_its_salts(key, formula, share):
    assert trade.value("recipes", key) == pytest.approx(mass("Au") / mass(formula), abs=2e-4)
    assert trade.value("recipes", key) == pytest.approx(share, abs=1e-4)


def test_thiosulfate_masses():
    crystals, dry = mass("Na2S2O3H10O5"), mass("Na2S2O3")
    assert molar_mass_g_mol("Na2S2O3.5H2O") == pytest.approx(crystals, rel=1e-4)
    assert molar_mass_g_mol("Na2S2O3") == pytest.approx(dry, rel=1e-4)
    assert crystals / dry == pytest.approx(1.5697, rel=2e-4)


def test_gold_reaction_balances():
    # AuCl4- + 4 S2O3(2-) -> Au(S2O3)2(3-) + S4O6(2-) + 4 Cl-: atoms and charge, counted by hand
    left = {"Au": 1, "Cl": 4, "S": 8, "O": 12, "charge": -1 - 8}
    right = {"Au": 1, "Cl": 4, "S": 4 + 4, "O": 6 + 6, "charge": -3 - 2 - 4}
    assert left == right
    assert trade.value("recipes", "thiosulfate_gold_least") == 4


@pytest.mark.parametrize(
    ("key", "gold_g_l", "hypo_g_l"),
    [("gild_humphrey", 1.027, 4.108), ("gild_snelling", 1.027, 3.766)],
)
def test_american_gilding_baths_in_grams(key, gold_g_l, hypo_g_l):
    gold, hypo = recipe(key).parts
    joined = gold.litres + hypo.litres
    assert joined == pytest.approx(2 * US_PINT_L)
    assert gold.grams / joined == pytest.approx(gold_g_l, abs=0.001)
    assert hypo.grams / joined == pytest.approx(hypo_g_l, abs=0.001)


def test_the_imperial_pint_would_give_a_weaker_bath():
    gold, hypo = recipe("gild_humphrey").parts
    assert gold.grams / (2 * IMPERIAL_PINT_L) == pytest.approx(0.855, abs=0.001)
    assert hypo.grams / (2 * IMPERIAL_PINT_L) == pytest.approx(3.421, abs=0.001)


def test_humphrey_fix_is_120_grams_a_litre():
    (part,) = recipe("fix_strong").parts
    assert part.grams / part.litres == pytest.approx(2 * units.oz * 1000 / US_PINT_L)
    assert part.grams / part.litres == pytest.approx(119.8, abs=0.1)


@pytest.mark.parametrize(
    ("gold", "hypo", "ratio", "source"),
    [
        (15, 46.5, 4.9, "Athenaeum 1840, 15 and 46 1/2 grains"),
        (15, 55, 5.8, "Snelling 1849, 15 and 55 grains"),
        (15, 60, 6.3, "Humphrey 1858, 15 and 60 grains"),
        (7, 30, 6.8, "Cyclopedia of Photography, 7 and 30 grains"),
        (1, 4, 6.35, "Humphrey 1858, hyposulphite of gold, 1 part and 4 parts"),
        (1, 50 * 0.0648, 5.1, "Humphrey 1858, after Niepce, 1 gramme and 50 grains"),
    ],
)
def test_every_published_bath_lies_above_four(gold, hypo, ratio, source):
    ours = thiosulfate_per_gold(gold, hypo)
    by_hand = (hypo / mass("Na2S2O3H10O5")) / (gold / mass("HAuCl4H6O3"))
    assert ours == pytest.approx(by_hand, rel=5e-4), source
    assert ours == pytest.approx(ratio, abs=0.06), source
    assert ours > 4.5


def test_silver_in_a_coat():
    silver = mass("Ag") / mass("AgI")
    assert silver == pytest.approx(0.45946, abs=2e-5)
    # AgI 5.68 g/cm3, CRC Handbook: 1 nm over 1 cm2 is 5.68e-7 g
    assert trade.value("recipes", "silver_per_coat") == pytest.approx(0.568 * silver, rel=1e-3)


def test_one_plate_reaches_the_us_waste_limit():
    # 40 CFR 261.24: 5.0 mg/L silver; a quarter plate coated 100 nm, fixed in 250 mL
    assert silver_mg(100, 89.1) / (250 * 5.0e-3) * 5.0 == pytest.approx(9.3, abs=0.1)
