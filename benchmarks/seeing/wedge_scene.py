"""Pictures of a step wedge on a plate with a grey scale beside it, by a camera of their own.

The plate's curve is made of straight pieces with rounded corners, and not of the logistic pieces
that the judge fits: a toe, a straight rise, a shoulder, and past it, on some, a turn. The steps
carry grain, dust and an uneven polish; the light falls off over the picture; the camera has flare,
noise, a tone curve and JPEG.
"""

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy import ndimage

from benchmarks.seeing.scene import curve

GREYS = tuple(0.05 + 0.1 * k for k in range(20))
GRID = np.arange(-4.0, 1.5, 0.001)


@dataclass
class WedgeTruth:
    """What was drawn; log exposures against the step with most light, which has `first`."""

    steps: int
    increment: float
    first: float
    brightest: str
    ends: tuple
    grey: tuple
    x: np.ndarray
    density: np.ndarray  # above the veil, by step, the least light first
    veil: float
    speed_point: float
    steepest: float
    latitude: float
    peak: float | None
    turns: bool
    middle: float  # log exposure at half the rise


def soft(x, width):
    """Return max(x, 0) with a rounded corner."""
    return width * np.logaddexp(0.0, x / width)


def plate_curve(rng, last, turning):
    """Density above the veil on `GRID`: toe, rise, shoulder and, perhaps, a turn before `last`."""
    gamma, rise = rng.uniform(0.8, 2.0), rng.uniform(0.7, 1.3)
    corner = rng.uniform(0.06, 0.14)
    end = last - (rng.uniform(0.45, 0.8) if turning else rng.uniform(0.3, 0.7))
    begin = end - rise / gamma
    s = gamma * (soft(GRID - begin, corner) - soft(GRID - end, corner))
    if turning:
        s = s - rng.uniform(0.4, 1.3) * soft(GRID - (end + rng.uniform(0.1, 0.2)), 0.05)
    return s


def logistic_curve(rng, last, turning):
    """Density above the veil on `GRID` as a generalised logistic less a logistic: never tuned on.

    The rise is that of F. J. Richards, Journal of Experimental Botany 10 (1959) 290-301.
    """
    rise, k, nu = rng.uniform(0.8, 1.4), rng.uniform(3.5, 7.0), np.exp(rng.normal(0, 0.3))
    middle = last - rng.uniform(1.2, 1.7)
    s = rise * (1.0 + np.exp(-k * (GRID - middle))) ** (-1.0 / nu)
    if turning:
        away, width = rng.uniform(0.8, 1.3), rng.uniform(0.08, 0.2)
        s = s - rng.uniform(0.2, 0.6) / (1.0 + np.exp(-(GRID - middle - away) / width))
    return s


def other_wedge_scene(seed, **more):
    """Return what `wedge_scene` returns, of another build: curve, camera, light."""
    return wedge_scene(seed, other=True, **more)


