"""The clear sky against the Bird and Riordan model.

Sources: spectrum written by NREL's own C program ``spectrl2_2.c`` (as carried by pvlib's tests,
``spectrl2_example_spectra.csv``: zenith 47.912 degrees, air mass 1.48995, ozone 0.344 atm-cm, water
1.42 cm, aerosol 0.1, albedo 0.2, 1013 hPa, day 75); pvlib 0.16 `spectrl2` over many atmospheres.
"""

import numpy as np
import pytest

from argentry import trade
from argentry.physics.lights import bands, sky

# wavelength [nm]: extraterrestrial, direct normal, diffuse horizontal [W/m2/um]
C_PROGRAM = {
    360: (986.434, 342.135, 202.115),
    380: (1115.715, 464.912, 216.524),
    390: (1044.959, 469.287, 197.297),
    400: (1495.066, 717.152, 274.637),
    410: (1719.664, 874.312, 307.391),
    420: (1759.186, 941.763, 306.076),
    430: (1604.333, 899.212, 271.798),
    450: (2026.643, 1225.823, 325.499),
    500: (1929.606, 1318.963, 248.514),
    550: (1912.423, 1383.861, 198.753),
    610: (1746.652, 1325.193, 146.302),
    656: (1540.450, 1243.628, 115.969),
    690: (1435.328, 1114.307, 92.266),
    860: (1009.480, 909.565, 49.128),
}
AIR = sky.Atmosphere(101_300.0, 0.1, 0.2)


def narrow(wavelength):
    """Response of 1 nm at one wavelength: the integral is the light per nm there."""
    around = np.array([wavelength - 1.0, wavelength, wavelength + 1.0])
    return bands.Band("narrow", around, np.array([0.0, 1.0, 0.0]))


@pytest.mark.parametrize("wavelength", sorted(C_PROGRAM))
def test_direct_and_diffuse_of_the_c_program(wavelength):
    import pvlib

    _, direct, diffuse = C_PROGRAM[wavelength]
    day_75 = pvlib.irradiance.get_extra_radiation(75, method="spencer", solar_constant=1)
    light = sky.clear_sky(
        np.array([90 - 47.912]), np.array([day_75]), narrow(float(wavelength)), AIR
    )
    assert 1000 * light.beam_normal_w_m2[0] == pytest.approx(direct, rel=0.003)
    assert 1000 * light.diffuse_horizontal_w_m2[0] == pytest.approx(diffuse, rel=0.004)


def pvlib_bands(elevation, air, asked):
    import pvlib

    zenith = 90.0 - elevation
    spectrum = pvlib.spectrum.spectrl2(
        apparent_zenith=zenith,
        aoi=zenith,
        surface_tilt=0,
        ground_albedo=air.albedo,
        surface_pressure=air.pressure_pa,
        relative_airmass=pvlib.atmosphere.get_relative_airmass(zenith, "kastenyoung1989"),
        precipitable_water=trade.value("light", "precipitable_water"),
        ozone=trade.value("light", "ozone"),
        aerosol_turbidity_500nm=air.aod500,
        dayofyear=100,
    )
    distance = pvlib.irradiance.get_extra_radiation(100, method="spencer", solar_constant=1)
    for band in asked:
        weights = bands.band_weights(band, spectrum["wavelength"]) / distance
        yield weights @ spectrum["dni"], weights @ spectrum["dhi"]


@pytest.mark.parametrize("seed", range(12))
def test_table_follows_pvlib_in_any_air(seed):
    rng = np.random.default_rng(seed)
    air = sky.Atmosphere(rng.uniform(5e4, 1.05e5), rng.uniform(0, 0.6), rng.uniform(0, 0.9))
    elevation = np.linspace(2.0, 90.0, 400)
    asked = (
        bands.exposure_band(violet_correction=False),
        bands.development_band(590.0),
        bands.luminous_band(),
        bands.broad_band(),
    )
    for band, (beam, diffuse) in zip(asked, pvlib_bands(elevation, air, asked), strict=True):
        light = sky.clear_sky(elevation, np.ones(400), band, air)
        assert light.beam_normal_w_m2 == pytest.approx(beam, rel=0.005)
        over = elevation > sky.TWILIGHT_BELOW_DEG  # below it: test_twilight
        assert light.diffuse_horizontal_w_m2[over] == pytest.approx(diffuse[over], rel=0.005)
