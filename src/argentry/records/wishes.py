"""What is asked of one day alone: it goes before the studio's habits, and is gone the day after."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.instruments import Lamp


@dataclass(frozen=True)
class Sitter:
    """Somebody who comes at a set time to be taken on one plate.

    Attributes
    ----------
    time : str
        When the pose begins, ``"HH:MM"``.
    name : str
        Who; empty when not said.
    pose_s : float or None
        Longest pose; None: as the studio's. [s]
    f_number : float or None
        Opening of the lens; None: the usual one. [1]
    size : str
        Plate size; empty: the usual one.
    """

    time: str
    name: str = ""
    pose_s: float | None = None
    f_number: float | None = None
    size: str = ""


@dataclass(frozen=True)
class Wishes:
    """What is asked of one day; None, or nothing, leaves it to the studio's habits.

    Attributes
    ----------
    start, end : str or None
        When hands come and leave, ``"HH:MM"``.
    breaks : tuple of (str, str) or None
        Breaks, ``("12:00", "13:00")`` each; an empty tuple: none.
    workers : int or None
        Pairs of hands.
    frames : int or None
        Developing frames of the first kind.
    boxes, cameras : int or None
        Iodine boxes, and cameras with the usual lens.
    lamp : Lamp or None
        A lamp over one more frame with the first kind's filter.
    polished : int or None
        Plates that come polished from the evening before.
    seal_later : bool or None
        True when plates are sealed and labelled another day.
    pose_under : float or None
        No exposure longer than this. [min]
    sitters : tuple of Sitter
        Who comes at a set time.
    """

    start: str | None = None
    end: str | None = None
    breaks: tuple[tuple[str, str], ...] | None = None
    workers: int | None = None
    frames: int | None = None
    boxes: int | None = None
    cameras: int | None = None
    lamp: Lamp | None = None
    polished: int | None = None
    seal_later: bool | None = None
    pose_under: float | None = None
    sitters: tuple[Sitter, ...] = ()


NOTHING_WISHED = Wishes()
