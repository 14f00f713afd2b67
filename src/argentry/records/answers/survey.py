"""The answer of ``argentry judge survey``: many pictures of finished plates, one row each."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class SurveyRow:
    """What one picture says, as a row of the table; what is not known is empty there.

    Attributes
    ----------
    file : str
        Its path within the folder.
    sha256 : str
        Of its bytes; empty where it cannot be opened.
    asked : str
        Version of the judging code and the options that were given.
    why_not : str
        Why it is not a picture that can be used, in one sentence; empty for all others.
    line : str
        The whole in one line, as ``argentry judge plate`` gives it.
    findings : str
        Defects of the catalogue that may be there, each with its odds, the likeliest first.
    width_px, height_px : int or None
        Of the picture, turned upright. [px]
    fog_share : float or None
        What its unlit part reflects, of white. [1]
    blue_share : float or None
        Of the plate, bluer than its middle tones. [1]
    rim_share, rim_mm : float or None
        Width of a tarnished rim, also as a share of the shorter side. [1, mm]
    buff_direction_deg, buff_strength : float or None
        Lines of a buff: direction, anticlockwise from the horizontal, and strength. [deg, 1]
    blur : str
        sharp, motion, focus or unknown.
    blur_odds : float or None
        That it is so. [1]
    edge_px, copy_px : float or None
        Width of the picture's sharpest edges, and of the plate's own outline. [px]
    scratches : int or None
        How many fine lines.
    light_spots, dark_spots : int or None
        How many on the smooth ground; empty where none was named.
    spots_per_cm2, evenness : float or None
        Of the smooth ground. [1/cm2, 1]
    """

    file: str
    sha256: str
    asked: str
    why_not: str = ""
    line: str = ""
    findings: str = ""
    width_px: int | None = None
    height_px: int | None = None
    fog_share: float | None = None
    blue_share: float | None = None
    rim_share: float | None = None
    rim_mm: float | None = None
    buff_direction_deg: float | None = None
    buff_strength: float | None = None
    blur: str = ""
    blur_odds: float | None = None
    edge_px: float | None = None
    copy_px: float | None = None
    scratches: int | None = None
    light_spots: int | None = None
    dark_spots: int | None = None
    spots_per_cm2: float | None = None
    evenness: float | None = None


@dataclass(frozen=True)
class UnfitFile:
    """A file that is not a picture that can be used.

    Attributes
    ----------
    file : str
        Its path within the folder.
    why : str
        Why, in one sentence.
    """

    file: str
    why: str


@dataclass(frozen=True)
class FindingCount:
    """How many pictures may show a defect.

    Attributes
    ----------
    key : str
        Its key in the catalogue of defects.
    pictures : int
        How many.
    """

    key: str
    pictures: int


@dataclass(frozen=True)
class Survey:
    """What many pictures say; their rows stand in the table.

    Attributes
    ----------
    table : Path
        The CSV table.
    files : int
        Files in the folder.
    judged : int
        Of these, judged this time.
    known : int
        Of these, in the table before.
    findings : tuple of FindingCount
        What may be there, the most frequent first.
    no_plate : int
        Pictures in which no plate was found, or which could not be judged for another reason.
    unfit : tuple of UnfitFile
        Files that are not pictures that can be used.
    """

    table: Path
    files: int
    judged: int
    known: int
    findings: tuple[FindingCount, ...]
    no_plate: int
    unfit: tuple[UnfitFile, ...]
