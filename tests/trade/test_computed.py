"""Every fact that is called computed is computed again: here, or by the builder that it names."""

import math
import re
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from argentry import trade
from argentry.needs.coat import coat_candidates
from argentry.needs.coat_view import look
from argentry.physics.coat.coat_colour import coat_lab
from argentry.physics.lights.bands import broad_band, exposure_band, luminous_band
from argentry.physics.lights.light import on_plane
from argentry.physics.lights.sky import Atmosphere, clear_sky

ROOT = Path(__file__).resolve().parents[2]
BUILDER = re.compile(r"builders/\w+\.py")

# IUPAC standard atomic weights, abridged (2021): https://iupac.qmul.ac.uk/AtWt/
H, O, NA, CL, AG, I, AU = 1.008, 15.999, 22.990, 35.45, 107.87, 126.90, 196.97
WATER = 2 * H + O
QUARTER = 3.25 * 4.25 * 2.54**2  # cm2


def fresnel(index, surfaces):
    """What plain surfaces leave of light that falls on them squarely."""
    return (1.0 - ((index - 1.0) / (index + 1.0)) ** 2) ** surfaces


def sunlight(band, height=60.0):
    """Light of a clear sky on a plane square to the sun."""
    at = np.array([height])
    light = clear_sky(at, np.ones(1), band, Atmosphere())
    return float(on_plane(light, at, "sun", albedo=trade.value("light", "ground_albedo"))[0])


def clear_days_of_the_table():
    columns = trade.table("okta_sky").columns
    return columns["beam_mean"][1] / columns["beam_mean"][0]


def covered_hours():
    """Tenth, median and ninetieth percentile of global light under eight oktas, over cloudless."""
    columns = trade.table("okta_sky").columns
    return [columns[f"global_p{n}"][8] / columns["global_mean"][0] for n in (10, 50, 90)]


def violet_per_klx(light):
    """Irradiance of 360 to 430 nm per 1000 lx of a CIE illuminant."""
    eye, lamp = (trade.table(name).columns for name in ("cie_observer_1931", light))
    wave, power = lamp["wavelength_nm"], lamp["relative_power"]
    at = eye["wavelength_nm"]
    lux = 683.0 * np.trapezoid(np.interp(at, wave, power) * eye["y_bar"], at)
    violet = np.arange(360.0, 430.5)
    return 1000.0 * np.trapezoid(np.interp(violet, wave, power, left=0.0), violet) / lux


def alike_in_all_pictures():
    """Share of a coat's variance that goes once the lossy layer is known, over 20 to 30 nm."""
    free = look()
    layer = {f"interlayer_{key}": getattr(free.layer, key) for key in ("nm", "silver", "growth_nm")}
    fitted, shares = look(**layer), []
    for nm in range(20, 31, 2):
        lab = tuple(coat_lab([nm], free.light, layer=free.layer)[0])
        ends = [
            coat_candidates(lab, view, expected_nm=(nm, 0.22 * nm)).candidates[0].range_80_nm
            for view in (free, fitted)
        ]
        wide, narrow = (high - low for low, high in ends)
        shares.append(1.0 - (narrow / wide) ** 2)
    return np.mean(shares)


