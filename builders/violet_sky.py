"""Check by Monte Carlo how much diffuse violet the simple spectral model leaves out.

Run from the top of the repository (about half a minute)::

    .venv/bin/python builders/violet_sky.py

Photons are followed through a plane-parallel, well-mixed atmosphere of Rayleigh scatterers and
haze (Henyey and Greenstein, g 0.65) over a grey ground; no gas absorbs, which is right from 340 to
450 nm only. Printed: the model's diffuse light over the photons', by wavelength and sun height, its
mean over the exposure band, and the factor that makes up for it (fact violet_diffuse_factor).
"""

from __future__ import annotations

import numpy as np
import pvlib

from argentry import trade
from argentry.physics.lights.bands import exposure_band

PHOTONS, SEED = 200_000, 1
ASYMMETRY = 0.65
WAVELENGTHS = (360, 380, 400, 410, 420, 430, 440)
HEIGHTS_DEG = (70.0, 45.0, 30.0, 20.0)


def diffuse_share(
    rayleigh: float, haze: float, single: float, height_deg: float, albedo: float
) -> tuple[float, float]:
    """Direct and diffuse light on the ground, as shares of what enters the top."""
    rng = np.random.default_rng(SEED)
    depth = rayleigh + haze
    survives = (rayleigh + single * haze) / depth
    is_rayleigh = rayleigh / (rayleigh + single * haze)
    up = np.full(PHOTONS, -np.sin(np.radians(height_deg)))
    x, y = np.sqrt(1 - up**2), np.zeros(PHOTONS)
    at, weight = np.zeros(PHOTONS), np.ones(PHOTONS)  # optical depth from the top
    fresh = np.ones(PHOTONS, dtype=bool)
    direct = diffuse = 0.0
    while up.size:
        at = at + up * np.log(rng.random(up.size))
        ground = at > depth
        direct += weight[ground & fresh].sum()
        diffuse += weight[ground & ~fresh].sum()
        count = int(ground.sum())
        at[ground], weight[ground], fresh[ground] = depth, weight[ground] * albedo, False
        rise, turn = np.sqrt(rng.random(count)), 2 * np.pi * rng.random(count)
        flat = np.sqrt(1 - rise * rise)
        x[ground], y[ground], up[ground] = flat * np.cos(turn), flat * np.sin(turn), rise
        hit = (at >= 0) & ~ground
        weight[hit] *= survives
        fresh[hit] = False
        x[hit], y[hit], up[hit] = scattered(rng, x[hit], y[hit], up[hit], is_rayleigh)
        keep = (at >= 0) & (weight > 1e-3)
        x, y, up, at, weight, fresh = (a[keep] for a in (x, y, up, at, weight, fresh))
    return direct / PHOTONS, diffuse / PHOTONS


def scattered(
    rng: np.random.Generator, x: np.ndarray, y: np.ndarray, z: np.ndarray, is_rayleigh: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Turn each direction by a scattering angle drawn from the two phase functions."""
    u, turn = rng.random(x.size), 2 * np.pi * rng.random(x.size)
    q = 4 * u - 2
    root = np.cbrt(q + np.sqrt(q * q + 1))
    g = ASYMMETRY
    haze = (1 + g * g - ((1 - g * g) / (1 - g + 2 * g * u)) ** 2) / (2 * g)
    cosine = np.clip(np.where(rng.random(x.size) < is_rayleigh, root - 1 / root, haze), -1, 1)
    sine, flat = np.sqrt(1 - cosine**2), np.sqrt(np.maximum(1 - z * z, 1e-12))
    along, across = sine * np.cos(turn) / flat, sine * np.sin(turn) / flat
    return (
        along * x * z - across * y + cosine * x,
        along * y * z + across * x + cosine * y,
        -sine * np.cos(turn) * flat + cosine * z,
    )


def main() -> None:
    """Print the table and the factor."""
    aod, albedo = trade.value("light", "haze_aod500"), trade.value("light", "ground_albedo")
    band = exposure_band()
    ratios = []
    print("model over photons, diffuse light;", "height,", *WAVELENGTHS, "nm")
    for height in HEIGHTS_DEG:
        zenith = np.array([90 - height])
        mass = pvlib.atmosphere.get_relative_airmass(zenith, "kastenyoung1989")
        model = pvlib.spectrum.spectrl2(
            zenith, zenith, 0, albedo, 101_300, mass, 1.42, 0.34, aod, dayofyear=94
        )
        row, weights = [], []
        for nm in WAVELENGTHS:
            i = int(np.flatnonzero(model["wavelength"] == nm)[0])
            um = nm / 1000
            rayleigh = 1 / (um**4 * (115.6406 - 1.3366 / um**2))
            haze = aod * (um / 0.5) ** -trade.value("light", "angstrom_exponent")
            single = 0.945 * np.exp(-0.095 * np.log(um / 0.4) ** 2)
            _, photons = diffuse_share(rayleigh, haze, single, height, albedo)
            wanted = model["dni_extra"][i, 0] * np.sin(np.radians(height)) * photons
            row.append(model["dhi"][i, 0] / wanted)
            weights.append(np.interp(nm, band.wavelength_nm, band.weight) * wanted)
        ratios.append(np.average(row, weights=weights))
        print(f"{height:5.0f}  ", *(f"{r:.3f}" for r in row), f"  band {ratios[-1]:.3f}")
    print(f"factor {1 / np.mean(ratios):.3f}, by height", *(f"{1 / r:.3f}" for r in ratios))


if __name__ == "__main__":
    main()
