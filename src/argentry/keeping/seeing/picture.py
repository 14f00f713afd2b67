"""A picture opened for any question: its pixels, what is said of it, places that a maker names."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import wraps
from itertools import pairwise
from math import inf, isfinite
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, TypeVar

import numpy as np
from numpy.typing import NDArray

from argentry import trade
from argentry.arrays import Floats
from argentry.book.pictures.child import MOST_SIDE
from argentry.book.pictures.kept import LONGEST_NAME, clean_name, kind_of, picture_content
from argentry.book.pictures.reading import read_picture
from argentry.book.times import harmless_line
from argentry.errors import BadInput, check_range
from argentry.judge.bare_silver import SIDES
from argentry.judge.grey_scale import Line
from argentry.records.answers.seen import PhoneOfPicture, PlateInPicture

CORNER_DOUBT_SHARE = 0.005  # of a side; by hand
NOT_NUMBERS, AS_NUMBERS = "{text!r} is not a list of numbers", "write them as 120,300.5"
NOT_FOUR = "{text!r} is not two places in the picture"
NOT_TWO = "{text!r} is not a place in the picture"
AS_TWO = "write two numbers in pixels, as 120,300"
AS_FOUR = "write four numbers in pixels, as 120,300,940,310"
EDGES = SIDES  # where a strip may be bare
NOT_AN_EDGE, USE_EDGES = "{edge!r} is not an edge", "use left, right, top or bottom"
TOO_FEW_GREYS = "{count} densities do not make a grey scale"
GIVE_GREYS = "give at least 3, the lightest patch first"
DARKENS, LIGHTEST_FIRST = "the densities do not rise", "write the lightest patch first"
ANOTHER = (
    "What lies at {x:.0f},{y:.0f} looks like another plate; only the one at "
    "{own_x:.0f},{own_y:.0f} was read. For the other, {how}."
)
CROP, CROP_OR_MARK = "crop the picture", "crop the picture or mark a place on it (--at)"
LOOKED_AT_PX = 2400  # longest side of a wedge or a finished plate as it is looked at


@dataclass(frozen=True)
class Opened:
    """A picture opened.

    Attributes
    ----------
    pixels : ndarray, shape (height, width, 3)
        8-bit sRGB, upright.
    scale : float
        Pixels of the file for one of these.
    facts : dict
        What `PictureSeen` says of the picture itself, but for its plate.
    flash : bool
        Whether the file says that a flash fired.
    camera : str
        What the file names as its camera; empty when it does not.
    """

    pixels: NDArray[np.uint8]
    scale: float
    facts: dict[str, Any]
    flash: bool = False
    camera: str = ""

    def phone(self, said: str | None) -> PhoneOfPicture | None:
        """Return the phone: as the file names it, else as the maker does."""
        if self.camera:
            return PhoneOfPicture(self.camera, "picture")
        words = harmless_line(said or "")[:LONGEST_NAME]
        return PhoneOfPicture(words, "said") if words else None

    def plate(self, corners: Floats | None) -> PlateInPicture | None:
        """Return where a plate with these corners lies in the file."""
        if corners is None:
            return None
        said = tuple((round(x * self.scale, 1), round(y * self.scale, 1)) for x, y in corners)
        side = float(np.hypot(*(corners[1] - corners[0])))
        return PlateInPicture(said, round(CORNER_DOUBT_SHARE * side * self.scale, 1))

    def notes_of(
        self, corners: Floats | None, others: Sequence[Floats], how: str
    ) -> tuple[str, ...]:
        """Return the notes on how it was read, and on what looks like another plate in it.

        Parameters
        ----------
        corners : ndarray or None
            Of the plate that was read. [px of this]
        others : sequence of ndarray
            Of the others. [px of this]
        how : str
            What to do to read another.
        """
        notes: tuple[str, ...] = self.facts["notes"]
        if corners is None:
            return notes
        own_x, own_y = corners.mean(axis=0) * self.scale
        middles = [one.mean(axis=0) * self.scale for one in others]
        said = (ANOTHER.format(x=x, y=y, own_x=own_x, own_y=own_y, how=how) for x, y in middles)
        return (*notes, *said)

    def own_place(self, at: tuple[float, float] | None) -> tuple[float, float] | None:
        """Return a place of the file in pixels of the picture looked at."""
        return None if at is None else (at[0] / self.scale, at[1] / self.scale)


def opened(file: Path, name: str, sha256: str, most_px: int) -> Opened:
    """Return a picture, read by a process of its own.

    Parameters
    ----------
    file : Path
        The picture.
    name, sha256 : str
        Its own name and its hash.
    most_px : int
        Longest side wanted. [px]

    Raises
    ------
    BadInput
        If it is not a picture that can be used.
    """
    media = kind_of(file)
    read = read_picture(file, media, most_px)
    pixels = np.frombuffer(read.content, np.uint8).reshape(read.height, read.width, 3)
    facts = {
        "file": clean_name(name), "sha256": sha256, "width_px": read.width_px,
        "height_px": read.height_px, "kind": media, "notes": read.notes,
    }  # fmt: skip
    return Opened(pixels, read.width_px / read.width, facts, read.flash, read.camera)


def sha256_of_named(file: Path) -> str:
    """Return the hash of a picture that the maker names.

    Raises
    ------
    BadInput
        If it cannot be read or is too long.
    """
    return hashlib.sha256(picture_content(file)).hexdigest()


Given = ParamSpec("Given")
Seen = TypeVar("Seen")


def of_file(
    judge: Callable[Concatenate[Path, str, str, Given], Seen],
) -> Callable[Concatenate[Path, Given], Seen]:
    """Return the same for a picture on this machine, which has its own name and is hashed here."""

    @wraps(judge)
    def judged(file: Path, /, *given: Given.args, **named: Given.kwargs) -> Seen:
        return judge(file, file.name, sha256_of_named(file), *given, **named)

    return judged


def numbers(where: str, text: str | None) -> tuple[float, ...] | None:
    """Return numbers as the maker writes them, with commas between.

    Raises
    ------
    BadInput
        If one is not a number.
    """
    if text is None or not text.strip():
        return None
    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        found = (inf,)
    if not all(map(isfinite, found)):
        raise BadInput(where, NOT_NUMBERS, AS_NUMBERS, text=text)
    return found


def four(where: str, text: str | None) -> Line | None:
    """Return two places of a picture as the maker writes them: ``X1,Y1,X2,Y2``.

    Raises
    ------
    BadInput
        If it is not four numbers.
    """
    found = _so_many(where, text, 4, NOT_FOUR, AS_FOUR)
    return None if found is None else (found[0], found[1], found[2], found[3])


def fours(where: str, text: str | None) -> tuple[Line, ...]:
    """Return pairs of places as the maker writes them, with spaces between the pairs.

    Raises
    ------
    BadInput
        If one is not four numbers.
    """
    return tuple(line for one in (text or "").split() if (line := four(where, one)) is not None)


def two(where: str, text: str | None) -> tuple[float, float] | None:
    """Return a place of a picture as the maker writes it: ``X,Y``.

    Raises
    ------
    BadInput
        If it is not two numbers.
    """
    found = _so_many(where, text, 2, NOT_TWO, AS_TWO)
    return None if found is None else (found[0], found[1])


def _so_many(
    where: str, text: str | None, count: int, wrong: str, right: str
) -> tuple[float, ...] | None:
    found = numbers(where, text)
    if found is not None and len(found) != count:
        raise BadInput(where, wrong.format(text=str(text)[:40]), right)
    return found


def check_place(where: str, numbers_px: Sequence[float] | None) -> None:
    """Refuse numbers that lie in no picture."""
    for one in numbers_px or ():
        check_range(where, one, 0.0, float(MOST_SIDE), "px")


def mm_per_px(corners: Floats, scale: float, long_mm: float) -> float:
    """Return the millimetres to a pixel of a plate, by its longer sides; `scale` to a looked-at."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T) * scale
    return long_mm / float(max(sides[0] + sides[2], sides[1] + sides[3]) / 2)


