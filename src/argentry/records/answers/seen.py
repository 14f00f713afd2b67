"""What every answer of ``argentry judge`` says of the picture itself."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

_WORDS = {
    "scale": "coat by your own scale",
    "thickness_nm": "thickness",
    "edges_nm": "thickness at the edges",
    "more_seconds": "seconds more over iodine",
    "light_taken_share": "share of the light that the look took",
    "mm_per_px": "scale in mm",
    "fog_share": "share of fog",
    "blue_share": "share of blue lights",
    "rim_share": "tarnished rim",
    "rim_mm": "width of a rim in mm",
    "buff": "buff lines",
    "spots_per_cm2": "spots to the square centimetre",
    "blur_kind": "motion or focus",
    "blur_direction": "direction of the blur",
    "blur_length": "length of the blur",
    "before_to_after": "fit of the two pictures",
    "noise_delta_e": "noise of the two pictures",
    "change": "kind of change",
    "whole": "change of the whole plate",
    "areas": "changed areas",
    "area_mm2": "area in square mm",
    "veil_share": "veil",
    "speed_point_log_exposure": "speed point",
    "peak_log_exposure": "peak",
    "turns": "turn into the solarised",
    "right_stops": "stops to the right strip",
    "ripe_odds": "odds that it is ripe",
    "ripe_dose_kj_m2": "light that makes it ripe",
    "to_go_kj_m2": "light to go",
    "to_go_minutes": "minutes to go",
}
_MISSING = "{what} not told: {why}"
_WITH_OTHERS = "plate", "mm_per_px"  # left out: what rests on them says why


def what_words(what: str) -> str:
    """Return a figure that is not told in words.

    Examples
    --------
    >>> what_words("rim_mm"), what_words("thin_edge")
    ('width of a rim in mm', 'thin edge')
    """
    return _WORDS.get(what, what.replace("_", " "))


def not_told_words(missing: Iterable[Mapping[str, str]], line: str = "") -> tuple[str, ...]:
    """Return what is not told in words, each reason once.

    Where the plate lies and its scale are left out: what rests on them says why.

    Parameters
    ----------
    missing : iterable of mapping
        Rows of `not_told`: `what` is null, and `why`.
    line : str
        The answer's own line: a reason that ends it is not said again.

    Examples
    --------
    >>> not_told_words([{"what": what, "why": "no plate is found"} for what in ("buff", "spots")])
    ('Buff lines, spots not told: no plate is found',)
    """
    by_reason: dict[str, list[str]] = {}
    for row in (one for one in missing if one["what"] not in _WITH_OTHERS):
        by_reason.setdefault(row["why"], []).append(what_words(row["what"]))
    said = ((", ".join(whats), why) for why, whats in by_reason.items() if not line.endswith(why))
    return tuple(_MISSING.format(what=what[0].upper() + what[1:], why=why) for what, why in said)


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
        What the look costs, and what to mind in what is told: none where that is not told.
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