# fact: (computed again, how far apart they may be, as a share)
AGAIN = {
    "cloud/clear_beam_mean": (clear_days_of_the_table, 0.02),
    "cloud/haze_beam_factor": (lambda: (0.7 / 0.5) ** -1.14, 0.03),
    "development/daylight_efficacy": (
        lambda: sunlight(luminous_band()) / sunlight(broad_band()), 0.02,
    ),
    "seeing/coat_misfit": (lambda: stats.chi2.isf(0.001, 3), 0.02),
    "development/tilt_tolerance": (lambda: np.degrees(np.arccos(0.9)), 0.05),
    "exposure/reference_light": (
        lambda: 1000.0 * sunlight(exposure_band()) / sunlight(luminous_band()), 0.01,
    ),
    "exposure/reference_sun": (lambda: sunlight(luminous_band()), 0.01),
    "exposure/near_uv_transmission": (lambda: fresnel(1.52, 4), 0.01),
    "exposure/glass_single_crown": (lambda: fresnel(1.52, 2), 0.01),
    "exposure/glass_uncoated_crown": (lambda: fresnel(1.52, 4), 0.01),
    "exposure/glass_fused_silica": (lambda: fresnel(1.47, 2), 0.01),
    "exposure/glass_no_lens": (lambda: fresnel(1.0, 2), 0.0),
    "iodine/silver_iodide_molar_mass": (lambda: AG + I, 1e-4),
    "light/lens_transmission": (lambda: fresnel(1.52, 2), 0.02),  # less a little absorption
    "light/overcast_global_share": (lambda: covered_hours()[1], 0.01),
    # a range that holds four in five is 2.563 standard deviations wide
    "light/overcast_sigma": (
        lambda: math.log2(covered_hours()[2] / covered_hours()[0]) / 2.5631, 0.01,
    ),
    # ISO 15469:2004, overcast sky: the integrals over the hemisphere are 7 pi / 9 level and, on a
    # wall, pi / 6 + 4 / 9 times the zenith's luminance
    "light/sky_vertical_overcast": (lambda: (np.pi / 6 + 4 / 9) / (7 * np.pi / 9), 2e-3),
    # in eighths, of hours whose share of cloud has a variance of 0.095 (the okta_sky table)
    "cloud/forecast_sd_most": (lambda: 8 * math.sqrt(0.095) * (1 + math.sqrt(2)) / 2, 0.01),
    "materials/gold_bath": (lambda: 0.25 * QUARTER, 0.01),
    "materials/gold": (lambda: 0.25 * QUARTER * AU / (AU + 4 * CL + H + 3 * WATER), 0.01),
    "materials/tape": (lambda: 1.1 * 2 * (3.25 + 4.25) * 2.54, 0.01),
    "recipes/gold_share_acid_trihydrate": (lambda: AU / (AU + 4 * CL + H + 3 * WATER), 1e-3),
    "recipes/gold_share_acid": (lambda: AU / (AU + 4 * CL + H), 1e-3),
    "recipes/gold_share_chloride": (lambda: AU / (AU + 3 * CL), 1e-3),
    "recipes/gold_share_sodium_dihydrate": (lambda: AU / (NA + AU + 4 * CL + 2 * WATER), 1e-3),
    # AuCl4- + 4 S2O3(2-): two of the four bind the gold, two reduce it from three to one
    "recipes/thiosulfate_gold_least": (lambda: 2.0 + (3 - 1), 0.0),
    "recipes/silver_per_coat": (lambda: 1e-4 * 5.68 * 1000 * AG / (AG + I), 0.01),
    "sizes/base_plate": (lambda: QUARTER, 1e-5),
    "seeing/alike_share": (alike_in_all_pictures, 0.1),
    "seeing/violet_per_klx_tungsten": (lambda: violet_per_klx("illuminant_a"), 5e-3),
    "seeing/violet_per_klx_led": (lambda: violet_per_klx("illuminant_led"), 5e-3),
    "seeing/violet_per_klx_window": (lambda: violet_per_klx("illuminant_d65"), 5e-3),
    "seeing/violet_per_klx_overcast": (lambda: violet_per_klx("illuminant_d65"), 5e-3),
    "stock/fixing_bath": (lambda: 1000.0 / 80.0, 1e-9),
    # standard atomic weights: Na 22.990, S 32.06, O 15.999, H 1.008
    "stock/fixing_bath_anhydrous": (
        lambda: 1000.0 / 80.0 * (1.0 + 5 * 18.015 / (2 * 22.990 + 2 * 32.06 + 3 * 15.999)),
        1e-3,
    ),
}  # fmt: skip


def computed():
    return {
        f"{subject}/{key}": fact
        for subject in trade.subjects()
        for key, fact in trade.facts(subject).items()
        if fact.basis == "computed"
    }


@pytest.mark.parametrize("name", sorted(AGAIN))
def test_a_computed_fact_comes_out_again(name):
    again, share = AGAIN[name]
    assert computed()[name].value == pytest.approx(float(again()), rel=max(share, 1e-9))


def test_every_computed_fact_has_its_builder_or_is_computed_here():
    for name, fact in computed().items():
        named = BUILDER.findall(fact.source + fact.note)
        assert named or name in AGAIN, name
        for path in named:
            assert name.split("/")[1] in (ROOT / path).read_text(encoding="utf-8"), (name, path)


def test_every_computed_table_names_a_builder_that_writes_it():
    for name in trade.tables():
        head = trade.table(name).head
        if "basis: computed" in head:
            (path,) = set(BUILDER.findall(head))
            assert name in (ROOT / path).read_text(encoding="utf-8")
