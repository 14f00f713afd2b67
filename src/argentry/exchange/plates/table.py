"""A maker's table of plates as records: each row checked, every problem told by row and column."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from argentry.exchange.plates.cells import OWN, RowReader, TableProblem
from argentry.exchange.plates.days import may_be_swapped
from argentry.exchange.plates.mapping import PlateMapping, Source, fields, own_columns, place_fields
from argentry.exchange.sheets.file import read_sheet
from argentry.exchange.sheets.layout import Sheet
from argentry.records.ids import make_id
from argentry.records.plate import STAGES, Making, Plate
from argentry.records.run import GivenUp
from argentry.trade.notebook import notebook_words, plain_words

# Fields that go to the plate or the making itself; every other is a condition.
_NOT_CONDITIONS = frozenset(
    (
        *("plate", "date", "session", "order", "size", "silver_um", "silver_source", "made_on"),
        *("times_repolished", "commissioned", "exposure_verdict", "grade", "defects", "remarks"),
        *("given_up", "given_up_stage", "given_up_why"),
        *(f"stage_{stage}" for stage in STAGES),
    )
)
PROBLEMS = 2000  # of one table; more help nobody


@dataclass(frozen=True)
class PlateRow:
    """One row as records.

    Attributes
    ----------
    row : int
        Its number in the file.
    plate : Plate
        The plate; its id follows from its label, so that the same row gives the same id again.
    making : Making
        What came of it; its id follows from all that the row says.
    """

    row: int
    plate: Plate
    making: Making


@dataclass(frozen=True)
class PlateTable:
    """A table read.

    Attributes
    ----------
    name : str
        Name of the file.
    rows : tuple of PlateRow
        Rows without a problem.
    problems : tuple of TableProblem
        What is wrong; empty when all is well.
    fields : Mapping[str, str]
        Field to the column that fills it.
    own : tuple of str
        Columns kept as conditions of their own.
    skipped : tuple of str
        Columns left out.
    total : int
        Rows in the file.
    kept_out : frozenset of int
        Rows with a problem, also those beyond the problems that are told.
    places : tuple of int or None
        To each row of the sheet its place in its session; None where its day is not known.
    changed : frozenset of str
        Cells, such as ``"C7"``, read otherwise than they are written: a unit, a word, a date.
    """

    name: str
    rows: tuple[PlateRow, ...]
    problems: tuple[TableProblem, ...]
    fields: Mapping[str, str]
    own: tuple[str, ...]
    skipped: tuple[str, ...]
    total: int
    kept_out: frozenset[int] = frozenset()
    places: tuple[int | None, ...] = ()
    changed: frozenset[str] = frozenset()


def read_plate_table(
    path: Path,
    *,
    time_zone: str = "UTC",
    today: date | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> PlateTable:
    """Return the plates of a CSV, ODS or XLSX file, with every problem found in it.

    Its columns are named as in docs/plates-csv.md.

    Parameters
    ----------
    path : Path
        The file.
    time_zone : str
        IANA zone of times without an offset.
    today : date, optional
        The day that it is in the studio: a later one is a problem. None: any day is taken.
    progress : callable, optional
        Told rows done and rows in all.

    Raises
    ------
    BadInput
        If the file as a whole cannot be used.
    """
    use = PlateMapping()
    sheet = read_sheet(path, layout=use.layout())
    return plates_from(sheet, use, time_zone=time_zone, today=today, progress=progress)


def plates_from(
    sheet: Sheet,
    mapping: PlateMapping,
    *,
    time_zone: str = "UTC",
    today: date | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> PlateTable:
    """Return the plates of a table already read; see `read_plate_table`."""
    found = place_fields(sheet.head, mapping, sheet.name)
    own = own_columns(sheet.head, found, mapping)
    at = {name: i for i, name in enumerate(sheet.head)}
    zone = ZoneInfo(mapping.time_zone or time_zone)
    reader = RowReader(found, own, at, mapping, zone, today)
    rows: list[PlateRow] = []
    problems: list[TableProblem] = []
    orders: dict[str, int] = {}
    plates: dict[str, Plate] = {}
    changed: set[str] = set()
    places: list[int | None] = []
    days = [cells[at[found["date"].column]] for _, cells in sheet.rows]
    swapped = may_be_swapped(days, found["date"].form or mapping.date_format)
    for done, (number, cells) in enumerate(sheet.rows, 1):
        values, wrong, read = reader.values(number, cells)
        if _is_total(str(values.get("plate", ""))):
            wrong = [_a_total(number, found["plate"].column, values["plate"])]
        if number in sheet.unclear:
            wrong = [_not_divided(number, sheet.unclear[number])]
        if sheet.letters:
            letters = sheet.letters[done - 1]
            changed.update(f"{letters[at[name]]}{number}" for name in read)
            wrong = [replace(one, cell=f"{letters[at[one.column]]}{number}") for one in wrong]
        if swapped and isinstance(day := cells[at[found["date"].column]], date):
            wrong = [_maybe_swapped(number, found["date"].column, day), *wrong]
        if number in sheet.broken:
            wrong = [TableProblem(number, sheet.head[0], *sheet.broken[number])]
        problems += wrong
        # the place in the day of a row with a problem stays free until it is mended
        place = _place(values, orders) if "date" in values else None
        places.append(place)
        if not wrong and place is not None:
            rows.append(_row(number, values, place, plates))
        if progress and done % 50 == 0:
            progress(done, len(sheet.rows))
    problems = _second_table(sheet, problems)
    problems += _doubles(rows, found)
    problems.sort(key=lambda problem: problem.row)
    problems = list(dict.fromkeys(problems))  # two plates of one row may share a cell
    bad = {problem.row for problem in problems}
    return PlateTable(
        name=sheet.name,
        rows=tuple(row for row in rows if row.row not in bad),
        problems=tuple(problems[:PROBLEMS]),
        fields={name: source.column for name, source in found.items()},
        own=own,
        skipped=tuple(name for name in sheet.head if name in mapping.skip),
        total=len(sheet.rows),
        kept_out=frozenset(bad),
        places=tuple(places),
        changed=frozenset(changed),
    )


def _second_table(sheet: Sheet, problems: list[TableProblem]) -> list[TableProblem]:
    """Return the problems, those of another table below the plates told once in its own words.

    It begins at a row of words alone under an empty one, from which on no row can be read.
    """
    wrong = {problem.row for problem in problems}
    for start, words in sheet.breaks:
        there = {number for number, _ in sheet.rows if number >= start}
        if there <= wrong:
            told = (
                TableProblem(
                    number,
                    sheet.head[0],
                    "another table begins in row {start} ({words})".format(
                        start=start, words=", ".join(words).strip()[:80]
                    ),
                    "give it a file of its own, or leave it out",
                )
                for number in sorted(there)
            )
            return [*(one for one in problems if one.row < start), *told]
    return problems


def _session(values: Mapping[str, Any]) -> str:
    return str(values["session"]) if "session" in values else values["date"].isoformat()


def _place(values: Mapping[str, Any], orders: dict[str, int]) -> int:
    """Return the place of a row in its session, and count it."""
    session = _session(values)
    place: int = values.get("order", orders.get(session, 0) + 1)
    orders[session] = place
    return place


def _maybe_swapped(number: int, column: str, day: date) -> TableProblem:
    return TableProblem(
        number,
        column,
        "{kept:%Y-%m-%d} may be {kept:%Y-%d-%m}: other cells with days above 12 are text, so the "
        "program may have swapped day and month of this one".format(kept=day),
        "write the right day into the list to mend, or make the whole column text",
    )


def _is_total(label: str) -> bool:
    """Say whether a label is words for a total, with numbers or without: "Total: 12"."""
    words, totals = plain_words(label).split(), notebook_words().marks["totals"]
    return any(word in totals for word in words) and all(
        word in totals or word.isdigit() for word in words
    )


def _a_total(number: int, column: str, word: str) -> TableProblem:
    return TableProblem(
        number,
        column,
        "{word!r} stands for a total, not for a plate".format(word=word),
        "leave the row out, or give the plate another label",
    )


def _not_divided(number: int, column: str) -> TableProblem:
    return TableProblem(
        number,
        column,
        "the row holds several plates, and this cell is not divided like them",
        "give each plate a row of its own",
    )


def _row(number: int, values: Mapping[str, Any], place: int, plates: dict[str, Plate]) -> PlateRow:
    day: date = values["date"]
    plate = Plate(
        id=_id(day, "plate", values["plate"]),
        label=values["plate"],
        size=values.get("size", ""),
        made_on=values.get("made_on"),
        silver_um=values.get("silver_um"),
        silver_source=values.get("silver_source", ""),
        times_repolished=values.get("times_repolished", 0),
    )
    conditions = _conditions(_with_length(values))
    first = plates.setdefault(plate.label, plate)
    if first is not plate and _same_plate(first, plate):  # made again: one plate, another making
        if plate.times_repolished != first.times_repolished:
            conditions["times_repolished"] = float(plate.times_repolished)
        plate = first
    making = Making(
        id="",
        plate=plate.id,
        run=None,
        session=_session(values),
        order=place,
        day=day,
        commissioned=values.get("commissioned") == "yes",
        conditions=conditions,
        stages={s: values[f"stage_{s}"] for s in STAGES if f"stage_{s}" in values},
        verdict=values.get("exposure_verdict"),
        grade=values.get("grade"),
        defects=tuple(dict.fromkeys(values.get("defects", ()))),
        remark=values.get("remarks", ""),
        **_given_up(values),
    )
    return PlateRow(number, plate, replace(making, id=_id(day, "outcome", _said(plate, making))))


def _same_plate(first: Plate, plate: Plate) -> bool:
    """Say whether two rows of one label are of one plate, which may have been polished back."""
    return replace(plate, id=first.id, times_repolished=first.times_repolished) == first


def _given_up(values: Mapping[str, Any]) -> dict[str, Any]:
    word = values.get("given_up")
    if word is None:
        return {}
    outward = None if word == "fault" else word
    up = GivenUp(
        stage=values.get("given_up_stage", ""),
        reason="fault" if outward is None else "outward",
        defect=None,
        outward=outward,
        why=values.get("given_up_why", ""),
    )
    return {"state": "given_up", "given_up": up}


def _with_length(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return values with the seconds of an exposure of which start and end are written."""
    left = dict(values)
    start, end = left.get("exposure_start"), left.pop("exposure_end", None)
    if end is not None and start is not None and "exposure_seconds" not in left:
        seconds, column = (end - start).total_seconds(), fields()["exposure_seconds"]
        if column.low <= seconds <= column.high:
            left["exposure_seconds"] = seconds
    return left


