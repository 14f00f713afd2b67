"""Pictures of finished plates of another build, which no limit was set on.

The picture is a portrait of soft clouds with a 1/f spectrum, through a logistic curve; the plate
lies askew with a bevel on velvet that is not even; its holder covered two edges; tarnish runs
through colours with a ragged front, buff lines are slightly bent waves, spots are soft and oval;
the camera sharpens, has a shoulder and a cast, and writes PNG or JPEG.
"""

import io

import numpy as np
from PIL import Image
from scipy import ndimage

from benchmarks.seeing.plate_scene import PlateTruth, blurred

DENSITIES = tuple(0.08 + 0.17 * k for k in range(11))
TARNISH = np.array([[1, 1, 1], [1.05, 0.9, 0.62], [0.95, 0.7, 0.75], [0.6, 0.72, 1.15]])


def clouds(rng, shape, power):
    """Noise whose spectrum falls with frequency, of unit spread."""
    fy, fx = np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None]
    size = np.hypot(fy, fx)
    size[0, 0] = 1.0
    made = np.fft.irfft2(np.fft.rfft2(rng.normal(0, 1, shape)) / size**power, shape)
    return (made - made.mean()) / made.std()


def sitter(rng, x, y):
    """Log exposure of a head and shoulders before a backdrop, x and y from 0 to 1."""
    out = rng.uniform(-0.3, 0.1) + 0.15 * (x - 0.5) * rng.normal() - 0.2 * (y - 0.3)
    soft = 0.012
    body = 1 / (1 + np.exp((np.abs(x - 0.5) - 0.36 * np.sqrt(np.clip(y - 0.55, 0, 1))) / soft))
    body *= 1 / (1 + np.exp((0.56 - y) / soft))
    far = np.hypot((x - 0.5) / 0.13, (y - 0.42) / 0.17)
    head = 1 / (1 + np.exp((far - 1) / 0.06))
    coat, face = rng.uniform(-1.6, -0.4), rng.uniform(0.2, 0.7)
    detail = clouds(rng, x.shape, 1.3)
    out = out * (1 - body) + body * (coat + 0.18 * detail)
    out = out * (1 - head) + head * (face + 0.16 * detail - 0.3 * (x - 0.45))
    shirt = np.exp(-(((x - 0.5) / 0.05) ** 4) - ((y - 0.68) / 0.09) ** 4)
    return out + shirt * (rng.uniform(0.7, 1.1) - out)


