"""What a picture says of a finished plate: fog, blue lights, tarnish, lines, spots, blur.

Every finding has a figure and its odds; what needs a black trap, a grey scale or a smooth ground is
not told without it. [1]_

References
----------
.. [1] Lighting of the copy: axial light makes a negative; a plate copied without a dark cloth
   before the mirror shows the room as fog (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats, Truth
from argentry.judge.bare_silver import NO_COLOUR, has_colour
from argentry.judge.buff_lines import BuffLines, buff_lines
from argentry.judge.edge_blur import Curve, EdgeBlur, blur_of_edges
from argentry.judge.grey_scale import BEYOND, LUMINANCE, NO_SCALE, GreyScale, Line, grey_scale
from argentry.judge.outline.border import opening
from argentry.judge.outline.plate_edges import NOT_FOUND, NOT_THERE, plates_in
from argentry.judge.outline.straight import frame_of, sampled, through
from argentry.judge.raster import has_raster
from argentry.judge.scratches import Scratch, scratches
from argentry.judge.sharpness import MARGIN, Sharpness, sharpness
from argentry.judge.spots import Spot, spots
from argentry.physics.coat import colour

LONG_PX = 1200  # of the plate as it is looked at
LEAST_PX = 200  # of its shorter side in the picture
PAPER = (
    "what lies there is light nearly all over, as a page or a blank plate: no picture is seen on "
    "it; mark an unlit part if it is a plate"
)
ODD_OPENING = (
    "a frame or mat lies around it whose opening is not a rectangle: photograph the plate out of it"
)
RASTER = (
    "it shows the fine raster of a screen or of printing ink, which no plate has: photograph the "
    "plate itself"
)
NO_TRAP = "no black trap is marked: without one the room in the mirror is taken for fog"
NO_UNLIT = "no part that got no light is marked: a picture without deep shadows looks like fog"
TOO_SMALL = "the plate is too small in the picture: let it fill at least half of it"
NO_ROOM = "the smooth ground lies outside the picture or is too small"
CLIPPED = "its lights are overexposed: take it again with one stop less"
NO_GROUND = "no smooth ground is marked: on a picture spots cannot be told from its details"


@dataclass(frozen=True)
class PlateLook:
    """What is known of a picture of a finished plate; places in pixels of this picture.

    Attributes
    ----------
    grey : (x1, y1, x2, y2) or None
        Middles of the first and last patch of a grey scale. [px]
    densities : tuple of float
        Of its patches. [1]
    trap : (x, y) or None
        A black hole in view. [px]
    unlit : (x, y) or None
        A part of the plate that got no light, as under the lip of its holder. [px]
    smooth : (x, y, width, height) or None
        A part of the plate without details: sky, backdrop. [px]
    edges : tuple of (x1, y1, x2, y2)
        Straight edges of the subject. [px]
    curve : Curve or None
        What such a plate makes of light.
    at : (x, y) or None
        A place on the plate that is meant, where there are several. [px]
    """

    grey: Line | None = None
    densities: tuple[float, ...] = ()
    trap: tuple[float, float] | None = None
    unlit: tuple[float, float] | None = None
    smooth: Line | None = None
    edges: tuple[Line, ...] = ()
    curve: Curve | None = None
    at: tuple[float, float] | None = None


@dataclass(frozen=True)
class Plate:
    """What was seen of a finished plate.

    Attributes
    ----------
    corners : ndarray or None
        [px of the picture looked at]
    fog : float or None
        Share of white that its unlit part reflects beyond the black trap. [1]
    blue : float or None
        Share of the plate whose lights are bluer than its middle tones. [1]
    rim : float or None
        Width of a tarnished rim as a share of the shorter side; 0 without one. [1]
    rim_colour : float
        Colour difference of that rim from the middle of the plate. [1]
    buff : BuffLines
        Parallel lines.
    spots : tuple of Spot or None
        On the smooth ground, places in pixels of the picture looked at.
    scratches : tuple of Scratch
        Fine lines, places in pixels of the picture looked at.
    evenness : float or None
        How far the smooth ground goes from its middle value, light included. [1]
    sharp : Sharpness or None
        Widths of its edges in pixels of the plate as it is looked at.
    edges : EdgeBlur or None
        What marked edges say of the blur, in pixels of the picture looked at.
    looked_px : float
        Pixels of the picture to one of those. [1]
    whys : tuple of (str, str)
        What is not told, and why.
    why : str
        Why nothing is told; empty when something is.
    others : tuple of ndarray
        Corners of what else looks like a plate in the picture, and was not read. [px]
    framed : bool
        True where a border of one tone lies around what was read: frame, mat, margin of a print.
    """

    corners: Floats | None = None
    fog: float | None = None
    blue: float | None = None
    rim: float | None = 0.0
    rim_colour: float = 0.0
    buff: BuffLines | None = None
    spots: tuple[Spot, ...] | None = None
    scratches: tuple[Scratch, ...] = ()
    evenness: float | None = None
    sharp: Sharpness | None = None
    edges: EdgeBlur | None = None
    looked_px: float = 1.0
    whys: tuple[tuple[str, str], ...] = ()
    why: str = ""
    others: tuple[Floats, ...] = ()
    framed: bool = False


def see_plate(picture: NDArray[np.uint8], look: PlateLook) -> Plate:
    """Return what a picture says of a finished plate.

    Parameters
    ----------
    picture : ndarray, shape (height, width, 3)
        8-bit sRGB, upright.
    look : PlateLook
        What is known of it.
    """
    linear = colour.from_srgb_bytes(picture)
    found = plates_in(linear, dark=True, at=look.at)
    if not found:
        return Plate(why=NOT_FOUND if look.at is None else NOT_THERE)
    outer, *others = found
    corners, framed = opening(linear, outer)
    if corners is None:
        return Plate(outer, why=ODD_OPENING, others=tuple(others), framed=True)
    seen = _seen(linear, corners, look, coloured=has_colour(picture))
    return replace(seen, others=tuple(others), framed=framed)


def _seen(linear: Floats, corners: Floats, look: PlateLook, *, coloured: bool) -> Plate:
    """Return what is seen of the finished plate with these corners."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    wide, high = (sides[0] + sides[2]) / 2, (sides[1] + sides[3]) / 2
    if min(wide, high) < LEAST_PX:
        return Plate(corners, why=TOO_SMALL)
    share = min(1.0, LONG_PX / max(wide, high))
    rows, columns = int(high * share), int(wide * share)
    frame = frame_of(corners, rows, columns) @ np.array(
        [[1.0, 0.0, -MARGIN], [0.0, 1.0, -MARGIN], [0.0, 0.0, 1.0]]
    )
    around = sampled(linear, frame, rows + 2 * MARGIN, columns + 2 * MARGIN)
    plate = around[MARGIN:-MARGIN, MARGIN:-MARGIN]
    luminance = linear @ LUMINANCE
    if (look.trap, look.unlit, look.smooth) == (None, None, None) and _is_paper(plate @ LUMINANCE):
        return Plate(corners, why=PAPER)
    if coloured and has_raster(plate):
        return Plate(corners, why=RASTER)
    fog, no_fog = _fog(luminance, look)
    lab = _lab(plate)
    width: float | None
    width, strength = _rim(lab)
    blue = _blue(lab, _clipped(plate)) if coloured else None
    found, whys = None, () if no_fog is None else (("fog_share", no_fog),)
    if blue is None:
        whys = (*whys, ("blue_share", CLIPPED if coloured else NO_COLOUR))
    if not coloured:
        width, whys = None, (*whys, *((what, NO_COLOUR) for what in ("rim_share", "rim_mm")))
    if look.smooth is None:
        whys = (*whys, ("spots", NO_GROUND), ("evenness", NO_GROUND))
    else:
        found = spots(luminance, look.smooth)
        if found is None:
            whys = (*whys, ("spots", NO_ROOM), ("evenness", NO_ROOM))
    sharp = sharpness(around @ LUMINANCE)
    return Plate(
        corners, fog, blue, width, strength, buff_lines(plate @ LUMINANCE), found,
        tuple(_placed(one, frame) for one in scratches(plate @ LUMINANCE)),
        None if found is None or look.smooth is None else _evenness(luminance, look.smooth),
        sharp, _by_edges(luminance, look, sharp.copy), 1.0 / share, whys,
    )  # fmt: skip


