"""The plates of the book as one plain table for a spreadsheet, cells that would run made tame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from argentry.exchange.plates.columns import column_names
from argentry.exchange.sheets.tame import csv_line
from argentry.records.plate import STAGES, Making, Plate
from argentry.trade.steps import stage_of

MORE = (
    "made_on",
    "silver_source",
    "commissioned",
    "given_up",
    "given_up_stage",
    "given_up_why",
)


def plate_lines(plates: Sequence[Plate], makings: Sequence[Making]) -> Iterator[str]:
    """Give the lines of a table of every making, in the columns of docs/plates-csv.md.

    Yields
    ------
    str
        Head and rows with their line ends. A text that a spreadsheet program would run as a
        formula gets an apostrophe in front, which the import takes off again.
    """
    by_id = {plate.id: plate for plate in plates}
    known = column_names()
    own = sorted({name for one in makings for name in one.conditions if name not in known})
    names = (*known, *MORE, *own)
    yield csv_line(names)
    for one in makings:
        cells = {**one.conditions, **_cells(by_id[one.plate], one)}
        yield csv_line(cells.get(name) for name in names)


def _cells(plate: Plate, one: Making) -> dict[str, Any]:
    up = one.given_up
    return {
        "plate": plate.label,
        "date": one.day.isoformat(),
        # a session of the bench is named by its day, and so is one without a number when read
        "session": one.session if one.session.isascii() and one.session.isdigit() else "",
        "order": one.order,
        "size": plate.size,
        "silver_um": plate.silver_um,
        # a plate made again and again: how often it was polished back before this making
        "times_repolished": one.conditions.get("times_repolished", plate.times_repolished),
        **{f"stage_{stage}": one.stages.get(stage) for stage in STAGES},
        "exposure_verdict": one.verdict,
        "grade": one.grade,
        "defects": ";".join(f"{key}@{stage_of().get(of, of)}" for key, of in one.defects),
        "remarks": one.remark,
        "made_on": plate.made_on and plate.made_on.isoformat(),
        "silver_source": plate.silver_source,
        "commissioned": "yes" if one.commissioned else "",
        "given_up": up and (up.outward or up.reason),
        "given_up_stage": (up and up.stage) or "",
        "given_up_why": up.why if up else "",
    }
