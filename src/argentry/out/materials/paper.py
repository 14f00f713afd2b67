"""Papers that labels and sheets are printed on, and the codes that lead back to a page."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace

from argentry.errors import BadInput

ROLL, SMALL = "roll-62", "38x21"
SHEETS = ("a4", "us-letter")
PAPERS = (*SHEETS, ROLL, SMALL)
PAPER_WORDS = dict(zip(PAPERS, ("A4", "US Letter", "62 mm roll", "38 × 21 mm"), strict=True))
LONGEST_ADDRESS = 300


@dataclass(frozen=True)
class LabelPaper:
    """How labels lie on a paper.

    Attributes
    ----------
    paper : str
        What typst calls it.
    roll : bool
        True for one label to a page, as long as it needs.
    width, height : float
        Of one label. [mm]
    left, top, gap : float
        Margins of the sheet, and the gap between columns. [mm]
    columns, rows : int
        Labels on a sheet.
    margin : float
        Inside a label. [mm]
    type, least : float
        Type on it, and how small it becomes where a label has many words. [pt]
    pictogram, qr : float
        Width of a pictogram and of a code. [mm]
    full : bool
        True where all statements have room.
    lines : bool
        True where the labels are cut by hand.
    """

    paper: str
    roll: bool
    width: float
    height: float
    left: float
    top: float
    gap: float
    columns: int
    rows: int
    margin: float
    type: float
    least: float
    pictogram: float
    qr: float
    full: bool
    lines: bool


# The small sheets are A4 with 65 labels of 38.1 by 21.2 mm, as the trade has them. A pictogram is
# never under 10 mm wide: 1 cm2 is the least that Regulation (EC) 1272/2008, annex I, 1.2.1 allows.
LABEL_PAPERS = {
    "a4": LabelPaper(
        "a4", False, 95.0, 69.0, 10.0, 10.0, 0.0, 2, 4, 3.0, 6.5, 5.5, 16.0, 22.0, True, True
    ),
    "us-letter": LabelPaper(
        "us-letter", False, 95.0, 64.0, 13.0, 11.0, 0.0, 2, 4, 2.5, 6.5, 5.5, 15.0, 21.0, True, True
    ),
    ROLL: LabelPaper(
        "", True, 62.0, 0.0, 0.0, 0.0, 0.0, 1, 1, 2.5, 6.5, 6.5, 15.0, 20.0, True, False
    ),
    SMALL: LabelPaper(
        "a4", False, 38.1, 21.2, 4.75, 10.7, 2.5, 5, 13, 1.2, 5.2, 5.0, 10.0, 11.0, False, False
    ),
}
# Labels for the wall, three to a sheet, read by somebody who stands.
_WALL = LabelPaper(
    "a4", False, 150.0, 90.0, 30.0, 13.5, 0.0, 1, 3, 8.0, 17.0, 11.0, 10.0, 22.0, True, True
)
WALL_PAPERS = {
    "a4": _WALL,
    "us-letter": replace(_WALL, paper="us-letter", height=84.0, left=33.0, top=13.7),
}


def check_paper(paper: str, known: tuple[str, ...] = PAPERS) -> str:
    """Refuse a paper that is not known.

    Raises
    ------
    BadInput
        If it is not, or this cannot be printed on it.
    """
    if paper not in known:
        what = "this is not printed on {paper!r}" if paper in PAPERS else "{paper!r} is not a paper"
        right = "give one of {papers}"
        raise BadInput("--paper", what, right, paper=paper[:20], papers=", ".join(known))
    return paper


def code_svg(address: str) -> str:
    """Return a QR code of an address as SVG; empty without one.

    Raises
    ------
    BadInput
        If the address is too long for a label, or is none that a browser opens.
    """
    if not address:
        return ""
    if not address.startswith(("http://", "https://")):
        what, right = "{address!r} is no address of a page", "begin it with http:// or https://"
        raise BadInput("--address", what, right, address=address[:40])
    if len(address) > LONGEST_ADDRESS:
        raise BadInput("--address", "it is too long for a code", "give the address of your server")
    import segno

    held = io.BytesIO()
    # four modules of white around it, as ISO/IEC 18004 asks; error level M
    segno.make(address, micro=False, error="m").save(held, kind="svg", border=4, xmldecl=False)
    return held.getvalue().decode()
