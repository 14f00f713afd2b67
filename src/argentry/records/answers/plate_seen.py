"""The answer of ``argentry judge plate``: what a picture says of a finished plate."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.answers.seen import PictureSeen


@dataclass(frozen=True)
class BuffSeen:
    """Parallel lines of a buff.

    Attributes
    ----------
    direction_deg : float
        Anticlockwise from the horizontal. [deg]
    strength : float
        0 none, 1 nothing but lines. [1]
    """

    direction_deg: float
    strength: float


@dataclass(frozen=True)
class MarkedEdgeSeen:
    """One straight edge that the maker marked.

    Attributes
    ----------
    from_px, to_px : (float, float)
        Its ends as they were marked, in the file turned upright. [px]
    width_px : float or None
        How wide it was drawn, as a move across it; null where it does not count. [px]
    why : str
        Why it does not count; empty when it does.
    """

    from_px: tuple[float, float]
    to_px: tuple[float, float]
    width_px: float | None
    why: str


@dataclass(frozen=True)
class BlurSeen:
    """How sharp the picture on the plate is.

    Attributes
    ----------
    kind : str
        sharp, motion or focus; unknown: soft by motion or focus. Focus is told by marked edges
        alone.
    odds : float
        That it is of this kind; that it is soft where the kind is unknown. [1]
    length_px : float or None
        Of a motion, by marked edges through the plate's curve. [px]
    length_mm : float or None
        The same on the plate; null while its size is not named. [mm]
    direction_deg : float or None
        Of that motion, anticlockwise from the horizontal, 0 to 180. [deg]
    disc_px : float or None
        Diameter to which a point was drawn out of focus. [px]
    disc_mm : float or None
        The same on the plate. [mm]
    edge_px : float or None
        Width of its sharpest edges in the direction in which they are softest, as the standard
        deviation of a bell, the copy's own taken out. [px]
    copy_px : float or None
        The same of the plate's own outline, which only the copy can have made soft. [px]
    edges : tuple of MarkedEdgeSeen
        The marked edges, one by one.
    """

    kind: str
    odds: float
    length_px: float | None = None
    length_mm: float | None = None
    direction_deg: float | None = None
    disc_px: float | None = None
    disc_mm: float | None = None
    edge_px: float | None = None
    copy_px: float | None = None
    edges: tuple[MarkedEdgeSeen, ...] = ()


@dataclass(frozen=True)
class SpotSeen:
    """One spot on the smooth ground.

    Attributes
    ----------
    px : (float, float)
        Its middle in the file turned upright. [px]
    diameter_px : float
        [px]
    diameter_mm : float or None
        Null while the plate's size is not named. [mm]
    tone : str
        light or dark.
    """

    px: tuple[float, float]
    diameter_px: float
    diameter_mm: float | None
    tone: str


@dataclass(frozen=True)
class ScratchSeen:
    """One fine line.

    Attributes
    ----------
    from_px, to_px : (float, float)
        Its ends in the file turned upright. [px]
    length_mm : float or None
        Null while the plate's size is not named. [mm]
    tone : str
        light or dark.
    """

    from_px: tuple[float, float]
    to_px: tuple[float, float]
    length_mm: float | None
    tone: str


@dataclass(frozen=True)
class Finding:
    """One thing that may be a defect of the plate, for the maker to confirm or strike out.

    Attributes
    ----------
    key : str
        Its key in the catalogue of defects.
    odds : float
        How likely it is there, by how far its figure lies beyond the limit. [1]
    words : str
        What was seen, with its figure.
    where_px : tuple of (float, float)
        Where; empty when it is all over the plate. [px]
    """

    key: str
    odds: float
    words: str
    where_px: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Marked:
    """What the maker marked in a picture; null where nothing was.

    Attributes
    ----------
    grey : (x1, y1, x2, y2) or None
        Middles of the lightest patch of a grey scale and of the darkest. [px]
    greys : tuple of float or None
        Densities of its patches, where they are not the usual ones. [1]
    trap, unlit : (x, y) or None
        A black hole, and a part of the plate that got no light. [px]
    smooth : (x, y, width, height) or None
        A part of the plate without details. [px]
    edges : tuple of (x1, y1, x2, y2)
        Straight edges of the subject. [px]
    at : (x, y) or None
        A place on the plate that is meant, where several are in view. [px]
    """

    grey: tuple[float, float, float, float] | None = None
    greys: tuple[float, ...] | None = None
    trap: tuple[float, float] | None = None
    unlit: tuple[float, float] | None = None
    smooth: tuple[float, float, float, float] | None = None
    edges: tuple[tuple[float, float, float, float], ...] = ()
    at: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True)
class PlateSeen(PictureSeen):
    """What a picture says of a finished plate.

    Attributes
    ----------
    mm_per_px : float or None
        Scale of the file; null while the plate's size is not named. [mm/px]
    fog_share : float or None
        What its unlit part reflects beyond a black hole, as a share of white. [1]
    blue_share : float or None
        Share of the plate whose lights are bluer than its middle tones. [1]
    rim_mm : float or None
        Width of a tarnished rim; null while the plate's size is not named. [mm]
    rim_share : float or None
        The same as a share of the shorter side; 0 without one. [1]
    buff : BuffSeen or None
        Parallel lines.
    blur : BlurSeen or None
        How sharp the picture is; null where the copy is too soft to tell, or has too few edges.
    spots : tuple of SpotSeen
        On the smooth ground that was named.
    scratches : tuple of ScratchSeen
        Fine lines, the longest first. Fine straight lines of the subject look alike.
    evenness : float or None
        How far the smooth ground goes from its middle value to either side, as a share of it, the
        light of the copy included; null without a ground. [1]
    spots_per_cm2 : float or None
        How many; null while ground or size are not named. [1/cm2]
    defects : tuple of Finding
        What may be a defect, the likeliest first. Nothing is graded by it.
    marked : Marked
        What was marked in it.
    """

    mm_per_px: float | None = None
    fog_share: float | None = None
    blue_share: float | None = None
    rim_mm: float | None = None
    rim_share: float | None = None
    buff: BuffSeen | None = None
    blur: BlurSeen | None = None
    spots: tuple[SpotSeen, ...] = ()
    scratches: tuple[ScratchSeen, ...] = ()
    evenness: float | None = None
    spots_per_cm2: float | None = None
    defects: tuple[Finding, ...] = ()
    marked: Marked = Marked()
