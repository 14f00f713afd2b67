"""Plates under the red filter while they ripen, by laws that the judge does not know.

A tone e stops off the middle one rises by the dose times a power of its light. Two laws: one in
which grains show as the dose passes the threshold of each, those lying about the middle by a bell
of its logarithm; one that waits and then runs out exponentially. Shadows veil late. The sun drifts
and clouds pass, so the light behind the filter changes and with it the phone's exposure; what the
studio knows of the light is off by some per cent; the phone moves; the bare edge mirrors now more,
now less.
"""

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy import ndimage, special

from benchmarks.seeing import plate_other, plate_scene

MINUTES = 240


@dataclass
class Series:
    """A plate's development."""

    minutes: np.ndarray  # of each picture
    doses: np.ndarray  # as the studio believes, over the usual ripe dose
    end_minute: float
    end_dose: float  # as the studio counts
    middle: tuple  # x, y, width, height in the last picture
    pictures: list
    bare: str


def law_of(rng, kind):
    """Return the share of white by dose over the dose at which it is a half."""
    if kind == "grains":
        wide = rng.uniform(0.6, 1.0)
        return lambda h: special.ndtr(np.log(np.maximum(h, 1e-9)) / wide)
    wait = rng.uniform(0.05, 0.3)
    return lambda h: 1 - np.exp(-np.log(2) * np.maximum(h - wait, 0) / (1 - wait))


def sunlight(rng):
    """Return the light behind the filter by minute, of mean about 1, and as it is believed."""
    t = np.arange(MINUTES)
    high = np.cos((t - rng.uniform(0, 200)) / 240)
    cloud = ndimage.gaussian_filter(rng.normal(0, 1, MINUTES), rng.uniform(3, 15))
    cloud = cloud / cloud.std() * rng.uniform(0.05, 0.45)
    light = np.clip(high, 0.3, None) * np.exp(np.minimum(cloud, 0.25))
    known = light * np.exp(ndimage.gaussian_filter(rng.normal(0, 1, MINUTES), 20) * 0.4)
    return light, known * np.exp(rng.normal(0, 0.08))


def looks_at(rng, dose, end_dose, by_hand, until):
    """Return the minutes of the pictures, the last at about a share `until` of the end."""
    stop = int(np.searchsorted(dose, until * end_dose))
    times = np.arange(30, MINUTES, 30) if by_hand else np.arange(20, MINUTES, 10)
    times = times + rng.integers(-2, 3, times.size)
    return np.concatenate([[1], times[times <= stop]])  # the first when the frame goes out


def series(seed, *, other=False, by_hand=False, until=0.8):
    """Return the pictures of a plate up to a share of its end."""
    rng = np.random.default_rng([seed, 88, int(other), int(by_hand)])
    high, wide = 360, 500
    if other:
        y, x = np.mgrid[0:high, 0:wide]
        stops = plate_other.sitter(rng, x / wide, y / high) / 0.301
        middle = (0.45 * wide, 0.36 * high, 0.1 * wide, 0.12 * high)
    else:
        light = np.clip(plate_scene.tones(rng, high, wide), 0.02, 1)
        stops = np.log2(light)
        middle = (0.2 * wide, 0.12 * high, 0.5 * wide, 0.2 * high)
    a, b, w, h = (round(one) for one in middle)
    stops = stops - np.median(stops[b : b + h, a : a + w])
    law = law_of(rng, "waits" if other else "grains")
    power = rng.uniform(0.5, 0.9)
    light, known = sunlight(rng)
    dose, believed = np.cumsum(light) / 60, np.cumsum(known) / 60
    end_dose = min(np.exp(rng.normal(0, 0.35)) * 1.2, 0.75 * dose[-1])
    end_minute = float(np.interp(end_dose, dose, np.arange(MINUTES)))
    times = looks_at(rng, dose, end_dose, by_hand, until)
    coat, white = rng.uniform(0.45, 0.8), rng.uniform(0.3, 0.9)
    gain = rng.uniform(0.25, 0.4)
    grain = 1 + 0.01 * rng.normal(0, 1, (high, wide))
    strip = round(0.06 * high)
    pictures = []
    for k in times:
        share = law(dose[k] / end_dose * 2.0 ** (power * stops))
        veil = 0.12 * (dose[k] / (2.5 * end_dose)) ** 2
        plate = (coat + white * (share + veil * (1 - share))) * grain
        plate[-strip:] = np.exp(rng.normal(0, 0.02))
        pictures.append(_photograph(rng, plate, light[k] ** 0.3 * gain, other))
    at = _place(high, wide)
    usual = 1.2  # the dose that the studio expects
    return Series(
        times.astype(float), believed[times] / usual, end_minute,
        float(np.interp(end_minute, np.arange(MINUTES), believed)) / usual,
        (a + at[0], b + at[1], w, h), pictures, "bottom",
    )  # fmt: skip


def _place(high, wide):
    return 0.17 * wide, 0.17 * high


def _photograph(rng, plate, gain, other):
    """Return an upright picture through the red filter, the plate near the middle of the frame."""
    high, wide = plate.shape
    left, top = _place(high, wide)
    size = round(high + 2 * top), round(wide + 2 * left)
    lean, zoom = np.radians(rng.normal(0, 0.7)), 1 + rng.normal(0, 0.01)
    y, x = np.mgrid[0 : size[0], 0 : size[1]].astype(float)
    cx, cy = size[1] / 2 + rng.normal(0, 4), size[0] / 2 + rng.normal(0, 4)
    u = ((x - cx) * np.cos(lean) + (y - cy) * np.sin(lean)) / zoom + wide / 2
    v = ((y - cy) * np.cos(lean) - (x - cx) * np.sin(lean)) / zoom + high / 2
    inside = (u >= 0) & (u < wide) & (v >= 0) & (v < high)
    shown = np.where(inside, ndimage.map_coordinates(plate, [v, u], order=1, mode="nearest"), 0.04)
    shown = shown * (1 + rng.normal(0, 0.03) * (x / size[1] - 0.5)) * gain
    shown = ndimage.gaussian_filter(shown, 0.7)
    shown += rng.normal(0, 1, size) * np.sqrt(1e-6 + 6e-5 * np.maximum(shown, 0))
    if other:
        shown = shown * (1 + shown / 2.2) / (1 + 0.42 * shown)
    red = np.clip(shown, 0, 1) ** (1 / (2.2 if other else 2.3))
    rgb = np.stack([red, 0.12 * red, 0.05 * red], axis=-1)
    out = io.BytesIO()
    Image.fromarray((255 * rgb + 0.5).astype("uint8")).save(out, "JPEG", quality=92)
    return out.getvalue()
