"""The answer of ``argentry judge change``: what two pictures say has changed on a plate."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.answers.seen import PictureSeen, PlateInPicture


@dataclass(frozen=True)
class OtherPicture:
    """The picture after.

    Attributes
    ----------
    file : str
        Its own name, cleaned.
    sha256 : str
        Of its bytes.
    width_px, height_px : int
        Turned upright. [px]
    plate : PlateInPicture or None
        Where the plate lies in it.
    """

    file: str
    sha256: str
    width_px: int
    height_px: int
    plate: PlateInPicture | None


@dataclass(frozen=True)
class WholeChange:
    """How the whole plate has changed.

    Attributes
    ----------
    delta_e : float
        Middle CIEDE2000 difference over the plate. [1]
    words : str
        Such as warmer or more contrast; empty when it is below the limit.
    """

    delta_e: float
    words: str


@dataclass(frozen=True)
class AreaChange:
    """One part that has changed against the rest of the plate.

    Attributes
    ----------
    px : (float, float)
        Its middle in the picture before, turned upright. [px]
    diameter_px : float
        Of a disc of its size, in the picture before. [px]
    area_mm2 : float or None
        Null while the plate's size is not named. [mm2]
    delta_e : float
        CIEDE2000 difference from what the rest of the plate lets expect. [1]
    words : str
        darker, lighter, yellower, bluer, redder or greener.
    """

    px: tuple[float, float]
    diameter_px: float
    area_mm2: float | None
    delta_e: float
    words: str


@dataclass(frozen=True, kw_only=True)
class ChangeSeen(PictureSeen):
    """What two pictures say has changed; the keys that all answers have are of the one before.

    Attributes
    ----------
    after : OtherPicture
        The picture after.
    before_to_after : tuple of tuple of float, or None
        3 by 3: from pixels of the picture before to those of the one after, both turned upright.
    mm_per_px : float or None
        Scale of the picture before; null while the plate's size is not named. [mm/px]
    noise_delta_e : float or None
        Middle difference of what has not changed. [1]
    change : str or None
        same, whole, areas or both; null while the whole cannot be told.
    whole : WholeChange or None
        Null without a grey scale in both pictures or the same light.
    areas : tuple of AreaChange
        The largest first.
    """

    after: OtherPicture
    before_to_after: tuple[tuple[float, ...], ...] | None = None
    mm_per_px: float | None = None
    noise_delta_e: float | None = None
    change: str | None = None
    whole: WholeChange | None = None
    areas: tuple[AreaChange, ...] = ()