def _by_edges(luminance: Floats, look: PlateLook, copy: float | None) -> EdgeBlur | None:
    """Return what the marked edges say, by shares of white where a grey scale is marked."""
    if not look.edges:
        return None
    scale = None if look.grey is None else grey_scale(luminance, look.grey, look.densities)
    if scale is None or isinstance(scale, str):
        return blur_of_edges(luminance, look.edges, copy, None)
    return blur_of_edges(scale.shares_of(luminance), look.edges, copy, look.curve)


def _is_paper(luminance: Floats) -> bool:
    """Return True where nearly all of a rectangle is as light as its lights."""
    middle, lights = np.quantile(luminance, (0.5, 0.98))
    return bool(middle > trade.value("seeing", "paper_from") * lights)


def _placed(one: Scratch, frame: Floats) -> Scratch:
    """Return a scratch of the straightened plate in pixels of the picture."""
    xs, ys = np.array([one.start, one.end]).T + MARGIN
    (x1, x2), (y1, y2) = (values.tolist() for values in through(frame, xs, ys))
    return replace(one, start=(x1, y1), end=(x2, y2))


def _evenness(luminance: Floats, part: Line) -> float:
    """Return how far a smooth ground goes from its middle value, spots left out. [1]."""
    from scipy import ndimage

    left, top, wide, high = (max(0, round(one)) for one in part)
    ground = luminance[top : top + high, left : left + wide]
    slow = ndimage.gaussian_filter(ndimage.median_filter(ground[::2, ::2], 9), 4.0)
    low, middle, top_ = np.quantile(slow, (0.02, 0.5, 0.98))
    return float((top_ - low) / max(middle, 1e-6) / 2)


