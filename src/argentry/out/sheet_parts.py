"""The parts of a printed sheet, and the sheet set from them by typst."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from argentry.out.materials.paper import SHEETS, check_paper
from argentry.out.typeset import pdf

Part = dict[str, Any]


def set_sheet(
    least: float,
    title: str,
    studio: str,
    side: str,
    parts: Sequence[Part],
    paper: str,
    day: date,
) -> bytes:
    """Return a sheet as PDF.

    Parameters
    ----------
    least : float
        Its type. [pt]
    title, studio, side : str
        What stands above it; the studio's name also stands at the foot.
    parts : sequence of dict
        As the functions below make them.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    day : date
        On which the file says that it was made: the studio's.
    """
    check_paper(paper, SHEETS)
    data = {
        "paper": paper,
        "title": title,
        "studio": studio,
        "side": side,
        "foot": studio,
        "type": least,
        "made": {"year": day.year, "month": day.month, "day": day.day},
        "parts": parts,
    }
    return pdf("sheet.typ", {"data": json.dumps(data)})


def head(said: str) -> Part:
    """Return a heading."""
    return {"kind": "head", "words": said}


def words(said: str, *, bold: bool = False) -> Part:
    """Return a paragraph."""
    return {"kind": "words", "words": said, "bold": bold}


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> Part:
    """Return a table; its first column takes what room there is."""
    return {"kind": "table", "heads": list(heads), "rows": [list(row) for row in rows]}


def ticks(steps: Sequence[str], first: int = 1) -> Part:
    """Return numbered boxes to tick."""
    rows = [{"mark": f"{number}", "words": said} for number, said in enumerate(steps, first)]
    return {"kind": "ticks", "rows": rows}


def drawing(svg: str, high_mm: float) -> Part:
    """Return a drawing across the sheet, at most so high. [mm]."""
    return {"kind": "drawing", "svg": svg, "high": high_mm}
