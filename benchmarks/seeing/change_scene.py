"""Two pictures of one plate, unchanged, gilded, with changed areas, or both; of two builds.

The first build draws shapes and texture, photographs the plate by its own camera, leaning, under a
light that falls off, at two sizes and either way up; a changed area is a round stain. The second
takes the portrait and the phone of `plate_other`; its gilding is a curve and a mixing of colours,
its areas have ragged outlines.
"""

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy import ndimage

from benchmarks.seeing import plate_other
from benchmarks.seeing.plate_scene import GREYS, tones
from benchmarks.seeing.scene import curve

KINDS = ("same", "whole", "areas", "both")
FADING = "fading"  # one stain without a border
LONG_MM = 108.0  # of a quarter plate


@dataclass
class ChangeTruth:
    """What was drawn; places in pixels of the picture before."""

    grey_before: tuple
    grey_after: tuple
    densities: tuple
    onto: object  # from places in the picture before to those in the picture after
    inside: np.ndarray  # some places on the plate
    areas: list  # x, y, diameter, delta in log


def leaning(rng, rgb, size, half_turn):
    """Return the bytes of a picture of a leaning plate, the ends of its greys, where places go."""
    width, height = size
    high, wide = rgb.shape[:2]
    fill = rng.uniform(0.6, 0.68) * min(width / wide, height / high)
    lean = np.radians(rng.normal(0, 1.5) + 180.0 * half_turn)
    spin = fill * np.array([[np.cos(lean), -np.sin(lean)], [np.sin(lean), np.cos(lean)]])
    middle = np.array([0.5 * width, 0.44 * height]) + rng.normal(0, 8, 2)
    tilt = rng.normal(0, 8e-6, 2)
    turn = np.eye(3)
    turn[:2, :2], turn[:2, 2] = spin, middle - spin @ [wide / 2, high / 2]
    turn = np.array([[1, 0, 0], [0, 1, 0], [tilt[0], tilt[1], 1 - tilt @ middle]]) @ turn

    def placed(points):
        found = np.c_[np.atleast_2d(points), np.ones(len(np.atleast_2d(points)))] @ turn.T
        return found[:, :2] / found[:, 2:]

    back = np.linalg.inv(turn)
    y, x = np.mgrid[0:height, 0:width]
    own = np.stack([x, y, np.ones_like(x)], axis=-1) @ back.T
    at = own[..., :2] / own[..., 2:]
    on = ((at > -0.5) & (at < [wide - 0.5, high - 0.5])).all(axis=2)
    soft = ndimage.gaussian_filter(rgb, (0.35 / fill, 0.35 / fill, 0)) if fill < 1 else rgb
    shown = np.stack([
        ndimage.map_coordinates(soft[..., i], [at[..., 1], at[..., 0]], order=1, mode="nearest")
        for i in range(3)
    ], axis=-1)  # fmt: skip
    picture = np.where(on[..., None], shown, rng.uniform(0.003, 0.006))
    row, pitch = 0.9 * height, 0.84 * width / (len(GREYS) - 1)
    for k, one in enumerate(GREYS):
        here = 0.08 * width + k * pitch
        picture[
            round(row - 0.04 * height) : round(row + 0.04 * height),
            round(here - pitch / 2) : round(here + pitch / 2),
        ] = 10.0**-one
    fall = rng.uniform(-0.08, 0.08, 2)
    picture = (
        picture * np.exp(fall[0] * (x / width - 0.5) + fall[1] * (y / height - 0.5))[..., None]
    )
    picture = (
        ndimage.gaussian_filter(picture, (0.7, 0.7, 0)) * np.exp(rng.normal(0, 0.06, 3)) * 0.85
    )
    picture += rng.normal(0, 1, picture.shape) * np.sqrt(2e-6 + 4e-5 * np.maximum(picture, 0))
    out = io.BytesIO()
    values = (255 * curve(np.clip(picture, 0, 1), rng.uniform(-0.02, 0.06)) + 0.5).astype("uint8")
    Image.fromarray(values).save(out, "JPEG", quality=int(rng.integers(88, 97)))
    return out.getvalue(), (0.08 * width, row, 0.92 * width, row), placed


def places(rng, count, high, wide, mm):
    """Return middles and diameters of areas that do not meet: 2 to 9 mm."""
    made = []
    while len(made) < count:
        d = rng.uniform(2.0, 9.0) * mm
        x, y = rng.uniform(0.06, 0.94) * wide, rng.uniform(0.06, 0.94) * high
        near = min(x, y, wide - x, high - y) < d / 2 + 0.02 * high
        if not near and all(np.hypot(x - a, y - b) > (d + c) / 2 + 3 * mm for a, b, c in made):
            made.append((x, y, d))
    return made


def fading(rng, rgb, way):
    """Return a plate with one stain that fades slowly, and its middle and twice its spread."""
    high, wide = rgb.shape[:2]
    y, x = np.mgrid[0:high, 0:wide]
    spread = rng.uniform(0.06, 0.15) * high
    cx, cy = rng.uniform(0.15, 0.85) * wide, rng.uniform(0.15, 0.85) * high
    stain = np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / (2 * spread**2))
    return rgb * np.exp(stain[..., None] * way), [(cx, cy, 2 * spread)]


