"""Write trade/tables/sky_bands.npz: the clear sky's spectrum by sun height, haze and air pressure.

Run from the top of the repository with the packages installed::

    .venv/bin/python builders/sky_bands.py

pvlib's spectrl2 (Bird and Riordan 1984, as in NREL's C code) is called as it stands; nothing of it
is written again. What the table holds is chosen so that it stays small and yet says the same:

- the logarithm of the beam is a straight line in haze, so it is kept for no haze, with its slope;
- the diffuse light over a black ground, divided by the sine of the sun's height, is smooth;
- light thrown up by the ground and back by the sky follows from the sky's reflectivity
  (equation 3-7 of the report), which is recovered from two runs over grey grounds.

Nodes are Chebyshev points, read by Lagrange interpolation (see physics/lights/sky.py). Running this
again with the same pvlib writes the same numbers.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pvlib

from argentry import trade

OUT = Path(__file__).resolve().parents[1] / "src" / "argentry" / "trade" / "tables"
DAY_OF_YEAR = 94  # any day; the earth's distance is divided out again
AOD_NODES, PRESSURE_NODES, ELEVATION_NODES = 9, 4, 33
HIGHEST_AOD = 1.2
PRESSURE_PA = (45_000.0, 108_000.0)  # about 6300 m up, and the Dead Sea's shore
AOD_STRETCH = 0.03  # nodes crowd near clean air: Chebyshev points in ln(aod + this)
ELEVATION_STRETCH_DEG = 3.0  # nodes crowd near the horizon: even in ln(elevation + this)


def chebyshev(low: float, high: float, count: int) -> np.ndarray:
    """Chebyshev points of the first kind between `low` and `high`, rising."""
    angle = (2 * np.arange(count)[::-1] + 1) * np.pi / (2 * count)
    return low + (high - low) * (1 + np.cos(angle)) / 2


def spectrum(elevation: np.ndarray, aod: float, pressure: float, albedo: float) -> tuple:
    """Beam and diffuse light (wavelength, elevation), and the sun's beyond the air (wavelength,).

    All at the earth's mean distance.
    """
    zenith = 90.0 - elevation
    out = pvlib.spectrum.spectrl2(
        apparent_zenith=zenith,
        aoi=zenith,
        surface_tilt=0,
        ground_albedo=albedo,
        surface_pressure=pressure,
        relative_airmass=pvlib.atmosphere.get_relative_airmass(zenith, "kastenyoung1989"),
        precipitable_water=trade.value("light", "precipitable_water"),
        ozone=trade.value("light", "ozone"),
        aerosol_turbidity_500nm=aod,
        dayofyear=DAY_OF_YEAR,
        alpha=trade.value("light", "angstrom_exponent"),
    )
    distance = pvlib.irradiance.get_extra_radiation(DAY_OF_YEAR, method="spencer", solar_constant=1)
    beyond = out["dni_extra"][:, 0] / distance
    return out["wavelength"], out["dni"] / distance, out["dhi"] / distance, beyond


def build() -> dict[str, np.ndarray]:
    """Compute every array of the table."""
    stretch = chebyshev(
        np.log(ELEVATION_STRETCH_DEG), np.log(90 + ELEVATION_STRETCH_DEG), ELEVATION_NODES
    )
    elevation = np.exp(stretch) - ELEVATION_STRETCH_DEG
    sine = np.sin(np.radians(elevation))
    haze = chebyshev(np.log(AOD_STRETCH), np.log(HIGHEST_AOD + AOD_STRETCH), AOD_NODES)
    aods = np.exp(haze) - AOD_STRETCH
    pressures = chebyshev(*PRESSURE_PA, PRESSURE_NODES)
    wavelength, _, _, beyond = spectrum(elevation, 0.0, pressures[0], 0.0)
    shape = (AOD_NODES, PRESSURE_NODES, ELEVATION_NODES, len(wavelength))
    diffuse, reflectivity = np.empty(shape), np.empty((*shape[:2], shape[3]))
    with np.errstate(divide="ignore"):
        beam = np.stack([np.log(spectrum(elevation, 0.0, p, 0.0)[1].T) for p in pressures])
        slope = np.log(spectrum(elevation, 1.0, pressures[-1], 0.0)[1].T) - beam[-1]
    for i, aod in enumerate(aods):
        for j, pressure in enumerate(pressures):
            black = spectrum(elevation, aod, pressure, 0.0)[2]
            diffuse[i, j] = np.log(black / sine).T
            reflectivity[i, j] = sky_reflectivity(aod, pressure)
    darkest = -80.0  # e^-80 W/m2 nm: no light
    return {
        "wavelength_nm": wavelength,
        "elevation_deg": elevation,
        "elevation_stretch_deg": np.array(ELEVATION_STRETCH_DEG),
        "aod500": aods,
        "aod_stretch": np.array(AOD_STRETCH),
        "pressure_pa": pressures,
        "beam_ln": np.maximum(beam, darkest).astype(np.float32),
        "beam_ln_per_aod": slope.astype(np.float32),
        "diffuse_ln": np.maximum(diffuse, darkest).astype(np.float32),
        "reflectivity": reflectivity.astype(np.float32),
        "ground_scale": ground_scale(wavelength),
        "beyond_air": beyond,
    }


def sky_reflectivity(aod: float, pressure: float) -> np.ndarray:
    """Recover r, equation 3-8, from what two grey grounds add: gain(a) = K r a / (1 - r a)."""
    high_sun = np.array([60.0])
    wavelength, direct, black, _ = spectrum(high_sun, aod, pressure, 0.0)
    low = (spectrum(high_sun, aod, pressure, 0.4)[2] - black)[:, 0]
    high = (spectrum(high_sun, aod, pressure, 0.8)[2] - black)[:, 0]
    lit = black[:, 0] > 1e-4  # W/m2 nm: elsewhere nothing is left to divide by
    ratio = np.divide(high, 2 * low, out=np.ones_like(low), where=lit)
    r = (ratio - 1) / (0.8 * ratio - 0.4)
    # K = Cs x beam x sine of height + diffuse: the report's Cs must come out, or pvlib has changed.
    k = low[lit] * (1 - 0.4 * r[lit]) / (0.4 * r[lit])
    found = (k - black[lit, 0]) / (direct[lit, 0] * np.sin(np.radians(60.0)))
    if not np.allclose(found, ground_scale(wavelength)[lit], rtol=1e-6):
        raise SystemExit("pvlib's ground term is no longer equation 3-7 with one Cs.")
    return r


def ground_scale(wavelength_nm: np.ndarray) -> np.ndarray:
    """Cs, equation 3-17: the report's correction below 450 nm."""
    return np.where(wavelength_nm <= 450, ((wavelength_nm + 550) / 1000) ** 1.8, 1.0)


if __name__ == "__main__":
    tables = build()
    OUT.mkdir(parents=True, exist_ok=True)
    np.savez(OUT / "sky_bands.npz", **tables)
    for name, array in tables.items():
        print(f"{name:18s} {array.shape} {array.dtype} {array.min():.4g} .. {array.max():.4g}")
    print(f"{(OUT / 'sky_bands.npz').stat().st_size / 1e6:.2f} MB")
