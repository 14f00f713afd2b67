"""Pictures of coated plates of another build, which no limit was set on.

Silver is a Drude metal and the iodide a formula with an edge in the violet; the lossy layer is a
mixture by Bruggeman, grows as a straight line up to its end, and the whole is multiplied through
as matrices. The camera has trapezoids for filters, a matrix fitted to surfaces of sine waves, a
film-like curve and sharpening; the plate lies on striped cloth and has a bevel; the card a fold.
"""

import io

import numpy as np
from PIL import Image
from scipy import ndimage

from argentry.physics.coat import colour
from benchmarks.seeing.scene import LIGHTS, Truth

AT = colour.WAVELENGTH_NM
EV = 1239.84 / AT
EDGES = {"thin edge": 0.12, "edge 8 % thin": 0.098}  # at the very rim


def silver(rng):
    """Free electrons and one bound band in the ultraviolet."""
    plasma, loss = 9.1, rng.uniform(0.02, 0.08)
    bound = 1.1 * 4.6**2 / (4.6**2 - EV**2 - 1j * 0.5 * EV)
    return 3.1 + bound - plasma**2 / (EV**2 + 1j * loss * EV)


def iodide(rng):
    """An oscillator at 2.93 eV, as the edge of silver iodide, on a smooth ground."""
    edge = rng.normal(2.93, 0.015)
    own = 0.055 * edge**2 / (edge**2 - EV**2 - 1j * rng.uniform(0.09, 0.14) * EV)
    return (3.95 + rng.normal(0, 0.1)) * (1 + 0.018 * EV**2 / (1 - (EV / 6.0) ** 2)) + own


def mixed(metal, salt, share):
    """Return what a mixture by Bruggeman is like."""
    b = (3 * share - 1) * metal + (2 - 3 * share) * salt
    root = np.sqrt(b**2 + 8 * metal * salt)
    root = np.where(((b + root) / 4).imag >= 0, root, -root)
    return (b + root) / 4


def reflected(rng, thickness):
    """Return the spectra of films of these thicknesses on one plate."""
    metal, salt = silver(rng), iodide(rng)
    layer = mixed(metal, salt, np.clip(rng.normal(0.5, 0.07), 0.3, 0.7))
    full, grown = 12 * np.exp(rng.normal(0, 0.2)), rng.uniform(18, 40)
    deep = full * np.minimum(thickness / grown, 1.0)
    both = np.broadcast_to(np.eye(2, dtype=complex), (thickness.size, AT.size, 2, 2)).copy()
    for index, nm in ((np.sqrt(salt), thickness), (np.sqrt(layer), deep)):
        phase = 2 * np.pi * index / AT * nm[:, None]
        step = np.empty_like(both)
        step[..., 0, 0] = step[..., 1, 1] = np.cos(phase)
        step[..., 0, 1] = -1j * np.sin(phase) / index
        step[..., 1, 0] = -1j * np.sin(phase) * index
        both = both @ step
    end = np.stack([np.ones(AT.size), np.sqrt(metal)], axis=-1)
    b, c = np.moveaxis(both @ end[..., None], -2, 0)[..., 0]
    return np.abs((b - c) / (b + c)) ** 2


def camera(rng, light):
    """Return weights of wavelengths for linear sRGB, balanced on white in this light."""

    def trapezoid(low, high, slope):
        return np.clip(np.minimum((AT - low) / slope, (high - AT) / slope), 0, 1)

    move = rng.normal(0, 5, 3)
    plain = np.stack([
        trapezoid(565 + move[0], 680 + move[0], 28), trapezoid(478 + move[1], 610 + move[1], 42),
        trapezoid(400 + move[2], 515 + move[2], 32),
    ], axis=1) + rng.uniform(0.01, 0.05)  # fmt: skip
    waves = rng.uniform(80, 500, (60, 1))
    chart = 0.45 + 0.4 * np.sin(2 * np.pi * AT / waves + rng.uniform(0, 6.3, (60, 1)))
    day = colour.light("D65")
    weights = plain * day.power[:, None]
    wanted = colour.linear_srgb(colour.xyz(chart, day), colour.white(day))
    matrix = np.linalg.lstsq(chart @ (weights / weights.sum(axis=0)), wanted, rcond=None)[0]
    weights = plain * light.power[:, None]
    return (weights / weights.sum(axis=0)) @ (matrix / matrix.sum(axis=0))


def coat_of(rng, kind, x, y):
    """Return a field of thickness, and the edge that is thin."""
    mean = float(rng.uniform(15, 55) if rng.random() < 0.82 else rng.uniform(108, 160))
    field = (
        1
        + 0.012 * rng.normal() * (x - 0.5) * (y - 0.5)
        + 0.008 * np.cos(rng.uniform(1, 4) * np.hypot(x - rng.uniform(), y - rng.uniform()))
    )
    thin = None
    if kind in EDGES:
        thin = str(rng.choice(["left", "right", "top", "bottom"]))
        away = {"left": x, "right": 1 - x, "top": y, "bottom": 1 - y}[thin]
        field = field - EDGES[kind] * np.clip(1 - away / 0.3, 0, None) ** 1.5
    return mean * field, thin


