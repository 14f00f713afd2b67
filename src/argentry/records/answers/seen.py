"""What every answer of ``argentry judge`` says of the picture itself."""

from __future__ import annotations

from dataclasses import dataclass

_WORDS = {
    "scale": "scale of your own used",
    "mm_per_px": "scale in mm",
    "rim_mm": "width of a rim in mm",
    "spots_per_cm2": "spots to the square centimetre",
    "area_mm2": "area in square mm",
    "fog_share": "share of fog",
    "more_seconds": "seconds more over iodine",
    "light_taken_share": "share of the light that the look took",
}


def what_words(what: str) -> str:
    """Return a figure that is not told in words.

    Examples
    --------
    >>> what_words("rim_mm"), what_words("blur_length")
    ('width of a rim in mm', 'blur length')
    """
    return _WORDS.get(what, what.replace("_", " "))


@dataclass(frozen=True)
class NotTold:
    """Something that could not be told.

    Attributes
    ----------
    what : str
        The key that is null for it.
    why : str
        Why, and what would help.
    """

    what: str
    why: str


@dataclass(frozen=True)
class PhoneOfPicture:
    """The camera it was taken with.

    Attributes
    ----------
    name : str
        Make, model and lens as the file names them, cleaned; or as the maker says.
    from_ : str
        picture, or said when the file names no camera.
    """

    name: str
    from_: str


@dataclass(frozen=True)
class PlateInPicture:
    """Where the plate lies.

    Attributes
    ----------
    corners_px : tuple of (float, float)
        Clockwise from the top left, in the file turned upright. [px]
    doubt_px : float
        Of each. [px]
    """

    corners_px: tuple[tuple[float, float], ...]
    doubt_px: float


@dataclass(frozen=True, kw_only=True)
class PictureSeen:
    """What a picture shows, whatever it was asked.

    Attributes
    ----------
    file : str
        Its own name, cleaned.
    sha256 : str
        Of its bytes.
    width_px, height_px : int
        Turned upright. [px]
    kind : str
        Its media type by content.
    plate : PlateInPicture or None
        Where the plate lies.
    line : str
        The whole in one line.
    not_told : tuple of NotTold
        What is null, and why.
    notes : tuple of str
        On how it was read.
    cautions : tuple of str
        What the look costs.
    """

    file: str
    sha256: str
    width_px: int
    height_px: int
    kind: str
    plate: PlateInPicture | None = None
    line: str = ""
    not_told: tuple[NotTold, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
