"""The cells of one row of a table of plates as values: units, dates, words, and what is wrong."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput
from argentry.exchange.plates.columns import read_cell
from argentry.exchange.plates.mapping import LUX, PlateMapping, fields, units

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from argentry.exchange.plates.mapping import Source
    from argentry.trade.columns import Column

LONGEST_TEXT = 2000  # letters
LONGEST = {"plate": 100, "silver_source": 200}  # of these fields
FIRST_YEAR, LAST_YEAR = 1839, 2200  # the year the process was made public, and far ahead
PROBLEM = "row {row}, column {column}: {what}; {right}."
OWN = "own "  # before the name of a column that becomes a condition of its own


@dataclass(frozen=True)
class TableProblem:
    """One thing wrong in a table of plates.

    Attributes
    ----------
    row : int
        Row, as a spreadsheet counts it.
    column : str
        Name of the column in the file.
    what : str
        What is wrong.
    right : str
        What would be right.
    sentence : str
        All of it as one sentence.
    """

    row: int
    column: str
    what: str
    right: str
    sentence: str = field(init=False)

    def __post_init__(self) -> None:
        """Say it in one line."""
        told = PROBLEM.format(row=self.row, column=self.column, what=self.what, right=self.right)
        object.__setattr__(self, "sentence", " ".join(told.split()))


@dataclass(frozen=True)
class RowReader:
    """How the cells of one table are read.

    Attributes
    ----------
    found : Mapping[str, Source]
        Field to its source.
    own : sequence of str
        Columns that become conditions of their own.
    at : Mapping[str, int]
        Place of each column.
    mapping : PlateMapping
        Decimal sign, patterns, words for "not known".
    zone : ZoneInfo
        Zone of times without an offset.
    """

    found: Mapping[str, Source]
    own: Sequence[str]
    at: Mapping[str, int]
    mapping: PlateMapping
    zone: ZoneInfo

    def values(
        self, number: int, cells: Sequence[Any]
    ) -> tuple[Mapping[str, Any], list[TableProblem]]:
        """Return the values of one row by field, own conditions under their column's name."""
        out: dict[str, Any] = {}
        problems: list[TableProblem] = []
        for name, source in self.found.items():
            column = fields()[name]
            try:
                text = self._text(column, source, cells[self.at[source.column]], out.get("date"))
                value = read_cell(column, text, source.column)
                if isinstance(value, date):
                    _check_year(source, value)
            except BadInput as error:
                problems.append(TableProblem(number, source.column, error.what, error.right))
                continue
            if value is not None:
                out[name] = value
        for name in self.own:
            cell = cells[self.at[name]]
            if self._known(cell):
                value = self._free(cell)
                if isinstance(value, str) and len(value) > LONGEST_TEXT:
                    problems.append(_long(number, name, value))
                out[OWN + name] = value
        problems += _order_of_times(number, out, self.found)
        return out, problems

    def _known(self, cell: Any) -> bool:
        return cell is not None and str(cell).strip() not in ("", *self.mapping.missing)

    def _text(self, column: Column, source: Source, cell: Any, day: Any) -> str:
        """Return a cell as the plain text that `read_cell` takes."""
        if not self._known(cell):
            return ""
        if column.kind in ("number", "whole number"):
            return self._number(column, source, cell)
        if column.kind == "date":
            return self._date(source, cell)
        if column.kind == "time":
            return self._time(source, cell, day)
        text = _plain(cell)
        if column.kind == "defects":
            text = ";".join(source.words.get(part.strip(), part) for part in text.split(";"))
        elif column.kind == "word":
            text = source.words.get(text, text)
        longest = LONGEST.get(column.name, LONGEST_TEXT)
        if len(text) > longest:
            raise BadInput(
                source.column,
                "the text has {text_count} letters",
                "give at most {longest}",
                text_count=len(text),
                longest=longest,
            )
        return text

    def _number(self, column: Column, source: Source, cell: Any) -> str:
        given = self._float(cell)
        if given is None or not math.isfinite(given):
            text = _plain(cell)[:40]
            raise BadInput(
                source.column,
                "{text!r} is not a number",
                "give {allowed}",
                text=text,
                allowed=column.allowed(),
            )
        if not source.unit or source.unit == column.unit:
            return repr(given)
        if source.unit == LUX:
            # EV 15 is 81 920 lx, and one EV is a doubling (docs/nomenclature.md)
            if given <= 0:
                raise BadInput(
                    source.column,
                    "{given:g} lx cannot be a light reading",
                    "leave it empty",
                    given=given,
                )
            return repr(round(15 + math.log2(given / 81920), 3))
        factor, offset = units()[column.unit][source.unit]
        # rounded far below what any maker measures, so that 70 °F reads as 21.1111111111
        return f"{(given + offset) * factor:.12g}"

    def _float(self, cell: Any) -> float | None:
        if isinstance(cell, bool):
            return None
        if isinstance(cell, (int, float)):
            return float(cell)
        text = str(cell).strip()
        if self.mapping.decimal == ",":
            if "." in text:
                return None
            text = text.replace(",", ".")
        if not text.isascii() or "_" in text:
            return None
        try:
            return float(text)
        except ValueError:
            return None

    def _date(self, source: Source, cell: Any) -> str:
        if isinstance(cell, datetime):
            return cell.date().isoformat()
        if isinstance(cell, date):
            return cell.isoformat()
        form = source.form or self.mapping.date_format
        return _parsed(source, str(cell), form).date().isoformat() if form else _plain(cell)

    def _time(self, source: Source, cell: Any, day: Any) -> str:
        form = source.form or self.mapping.time_format
        moment = _moment(source, cell, form)
        if moment is None:
            return _plain(cell)
        if isinstance(moment, time):
            if not isinstance(day, date):
                raise BadInput(source.column, "the time has no date", "correct the date first")
            moment = datetime.combine(day, moment)
        _check_year(source, moment)
        if moment.tzinfo is None:
            moment = _in_zone(source, moment, self.zone)
        return moment.isoformat()

    def _free(self, cell: Any) -> float | str:
        number = self._float(cell)
        if number is not None and math.isfinite(number):
            return number
        return _plain(cell)


