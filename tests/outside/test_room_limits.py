"""Limits, their two units, and how a room clears.

Sources
-------
Both columns of each limit as its regulator prints them. NIOSH Pocket Guide, conversion factors at
25 °C: iodine 10.38, sulfur dioxide 2.62, acetone 2.38, ethanol 1.89 mg/m3 for one ppm. CDC,
Guidelines for Environmental Infection Control in Health-Care Facilities (2003), table B.1:
minutes to remove 99 and 99.9 % of what is in the air. Box-model table of an engineering handbook:
one change an hour, 20 min, 0.2835; four, 40 min, 0.2326. Absolute humidity of saturated air:
meteorological tables. psychrolib 2.5 for the wet bulb.
"""

import pytest

from argentry import trade
from argentry.physics.vapour.room_vapour import (
    drying_minutes,
    mg_m3,
    minutes_to_air,
    room_mg_m3,
    water_g_m3,
)
from argentry.trade.chemistry.substances import molar_mass_g_mol

FORMULA = {row["key"]: row["formula"] for row in trade.toml("room")["vapour"]}
LIMITS = trade.toml("room")["limit"]
EUROPE = {"HSE, United Kingdom", "AGS, Germany", "European Union"}


@pytest.mark.parametrize(
    "row", LIMITS, ids=lambda row: f"{row['vapour']} {row['by']} {row['kind']}"
)
def test_ppm_and_milligrams_are_one_limit(row):
    celsius = 20.0 if row["by"] in EUROPE else 25.0
    computed = mg_m3(row["ppm"], molar_mass_g_mol(FORMULA[row["vapour"]]), celsius)
    assert computed == pytest.approx(row["mg_m3"], rel=0.051)  # regulators round to two figures


@pytest.mark.parametrize(
    ("vapour", "factor"),
    [("iodine", 10.38), ("sulfur dioxide", 2.62), ("acetone", 2.38), ("alcohol", 1.89)],
)
def test_conversion_factors(vapour, factor):
    assert mg_m3(1.0, molar_mass_g_mol(FORMULA[vapour])) == pytest.approx(factor, rel=4e-3)


@pytest.mark.parametrize(
    ("changes", "two_nines", "three_nines"),
    [
        (2, 138, 207), (4, 69, 104), (6, 46, 69), (8, 35, 52), (10, 28, 41), (12, 23, 35),
        (15, 18, 28), (20, 14, 21), (50, 6, 8),
    ],
)  # fmt: skip
def test_minutes_to_clear_a_room(changes, two_nines, three_nines):
    assert minutes_to_air(1.0, 0.01, changes) == pytest.approx(two_nines, abs=0.6)
    assert minutes_to_air(1.0, 0.001, changes) == pytest.approx(three_nines, abs=0.6)


@pytest.mark.parametrize(
    ("changes", "minutes", "share"), [(1.0, 20.0, 0.2835), (4.0, 40.0, 0.2326)]
)
def test_the_box_model(changes, minutes, share):
    # source over volume of one an hour
    got = room_mg_m3(1.0 / 3600.0, minutes * 60.0, 1.0, changes)
    assert got == pytest.approx(share, abs=2e-4)


@pytest.mark.parametrize(
    ("celsius", "grams"), [(0.0, 4.85), (10.0, 9.40), (20.0, 17.3), (25.0, 23.0), (30.0, 30.4)]
)
def test_saturated_air(celsius, grams):
    assert water_g_m3(celsius, 100.0) == pytest.approx(grams, rel=5e-3)


@pytest.mark.parametrize(("celsius", "rh"), [(15, 80), (20, 20), (20, 50), (25, 60), (30, 30)])
def test_a_drying_film_is_at_the_wet_bulb(celsius, rh):
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    wet = psychrolib.GetTWetBulbFromRelHum(celsius, rh / 100.0, 101325.0)
    minutes = float(drying_minutes(celsius, rh, 100.0, 5.0))
    watts = 100e-6 * 998.0 * 2.45e6 / (minutes * 60.0)
    assert celsius - watts / 5.0 == pytest.approx(wet, abs=0.8)