def scene(seed, *, by_hand=False, strip=True, light=None, kind="", blown=0.0, bands=()):
    """Return a picture and its truth, as `benchmarks.seeing.scene.scene` does."""
    rng = np.random.default_rng([seed, 9, 20261130])
    name = light or str(rng.choice(list(LIGHTS)))
    high, wide = 180, 240
    y, x = (np.mgrid[0:high, 0:wide] + 0.5) / np.array([high, wide])[:, None, None]
    coat, thin = coat_of(rng, kind, x, y)
    side = str(rng.choice([one for one in ("left", "right", "top", "bottom") if one != thin]))
    if bands:
        coat, thin, side = np.array(bands)[(x * len(bands)).astype(int)], None, "bottom"
    away = {"left": x, "right": 1 - x, "top": y, "bottom": 1 - y}[side]
    bare = away < rng.uniform(0.06, 0.13) + 0.004 * np.sin(40 * (x + y)) if strip else away < -1
    grid = np.linspace(0, 240, 481)
    table = reflected(rng, grid) @ camera(rng, colour.light(LIGHTS.get(name, "D65")))
    table = np.maximum(table, 0.003) * ([1.0, 0.015, 0.015] if name == "red" else 1.0)
    if bands:
        rng = np.random.default_rng([seed, 9, 9])  # the same phone, film and lamp, another moment
    at = np.where(bare, 0.0, coat)
    plate = np.stack([np.interp(at, grid, table[:, i]) for i in range(3)], axis=-1)
    turn = rng.uniform(0, 6.3)
    across = (x - 0.5) * np.cos(turn) + (y - 0.5) * np.sin(turn)
    amount = 0.08 if by_hand else 0.03
    fold = 1 + rng.normal(0, amount) * across - 0.5 * amount * np.exp(-((across / 0.05) ** 2))
    plate = plate * fold[..., None]
    covered = np.zeros(coat.shape, bool)
    if by_hand:  # two fingers and a dark doorway
        for _ in range(2):
            cx, cy = rng.uniform(0.05, 0.95), rng.choice([0.0, 1.0])
            covered |= np.maximum(np.abs(x - cx) / 0.05, np.abs(y - cy) / rng.uniform(0.1, 0.3)) < 1
        covered &= ~bare
        plate[covered] *= np.array([0.16, 0.1, 0.08]) * rng.uniform(0.7, 1.3)
    middle = np.array([400.0, 300.0]) + rng.normal(0, 15, 2)
    size = rng.uniform(0.5, 0.72) * 800 * np.array([1.0, 0.76])
    lean = np.radians(rng.normal(0, 4 if by_hand else 1))
    spin = np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
    keystone = rng.normal(0, (6e-5 if by_hand else 2e-5), 2)
    v, u = np.mgrid[0:600, 0:800]
    p = np.stack([u, v], axis=-1) - middle
    own = (p / (1 - p @ keystone)[..., None]) @ spin.T / size + 0.5
    inside = (own >= 0).all(axis=2) & (own <= 1).all(axis=2)
    place = [np.clip(own[..., i], 0, 1) * n - 0.5 for i, n in ((1, high), (0, wide))]
    shown = np.stack([ndimage.map_coordinates(plate[..., i], place, order=1, mode="nearest")
                      for i in range(3)], axis=-1)  # fmt: skip
    rim = np.minimum.reduce([own[..., 0], own[..., 1], 1 - own[..., 0], 1 - own[..., 1]])
    shown *= np.where(rim < 0.006, rng.uniform(0.6, 1.1), 1.0)[..., None]
    cloth = rng.uniform(0.015, 0.1) * (1 + 0.15 * np.sin(u / rng.uniform(3, 12) + v / 30))
    picture = np.where(inside[..., None], shown, cloth[..., None] * rng.uniform(0.75, 1.25, 3))
    picture = picture * 0.72 / np.quantile(shown[inside], 0.97) * 2.0**blown
    picture = picture * np.exp(rng.normal(0, 0.05))
    picture = picture * (1 - rng.uniform(0, 0.1) * (p**2).sum(axis=2) / 25e4)[..., None]
    soft = ndimage.gaussian_filter(picture, (1.0, 1.0, 0))
    soft += 0.4 * (soft - ndimage.gaussian_filter(soft, (1.5, 1.5, 0)))
    soft += rng.normal(0, 1, soft.shape) * np.sqrt(2e-5 + 1.5e-4 * np.maximum(soft, 0))
    soft = np.clip(soft, 0, 1.6)
    bend = rng.uniform(0.0, 0.12)
    toned = np.clip(soft * (1 + bend) / (1 + bend * soft), 0, 1) ** (1 / rng.uniform(2.1, 2.35))
    out = io.BytesIO()
    Image.fromarray((255 * toned + 0.5).astype("uint8")).save(
        out, "JPEG", quality=int(rng.integers(84, 96)), subsampling=2
    )
    hidden = (bare | covered).reshape(12, 15, 16, 15).mean(axis=(1, 3)) > 0.1
    truth = np.where(hidden, np.nan, coat.reshape(12, 15, 16, 15).mean(axis=(1, 3)))
    box = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]) * size @ spin
    mean = float(np.nanmean(truth))
    clock = mean * np.exp(rng.normal(0, 0.22))
    return Truth(
        np.asarray(Image.open(out)), box / (1 + box @ keystone)[:, None] + middle, truth, mean,
        name, thin, side if strip else None, (clock, 0.25 * clock + 2),
    ), out.getvalue()  # fmt: skip