def wedge_scene(
    seed, *, turning=None, scale=True, short=False, blown=0.0, size=(1500, 1000), other=False
):
    """Return the bytes of a JPEG and its truth."""
    rng = np.random.default_rng([seed, 20261128, 11 if other else 3])
    steps, increment = ((21, 0.15), (11, 0.30))[rng.integers(2)]
    turning = bool(rng.random() < 0.5) if turning is None else turning
    first = float(rng.uniform(-0.2, 1.0))
    x = first - increment * np.arange(steps)[::-1]
    s = (logistic_curve if other else plate_curve)(rng, first - (1.2 if short else 0.0), turning)
    s -= np.interp(x[0] - 1.0, GRID, s)
    veil = rng.uniform(0.014, 0.03)
    density = np.interp(x, GRID, s)
    within = first >= GRID
    top = int(np.argmax(np.where(within, s, -9)))
    fall = s[top] - s[within][-1]
    turns = bool(fall > 0.06)
    rise = s[top]
    speed = GRID[np.argmax(s >= 0.1)]
    width, height = size
    left, right = 0.12 * width, 0.88 * width
    at = 0.42 * height
    tilt = rng.normal(0, 0.006 * height)
    picture = np.full((height, width), rng.uniform(0.004, 0.02))
    plate = (
        slice(round(0.2 * height), round(0.64 * height)),
        slice(round(0.07 * width), round(0.93 * width)),
    )
    picture[plate] = veil
    brightest = str(rng.choice(["left", "right"]))
    shown = 10.0 ** (np.log10(veil) + density)
    row = shown if brightest == "right" else shown[::-1]
    pitch = (right - left) / (steps - 1)
    for k, value in enumerate(row):
        own = value * 10.0 ** rng.normal(0, 0.008)  # polish and coat differ from step to step
        middle = left + k * pitch
        top_px, low_px = round(at - 0.16 * height), round(at + 0.16 * height)
        picture[top_px:low_px, round(middle - 0.49 * pitch) : round(middle + 0.49 * pitch)] = own
    grain = ndimage.gaussian_filter(rng.normal(0, 1, picture.shape), 0.8) * 0.10
    picture[plate] = picture[plate] * np.exp(grain[plate])
    for _ in range(int(rng.integers(5, 40))):  # dust
        cx, cy, r = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(1, 4)
        y0, y1, x0, x1 = (
            max(0, int(cy - r)),
            int(cy + r) + 1,
            max(0, int(cx - r)),
            int(cx + r) + 1,
        )
        picture[y0:y1, x0:x1] = rng.uniform(0.02, 0.5)
    y_grey = 0.82 * height
    if scale:
        grey_pitch = 0.84 * width / (len(GREYS) - 1)
        for k, one in enumerate(GREYS):
            middle = 0.08 * width + k * grey_pitch
            picture[
                round(y_grey - 0.06 * height) : round(y_grey + 0.06 * height),
                round(middle - 0.5 * grey_pitch) : round(middle + 0.5 * grey_pitch),
            ] = 10.0**-one * 10.0 ** rng.normal(0, 0.005)
    fx, fy = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    uneven = 0.03 if other else 0.02
    picture = picture * (1 + rng.normal(0, uneven) * fx + rng.normal(0, uneven) * fy)
    picture = picture * (1 - rng.uniform(0.0, 0.04) * (fx**2 + fy**2))
    picture = ndimage.gaussian_filter(picture, 0.8) + rng.uniform(0.0, 0.002)
    picture = picture * 0.85 / 0.9 * 2.0**blown
    rgb = picture[..., None] * np.exp(rng.normal(0, 0.03, 3))
    floor, shot = (2e-5, 3e-4) if other else (4e-6, 1e-4)
    rgb = rgb + rng.normal(0, 1, rgb.shape) * np.sqrt(floor + shot * np.maximum(rgb, 0))
    if other:  # a phone: a stronger curve, and sharpened
        rgb = np.clip(rgb, 0, 1) ** rng.uniform(0.8, 1.15)
        rgb = rgb + 0.4 * (rgb - ndimage.gaussian_filter(rgb, (1.2, 1.2, 0)))
    out = io.BytesIO()
    Image.fromarray(
        (255 * curve(np.clip(rgb, 0, 1), rng.uniform(-0.02, 0.06)) + 0.5).astype("uint8")
    ).save(out, "JPEG", quality=int(rng.integers(85, 97)))
    ends = (left + tilt, at, right + tilt, at)
    slope = np.gradient(s[: top + 1] if turns else s, 0.001)
    return out.getvalue(), WedgeTruth(
        steps, increment, first, brightest, tuple(map(float, ends)),
        (0.08 * width, y_grey, 0.92 * width, y_grey), x, density, veil, float(speed),
        float(slope.max()), float(GRID[np.argmax(s >= 0.9 * rise)] - speed),
        float(GRID[top]) if turns else None, turns, float(GRID[np.argmax(s >= 0.5 * rise)]),
    )  # fmt: skip