def plate_of(rng, faults, high, wide, blur=None, draw=sitter):
    """Return a plate's colour, what it reflects where no light fell, where, buff and spots."""
    y, x = np.mgrid[0:high, 0:wide]
    exposure = draw(rng, x / wide, y / high)
    if blur is not None:
        exposure = np.log10(np.maximum(blurred(10.0**exposure, blur), 1e-4))
    share = 0.5 / (1 + np.exp(-3.4 * (exposure - 0.15)))
    lip = round(0.022 * wide)
    share[:, :lip] = share[:, -lip:] = 0.0
    base = rng.uniform(0.012, 0.022)
    veil = rng.uniform(0.09, 0.2) if "fog" in faults else rng.uniform(0.0, 0.01)
    share = base + veil + share * (1 - veil)
    tone = np.array([[1.0, 0.97, 0.93], [1.0, 0.95, 0.85], [1.0, 1.0, 1.0]])[rng.integers(3)]
    rgb = share[..., None] * tone
    if "blue" in faults:
        over = 1 / (1 + np.exp(-(exposure - np.quantile(exposure, 0.95)) / 0.05))[..., None]
        rgb = rgb * (1 + over * (np.array([0.7, 0.9, rng.uniform(1.2, 1.5)]) - 1))
    if "rim" in faults:
        away = np.minimum.reduce([y, x, high - 1 - y, wide - 1 - x]) / high
        deep = rng.uniform(0.03, 0.08) * (1 + 0.25 * clouds(rng, (high, wide), 1.8))
        stage = 3 * rng.uniform(0.7, 1.0) * np.exp(-away / deep)
        film = [np.interp(stage, range(4), TARNISH[:, i]) for i in range(3)]
        rgb = rgb * np.stack(film, axis=-1)
    unlit = rgb[high // 2 - 5 : high // 2 + 5, lip // 2] @ [0.2126, 0.7152, 0.0722]
    angle = None
    if "buff" in faults:
        angle = float(rng.uniform(0, 180))
        turn = np.radians(angle)
        across = x * np.sin(turn) + y * np.cos(turn)
        along = x * np.cos(turn) - y * np.sin(turn)
        lines = np.zeros((high, wide))
        for wave in rng.uniform(3.0, 14.0, 25):
            bend = 2.0 * np.sin(along / rng.uniform(500, 1500) + rng.uniform(0, 6))
            swell = 1 + 0.5 * np.sin(along / rng.uniform(80, 300) + rng.uniform(0, 6))
            lines += swell * np.sin(2 * np.pi * (across + bend) / wave + rng.uniform(0, 6))
        rgb = rgb * (1 + rng.uniform(0.008, 0.03) * lines / lines.std())[..., None]
    ground, marks = (round(0.07 * wide), round(0.06 * high), round(0.86 * wide), 0), []
    ground = (*ground[:3], round(0.14 * high))
    if "spots" in faults:
        for _ in range(int(rng.integers(10, 26))):
            d, ratio = rng.uniform(5, 18), rng.uniform(0.75, 1.0)
            cx = rng.uniform(ground[0] + 14, ground[0] + ground[2] - 14)
            cy = rng.uniform(ground[1] + 14, ground[1] + ground[3] - 14)
            if any(np.hypot(cx - a, cy - b) < 22 + d for a, b, *_ in marks):
                continue
            turn, light = rng.uniform(0, 3.1), bool(rng.random() < 0.4)
            u = (x - cx) * np.cos(turn) + (y - cy) * np.sin(turn)
            v = ((y - cy) * np.cos(turn) - (x - cx) * np.sin(turn)) / ratio
            blot = 1 / (1 + np.exp(np.minimum((np.hypot(u, v) - d / 2) / 0.6, 50.0)))
            depth = rng.uniform(0.3, 0.7) if light else -rng.uniform(0.25, 0.6)
            rgb = rgb * (1 + depth * blot)[..., None]
            marks.append((cx, cy, d, light))
    rgb = rgb * (1 + rng.uniform(0.003, 0.01) * rng.normal(0, 1, (high, wide)))[..., None]
    return rgb, float(np.median(unlit)), (lip / 2, high / 2), angle, ground, marks


def bent_hairs(seed, high, wide):
    """Return a factor of light for bent scratches that fade and return, and where they lie."""
    rng = np.random.default_rng([seed, 47])
    factor, lines = np.zeros((high, wide)), []
    for _ in range(int(rng.integers(1, 5))):
        long, turn = rng.uniform(0.1, 0.35) * max(high, wide), rng.uniform(0, 2 * np.pi)
        bend = rng.uniform(-0.12, 0.12) / long
        t = np.linspace(-0.5, 0.5, 1200) * long
        u, v = t, bend * t**2 * 2
        cx, cy = rng.uniform(0.3, 0.7) * wide, rng.uniform(0.3, 0.7) * high
        px, py = cx + u * np.cos(turn) - v * np.sin(turn), cy + u * np.sin(turn) + v * np.cos(turn)
        keep = (px > 5) & (px < wide - 6) & (py > 5) & (py < high - 6)
        weight = (0.65 + 0.35 * np.cos(t / rng.uniform(8, 30))) * long / t.size
        drawn = np.zeros((high, wide))
        at = np.rint(py[keep]).astype(int), np.rint(px[keep]).astype(int)
        np.add.at(drawn, at, weight[keep])
        drawn = ndimage.gaussian_filter(drawn, rng.uniform(0.5, 0.9))
        factor += (
            rng.choice([-1.0, 1.0])
            * rng.uniform(0.25, 0.6)
            * drawn
            / np.quantile(drawn[drawn > 0.05 * drawn.max()], 0.9)
        )
        lines.append((px[keep][0], py[keep][0], px[keep][-1], py[keep][-1]))
    return np.exp(factor), lines


def photograph(rng, rgb, size):
    """Return the bytes of a picture of a plate, its greys' ends, its hole and where places go."""
    width, height = size
    high, wide = rgb.shape[:2]
    middle = np.array([0.5 * width, 0.41 * height]) + rng.normal(0, 6, 2)
    lean = np.radians(rng.normal(0, 1.2))
    spin = np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    keystone = rng.normal(0, 4e-6, 2)

    def placed(points):
        at = (np.atleast_2d(points) - [wide / 2, high / 2]) @ spin
        return at / (1 + at @ keystone)[:, None] + middle

    # the same backwards: at = p (1 + at.k), so at = p / (1 - p.k)
    y, x = np.mgrid[0:height, 0:width]
    p = np.stack([x, y], axis=-1) - middle
    own = (p / (1 - p @ keystone)[..., None]) @ spin.T + [wide / 2, high / 2]
    inside = (own >= 0).all(axis=2) & (own < [wide, high]).all(axis=2)
    shown = np.stack(
        [ndimage.map_coordinates(rgb[..., i], [own[..., 1], own[..., 0]], order=1, mode="nearest")
         for i in range(3)], axis=-1,
    )  # fmt: skip
    bevel = np.minimum.reduce([own[..., 0], own[..., 1], wide - own[..., 0], high - own[..., 1]])
    shown = shown * np.where(bevel < 2.5, rng.uniform(0.8, 1.4), 1.0)[..., None]
    velvet = rng.uniform(0.003, 0.007) * np.exp(0.2 * clouds(rng, (height, width), 0.8))
    picture = np.where(inside[..., None], shown, velvet[..., None] * [1.0, 0.95, 1.05])
    row, pitch = 0.9 * height, 0.8 * width / (len(DENSITIES) - 1)
    for k, one in enumerate(DENSITIES):
        at = 0.1 * width + k * pitch
        picture[
            round(row - 0.04 * height) : round(row + 0.04 * height),
            round(at - pitch / 2) : round(at + pitch / 2),
        ] = 10.0**-one
    hole = (0.94 * width, 0.1 * height)
    far = np.hypot(x - hole[0], y - hole[1])
    picture[far < 14] = 0.0015
    picture = picture * (1 + rng.normal(0, 0.02) * (x / width - 0.5))[..., None]
    picture = picture * np.exp(rng.normal(0, 0.03, 3)) + rng.uniform(0, 0.002)
    soft = ndimage.gaussian_filter(picture, (0.8, 0.8, 0))
    soft += 0.5 * (soft - ndimage.gaussian_filter(soft, (1.6, 1.6, 0)))  # the phone's sharpening
    soft += rng.normal(0, 1, soft.shape) * np.sqrt(1e-6 + 3e-5 * np.maximum(soft, 0))
    light = np.clip(soft, 0, None) * rng.uniform(0.85, 1.0)
    shoulder = light * (1 + light / 2.2) / (1 + 0.42 * light)
    values = (255 * np.clip(shoulder, 0, 1) ** (1 / rng.uniform(2.0, 2.3)) + 0.5).astype("uint8")
    out = io.BytesIO()
    if rng.random() < 0.3:
        Image.fromarray(values).save(out, "PNG", compress_level=1)
    else:
        Image.fromarray(values).save(out, "JPEG", quality=int(rng.integers(86, 96)), subsampling=2)
    greys = (0.1 * width, row, 0.9 * width, row)
    return out.getvalue(), greys, hole, placed


def plate_scene(seed, faults=(), size=(1500, 1150), blur=None, draw=sitter):
    """Return the bytes of a picture and its truth."""
    rng = np.random.default_rng([seed, 71, 20261129])
    width, height = size
    wide, high = ((round(0.62 * width), round(0.66 * height)) if rng.random() < 0.6 else
                  (round(0.42 * width), round(0.69 * height)))  # fmt: skip
    made = plate_of(rng, faults, high, wide, blur, draw)
    rgb, unlit, dark_at, angle, ground, marks = made
    hairs = []
    if "scratches" in faults:
        scratched, hairs = bent_hairs(seed, high, wide)
        rgb = rgb * scratched[..., None]
    content, greys, hole, placed = photograph(rng, rgb, size)
    left, top = placed(ground[:2])[0]
    right, bottom = placed((ground[0] + ground[2], ground[1] + ground[3]))[0]
    outline = np.array([[0, 0], [wide, 0], [wide, high], [0, high]])
    return content, PlateTruth(
        placed(outline), greys, hole,
        tuple(placed(dark_at)[0]), (left, top, right - left, bottom - top), unlit - 0.0015, angle,
        tuple(faults), [(*placed((cx, cy))[0], d, light) for cx, cy, d, light in marks], DENSITIES,
        [(*placed(one[:2])[0], *placed(one[2:])[0]) for one in hairs],
    )  # fmt: skip
