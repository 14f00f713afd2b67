"""What a photograph says of a coat: its thickness field by field, its evenness, or why not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats, Truth
from argentry.judge.bare_silver import NO_COLOUR, Strip, bare_strip, has_colour, is_red
from argentry.judge.coat_map import GRID_NM, Coat, as_sure_as, bent, coats, smoothed
from argentry.judge.grey_scale import Line
from argentry.judge.outline.plate_edges import NOT_FOUND, NOT_THERE, plate_corners, plates_in
from argentry.judge.outline.straight import straightened
from argentry.judge.outline.touching import upright_lines
from argentry.physics.coat import colour
from argentry.physics.coat.camera import bare_silver, beside_silver, camera_doubt
from argentry.physics.coat.colour import Light
from argentry.physics.coat.interlayer import Interlayer

COLUMNS, ROWS, FIELD_PX = 16, 12, 12
RED_LIGHT = "under red light only one colour is left: no thickness can be told"
DARK = "too little of the plate mirrors the card: hold the card so that it fills the plate"
BLOWN = "the plate is overexposed: take it again with one stop less light"
OUTSIDE = "band {number} does not lie on the plate that is found in the picture"
ALIKE = "the bands look alike: mark the middles of the first band and the last"
BAND_BLOWN = "band {number} is overexposed: take it again with one stop less light"
TWO_COATS = (
    "two coats meet there along a straight line, as on two plates that touch or on one fumed in "
    "parts: photograph one by itself"
)
LEAST_SEEN = 40  # fields
AROUND = 0.2  # of the way from band to band that is read about a middle, to each side
LEAST_CARD_PX = 100
_STRIP_ENDS = 0.06  # of the side: so far from where it was found a bare strip may end
NO_COAT = (
    "these are not the colours of an iodine coat beside its bare silver: see that the plate was "
    "found and that the strip is bare"
)
NO_CARD = "the card that is marked lies outside the picture or is too small"
NAME_LIGHT = "without a bare strip the light must be named: a warmer lamp looks like another coat"
CARD_BLOWN = "the card is overexposed: take it again with one stop less light"


@dataclass(frozen=True)
class Look:
    """How the coat was photographed, and what is known of it.

    Attributes
    ----------
    lights : Mapping of str to Light
        The light, or those it may be, by name.
    layers : sequence of (float, Interlayer)
        The lossy layers that the plate may have, with their weights.
    bare : str or None
        Edge with the bare strip; None: to be found.
    expected : (float, float) or None
        Thickness and its standard deviation by the seconds over iodine. [nm]
    angle_deg : float
        Of view. [deg]
    red : bool
        True when it was taken by red light.
    card : (x, y, width, height) or None
        A part of the white card that is seen beside the plate: where there is no bare strip, coats
        are compared with it. [px of the picture looked at]
    scale : ndarray of shape (n, 4) or None
        The studio's own scale: thickness [nm], and red, green and blue over those of silver.
    at : (x, y) or None
        A place on the plate that is meant, where there are several. [px]
    """

    lights: Mapping[str, Light]
    layers: Sequence[tuple[float, Interlayer]]
    bare: str | None = None
    expected: tuple[float, float] | None = None
    angle_deg: float = 0.0
    red: bool = False
    card: Line | None = None
    scale: Floats | None = None
    at: tuple[float, float] | None = None


@dataclass(frozen=True)
class Seen:
    """What was seen of a coat.

    Attributes
    ----------
    corners : ndarray or None
        Of the plate, clockwise from the top left. [px of the picture looked at]
    light : str or None
        The light that fits best, or the one that was said.
    strip : Strip or None
        The bare strip.
    coats : tuple of Coat
        The coats it may be, the likeliest first; empty when no thickness can be told.
    order : ndarray or None
        0 to 1: which field is thicker, without saying by how much.
    lab : ndarray or None
        L*, a*, b* of the coat, bare silver being white.
    why : str
        Why no thickness is told; empty when it is.
    by_card : bool
        True when it is compared with the card, for want of a strip.
    others : tuple of ndarray
        Corners of what else looks like a plate in the picture, and was not read. [px]
    """

    corners: Floats | None = None
    light: str | None = None
    strip: Strip | None = None
    coats: tuple[Coat, ...] = ()
    order: Floats | None = None
    lab: Floats | None = None
    why: str = ""
    by_card: bool = False
    others: tuple[Floats, ...] = ()


def see_coat(picture: NDArray[np.uint8], look: Look) -> Seen:
    """Return what a picture says of a coat.

    Parameters
    ----------
    picture : ndarray, shape (height, width, 3)
        8-bit sRGB, upright.
    look : Look
        What is known of it.
    """
    linear = colour.from_srgb_bytes(picture)
    found = plates_in(linear, at=look.at)
    if not found:
        return Seen(why=NOT_FOUND if look.at is None else NOT_THERE)
    corners, *others = found
    if not has_colour(picture):
        return Seen(corners, why=NO_COLOUR, others=tuple(others))
    return replace(_seen(linear, corners, look), others=tuple(others))


def _seen(linear: Floats, corners: Floats, look: Look) -> Seen:
    """Return what is seen of the coat of the plate with these corners."""
    plate = straightened(linear, corners, ROWS * FIELD_PX, COLUMNS * FIELD_PX)
    blocks = plate.reshape(ROWS, FIELD_PX, COLUMNS, FIELD_PX, 3)
    fields = np.median(blocks.transpose(0, 2, 1, 3, 4).reshape(ROWS, COLUMNS, -1, 3), axis=2)
    seen = _mirrors(fields)
    if seen.sum() < LEAST_SEEN:
        return Seen(corners, why=DARK)
    red = look.red or is_red(fields[seen])
    strip = bare_strip(plate, look.bare) if not red else RED_LIGHT
    if not isinstance(strip, str):
        seen &= ~_within(strip)
    blown = (fields >= trade.value("seeing", "clipped_level")).any(axis=2) & seen
    if not red and blown.sum() > 0.25 * seen.sum():
        return Seen(corners, order=None, why=BLOWN)
    by_card = isinstance(strip, str) and not red and look.card is not None
    bare = _by_card(linear, look) if by_card else strip if isinstance(strip, str) else strip.rgb
    if isinstance(bare, str):
        return Seen(corners, order=_order(fields, seen, red=red), why=bare)
    if _two_coats(plate, None if isinstance(strip, str) else strip):
        return Seen(corners, why=TWO_COATS)
    beside = np.where((seen & ~blown)[..., None], fields / bare, np.nan)
    found = Seen(corners, strip=None if isinstance(strip, str) else strip, by_card=by_card)
    return _told(found, beside, look)


def band_colours(
    picture: NDArray[np.uint8], ends: Line, count: int, bare: str | None
) -> tuple[Floats, Floats] | str:
    """Return the colours of bands beside bare silver and the plate's corners, or why not.

    Parameters
    ----------
    picture : ndarray, shape (height, width, 3)
        8-bit sRGB, upright.
    ends : (x1, y1, x2, y2)
        Middles of the first band and the last. [px]
    count : int
        How many bands there are, alike wide. [1]
    bare : str or None
        The plate's edge with bare silver; None: to be found.

    Returns
    -------
    (ndarray of shape (count, 3), ndarray of shape (4, 2)) or str
        Red, green and blue over those of bare silver [1], and the corners [px].
    """
    linear = colour.from_srgb_bytes(picture)
    corners = plate_corners(linear)
    if corners is None:
        return NOT_FOUND
    if not has_colour(picture):
        return NO_COLOUR
    strip = bare_strip(
        straightened(linear, corners, ROWS * FIELD_PX * 2, COLUMNS * FIELD_PX * 2), bare
    )
    if isinstance(strip, str):
        return strip
    found = _bands(linear, corners, strip.rgb, ends, count)
    return found if isinstance(found, str) else (found, corners)


def _bands(linear: Floats, corners: Floats, silver: Floats, ends: Line, count: int) -> Floats | str:
    """Return the colours of bands beside bare silver, or why not."""
    xs, ys = (np.linspace(ends[axis], ends[axis + 2], count) for axis in (0, 1))
    around = max(2, int(AROUND * np.hypot(xs[1] - xs[0], ys[1] - ys[0])))
    found = []
    places = np.stack([xs, ys], axis=1).round().astype(int).tolist()
    for number, (x, y) in enumerate(places, 1):
        if not _within_sides(corners, x, y):
            return OUTSIDE.format(number=number)
        part = linear[max(0, y - around) : y + around + 1, max(0, x - around) : x + around + 1]
        own = np.median(part.reshape(-1, 3), axis=0)
        if (own >= trade.value("seeing", "clipped_level")).any():
            return BAND_BLOWN.format(number=number)
        found.append(own / silver)
    colours = np.array(found)
    if np.ptp(np.log(np.maximum(colours, 1e-6)), axis=0).max() < trade.value("seeing", "chroma_sd"):
        return ALIKE
    return colours


def _within_sides(corners: Floats, x: float, y: float) -> bool:
    """Return True for a place within corners that go clockwise from the top left."""
    along, away = np.roll(corners, -1, axis=0) - corners, np.array([x, y]) - corners
    return bool((along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0] >= 0.0).all())


def _by_card(linear: Floats, look: Look) -> Floats | str:
    """Return what bare silver would look like beside the card that is seen, or why not."""
    assert look.card is not None
    left, top, wide, high = (round(one) for one in look.card)
    part = linear[top : top + high, left : left + wide].reshape(-1, 3)
    if len(part) < LEAST_CARD_PX:
        return NO_CARD
    if len(look.lights) > 1:
        return NAME_LIGHT
    if (part >= trade.value("seeing", "clipped_level")).any(axis=1).mean() > 0.1:
        return CARD_BLOWN
    (light,) = look.lights.values()
    return np.asarray(np.median(part, axis=0) * bare_silver(light, look.angle_deg))


def _told(seen: Seen, beside: Floats, look: Look) -> Seen:
    by = "card_" if seen.by_card else ""
    doubts = trade.value("seeing", f"{by}light_sd"), trade.value("seeing", f"{by}chroma_sd")
    best: tuple[float, str, list[Coat]] | None = None
    for name, light in look.lights.items():
        looks = [
            (weight, beside_silver(GRID_NM, light, angle_deg=look.angle_deg, layer=layer))
            for weight, layer in look.layers
        ]
        reach = None
        if look.scale is not None:  # it is of this very camera
            looks = [(weight, bent(one, look.scale)) for weight, one in looks]
            reach = float(look.scale[0, 0]), float(look.scale[-1, 0])
        camera = camera_doubt(
            GRID_NM, light, angle_deg=look.angle_deg, layer=look.layers[0][1], known_nm=reach
        )
        found, evidence = coats(beside, looks, look.expected, doubts, camera)
        if best is None or evidence > best[0]:
            best = evidence, name, found
    assert best is not None
    _, name, found = best
    if not found:
        return replace(seen, why=NO_COAT)
    if look.scale is not None and not seen.by_card:
        found = [as_sure_as(one, look.scale) for one in found]
    middle = np.nanmedian(beside.reshape(-1, 3), axis=0)
    day = colour.white(colour.light("D65"))
    lab = colour.lab(colour.xyz_of_linear(np.clip(middle, 0.0, 1.0)), day)
    rank = _ranks(found[0].fields_nm)
    return replace(seen, light=name, coats=tuple(found), order=rank, lab=lab)


def _mirrors(fields: Floats) -> Truth:
    """Return which fields mirror the card, and not fingers, room or phone."""
    bright = fields.max(axis=2)
    top = np.quantile(bright, 0.9)
    return np.asarray(bright > trade.value("seeing", "mirrors_share") * top)


def _two_coats(plate: Floats, strip: Strip | None) -> bool:
    """Return True where the colour, not only the light, changes along a line across the plate."""
    logs = np.log(np.maximum(plate, 1e-3))
    shown = np.stack([logs[..., 0] - logs[..., 1], logs[..., 2] - logs[..., 1],
                      np.zeros(plate.shape[:2]), np.ones(plate.shape[:2])], axis=2)  # fmt: skip
    for sides, turned in ((("left", "right"), shown), (("top", "bottom"), shown.swapaxes(0, 1))):
        wide = turned.shape[1]
        for _, begins, ends in upright_lines(turned):
            place = (begins + ends) / 2 / wide
            away = {sides[0]: place, sides[1]: 1.0 - place}
            if strip is None or away.get(strip.side, 1.0) > strip.depth + _STRIP_ENDS:
                return True
    return False


def _within(strip: Strip) -> Truth:
    """Return the fields that the strip covers, its end included."""
    out = np.zeros((ROWS, COLUMNS), dtype=bool)
    across = COLUMNS if strip.side in ("left", "right") else ROWS
    deep = int(np.ceil(strip.depth * across + 0.25))
    if strip.side == "left":
        out[:, :deep] = True
    elif strip.side == "right":
        out[:, -deep:] = True
    elif strip.side == "top":
        out[:deep] = True
    else:
        out[-deep:] = True
    return out


def _order(fields: Floats, seen: Truth, *, red: bool) -> Floats:
    """Return which fields look thicker, 0 to 1: by blue over red, or by darkness under red light.

    It holds within the first cycle up to rose, where a thicker coat takes more of the blue.
    """
    if red:
        measure = -fields[..., 0]
    else:
        measure = np.log(np.maximum(fields[..., 0], 1e-3) / np.maximum(fields[..., 2], 1e-3))
    return _ranks(smoothed(np.where(seen, measure, np.nan)))


def _ranks(values: Floats) -> Floats:
    out = np.full(values.shape, np.nan)
    there = np.isfinite(values)
    count = int(there.sum())
    out[there] = np.argsort(np.argsort(values[there])) / max(1, count - 1)
    return out
