"""Constants of nature and of the air beside CODATA, the SI and the standard atmospheres."""

import numpy as np
import pytest
from scipy import constants

from argentry.physics.baths import plating, water
from argentry.physics.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE_PA, ZERO_CELSIUS_K
from argentry.physics.lights import bands, lamp, sky, sun
from argentry.physics.room import air
from argentry.physics.vapour import evenness, room_vapour


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (GAS_CONSTANT, constants.R),
        (STANDARD_ATMOSPHERE_PA, constants.atm),
        (ZERO_CELSIUS_K, constants.zero_Celsius),
        (lamp.PLANCK, constants.h),
        (lamp.LIGHT, constants.c),
        (lamp.BOLTZMANN, constants.k),
        (plating.FARADAY, constants.physical_constants["Faraday constant"][0]),
        (evenness.GRAVITY_M_S2, constants.g),
        (bands.LUMENS_PER_WATT, constants.value("luminous efficacy")),
        (sun.DAY_MS, constants.day * 1e3),
    ],
)
def test_constants_are_those_of_codata_and_the_si(ours, theirs):
    assert ours == pytest.approx(theirs, rel=1e-9, abs=0.0)


def test_dry_air_is_that_of_the_standard_atmospheres():
    """US Standard Atmosphere 1976: 28.9644 g/mol, R* 8.31432; ISO 2533: heat 7/2 of R."""
    assert pytest.approx(8.31432 / 28.9644e-3, rel=1e-6) == air.AIR_GAS_CONSTANT
    assert pytest.approx(28.9644, abs=1e-9) == evenness.AIR_MOLAR_MASS
    assert pytest.approx(3.5 * air.AIR_GAS_CONSTANT, rel=1e-5) == air.AIR_HEAT


def test_handbook_values_stand_as_printed():
    """FAO-56 (latent heat 2.45 MJ/kg); air of 1.2 kg/m3 and 1005 J/(kg K); CRC (silver chloride).

    The Lewis number of water vapour in air, 0.88 to its power 2/3, is from memory.
    """
    assert room_vapour.EVAPORATION_J_KG == 2.45e6
    assert pytest.approx(1.2 * 1005.0) == room_vapour.VOLUME_HEAT
    assert pytest.approx(0.88 ** (2.0 / 3.0), abs=0.003) == room_vapour.LEWIS
    assert water.AGCL_DENSITY == 5.56
    assert sky.PRESSURE_RANGE_PA == (45_000.0, 108_000.0)  # 6,500 m, and the highest ever read


def test_the_epoch_of_the_almanac_is_noon_of_the_first_of_january_2000():
    assert np.datetime64("2000-01-01T12:00") == sun.NOON_2000
