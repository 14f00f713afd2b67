"""The answer of ``argentry judge coat``: what a photograph says of a coat."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from argentry.records.answers.seen import PhoneOfPicture, PictureSeen


@dataclass(frozen=True)
class LightOfPicture:
    """The light it was taken in.

    Attributes
    ----------
    name : str
        tungsten, led, window, overcast or red.
    from_ : str
        said, or picture when it was the one that fits best.
    """

    name: str
    from_: str


@dataclass(frozen=True)
class OtherCoat:
    """Another coat that would look like it.

    Attributes
    ----------
    thickness_nm : float
        Its mean. [nm]
    cycle : int
        Its passage through the colours.
    weight : float
        How likely it is, all coats together 1. [1]
    """

    thickness_nm: float
    cycle: int
    weight: float


@dataclass(frozen=True)
class CoatMap:
    """Thickness field by field; null where it is bare, covered or mirrors the dark.

    Attributes
    ----------
    columns, rows : int
        Fields, from the top left.
    thickness_nm : tuple of tuple of float or None
        By row. [nm]
    """

    columns: int
    rows: int
    thickness_nm: tuple[tuple[float | None, ...], ...]


@dataclass(frozen=True)
class EdgesNm:
    """Mean thickness along each edge; null where it is not seen.

    Attributes
    ----------
    left, right, top, bottom : float or None
        [nm]
    """

    left: float | None
    right: float | None
    top: float | None
    bottom: float | None


@dataclass(frozen=True)
class MoreSeconds:
    """Seconds more over iodine, from this coat to the one aimed at.

    Attributes
    ----------
    middle, low, high : float
        With the 80 % range; 0 for none. [s]
    do : str
        What the hands do.
    """

    middle: float
    low: float
    high: float
    do: str


@dataclass(frozen=True)
class ScaleUsed:
    """The studio's own scale by which a coat was read.

    Attributes
    ----------
    sha256 : str
        Of the picture of its bands.
    taken_on : date
        When that was taken, in the studio's time zone.
    low_nm, high_nm : float
        Its thinnest band and its thickest. [nm]
    """

    sha256: str
    taken_on: date
    low_nm: float
    high_nm: float


@dataclass(frozen=True, kw_only=True)
class CoatSeen(PictureSeen):
    """What a photograph says of a coat.

    Attributes
    ----------
    light : LightOfPicture or None
        The light.
    thickness_nm : float or None
        Mean of the coat. [nm]
    range_80_nm : (float, float) or None
        Its 80 % range. [nm]
    cycle : int or None
        Passage through the colours.
    sure : float or None
        How likely that cycle is. [1]
    colour : str or None
        The makers' word for that thickness.
    other_coats : tuple of OtherCoat
        What else it may be.
    lab : (float, float, float) or None
        CIELAB L*, a*, b* of the coat, bare silver being white. [1]
    map : CoatMap or None
        Thickness field by field.
    order : tuple of tuple of float or None, or None
        In place of the map: which field is thicker, 0 to 1; null where it is not seen. [1]
    edges_nm : EdgesNm or None
        Edge by edge.
    thin_edge : str or None
        left, right, top or bottom, when that edge is clearly thinner than the middle.
    more_seconds : MoreSeconds or None
        What to do now.
    light_taken_share : float or None
        Light that the look took, as a share of what the coat needs in camera; null when the light
        was not named. [1]
    phone : PhoneOfPicture or None
        The camera; null where neither the file nor the maker names it.
    scale : ScaleUsed or None
        The studio's own scale for that phone in that light, out of the book, when it has one.
    """

    light: LightOfPicture | None = None
    thickness_nm: float | None = None
    range_80_nm: tuple[float, float] | None = None
    cycle: int | None = None
    sure: float | None = None
    colour: str | None = None
    other_coats: tuple[OtherCoat, ...] = ()
    lab: tuple[float, float, float] | None = None
    map: CoatMap | None = None
    order: tuple[tuple[float | None, ...], ...] | None = None
    edges_nm: EdgesNm | None = None
    thin_edge: str | None = None
    more_seconds: MoreSeconds | None = None
    light_taken_share: float | None = None
    phone: PhoneOfPicture | None = None
    scale: ScaleUsed | None = None
