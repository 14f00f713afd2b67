"""A plate's condition as one picture shows it: for the wall, an archive, an insurer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class MarkInPicture:
    """One place in the picture.

    Attributes
    ----------
    name : str
        Number of the finding, or letter of the change.
    px : (float, float)
        Its middle, or where a line begins, in the file turned upright. [px]
    radius_px : float or None
        Null where the size is not known. [px]
    to_px : (float, float) or None
        Where a line ends; null for all else. [px]
    """

    name: str
    px: tuple[float, float]
    radius_px: float | None = None
    to_px: tuple[float, float] | None = None


@dataclass(frozen=True)
class FoundOnPlate:
    """One finding with the maker's word on it.

    Attributes
    ----------
    number : str
        As it is marked in the picture.
    key : str
        Its key in the catalogue of defects.
    words : str
        What was seen, with its figure.
    odds : float
        How likely it is there. [1]
    word : str
        confirmed, struck out, or empty while nothing was said.
    """

    number: str
    key: str
    words: str
    odds: float
    word: str


@dataclass(frozen=True)
class ChangeSince:
    """What has changed between an earlier picture and this one, or between this and a later one.

    Attributes
    ----------
    before, after : datetime
        When the two pictures were taken. [UTC]
    line : str
        The whole in one line.
    areas : tuple of str
        Each changed area: its letter in the picture, what it is, its size.
    not_told : tuple of str
        What could not be told, and why.
    cautions : tuple of str
        What to mind in what is told.
    """

    before: datetime
    after: datetime
    line: str
    areas: tuple[str, ...]
    not_told: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class DefectInBook:
    """A defect of the newest making, as the book has it.

    Attributes
    ----------
    key : str
        Its key in the catalogue.
    look : str
        How it looks.
    by : str
        Who said so.
    at : datetime or None
        When. [UTC]
    """

    key: str
    look: str
    by: str
    at: datetime | None


@dataclass(frozen=True)
class Condition:
    """What ``argentry label condition`` prints.

    Attributes
    ----------
    studio : str
        Its name.
    time_zone : str
        In which its times are printed.
    plate : str
        The plate's label.
    size : str
        By name, with its sides.
    about : tuple of str
        What the book knows of it: its picture, how that was made, its silver.
    picture : str or None
        SHA-256; null where no picture of the finished plate is kept.
    taken_at : datetime or None
        When the picture was taken. [UTC]
    taken_from : str
        Whose time that is: ``file`` or ``upload``.
    width_px, height_px : int or None
        Of the picture, turned upright. [px]
    corners_px : tuple of (float, float)
        Of the plate in it. [px]
    line : str
        What was seen, in one line; empty where no picture was judged.
    found : tuple of FoundOnPlate
        What may be a defect, the likeliest first.
    figures : tuple of str
        What else was measured.
    not_told : tuple of str
        What could not be told, and why.
    cautions : tuple of str
        What to mind in what is told; empty where no defect could be looked for.
    marks : tuple of MarkInPicture
        Places of findings and of changes.
    change : ChangeSince or None
        The newest comparison with this picture in it.
    defects : tuple of DefectInBook
        Of the newest making.
    judged_at : datetime or None
        When the picture was read; null where none was judged. [UTC]
    version : str
        Of the code that read it.
    confirmed_at : datetime or None
        When the maker gave a word on it. [UTC]
    by : str
        Who judged the plate by eye, as given; may be empty.
    """

    studio: str
    time_zone: str
    plate: str
    size: str
    about: tuple[str, ...]
    picture: str | None
    taken_at: datetime | None
    taken_from: str
    width_px: int | None
    height_px: int | None
    corners_px: tuple[tuple[float, float], ...]
    line: str
    found: tuple[FoundOnPlate, ...]
    figures: tuple[str, ...]
    not_told: tuple[str, ...]
    cautions: tuple[str, ...]
    marks: tuple[MarkInPicture, ...]
    change: ChangeSince | None
    defects: tuple[DefectInBook, ...]
    judged_at: datetime | None
    version: str
    confirmed_at: datetime | None
    by: str = ""
