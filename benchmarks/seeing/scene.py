"""Pictures of coated plates by a room and a camera of their own.

Nothing of the judge's camera is used: other filters with cross-talk, a matrix fitted to other
colours, a tone curve, noise, vignetting, blur, JPEG; the film has other indices; the plate mirrors
a card that is not evenly lit and, by hand, fingers and a room.
"""

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image

from argentry.physics.coat import colour, thin_film
from argentry.physics.coat.silver_iodide import mixed_index, silver_index, silver_iodide_index

AT = colour.WAVELENGTH_NM
# how much thinner an edge is at its very rim; its outer fields are 13 and 8 % thin in the mean
EDGES = {"thin edge": 0.14, "edge 8 % thin": 0.09}
LIGHTS = {"tungsten": "A", "led": "LED", "window": "D65", "overcast": "D65"}


@dataclass
class Truth:
    picture: np.ndarray
    corners: np.ndarray
    thickness: np.ndarray  # of 12 x 16 fields; NaN where bare or covered
    mean: float
    light: str
    thin_edge: str | None
    bare: str | None
    expected: tuple


def film_rgb(thickness, light, camera, layer_nm, share, growth, index, loss):
    """Camera values before its matrix; white is 1."""
    iodide = silver_iodide_index(AT) * index
    silver = silver_index(AT) + loss
    mixed = mixed_index(silver, iodide, share)
    stack = thin_film.stack((np.ones_like(iodide), iodide, mixed, silver), AT, 0.0)
    spectra = thin_film.reflected(stack, thickness, -layer_nm * np.expm1(-thickness / growth))
    weights = camera * light.power[:, None]
    return spectra @ (weights / weights.sum(axis=0))


def camera_of(rng):
    middle = np.array([600.0, 535.0, 455.0]) + rng.normal(0, 8, 3)
    width = np.array([36.0, 44.0, 30.0]) * np.exp(rng.normal(0, 0.1, 3))
    plain = np.exp(-(np.abs((AT[:, None] - middle) / width) ** 1.8) / 1.8)
    mix = np.array([[1, 0.08, 0.01], [0.1, 1, 0.1], [0.02, 0.1, 1]]) * rng.uniform(0.7, 1.3, (3, 3))
    np.fill_diagonal(mix, 1.0)
    return plain @ mix


def matrix_of(rng, camera):
    """Fitted to a chart of broad random pigments in daylight, as makers of cameras do."""
    peaks, widths = rng.uniform(400, 700, 40), rng.uniform(25, 90, 40)
    bumps = np.exp(-(((AT - peaks[:, None]) / widths[:, None]) ** 2) / 2)
    chart = np.vstack([0.05 + bumps * rng.uniform(0.2, 0.85, (40, 1)), 0.9 - 0.8 * bumps[:20]])
    day = colour.light("D65")
    weights = camera * day.power[:, None]
    raw = chart @ (weights / weights.sum(axis=0))
    wanted = colour.linear_srgb(colour.xyz(chart, day), colour.white(day))
    found = np.linalg.lstsq(raw, wanted, rcond=None)[0]
    return found / found.sum(axis=0)


def curve(level, bend):
    plain = np.where(level <= 0.0031308, 12.92 * level, 1.055 * level ** (1 / 2.4) - 0.055)
    return np.clip(plain + bend * np.sin(2 * np.pi * plain) / -2, 0, 1)


def coat_of(rng, kind):
    """A field of thickness over the plate, x and y from 0 to 1."""
    y, x = np.mgrid[0:1:90j, 0:1:120j]
    mean = float(rng.choice([rng.uniform(14, 60), rng.uniform(14, 45), rng.uniform(105, 165)],
                            p=[0.4, 0.45, 0.15]))  # fmt: skip
    tilt = rng.normal(0, 0.01, 2)
    field = (
        1 + tilt[0] * (x - 0.5) + tilt[1] * (y - 0.5) + 0.006 * np.sin(rng.uniform(2, 6) * x + y)
    )
    thin = None
    if kind in EDGES:
        thin = str(rng.choice(["left", "right", "top", "bottom"]))
        away = {"left": x, "right": 1 - x, "top": y, "bottom": 1 - y}[thin]
        field -= EDGES[kind] * np.exp(-((away / 0.14) ** 2))
    return mean * field, mean, thin


CARD = (12, 270, 40, 60)  # x, y, width, height of what is seen of the card beside the plate


