"""Learning from other studios: what this one shares, and what files of others let it assume."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.exchange.shared_file import shared_text
from argentry.files import write_whole
from argentry.records.learned import SharedStudio

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.desk.numbers.makings import Gathered
    from argentry.records.studio import Studio


@dataclass(frozen=True)
class ToShare:
    """What a studio would share.

    Attributes
    ----------
    text : str
        The file, every line of it.
    plates : int
        Plates it rests on.
    figures : int
        Figures in it.
    """

    text: str
    plates: int
    figures: int


def what_to_share(gathered: Gathered) -> ToShare:
    """Return the file of what this studio's plates taught, without plates, people or place.

    Raises
    ------
    BadInput
        If no plate has taught anything.
    """
    from argentry.desk.numbers.fitted import fitted
    from argentry.desk.numbers.own_numbers import learned_numbers
    from argentry.learn.pooling.share import figures_of

    # what came from others is not handed on: by the trade's word, whatever was adopted
    fit = fitted(gathered.makings)
    plates = sum(one is not None for one in fit.came)
    if not plates:
        raise BadInput(
            "argentry learn share",
            "no plate of {source} has an end that is known".format(source=gathered.source),
            "grade plates first: argentry plate grade PLATE good",
        )
    figures = figures_of(fit, learned_numbers(gathered, with_odds=False, adopted=False).learned)
    shared = SharedStudio("", plates, _materials(gathered.studio), figures)
    return ToShare(shared_text(shared), plates, len(figures))


def _materials(studio: Studio | None) -> tuple[tuple[str, str], ...]:
    if studio is None:
        return (("sensitised", "iodine"),)
    lamp = studio.frames[0].lamp is not None
    return (
        ("sensitised", "iodine"),
        ("water", studio.water.kind),
        ("red_light", "lamp" if lamp else "sun"),
    )


def write_shared(path: Path, text: str) -> None:
    """Write the file.

    Raises
    ------
    BadInput
        If it cannot be written.
    """
    try:
        write_whole(path, text)
    except OSError as error:
        why = error.strerror or error
        raise BadInput(
            str(path), "it cannot be written ({why})", "name another place", why=why
        ) from None
