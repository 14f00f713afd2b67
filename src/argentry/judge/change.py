"""What has changed on a plate between two pictures: all of it, single areas, both, or nothing.

The tones of the first picture are brought to those of the second by one smooth rule for the whole
plate and a light that rises or falls slowly across it. What the rule itself does is the change of
the whole plate, and means something only between grey scales or under one light; what is left over
in places is the change of areas.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats, Truth
from argentry.judge.grey_scale import LUMINANCE, Line, grey_scale
from argentry.judge.outline.plate_edges import plates_in
from argentry.judge.outline.straight import frame_of, sampled, through
from argentry.judge.register import registered, way_up
from argentry.physics.coat import colour

LONG_PX = 1000  # of the plate as it is compared
LEAST_PX = 200
KNOTS = 7  # of the rule of tones
FIELD = 2  # pixels to a field, each way
CHROMA_BLOCK_PX = 16.0  # that a JPEG keeps one colour for: ITU-T T.81, colours at half size
CHROMA = ((0.0, -0.344, 1.772), (1.402, -0.714, 0.0))  # of a JPEG to R, G, B: ITU-T T.871
NOT_FOUND = "no plate is found in the picture {which}: all four edges must be in view"
TOO_SMALL = "the plate is too small in the picture {which}: let it fill at least half of it"
NOT_ALIKE = (
    "the two pictures do not show the same plate, or one is too soft to be laid on the other"
)
OTHER_SHAPE = "the plates in the two pictures are not of one shape"
NO_REFERENCE = (
    "a grey scale is not marked in both pictures, and nobody says that light, exposure and white "
    "balance are the same"
)
BEFORE, AFTER = "before", "after"


@dataclass(frozen=True)
class Area:
    """A part that has changed.

    Attributes
    ----------
    x, y : float
        Its middle. [px of the picture before]
    diameter : float
        Of a disc of its size. [px of the same]
    size : float
        Its share of the plate. [1]
    delta_e : float
        CIEDE2000 difference of its middle value. [1]
    moved : (float, float, float)
        Change of L*, a* and b*. [1]
    """

    x: float
    y: float
    diameter: float
    size: float
    delta_e: float
    moved: tuple[float, float, float]


@dataclass(frozen=True)
class Whole:
    """How the whole plate has changed.

    Attributes
    ----------
    delta_e : float
        Middle CIEDE2000 difference over the plate. [1]
    lights, shadows : float
        Change of L* of its light and of its dark parts. [1]
    red, yellow : float
        Change of a* and b* of the plate. [1]
    """

    delta_e: float
    lights: float
    shadows: float
    red: float
    yellow: float


@dataclass(frozen=True)
class Change:
    """What was seen of two pictures.

    Attributes
    ----------
    before, after : ndarray or None
        Corners of the plate in each. [px]
    turn : ndarray or None
        Perspective from the pixels of the picture before to those of the one after.
    noise : float or None
        Middle difference of what has not changed. [delta E]
    whole : Whole or None
        None without a reference.
    areas : tuple of Area
        Largest first.
    no_whole, why : str
        Why the whole is not told; why nothing is.
    others : pair of tuple of ndarray
        Corners of what else looks like a plate before and after, and was not read. [px]
    """

    before: Floats | None = None
    after: Floats | None = None
    turn: Floats | None = None
    noise: float | None = None
    whole: Whole | None = None
    areas: tuple[Area, ...] = ()
    no_whole: str = ""
    why: str = ""
    others: tuple[tuple[Floats, ...], tuple[Floats, ...]] = ((), ())


@dataclass(frozen=True)
class ChangeLook:
    """What is known of two pictures; places in pixels of each.

    Attributes
    ----------
    grey_before, grey_after : (x1, y1, x2, y2) or None
        Middles of the first and last patch of a grey scale. [px]
    densities : tuple of float
        Of its patches. [1]
    same_light : bool
        True when light, exposure and white balance were left as they were.
    """

    grey_before: Line | None = None
    grey_after: Line | None = None
    densities: tuple[float, ...] = ()
    same_light: bool = False


def see_change(before: NDArray[np.uint8], after: NDArray[np.uint8], look: ChangeLook) -> Change:
    """Return what has changed on a plate between two pictures.

    Parameters
    ----------
    before, after : ndarray, shape (height, width, 3)
        8-bit sRGB, upright; they need not be of one size.
    look : ChangeLook
        What is known of them.
    """
    linear = [colour.from_srgb_bytes(one) for one in (before, after)]
    found = [plates_in(one, dark=True) for one in linear]
    first, second = (one[0] if one else None for one in found)
    seen = _seen(linear, first, second, look)
    return replace(seen, others=(found[0][1:], found[1][1:]))


def _seen(
    linear: list[Floats], first: Floats | None, second: Floats | None, look: ChangeLook
) -> Change:
    """Return what has changed between plates with these corners."""
    for found, which in ((first, BEFORE), (second, AFTER)):
        if found is None:
            return Change(first, second, why=NOT_FOUND.format(which=which))
        if min(_sides(found)) < LEAST_PX:
            return Change(first, second, why=TOO_SMALL.format(which=which))
    assert first is not None
    assert second is not None
    wide, high = _sides(first)
    long = min(LONG_PX, max(wide, high), max(_sides(second)))
    rows, columns = (int(one * long / max(wide, high)) for one in (high, wide))
    turned = [np.roll(second, -k, axis=0) for k in range(4)]
    shapes = [(a / b) / (wide / high) for a, b in map(_sides, turned)]
    most = trade.value("seeing", "shapes_differ")
    turned = [one for one, shape in zip(turned, shapes, strict=True) if abs(np.log(shape)) < most]
    if not turned:
        return Change(first, second, why=OTHER_SHAPE)
    frame = frame_of(first, rows, columns)
    shown = sampled(linear[0], frame, rows, columns)
    views = [
        sampled(linear[1] @ LUMINANCE[:, None], frame_of(one, rows, columns), rows, columns)[..., 0]
        for one in turned
    ]
    own = shown @ LUMINANCE
    way = way_up(own, views)
    moved, alike = registered(own, views[way])
    if alike < trade.value("seeing", "alike_from"):
        return Change(first, second, why=NOT_ALIKE)
    onto = frame_of(turned[way], rows, columns) @ moved
    pair = [_fields(shown), _fields(sampled(linear[1], onto, rows, columns))]
    steps = np.maximum(_code_steps(pair[0]), _code_steps(pair[1]))
    no_whole = ""
    if not look.same_light:
        scales = _scales(linear, look)
        no_whole = scales if isinstance(scales, str) else ""
        if not isinstance(scales, str):
            pair = [_shares(one, three) for one, three in zip(pair, scales, strict=True)]
    turn = onto @ np.linalg.inv(frame)
    scale = wide / columns * FIELD
    areas, noise, whole = _differences(pair[0], pair[1], steps, CHROMA_BLOCK_PX / scale)
    told = tuple(sorted((_placed(one, frame, scale) for one in areas), key=lambda one: -one.size))
    return Change(
        first, second, turn / turn[2, 2], noise, None if no_whole else whole, told, no_whole
    )


def _sides(corners: Floats) -> tuple[float, float]:
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    return float(sides[0] + sides[2]) / 2, float(sides[1] + sides[3]) / 2


def _fields(plate: Floats) -> Floats:
    """Return means of small fields of a plate, its outermost edge left out."""
    rows, columns = plate.shape[0] // FIELD, plate.shape[1] // FIELD
    cut = plate[: rows * FIELD, : columns * FIELD]
    return np.asarray(cut.reshape(rows, FIELD, columns, FIELD, 3).mean(axis=(1, 3)))


def _scales(linear: list[Floats], look: ChangeLook) -> list[list[tuple[Floats, Floats]]] | str:
    """Return for each picture and colour levels and the shares of white they stand for."""
    made = []
    for picture, line in zip(linear, (look.grey_before, look.grey_after), strict=True):
        if line is None:
            return NO_REFERENCE
        three = [grey_scale(picture[..., i], line, look.densities) for i in range(3)]
        for one in three:
            if isinstance(one, str):
                return one
        made.append([(one.levels, one.shares) for one in three if not isinstance(one, str)])
    return made


def _shares(fields: Floats, scales: list[tuple[Floats, Floats]]) -> Floats:
    """Return shares of white of every field; below the darkest grey in proportion."""
    from scipy.interpolate import PchipInterpolator

    out = np.empty_like(fields)
    for i, (levels, shares) in enumerate(scales):
        at = np.log10(np.maximum(fields[..., i], 1e-6))
        within = PchipInterpolator(levels, shares)(np.clip(at, levels[0], levels[-1]))
        out[..., i] = 10.0 ** (within + np.minimum(at - levels[0], 0.0))
    return out


def _code_steps(linear: Floats) -> Floats:
    """Return by how much one step of its file's code changes each field, as a natural logarithm.

    The derivative of the curve of IEC 61966-2-1, its straight foot left out.
    """
    code = 255.0 * (1.055 * np.clip(linear, 1e-4, 1.0) ** (1 / 2.4) - 0.055)
    return np.asarray(2.4 / (code + 14.0))


def _differences(
    before: Floats, after: Floats, steps: Floats, block: float
) -> tuple[list[Area], float, Whole]:
    """Return changed areas in fields, the noise, and the change of the whole."""
    rows, columns = before.shape[:2]
    y, x = np.mgrid[-1.0 : 1.0 : rows * 1j, -1.0 : 1.0 : columns * 1j]
    away = np.minimum.reduce([
        *np.broadcast_arrays(*np.ogrid[0:rows, 0:columns]),
        *np.broadcast_arrays(*np.ogrid[rows - 1 : -1 : -1, columns - 1 : -1 : -1]),
    ])  # fmt: skip
    inside = away >= max(2, trade.value("seeing", "edge_left_out") * min(rows, columns))
    first, second = (np.log(np.maximum(one, 0.0) + 0.003) for one in (before, after))
    middle = first.mean(axis=2)
    level = middle - np.median(middle)
    darkest, lightest = np.quantile(middle[inside], (0.002, 0.998))
    knots = np.linspace(float(darkest), float(lightest), KNOTS)
    hats = [np.interp(middle, knots, one) for one in np.eye(KNOTS)]
    cast = first[..., [0, 2]] - middle[..., None]
    tone = np.stack([*hats, *(cast[..., i] * power for i in range(2) for power in (1.0, level))],
                    axis=-1)  # fmt: skip
    light = np.stack([x, y, x * y, x**2 - 1 / 3, y**2 - 1 / 3], axis=-1)
    base = np.concatenate([tone, light], axis=-1)
    some = _some_of_each(middle[inside])
    weights = _robust(base[inside][some], (second - first)[inside][some])
    expected = np.exp(first + base @ weights) - 0.003
    rise = tone @ weights[: tone.shape[-1]]
    # the grey scale lies where the light is a little other than on the plate
    doubt = trade.value("seeing", "light_differs")
    rise = rise - np.clip(np.median(rise[inside]), -doubt, doubt)
    by_tone = np.exp(first + rise) - 0.003
    areas, noise = _areas(expected, after, inside, steps, block)
    was, now = _lab(before), _lab(by_tone)
    # every tone alike: one flat backdrop may stand in the file a step of its code off
    off = colour.delta_e_2000(was[inside][some], now[inside][some])
    lightness, step = was[inside][:, 0], now[inside] - was[inside]
    dark, bright = np.quantile(lightness, (0.2, 0.8))
    whole = Whole(
        float(np.median(off)), float(np.median(step[lightness >= bright, 0])),
        float(np.median(step[lightness <= dark, 0])), float(np.median(step[:, 1])),
        float(np.median(step[:, 2])),
    )  # fmt: skip
    return areas, noise, whole


def _lab(shares: Floats) -> Floats:
    clipped = np.clip(shares, 0.0, 1.0)
    return colour.lab(colour.xyz_of_linear(clipped), colour.white(colour.light("D65")))


def _some_of_each(level: Floats) -> NDArray[np.intp]:
    """Return fields of every tone: a rare tone counts as well as that of a large backdrop."""
    low, high = np.quantile(level, (0.001, 0.999))
    kinds = np.clip(((level - low) / max(high - low, 1e-9) * 24).astype(int), 0, 23)
    found = []
    for kind in range(24):
        own = np.flatnonzero(kinds == kind)
        found.append(own[:: max(1, len(own) // 800)])
    return np.concatenate(found)


def _robust(base: Floats, wanted: Floats) -> Floats:
    """Return coefficients by which most fields agree, those far off left out."""
    weight = np.ones(len(base))
    made: Floats = np.zeros((base.shape[1], wanted.shape[1]))
    for _ in range(15):
        own = base * weight[:, None]
        normal = own.T @ base
        normal += 1e-6 * np.trace(normal) / len(normal) * np.eye(len(normal))
        made = np.asarray(np.linalg.solve(normal, own.T @ wanted))
        off = np.sqrt(((wanted - base @ made) ** 2).sum(axis=1))
        far = 3.0 * float(np.median(off)) + 1e-6
        weight = np.clip(1.0 - (off / far) ** 2, 0.0, None) ** 2
    return made


def _areas(
    expected: Floats, after: Floats, inside: Truth, steps: Floats, block: float
) -> tuple[list[Area], float]:
    """Return areas that differ from what the rule expects by more than like fields do.

    What is no larger than a block of a JPEG must differ by more than a step of the code in each
    picture, as smooth grounds are packed so far apart.
    """
    from scipy import ndimage

    # brought up alike so that the plate's lights are as bright as paper, as an eye sees them
    bright = float(np.quantile(expected[inside], 0.98))
    was, now = _lab(expected / bright), _lab(after / bright)
    step = now - was
    soft = ndimage.gaussian_filter(step, (1.0, 1.0, 0.0))
    far = np.sqrt((soft**2).sum(axis=2))
    edge = ndimage.maximum_filter(ndimage.gaussian_gradient_magnitude(was[..., 0], 1.0), 3)
    noise = _usual(far, was[..., 0], edge, inside)
    limit = np.maximum(
        trade.value("seeing", "area_delta_e"), trade.value("seeing", "area_noise_times") * noise
    )
    mask = ndimage.binary_closing(ndimage.binary_opening((far > limit) & inside))
    # the crumbs where a stain fades are the stain's: what half the limit joins is one area
    wide = ndimage.gaussian_filter(far, 2.0) > limit / 2.0
    labels, _ = ndimage.label((wide | mask) & inside)
    labels[~mask] = 0
    least = np.pi / 4 * (trade.value("seeing", "area_least_share") * min(far.shape)) ** 2
    found = []
    for label, part in enumerate(ndimage.find_objects(labels), start=1):
        own = labels[part] == label
        size = int(own.sum())
        if size < least:
            continue
        ys, xs = np.nonzero(own)
        colours = [np.median(one[part][own], axis=0) for one in (was, now)]
        light, red, yellow = (float(one) for one in np.median(step[part][own], axis=0))
        if size <= block**2 and np.linalg.norm((light, red, yellow)) < 2.0 * _packed(
            now[part][own], after[part][own] / bright, steps[part][own]
        ):
            continue
        found.append(
            Area(
                float(xs.mean()) + part[1].start, float(ys.mean()) + part[0].start,
                float(np.sqrt(4 * size / np.pi)), size / far.size,
                float(colour.delta_e_2000(*colours)), (light, red, yellow),
            )
        )  # fmt: skip
    return found, float(np.median(far[inside & (labels == 0)]))


def _packed(lab: Floats, shares: Floats, steps: Floats) -> float:
    """Return the middle colour difference of a step of the code in both chroma channels."""
    off = [_lab(shares * np.exp(steps * one)) - lab for one in np.array(CHROMA)]
    return float(np.median(np.linalg.norm(off, axis=(0, 2))))


def _usual(far: Floats, lightness: Floats, edge: Floats, inside: Truth) -> Floats:
    """Return the middle difference of fields of like lightness and like edges."""
    out = np.full(far.shape, np.inf)
    cuts = np.quantile(lightness[inside], (0.25, 0.5, 0.75))
    tone = np.searchsorted(cuts, lightness)
    for k in range(4):
        own = inside & (tone == k)
        steps = np.unique(np.quantile(edge[own], (0.0, 0.3, 0.6, 0.8, 0.9, 0.96, 0.99)))
        kinds = np.searchsorted(steps, edge, side="right")
        for kind in range(1, len(steps) + 1):
            here = own & (kinds == kind)
            if here.any():
                out[here] = np.median(far[here])
    return out


def _placed(one: Area, frame: Floats, scale: float) -> Area:
    """Return an area of fields in pixels of the picture."""
    half = (FIELD - 1) / 2
    at = through(frame, np.array([FIELD * one.x + half]), np.array([FIELD * one.y + half]))
    return replace(one, x=float(at[0][0]), y=float(at[1][0]), diameter=one.diameter * scale)