def _fields(plate: Floats) -> Floats:
    """Return means of small fields of a plate; its rim is the first and last of them."""
    step = max(1, min(plate.shape[:2]) // 120)
    rows, columns = plate.shape[0] // step, plate.shape[1] // step
    cut = plate[: rows * step, : columns * step]
    return np.asarray(cut.reshape(rows, step, columns, step, 3).mean(axis=(1, 3)))


def _lab(plate: Floats) -> Floats:
    """Return CIELAB of the fields of a plate, for which its own middle tones are neutral.

    By any other white, a cast of the picture makes its lights differ from them by their lightness
    alone.
    """
    fields = _fields(plate)
    light = fields @ LUMINANCE
    low, middle, top = np.quantile(light, (0.3, 0.6, 0.995))
    own = np.maximum(np.median(fields[(light >= low) & (light <= middle)], axis=0), 1e-6)
    # a plate is dark: brought up so that its lights are as bright as paper
    fields = fields / own * (own @ LUMINANCE) / max(top, 1e-6)
    return colour.lab(colour.xyz_of_linear(fields), colour.white(colour.light("D65")))


def _clipped(plate: Floats) -> Truth:
    """Return which fields of a plate are overexposed: their colour is not known."""
    over = (plate >= trade.value("seeing", "clipped_level")).astype(float)
    return np.asarray((_fields(over) > trade.value("seeing", "clipped_share")).any(axis=-1))


def _fog(luminance: Floats, look: PlateLook) -> tuple[float | None, str | None]:
    if look.grey is None:
        return None, NO_SCALE
    if look.trap is None:
        return None, NO_TRAP
    if look.unlit is None:
        return None, NO_UNLIT
    scale = grey_scale(luminance, look.grey, look.densities)
    if isinstance(scale, str):
        return None, scale
    shares = []
    for place in (look.unlit, look.trap):
        x, y = (round(one) for one in place)
        around = luminance[max(0, y - 2) : y + 3, max(0, x - 2) : x + 3]
        if around.size == 0:
            return None, BEYOND
        shares.append(_share(scale, float(np.median(around))))
    return max(0.0, shares[0] - shares[1]), None


def _share(scale: GreyScale, level: float) -> float:
    """Return a share of white; below the darkest grey in proportion: it is next to nothing."""
    share, dark = scale.read(level)
    return float(10.0**share * (level / 10.0 ** scale.levels[0] if dark else 1.0))


def _blue(lab: Floats, clipped: Truth) -> float | None:
    """Return the share of a plate whose lights are clearly bluer than its middle tones.

    None where too many of them are overexposed.
    """
    edge = max(1, int(0.08 * min(lab.shape[:2])))
    inner, over = lab[edge:-edge, edge:-edge], clipped[edge:-edge, edge:-edge]
    light = inner[..., 0]
    low, middle, high = np.quantile(light, (0.3, 0.6, 0.75))
    lights = light >= high
    if over[lights].mean() > trade.value("seeing", "clipped_share"):
        return None
    tones = inner[(light >= low) & (light <= middle)]
    bluer = inner[..., 2] < np.median(tones[:, 2]) - trade.value("seeing", "bluer_by")
    return float((bluer & lights & ~over).mean())


def _rim(lab: Floats) -> tuple[float, float]:
    """Return the width of a tarnished rim and how far its colour lies from the middle's.

    The colour of a ring of fields is told against that of fields of like lightness farther in, so
    that the picture itself does not count.
    """
    rows, columns = lab.shape[:2]
    y, x = np.mgrid[0:rows, 0:columns]
    away = np.minimum.reduce([y, x, rows - 1 - y, columns - 1 - x]) / min(rows, columns)
    inner = lab[away > 0.2]
    order = np.argsort(inner[:, 0])
    usual = [np.interp(lab[..., 0], inner[order, 0], _running(inner[order, i])) for i in (1, 2)]
    off = np.hypot(lab[..., 1] - usual[0], lab[..., 2] - usual[1])
    rings = np.arange(0.0, 0.2, 0.0125)
    found = np.array([
        np.median(off[(away >= ring) & (away < ring + 0.0125)]) for ring in rings
    ])  # fmt: skip
    base = float(np.median(found[-6:]))
    strength = float(found[:2].mean() - base)
    over = found - base > max(0.35 * strength, 1.0)
    wide = int(np.argmin(over)) if not over.all() else over.size
    return float(rings[1] * wide), strength


def _running(values: Floats) -> Floats:
    """Return medians of neighbours in a long row."""
    from scipy import ndimage

    return np.asarray(ndimage.uniform_filter1d(values, max(3, len(values) // 12), mode="nearest"))