def _plain(cell: Any) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, (datetime, date, time)):
        return cell.isoformat()
    return str(cell).strip()


def _moment(source: Source, cell: Any, form: str) -> datetime | time | None:
    """Return the moment or clock time of a cell, or None when it is neither."""
    if isinstance(cell, (datetime, time)):
        return cell
    text = _plain(cell)
    if form:
        read = _parsed(source, text, form)
        return read if "%d" in form or "%j" in form or "%F" in form else read.timetz()
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        try:
            return time.fromisoformat(text)
        except ValueError:
            return None


def _parsed(source: Source, text: str, form: str) -> datetime:
    try:
        return datetime.strptime(text, form)  # noqa: DTZ007 - the zone is added by the caller
    except ValueError:
        raise BadInput(
            source.column,
            "{text!r} is not written as {form}",
            "correct it, or the form",
            text=text[:40],
            form=form,
        ) from None


def _check_year(source: Source, moment: date) -> None:
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise BadInput(
            source.column,
            "the year {year} is not possible",
            "write the year with four digits",
            year=moment.year,
        )


def _in_zone(source: Source, moment: datetime, zone: ZoneInfo) -> datetime:
    """Return a wall-clock time with its offset; refuse one that the clocks left out."""
    local = moment.replace(tzinfo=zone)
    if local.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != moment:
        raise BadInput(
            source.column,
            "{moment:%Y-%m-%d %H:%M} did not exist in {key}: clocks went forward",
            "correct it, or give its offset",
            moment=moment,
            key=zone.key,
        )
    if local.utcoffset() != local.replace(fold=1).utcoffset():
        raise BadInput(
            source.column,
            "{moment:%Y-%m-%d %H:%M} came twice in {key}: clocks went back",
            "give its offset, for example +01:00",
            moment=moment,
            key=zone.key,
        )
    return local


def _order_of_times(
    number: int, values: Mapping[str, Any], found: Mapping[str, Source]
) -> Iterable[TableProblem]:
    start, end = values.get("development_start"), values.get("development_end")
    if start is not None and end is not None and end <= start:
        yield TableProblem(
            number,
            found["development_end"].column,
            "development ends before it starts",
            "correct one of the two",
        )
    exposed = values.get("exposure_start")
    if exposed is not None and start is not None and start < exposed:
        yield TableProblem(
            number,
            found["development_start"].column,
            "development starts before the exposure",
            "correct one of the two",
        )


def _long(number: int, name: str, text: str) -> TableProblem:
    return TableProblem(
        number,
        name,
        "the text has {text_count} letters".format(text_count=len(text)),
        "give at most {most}".format(most=LONGEST_TEXT),
    )