STAINS = np.array([[-0.5, -0.5, -0.5], [0.35, 0.3, 0.25], [0.0, -0.2, -0.5], [-0.4, -0.2, 0.2]])


def first_build(rng, kind, high, wide):
    """Return a plate before and after, and its areas."""
    tone = tones(rng, high, wide)
    share = 0.016 + 0.4 * tone**1.5
    before = share[..., None] * np.array([1.0, rng.uniform(0.97, 1.0), rng.uniform(0.95, 1.05)])
    after, areas, mm = before.copy(), [], max(high, wide) / LONG_MM
    if kind in ("whole", "both"):
        lift = rng.uniform(0.12, 0.3)
        after = after * (0.92 + lift * (share / 0.4))[..., None]
        after = after * np.array([rng.uniform(1.03, 1.08), 1.0, rng.uniform(0.82, 0.9)])
    if kind in ("areas", "both"):
        y, x = np.mgrid[0:high, 0:wide]
        for cx, cy, d in places(rng, int(rng.integers(1, 5)), high, wide, mm):
            disc = 1 / (1 + np.exp(np.clip((np.hypot(x - cx, y - cy) - d / 2) / 0.8, -50, 50)))
            stain = STAINS[rng.integers(4)] * rng.uniform(0.7, 1.2)
            after = after * np.exp(disc[..., None] * stain)
            areas.append((cx, cy, d))
    if kind == FADING:
        after, areas = fading(rng, after, STAINS[rng.integers(4)] * rng.uniform(0.7, 1.2))
    return before, after, areas


def second_build(rng, kind, high, wide):
    """Return a plate before and after, and its areas."""
    before = plate_other.plate_of(rng, (), high, wide)[0]
    after, areas, mm = before.copy(), [], max(high, wide) / LONG_MM
    if kind in ("whole", "both"):
        after = 0.55 * (after / 0.55) ** rng.uniform(1.1, 1.25) * rng.uniform(1.05, 1.2)
        warm = rng.uniform(0.05, 0.12)
        after = after @ np.array(
            [[1 + warm / 2, 0, 0], [warm / 3, 1, 0], [0, 0.3 * warm, 1 - 1.3 * warm]]
        )
    if kind in ("areas", "both"):
        y, x = np.mgrid[0:high, 0:wide]
        for cx, cy, d in places(rng, int(rng.integers(1, 5)), high, wide, mm):
            ragged = d / 2 * (1 + 0.12 * plate_other.clouds(rng, (high, wide), 1.5))
            blot = np.clip((ragged - np.hypot(x - cx, (y - cy) * rng.uniform(0.85, 1.2))) / 2, 0, 1)
            way = rng.normal(0, 1, 3) + rng.choice([-1.2, 1.2])
            way *= rng.uniform(0.3, 0.6) / np.abs(way).max()
            after = after * np.exp(blot[..., None] * way)
            areas.append((cx, cy, d))
    if kind == FADING:
        way = rng.normal(0, 1, 3) + rng.choice([-1.2, 1.2])
        after, areas = fading(rng, after, way * rng.uniform(0.3, 0.6) / np.abs(way).max())
    return before, after, areas


def half_turned(placed, wide, high):
    """Return where places go when the plate lies the other way up."""
    return lambda points: placed([wide - 1, high - 1] - np.atleast_2d(points))


def change_scene(seed, kind, other=False, size=(1300, 1000), turned=None):
    """Return the bytes of a picture before and of one after, and the truth."""
    rng = np.random.default_rng([seed, 20261130, (*KINDS, FADING).index(kind), int(other)])
    width, height = size
    wide, high = round(0.66 * width), round(0.64 * height)
    make = second_build if other else first_build
    before, after, areas = make(rng, kind, high, wide)
    pictures = []
    half_turn = bool(rng.random() < 0.3) if turned is None else turned
    for k, rgb in enumerate((before, after)):
        large = size if k == 0 else tuple(round(rng.uniform(0.95, 1.3) * one) for one in size)
        if other:
            own, over = np.random.default_rng([seed, 5, k]), bool(k and half_turn)
            laid = rgb[::-1, ::-1] if over else rgb
            content, greys, _, placed = plate_other.photograph(own, laid, large)
            pictures.append((content, greys, half_turned(placed, wide, high) if over else placed))
        else:
            pictures.append(leaning(rng, rgb, large, bool(k and half_turn)))
    (first, grey, placed), (second, grey_after, onto) = pictures
    u, v = np.meshgrid(np.linspace(0.02, 0.98, 9), np.linspace(0.02, 0.98, 9))
    some = np.stack([u.ravel() * wide, v.ravel() * high], axis=1)
    scale = np.hypot(*(placed([wide, 0]) - placed([0, 0]))[0]) / wide
    return first, second, ChangeTruth(
        grey, grey_after, plate_other.DENSITIES if other else GREYS, onto(some), placed(some),
        [(*placed((x, y))[0], d * scale) for x, y, d in areas],
    )  # fmt: skip
