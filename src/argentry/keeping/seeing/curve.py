"""The curve of a plate, as a step wedge on it showed it: written, read again, from the book."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from argentry.book.pictures.judged import confirmed
from argentry.errors import BadInput
from argentry.judge.edge_blur import Curve
from argentry.needs.named_files.columns import read_columns

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from argentry.arrays import Floats
    from argentry.book.engine import Book
    from argentry.records.answers.wedge_seen import WedgeSeen

COLUMNS = ("log_exposure", "share")
NOT_A_CURVE = "its share of white does not rise by rising log_exposure"
ROWS = "give at least 4 rows, the least light first, share from 0 to 1"
NO_CURVE, MARK = "no curve was read out of this wedge", "mark its ends and a grey scale"
FEWEST = 4


def read_curve(file: Path) -> Curve:
    """Return a plate's curve from a file of two columns, up to its peak."""
    columns = read_columns(file, COLUMNS)
    made = _curve(columns["log_exposure"], columns["share"])
    if made is None:
        raise BadInput(file.name, NOT_A_CURVE, ROWS)
    return made


def curve_csv(answer: WedgeSeen) -> str:
    """Return the curve of a wedge as such a file.

    Raises
    ------
    BadInput
        If none was read.
    """
    if answer.veil_share is None or not answer.curve:
        raise BadInput("--curve-to", NO_CURVE, MARK)
    rows = [(one.log_exposure, one.density) for one in answer.curve]
    return "\n".join([",".join(COLUMNS), *(
        f"{x:.4f},{share:.6f}" for x, share in _shares(answer.veil_share, rows)
    )]) + "\n"  # fmt: skip


def curve_in_book(book: Book) -> Curve | None:
    """Return the curve of the newest wedge that the maker confirmed; None without one."""
    for one in reversed(confirmed(book, "wedge")):
        answer: Mapping[str, Any] = one.answer
        if answer.get("curve") and answer.get("veil_share"):
            rows = [(point["log_exposure"], point["density"]) for point in answer["curve"]]
            return _curve(*np.array(_shares(answer["veil_share"], rows)).T)
    return None


def _curve(x: Floats, share: Floats) -> Curve | None:
    """Return a curve up to its peak, or None where it is none."""
    top = int(np.argmax(share)) + 1
    if top < FEWEST or (np.diff(x) <= 0.0).any() or share.min() < 0.0 or share.max() > 1.0:
        return None
    return Curve(x[:top], np.maximum.accumulate(share[:top]) + 1e-9 * np.arange(top))


def _shares(veil: float, rows: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(x, min(1.0, veil * 10.0**density)) for x, density in rows]
