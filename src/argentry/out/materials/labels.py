"""Labels of bottles and plates, set by typst."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from argentry.out.drawing.pictograms import pictogram
from argentry.out.materials.paper import LABEL_PAPERS, WALL_PAPERS, check_paper, code_svg
from argentry.out.typeset import pdf, with_units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from argentry.keeping.stock.labels import Label

TITLE = "Labels, {studio}"
MOST_ADVICE = 6  # on a label, by Regulation (EC) 1272/2008, article 28


@dataclass(frozen=True)
class _Set:
    """A label as the template reads it."""

    title: str
    signal: str
    lines: tuple[str, ...]
    statements: tuple[str, ...]
    advice: tuple[str, ...]
    pictograms: tuple[str, ...]
    qr: str
    foot: str


def labels_pdf(
    labels: Sequence[Label],
    paper: str,
    *,
    day: date,
    studio: str = "",
    copies: int = 1,
    skip: int = 0,
    wall: bool = False,
) -> bytes:
    """Return labels as PDF.

    Parameters
    ----------
    labels : sequence of Label
        What is to be printed.
    paper : str
        One of `argentry.out.materials.paper.PAPERS`.
    day : date
        Today in the studio.
    studio : str
        Name of the studio.
    copies : int
        Of each label.
    skip : int
        Labels of the sheet that are used already.
    wall : bool
        True for large ones that hang beside a picture.
    """
    data = label_data(labels, paper, day, studio, copies, skip, wall=wall)
    return pdf("label.typ", {"data": json.dumps(data)})


def label_data(
    labels: Sequence[Label],
    paper: str,
    day: date,
    studio: str = "",
    copies: int = 1,
    skip: int = 0,
    *,
    wall: bool = False,
) -> dict[str, object]:
    """Return everything the template prints."""
    on = (WALL_PAPERS if wall else LABEL_PAPERS)[check_paper(paper)]
    empty = _Set("", "", (), (), (), (), "", "")
    made = [empty] * (0 if on.roll else skip)
    made += [_set(one, full=on.full) for one in labels for _ in range(copies)]
    return {
        **asdict(on),
        "title": TITLE.format(studio=studio),
        "studio": studio,
        "made": {"year": day.year, "month": day.month, "day": day.day},
        "labels": [asdict(one) for one in made],
    }


def _set(label: Label, *, full: bool) -> _Set:
    made = _Set(
        title=label.title,
        signal=label.signal,
        lines=tuple(map(with_units, label.lines if full else label.lines[:3])),
        statements=label.statements,
        advice=label.advice[:MOST_ADVICE],
        pictograms=tuple(pictogram(key) for key in label.pictograms),
        qr=code_svg(label.address),
        foot=label.foot,
    )
    # a third pictogram and a code do not stand side by side on a small label
    crowded = not full and len(made.pictograms) > 2
    return replace(made, qr="") if crowded else made