def scene(seed, *, by_hand=False, strip=True, light=None, kind="", blown=0.0, card=False, bands=()):
    """Return a picture and its truth.

    `card`: it is seen beside the plate too, not lit alike. `bands`: coats from left to right in
    place of the plate's own, by the same phone, film and lamp, at another moment.
    """
    rng = np.random.default_rng([seed, 20261128])
    name = light or str(rng.choice(list(LIGHTS)))
    lamp = colour.light(LIGHTS.get(name, "D65"))
    camera = camera_of(rng)
    matrix = matrix_of(rng, camera)
    coat, mean, thin = coat_of(rng, kind)
    high, wide = coat.shape
    if bands:
        each = np.minimum((np.arange(wide) / wide * len(bands)).astype(int), len(bands) - 1)
        coat, mean, thin = np.tile(np.array(bands)[each], (high, 1)), float(np.mean(bands)), None
    sides = [one for one in ("left", "right", "top", "bottom") if one != thin]
    side = str(rng.choice(sides)) if strip else None
    side = "bottom" if bands else side
    depth = rng.uniform(0.075, 0.12)
    y, x = np.mgrid[0:1:90j, 0:1:120j]
    away = {"left": x, "right": 1 - x, "top": y, "bottom": 1 - y}.get(side)
    bare = np.zeros(coat.shape, bool) if away is None else away < depth
    thickness = np.where(bare, 0.0, coat)
    layer = (
        12 * np.exp(rng.normal(0, 0.2)),
        0.5 + rng.normal(0, 0.06),
        15 * np.exp(rng.normal(0, 0.3)),
    )
    film = (*layer, 1 + rng.normal(0, 0.015), rng.uniform(0, 0.05))
    grid = np.linspace(0, 260, 521)
    table = film_rgb(grid, lamp, camera, *film)
    if name == "red":
        table = table * [1.0, 0.02, 0.01]
    raw = np.stack([np.interp(thickness, grid, table[:, i]) for i in range(3)], axis=-1)
    if bands:
        rng = np.random.default_rng([seed, 9])
    # the card in the mirror, not evenly lit
    falls = 1 + rng.normal(0, 0.12 if by_hand else 0.05) * (x - 0.5)
    falls += rng.normal(0, 0.12 if by_hand else 0.05) * (y - 0.5)
    raw = raw * falls[..., None]
    covered = np.zeros(coat.shape, bool)
    if by_hand:
        for _ in range(rng.integers(1, 3)):  # fingers at the rim, the phone, the dark room
            cx, cy = rng.choice([0.0, 1.0]), rng.uniform(0.2, 0.8)
            blot = ((x - cx) / rng.uniform(0.08, 0.2)) ** 2 + (
                (y - cy) / rng.uniform(0.08, 0.2)
            ) ** 2 < 1
            covered |= blot & ~bare
        raw[covered] = raw[covered] * rng.uniform(0.05, 0.2)
    seen = raw @ matrix
    picture, corners = placed(rng, seen, by_hand)
    if card:
        left, top, across, down = CARD
        apart = np.random.default_rng([seed, 7]).normal(0, [0.15, 0.02, 0.02, 0.02])
        white = np.exp(apart[0] + apart[1:]) @ matrix
        picture[top : top + down, left : left + across] = white
    level = 0.8 / np.quantile(picture[picture.sum(axis=2) > 0.2], 0.98) * 2.0**blown
    if card:  # exposed so that it keeps its tone
        level = min(level, 0.7 / white.max())
    picture = picture * level * np.exp(rng.normal(0, 0.06))
    far = np.hypot(*np.meshgrid(np.linspace(-1, 1, picture.shape[1]),
                                np.linspace(-1, 1, picture.shape[0])))  # fmt: skip
    picture = picture * (1 - rng.uniform(0.02, 0.12) * far**2)[..., None]
    noisy = picture + rng.normal(0, 1, picture.shape) * np.sqrt(
        1e-5 + 2e-4 * np.maximum(picture, 0)
    )
    shown = curve(np.clip(noisy, 0, 1), rng.uniform(-0.02, 0.06))
    out = io.BytesIO()
    Image.fromarray((255 * shown + 0.5).astype("uint8")).save(
        out, "JPEG", quality=int(rng.integers(82, 96))
    )
    rows = [slice(round(i * high / 12), round((i + 1) * high / 12)) for i in range(12)]
    columns = [slice(round(i * wide / 16), round((i + 1) * wide / 16)) for i in range(16)]
    hidden = bare | covered
    truth = np.array(
        [
            [np.nan if hidden[r, c].mean() > 0.1 else coat[r, c].mean() for c in columns]
            for r in rows
        ]
    )
    clock = mean * np.exp(rng.normal(0, 0.22))
    array = np.asarray(Image.open(io.BytesIO(out.getvalue())))
    return Truth(
        array, corners, truth, float(np.nanmean(truth)), name, thin, side, (clock, 0.25 * clock + 2)
    ), out.getvalue()


def placed(rng, plate, by_hand):
    """Lay the plate into a room, in perspective."""
    from scipy import ndimage

    width, height = 800, 600
    wide = rng.uniform(0.55, 0.75) * width
    tall = wide * 0.77
    middle = np.array([width, height]) / 2 + rng.normal(0, 12, 2)
    corners = middle + np.array([[-wide, -tall], [wide, -tall], [wide, tall], [-wide, tall]]) / 2
    corners += rng.normal(0, 10 if by_hand else 4, (4, 2))
    turn = np.radians(rng.normal(0, 5 if by_hand else 1.5))
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    corners = (corners - middle) @ spin.T + middle
    square = np.array([[0.0, 0.0], [1, 0], [1, 1], [0, 1]])
    rows, wanted = [], []
    for (u, v), (a, b) in zip(corners, square, strict=True):  # picture to plate
        rows += [[u, v, 1, 0, 0, 0, -u * a, -v * a], [0, 0, 0, u, v, 1, -u * b, -v * b]]
        wanted += [a, b]
    way = np.append(np.linalg.solve(np.array(rows), np.array(wanted)), 1).reshape(3, 3)
    y, x = np.mgrid[0:height, 0:width]
    u, v, w = np.tensordot(way, np.stack([x, y, np.ones_like(x)]).astype(float), 1)
    u, v = u / w, v / w
    inside = (u >= 0) & (u <= 1) & (v >= 0) & (v <= 1)
    at = [np.clip(v, 0, 1) * (plate.shape[0] - 1), np.clip(u, 0, 1) * (plate.shape[1] - 1)]
    lifted = np.stack([ndimage.map_coordinates(plate[..., i], at, order=1) for i in range(3)], -1)
    dark = rng.uniform(0.01, 0.15) * rng.uniform(0.8, 1.2, 3)
    table = dark * (
        1 + 0.25 * ndimage.gaussian_filter(rng.normal(0, 1, (height, width)), 6)[..., None] * 6
    )
    picture = np.where(inside[..., None], lifted, np.clip(table, 0.002, 1))
    return ndimage.gaussian_filter(picture, (0.9, 0.9, 0)), corners