def check_edge(where: str, edge: str | None) -> None:
    """Refuse an edge that a plate does not have; None is one that nobody named."""
    if edge is not None and edge not in EDGES:
        raise BadInput(where, NOT_AN_EDGE, USE_EDGES, edge=edge[:40])


def grey_densities(greys: tuple[float, ...] | None) -> tuple[float, ...]:
    """Return the densities of a grey scale's patches: the maker's own, else the usual ones.

    Raises
    ------
    BadInput
        If they do not make a scale.
    """
    if greys is None:
        first, step, count = (
            trade.value("seeing", f"grey_{key}")
            for key in ("first_density", "density_step", "patches")
        )
        return tuple(first + step * k for k in range(int(count)))
    if len(greys) < 3:
        raise BadInput("--grey-densities", TOO_FEW_GREYS, GIVE_GREYS, count=len(greys))
    for one in greys:
        check_range("--grey-densities", one, 0.0, 4.0, "1")
    if any(after <= before for before, after in pairwise(greys)):
        raise BadInput("--grey-densities", DARKENS, LIGHTEST_FIRST)
    return greys


def shrunk(line: Line | None, scale: float) -> Line | None:
    """Return four numbers of the file in pixels of the picture looked at."""
    if line is None:
        return None
    x1, y1, x2, y2 = (one / scale for one in line)
    return x1, y1, x2, y2
