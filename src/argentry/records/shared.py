"""What a studio shares of what its plates taught: figures, without plates, people or place."""

from __future__ import annotations

from dataclasses import dataclass

VERSION = 1  # of the form of the file

# What a figure may be of, and the words for it.
KINDS = {
    "good": "share of good plates",
    "stage": "share of sound stages",
    "effect": "effect of a condition",
    "best": "best value of a condition",
    "matters": "chance that a condition matters",
    "number": "a number of the day plan",
}


@dataclass(frozen=True)
class SharedFigure:
    """One thing that a studio's plates taught.

    Attributes
    ----------
    kind : str
        One of `KINDS`.
    of : str
        The stage, the condition or the number; empty for the share of good plates.
    stage : str
        Stage on which a condition acts; else empty.
    value, low, high : float
        Middle and 80 % range. [1, probit per width, or the number's unit]
    plates : float
        Plates behind it. [plates]
    """

    kind: str
    of: str
    stage: str
    value: float
    low: float
    high: float
    plates: float

    @property
    def key(self) -> tuple[str, str, str]:
        """Return what it is of, the same in every file."""
        return self.kind, self.stage, self.of


@dataclass(frozen=True)
class SharedStudio:
    """What one studio shares.

    Attributes
    ----------
    name : str
        Of the file it came from; empty when it is to be written.
    plates : int
        Plates whose end is known.
    materials : tuple of (str, str)
        What it works with, in generic words.
    figures : tuple of SharedFigure
        What its plates taught.
    """

    name: str
    plates: int
    materials: tuple[tuple[str, str], ...]
    figures: tuple[SharedFigure, ...]


@dataclass(frozen=True)
class PooledFigure:
    """One starting assumption that files of other studios changed.

    Attributes
    ----------
    kind, of, stage : str
        As in `SharedFigure`.
    value, low, high : float
        What is assumed now, with its 80 % range over studios. [unit]
    believed, believed_low, believed_high : float
        The trade's word. [unit]
    plates : float
        Plates of other studios behind it. [plates]
    files : tuple of str
        Names of the files it comes from.
    """

    kind: str
    of: str
    stage: str
    value: float
    low: float
    high: float
    believed: float
    believed_low: float
    believed_high: float
    plates: float
    files: tuple[str, ...]


@dataclass(frozen=True)
class Adopted:
    """What files of other studios let assume.

    Attributes
    ----------
    files : tuple of str
        Names of the files that count.
    left_out : tuple of str
        Names of files that do not fit the others.
    plates : int
        Plates of the files that count.
    figures : tuple of PooledFigure
        Starting assumptions in place of the trade's.
    """

    files: tuple[str, ...]
    left_out: tuple[str, ...]
    plates: int
    figures: tuple[PooledFigure, ...]
