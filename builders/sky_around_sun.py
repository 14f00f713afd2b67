"""Derive how much of the clear sky's light comes from around the sun, band by band.

Run from anywhere: ``python builders/sky_around_sun.py`` (pvlib carries the standard's table); with
``--check`` it ends with 1 unless `trade/data/light.toml` holds what comes out. The yardstick is the
tilted plane of ASTM G173-03 (SMARTS, 37 degrees of tilt, air mass 1.5), which faces the sun. The
violet sky, taken as even, meets it within a hundredth already (fact violet_diffuse_factor).
"""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np
import pvlib

from argentry import trade
from argentry.physics.lights import bands, sky
from argentry.physics.lights.light import sky_on_tilt

HEIGHT_DEG, TILT_DEG, AOD = 90.0 - 48.19, 37.0, 0.084  # the standard's conditions
ALBEDO = 0.2


def on_the_tilt(band: bands.Band) -> float:
    """The sky's and the ground's light on the standard's plane, by the model. [W/m2 or lx]."""
    height = np.array([HEIGHT_DEG])
    light = sky.clear_sky(height, np.ones(1), band, sky.Atmosphere(101_325.0, AOD, ALBEDO))
    sine = np.sin(np.radians(height))
    beam, diffuse = light.beam_normal_w_m2, light.diffuse_horizontal_w_m2
    cos_tilt = float(np.cos(np.radians(TILT_DEG)))
    seen = sky_on_tilt(
        beam * light.around_sun_per_beam,
        sine,
        cos_incidence=float(np.cos(np.radians(90.0 - HEIGHT_DEG - TILT_DEG))),
        cos_tilt=cos_tilt,
    )
    ground = ALBEDO * (0.5 - 0.5 * cos_tilt) * (beam * sine + diffuse)
    return float((diffuse * seen + ground)[0])


def standard(band: bands.Band) -> float:
    """The same by the standard: all light on the tilt less the beam. [W/m2 or lx]."""
    table = pvlib.spectrum.get_reference_spectra()
    weights = bands.band_weights(band, table.index.to_numpy(dtype=float))
    direct, everything = (table[one].to_numpy() @ weights for one in ("direct", "global"))
    return float(everything - np.cos(np.radians(90.0 - HEIGHT_DEG - TILT_DEG)) * direct)


def share(band: bands.Band) -> float:
    """The band's share: the model's light is a straight line in it. [1]."""
    even, full = (on_the_tilt(replace(band, around_sun=one)) for one in (0.0, 1.0))
    return (standard(band) - even) / (full - even)


def expected() -> dict[str, float]:
    """The facts, rounded as they are written."""
    red = bands.development_band(trade.value("light", "filter_cut_on"))
    return {
        "red_around_sun": round(share(red), 2),
        "lux_around_sun": round(share(bands.luminous_band()), 2),
    }


def main() -> int:
    """Print what comes out; compare with the data when asked."""
    wanted = expected()
    wrong = False
    for key, value in wanted.items():
        have = trade.value("light", key)
        wrong = wrong or have != value
        print(f"{key} {value:g}" + ("" if have == value else f"   <- trade/data has {have:g}"))
    return int("--check" in sys.argv and wrong)


if __name__ == "__main__":
    raise SystemExit(main())
