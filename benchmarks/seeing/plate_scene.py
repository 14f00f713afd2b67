"""Pictures of finished plates on a dark cloth, with known faults or none.

The picture on the plate is a field of many scales with shapes of straight and round edges; the
plate has grain, a warm tint, corners that its holder covered, and what is asked of: fog, blue
lights, a tarnished rim, buff lines, spots on its backdrop. A grey scale and a black hole lie
beside it.
"""

import io
from dataclasses import dataclass, field

import numpy as np
from PIL import Image
from scipy import ndimage

from benchmarks.seeing.scene import curve

GREYS = tuple(0.05 + 0.1 * k for k in range(20))
FAULTS = ("fog", "blue", "rim", "buff", "spots", "scratches")


@dataclass
class PlateTruth:
    """What was drawn, in pixels of the picture."""

    corners: np.ndarray
    grey: tuple
    trap: tuple
    unlit: tuple
    smooth: tuple
    fog: float
    buff_deg: float | None
    faults: tuple
    spots: list = field(default_factory=list)  # x, y, diameter, light
    densities: tuple = GREYS
    hairs: list = field(default_factory=list)  # x1, y1, x2, y2


def tones(rng, high, wide):
    """Return a picture from 0 to 1: a backdrop above, shapes below, texture where shapes are."""
    out = np.full((high, wide), rng.uniform(0.35, 0.6))
    y, x = np.mgrid[0:high, 0:wide]
    out += rng.normal(0, 0.05) * (x / wide - 0.5) + rng.normal(0, 0.05) * (y / high - 0.5)
    rough = np.zeros_like(out)
    for scale in (3, 8, 20):
        layer = ndimage.gaussian_filter(rng.normal(0, 1, out.shape), scale)
        rough += layer / layer.std() * 0.05
    busy = np.zeros(out.shape, bool)
    for _ in range(int(rng.integers(5, 12))):
        cy, cx = rng.uniform(0.5, 1.0) * high, rng.uniform(0.05, 0.95) * wide
        a, b, turn = (
            rng.uniform(0.05, 0.2) * high,
            rng.uniform(0.05, 0.22) * wide,
            rng.uniform(0, 3.1),
        )
        u = ((x - cx) * np.cos(turn) + (y - cy) * np.sin(turn)) / b
        v = ((y - cy) * np.cos(turn) - (x - cx) * np.sin(turn)) / a
        shape = (np.abs(u) < 1) & (np.abs(v) < 1) if rng.random() < 0.4 else u**2 + v**2 < 1
        shape &= y > 0.42 * high
        out[shape] = rng.uniform(0.02, 1.0)
        busy |= shape
    out[busy] += rough[busy]
    return np.clip(ndimage.gaussian_filter(out, 0.8), 0.0, 1.0)


def blurred(light, blur):
    """Return light as a soft lens or a move left it; blur is what, its size in px, direction."""
    kind, size, angle = blur
    half = int(np.ceil(size / 2)) + 1
    from scipy import signal  # half a second to read: only where something is drawn

    y, x = np.mgrid[-half : half + 1 : 0.25, -half : half + 1 : 0.25]
    if kind == "focus":
        inside = np.hypot(x, y) <= size / 2
    else:
        turn = np.radians(angle)
        along = x * np.cos(turn) - y * np.sin(turn)
        across = x * np.sin(turn) + y * np.cos(turn)
        inside = (np.abs(along) <= size / 2) & (np.abs(across) <= 0.3)
    width = 2 * half + 1
    kernel = np.zeros((width, width))
    at = np.rint(y).astype(int) + half, np.rint(x).astype(int) + half
    keep = (at[0] < width) & (at[1] < width)
    np.add.at(kernel, (at[0][keep], at[1][keep]), inside[keep].astype(float))
    return signal.oaconvolve(
        np.pad(light, half, mode="edge"), kernel / kernel.sum(), mode="valid"
    )  # fmt: skip


def straight_hairs(seed, high, wide):
    """Return a factor of light for straight scratches, and where they lie."""
    rng = np.random.default_rng([seed, 31])
    y, x = np.mgrid[0:high, 0:wide]
    factor, lines = np.zeros((high, wide)), []
    for _ in range(int(rng.integers(1, 5))):
        long, turn = rng.uniform(0.08, 0.4) * wide, rng.uniform(0, np.pi)
        cx, cy = rng.uniform(0.25, 0.75) * wide, rng.uniform(0.25, 0.75) * high
        along = (x - cx) * np.cos(turn) + (y - cy) * np.sin(turn)
        across = (y - cy) * np.cos(turn) - (x - cx) * np.sin(turn)
        body = np.clip(rng.uniform(0.4, 0.9) + 0.5 - np.abs(across), 0, 1)
        body = body * (np.abs(along) <= long / 2)
        factor += rng.choice([-1.0, 1.0]) * rng.uniform(0.2, 0.5) * body
        step = np.array([np.cos(turn), np.sin(turn)]) * long / 2
        lines.append((cx - step[0], cy - step[1], cx + step[0], cy + step[1]))
    return np.exp(factor), lines