def _conditions(values: Mapping[str, Any]) -> dict[str, float | str]:
    out: dict[str, float | str] = {}
    for name, value in values.items():
        if name.startswith(OWN):
            out[name.removeprefix(OWN)] = value
        elif name not in _NOT_CONDITIONS:
            moment = isinstance(value, (datetime, date))
            out[name] = value.isoformat() if moment else value
            if isinstance(value, int):
                out[name] = float(value)
    return dict(sorted(out.items()))


def _said(plate: Plate, making: Making) -> str:
    """Return all that a row says, as one text: equal rows give equal texts."""
    said = {**vars(plate), **vars(making)}
    # as before makings could be given up, so that older files are known again
    del said["state"]
    if said["given_up"] is None:
        del said["given_up"]
    return json.dumps(said, sort_keys=True, ensure_ascii=False, default=str)


def _id(day: date, *parts: str) -> str:
    """Return a UUID version 7 of a day that follows from the parts alone."""
    digest = hashlib.sha256("\0".join(parts).encode()).digest()
    noon = datetime.combine(day, time(12), UTC)
    milliseconds = max(0, int(noon.timestamp() * 1000))
    return make_id(milliseconds, int.from_bytes(digest[:10], "big") >> 6)


def _doubles(rows: Iterable[PlateRow], found: Mapping[str, Source]) -> Iterable[TableProblem]:
    plates: dict[str, PlateRow] = {}
    sessions: dict[tuple[str, str], int] = {}
    places: dict[tuple[str, int], int] = {}
    for row in rows:
        label, session = row.plate.label, row.making.session
        other = plates.setdefault(label, row)
        same_day = sessions.setdefault((label, session), row.row)
        if row.plate != other.plate:
            yield TableProblem(
                row.row,
                found["plate"].column,
                "{label!r} is already in row {row}, as a plate with other values".format(
                    label=label, row=other.row
                ),
                "give the plate its size, silver and source as there, or a number of its own",
            )
        elif same_day != row.row and "order" not in found:
            yield TableProblem(
                row.row,
                found["plate"].column,
                "{label!r} is already in row {same_day} for that session".format(
                    label=label, same_day=same_day
                ),
                "take one of the rows out, or say which came first in a column for the order",
            )
        place = (row.making.session, row.making.order)
        first = places.setdefault(place, row.row)
        if first != row.row and "order" in found:
            yield TableProblem(
                row.row,
                found["order"].column,
                "session {session} already has its plate {order} in row {first}".format(
                    session=place[0], order=place[1], first=first
                ),
                "number the plates of a session 1, 2, 3",
            )
