"""Colour of coats against an independent CIE implementation.

Source: the package colour-science 0.4.7 (its own CIE tables, CIELAB, CIEDE2000, Bradford, and the
filters of a camera as the National Physical Laboratory measured them).
"""

import warnings

import numpy as np
import pytest

from argentry import trade
from argentry.physics.coat import camera, colour, film

NAMES = {"D65": "D65", "A": "A", "LED": "LED-B3"}
OBSERVER = "CIE 1931 2 Degree Standard Observer"
THICKNESS = np.array([0.0, 20.0, 35.0, 45.0, 70.0, 115.0, 148.0, 194.0, 250.0])


def library_xyz(library, wavelength, values, light, step):
    shape = library.SpectralShape(380, 780, step)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return library.sd_to_XYZ(
            library.SpectralDistribution(dict(zip(wavelength, values, strict=True))).align(shape),
            cmfs=library.MSDS_CMFS[OBSERVER].copy().align(shape),
            illuminant=library.SDS_ILLUMINANTS[light].copy().align(shape),
            method="Integration",
        )


@pytest.fixture(scope="module")
def library():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


@pytest.mark.parametrize("name", NAMES)
def test_xyz_every_5_nm_agrees_to_the_last_figures(library, name):
    light = colour.light(name)
    spectra = film.reflectance(colour.WAVELENGTH_NM, THICKNESS)
    want = [library_xyz(library, colour.WAVELENGTH_NM, row, NAMES[name], 5) for row in spectra]
    assert np.abs(colour.xyz(spectra, light) - want).max() < 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_xyz_every_1_nm_is_no_other_colour(library, name):
    light = colour.light(name)
    fine = np.arange(380.0, 781.0)
    white = library_xyz(library, fine, np.ones(401), NAMES[name], 1)
    for thickness in THICKNESS[1::2]:
        spectrum = film.reflectance(fine, thickness)[0]
        want = colour.lab(library_xyz(library, fine, spectrum, NAMES[name], 1), white)
        coarse = film.reflectance(colour.WAVELENGTH_NM, thickness)
        got = colour.lab(colour.xyz(coarse, light), colour.white(light))[0]
        assert float(colour.delta_e_2000(got, want)) < 0.1


@pytest.mark.parametrize(
    ("name", "x", "y"),
    # White points of ISO/CIE 11664-2 (D65, A) and CIE 015:2018 (LED-B3), recalled.
    [("D65", 0.31272, 0.32903), ("A", 0.44758, 0.40745), ("LED", 0.3756, 0.3723)],
)
def test_published_white_points(name, x, y):
    white = colour.white(colour.light(name))
    assert white[:2] / white.sum() == pytest.approx([x, y], abs=1e-4)


def test_cielab(library):
    rng = np.random.default_rng(4)
    xyz = rng.uniform(0.1, 100, (200, 3))
    white = np.array([95.047, 100.0, 108.883])
    xy = library.XYZ_to_xy(white)
    want = library.XYZ_to_Lab(xyz / 100, xy)
    assert np.abs(colour.lab(xyz, white) - want).max() < 1e-9


def test_ciede2000(library):
    rng = np.random.default_rng(5)
    first, second = rng.uniform([0, -80, -80], [100, 80, 80], (2, 500, 3))
    want = library.difference.delta_E_CIE2000(first, second)
    assert np.abs(colour.delta_e_2000(first, second) - want).max() < 1e-9


def test_ciede2000_of_exactly_opposite_hues(library):
    """A turn of 180 degrees goes forward, whichever colour is named first."""
    first = np.array([[50.0, -40.0, 5.0], [50.0, -30.0, 15.0], [50.0, -60.0, 20.0]])
    second = first * [1.0, -2.0, -2.0]
    want = library.difference.delta_E_CIE2000(first, second)
    assert colour.delta_e_2000(first, second) == pytest.approx(want, abs=1e-6)
    assert colour.delta_e_2000(second, first) == pytest.approx(want, abs=1e-6)


def test_srgb_with_bradford(library):
    light = colour.light("A")
    xyz = colour.xyz(film.reflectance(colour.WAVELENGTH_NM, THICKNESS), light)
    white = colour.white(light)
    want = library.XYZ_to_sRGB(
        xyz / 100, library.XYZ_to_xy(white), chromatic_adaptation_transform="Bradford"
    )
    got = colour.srgb(xyz, white)
    assert np.abs(got - np.clip(want, 0, 1)).max() < 1.5e-3  # a third of one step of 255


@pytest.mark.parametrize("name", NAMES)
def test_coats_in_a_measured_camera_lie_within_the_doubt_of_cameras(library, name):
    light, nm = colour.light(name), np.array([10.0, 20.0, 25.0, 30.0, 40.0, 50.0])
    shape = library.SpectralShape(380, 780, 5)
    filters = library.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"].copy().align(shape).values
    filters = np.clip(filters / filters.max(axis=0), 0.0, None)
    spectra = film.reflectance(colour.WAVELENGTH_NM, np.append(0.0, nm))
    by_eye = np.eye(colour.WAVELENGTH_NM.size)  # a matrix for daylight, fitted to every wavelength
    day = colour.light("D65")
    raw = filters * day.power[:, None]
    wanted = colour.linear_srgb(colour.xyz(by_eye, day), colour.white(day))
    smooth = np.cos(np.outer(np.linspace(0, np.pi, by_eye.shape[0]), np.arange(7))) / 2 + 0.5
    matrix = np.linalg.lstsq(smooth.T @ (raw / raw.sum(axis=0)), smooth.T @ wanted, rcond=None)[0]
    weights = filters * light.power[:, None]
    seen = spectra @ (weights / weights.sum(axis=0)) @ (matrix / matrix.sum(axis=0))
    off = np.log(seen[1:] / seen[0]) - np.log(camera.beside_silver(nm, light))
    sd = np.sqrt(np.diagonal(camera.camera_doubt(nm, light), axis1=1, axis2=2))
    assert np.abs(off / np.hypot(sd, trade.value("seeing", "chroma_sd"))).max() < 1.5
    assert sd.max() < 0.25