def plate_scene(seed, faults=(), *, trap=True, size=(1400, 1050), blur=None, draw=tones):
    """Return the bytes of a picture and its truth; `draw` makes the light of its subject."""
    rng = np.random.default_rng([seed, 20261128, 5])
    width, height = size
    wide, high = round(0.72 * width), round(0.62 * height)
    tone = draw(rng, high, wide)
    tone = tone if blur is None else np.clip(blurred(tone, blur), 0.0, 1.0)
    y, x = np.mgrid[0:high, 0:wide]
    fog = rng.uniform(0.08, 0.2) if "fog" in faults else rng.uniform(0.0, 0.012)
    share = 0.015 + 0.4 * tone**1.5
    share = share + fog * (1 - share)
    lip = round(0.05 * high)  # of the holder, over each corner
    for row in (slice(None, lip), slice(-lip, None)):
        for column in (slice(None, lip), slice(-lip, None)):
            share[row, column] = 0.015 + fog * (1 - 0.015)
    rgb = share[..., None] * np.array([1.0, rng.uniform(0.93, 0.97), rng.uniform(0.82, 0.92)])
    if "blue" in faults:
        bright = np.clip((tone - np.quantile(tone, 0.93)) / 0.05, 0, 1)[..., None]
        rgb = rgb * (1 - bright) + bright * rgb * np.array([0.8, 0.95, rng.uniform(1.3, 1.6)])
    away = np.minimum.reduce([y, x, high - 1 - y, wide - 1 - x]) / high
    if "rim" in faults:
        near = np.exp(-((away / rng.uniform(0.03, 0.07)) ** 1.0))[..., None] * rng.uniform(0.6, 1.0)
        tint = np.array([[0.75, 0.85, 1.35], [1.15, 0.85, 0.6], [0.9, 0.75, 1.2]])[rng.integers(3)]
        rgb = rgb * (1 - near + near * tint)
    unlit_share = float(rgb[lip // 2, lip // 2] @ [0.2126, 0.7152, 0.0722]) - 0.002
    angle = None
    if "buff" in faults:
        angle = float(rng.uniform(0, 180))
        noise = rng.normal(0, 1, (high, wide))
        across = np.radians(angle)
        step = 300
        lines = np.zeros_like(noise)
        # white noise across the lines, slowly changing along them
        place = x * np.sin(across) + y * np.cos(across)
        along = x * np.cos(across) - y * np.sin(across)
        table = ndimage.gaussian_filter(rng.normal(0, 1, (3000, 40)), (0.7, 1.5))
        at = [(place - place.min()) % 2999, ((along - along.min()) / step) % 39]
        lines = ndimage.map_coordinates(table, at, order=1, mode="wrap")
        rgb = rgb * (1 + rng.uniform(0.008, 0.03) * lines / lines.std())[..., None]
    hairs = []
    if "scratches" in faults:
        scratched, hairs = straight_hairs(seed, high, wide)
        rgb = rgb * scratched[..., None]
    grain = ndimage.gaussian_filter(rng.normal(0, 1, (high, wide)), 0.6)
    rgb = rgb * (1 + rng.uniform(0.004, 0.012) * grain / grain.std())[..., None]
    marks = []
    ground = (round(0.08 * wide), round(0.08 * high), round(0.84 * wide), round(0.3 * high))
    if "spots" in faults:
        for _ in range(int(rng.integers(10, 30))):
            d = rng.uniform(5, 22)
            cx = rng.uniform(ground[0] + 15, ground[0] + ground[2] - 15)
            cy = rng.uniform(ground[1] + 15, ground[1] + ground[3] - 15)
            if any(np.hypot(cx - a, cy - b) < 20 + d for a, b, *_ in marks):
                continue
            light = bool(rng.random() < 0.5)
            disc = np.clip(d / 2 + 0.5 - np.hypot(x - cx, y - cy), 0, 1)[..., None]
            rgb = rgb * (1 - disc) + disc * rgb * (
                rng.uniform(1.3, 2.0) if light else rng.uniform(0.3, 0.75)
            )
            marks.append((cx, cy, d, light))
    picture = np.full((height, width, 3), rng.uniform(0.003, 0.008))
    left, top = round(0.13 * width + rng.normal(0, 8)), round(0.1 * height + rng.normal(0, 6))
    picture[top : top + high, left : left + wide] = rgb
    y_grey, pitch = 0.86 * height, 0.84 * width / (len(GREYS) - 1)
    for k, one in enumerate(GREYS):
        middle = 0.08 * width + k * pitch
        picture[
            round(y_grey - 0.05 * height) : round(y_grey + 0.05 * height),
            round(middle - 0.5 * pitch) : round(middle + 0.5 * pitch),
        ] = 10.0**-one
    hole = (0.05 * width, 0.4 * height)
    picture[
        round(hole[1]) - 12 : round(hole[1]) + 12, round(hole[0]) - 12 : round(hole[0]) + 12
    ] = 0.002
    fx, fy = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    picture = picture * (1 - rng.uniform(0, 0.05) * (fx**2 + fy**2))[..., None]
    picture = ndimage.gaussian_filter(picture, (0.6, 0.6, 0)) + rng.uniform(0, 0.003)
    picture = picture * 0.95 * np.exp(rng.normal(0, 0.02, 3))
    picture += rng.normal(0, 1, picture.shape) * np.sqrt(2e-6 + 4e-5 * np.maximum(picture, 0))
    out = io.BytesIO()
    shown = curve(np.clip(picture, 0, 1), rng.uniform(-0.02, 0.05))
    Image.fromarray((255 * shown + 0.5).astype("uint8")).save(
        out, "JPEG", quality=int(rng.integers(90, 98))
    )
    corners = np.array(
        [[left, top], [left + wide, top], [left + wide, top + high], [left, top + high]]
    )
    return out.getvalue(), PlateTruth(
        corners - 0.5, (0.08 * width, y_grey, 0.92 * width, y_grey), hole if trap else None,
        (left + lip / 2, top + lip / 2),
        (ground[0] + left, ground[1] + top, ground[2], ground[3]), unlit_share, angle,
        tuple(faults),
        [(cx + left, cy + top, d, light) for cx, cy, d, light in marks],
        hairs=[tuple(np.add(one, (left, top, left, top))) for one in hairs],
    )  # fmt: skip
