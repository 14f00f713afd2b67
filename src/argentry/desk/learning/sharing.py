"""Learning from other studios: what this one shares, and what files of others let it assume."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from argentry.desk.numbers.adopted import note_own
from argentry.errors import BadInput
from argentry.exchange.shared_file import shared_text
from argentry.files import refused_by_disk, write_whole
from argentry.records.learned import SharedStudio

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.desk.numbers.makings import Gathered
    from argentry.learn.stages.assumed import Assumed
    from argentry.records.learned import Adopted, PooledFigure, Share
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
            "no plate of {source} has an end that is known",
            "grade plates first: argentry plate grade PLATE good",
            source=gathered.source,
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


def write_shared(path: Path, text: str, folder: Path | None = None) -> None:
    """Write the file, and note in the studio's folder, if there is one, that it did.

    Raises
    ------
    BadInput
        If it cannot be written.
    """
    with refused_by_disk(path, "name another place"):
        write_whole(path, text)
    if folder is not None:
        with refused_by_disk(folder, "check its permissions"):
            note_own(folder, text)


def as_shown(adopted: Adopted) -> Adopted:
    """Return what files let assume as screens show it: a stage as it is of an average plate.

    A stage's own figure holds for a plate whose conditions are all at the trade's values; what
    learning shows is a plate of which nothing is known.
    """
    from argentry.learn.pooling.pool import assumed_of

    if not any(one.kind == "stage" for one in adopted.figures):
        return adopted
    now, then = usual_shares(assumed_of(adopted)), usual_shares(None)

    def shown(one: PooledFigure) -> PooledFigure:
        if one.kind != "stage":
            return one
        new, old = now[one.of], then[one.of]
        return replace(
            one,
            value=new.probability, low=new.low, high=new.high,
            believed=old.probability, believed_low=old.low, believed_high=old.high,
        )  # fmt: skip

    return replace(adopted, figures=tuple(shown(one) for one in adopted.figures))


def usual_shares(assumed: Assumed | None) -> dict[str, Share]:
    """Return how often each stage of an average plate comes out sound, before any plate."""
    from argentry.desk.numbers.fitted import fitted
    from argentry.learn.odds.odds import odds

    return {one.stage: one.share for one in odds(fitted((), assumed), {}).by_stage}
