"""The cells of one row of a table of plates as values: units, dates, words, and what is wrong."""

from __future__ import annotations

import math
import re
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from argentry.errors import BadInput
from argentry.exchange.plates.columns import REQUIRED, read_cell
from argentry.exchange.plates.mapping import LUX, PlateMapping, Source, fields, units, units_of
from argentry.exchange.plates.moments import check_year, day_of, in_zone, moment_of, span_of
from argentry.exchange.plates.numbers import CLOCKS, amount, plain_number, two_numbers
from argentry.records.answers.notebook import in_words
from argentry.trade.columns import Column
from argentry.trade.notebook import notebook_words

ENDS_FIRST = {
    "exposure": "the exposure ends before it starts",
    "development": "development ends before it starts",
}
LONGEST_TEXT = 2000  # letters
LONGEST = {"plate": 100, "silver_source": 200}  # of these fields
PROBLEM = "row {row}, {column}: {what}; {right}."
_AND = re.compile(r"\s*[,/+&\n]\s*|\s+(?:and|und|et|y|e)\s+")
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
    cell : str
        The cell as a spreadsheet names it, such as ``"C7"``; empty where no single cell is meant.
    sentence : str
        All of it as one sentence.
    """

    row: int
    column: str
    what: str
    right: str
    cell: str = ""
    sentence: str = field(init=False)

    def __post_init__(self) -> None:
        """Say it in one line."""
        where = in_words(self.column)
        told = PROBLEM.format(row=self.row, column=where, what=self.what, right=self.right)
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
    today : date, optional
        The day that it is in the studio; a later one was miswritten. None: any day is taken.
    """

    found: Mapping[str, Source]
    own: Sequence[str]
    at: Mapping[str, int]
    mapping: PlateMapping
    zone: ZoneInfo
    today: date | None = None

    def values(
        self, number: int, cells: Sequence[Any]
    ) -> tuple[Mapping[str, Any], list[TableProblem], set[str]]:
        """Return the values of one row by field, its problems, and the columns read otherwise.

        Own conditions stand under their column's name. A column is read otherwise than it is
        written where a unit, a word, a date or a mark of the maker's own was translated.
        """
        out: dict[str, Any] = {}
        problems: list[TableProblem] = []
        changed: set[str] = set()
        known = fields()
        for name, source in self.found.items():
            column, cell = known[name], cells[self.at[source.column]]
            if cell is None and name not in REQUIRED:
                continue
            try:
                text = self._text(column, source, cell, out.get("date"))
                value = read_cell(column, text, source.column)
                if isinstance(value, date):
                    check_year(source, value)
                    self._check_past(source, value)
            except BadInput as error:
                problems.append(TableProblem(number, source.column, error.what, error.right))
                continue
            if cell is not None and not isinstance(cell, date) and text != plain(cell):
                changed.add(source.column)
            if value is not None:
                out[name] = value
        for name in self.own:
            cell = cells[self.at[name]]
            if self._known(cell):
                value = self._free(cell, self.mapping.sign_of(name))
                if isinstance(value, str) and len(value) > LONGEST_TEXT:
                    problems.append(_long(number, name, value))
                out[OWN + name] = value
        problems += _order_of_times(number, out, self.found)
        return out, problems, changed

    def takes(self, name: str, cell: Any, day: date) -> bool:
        """Say whether a field can be read from a cell of its column, on a day."""
        column, source = fields()[name], self.found[name]
        try:
            read_cell(column, self._text(column, source, cell, day), source.column)
        except BadInput:
            return False
        return True

    def _check_past(self, source: Source, when: date) -> None:
        """Refuse a day or time that is yet to come: no plate was made then."""
        day = when.astimezone(self.zone).date() if isinstance(when, datetime) else when
        if self.today is not None and day > self.today:
            raise BadInput(
                source.column,
                "{day} is in the future",
                "correct it, or set this machine's clock",
                day=day.isoformat(),
            )

    def _known(self, cell: Any) -> bool:
        text = "" if cell is None else str(cell).strip()
        return text != "" and text not in self.mapping.missing

    def _text(self, column: Column, source: Source, cell: Any, day: Any) -> str:
        """Return a cell as the plain text that `read_cell` takes."""
        if not self._known(cell):
            return ""
        if column.kind in ("number", "whole number"):
            return self._number(column, source, cell)
        if column.kind == "date":
            return self._date(source, cell)
        if column.kind == "time":
            return self._time(column, source, cell, day)
        text = " ".join(plain(cell).split()) if column.kind == "text" else plain(cell)
        if column.kind == "defects":
            text = _defects(source, text)
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
        decimal = self.mapping.sign_of(source.column)
        if isinstance(cell, (bool, datetime, date)):
            read = None
        elif isinstance(cell, (int, float)):
            read = float(cell), ""
        else:  # a spreadsheet keeps 1:40 as a clock time
            text = plain(cell).removesuffix(":00") if isinstance(cell, time) else plain(cell)
            allowed = tuple(unit for unit in units_of(column) if unit not in CLOCKS)
            read = amount(text, decimal, allowed, _clock(column, source.unit, text))
            if read is None and (both := two_numbers(text, decimal, allowed)):
                raise BadInput(
                    source.column,
                    "{text!r} can be two numbers, {one:g} or {other:g}",
                    "write it without a sign for thousands, or with one decimal more",
                    text=text,
                    one=both[0],
                    other=both[1],
                )
        if read is None or not math.isfinite(read[0]) or (not read[1] and source.unit in CLOCKS):
            raise BadInput(
                source.column,
                "{text!r} is not a number",
                "give {allowed}",
                text=plain(cell),
                allowed=column.allowed(),
            )
        given, unit = read[0], read[1] or source.unit or column.unit
        if unit == column.unit:
            return repr(given)
        if unit == LUX:
            # EV 15 is 81 920 lx, and one EV is a doubling (docs/nomenclature.md)
            if given <= 0:
                raise BadInput(
                    source.column,
                    "{given:g} lx cannot be a light reading",
                    "leave it empty",
                    given=given,
                )
            return repr(round(15 + math.log2(given / 81920), 3))
        factor, offset = units()[column.unit][unit]
        # rounded far below what any maker measures, so that 70 °F reads as 21.1111111111
        return f"{(given + offset) * factor:.12g}"

    def _date(self, source: Source, cell: Any) -> str:
        if isinstance(cell, datetime):
            return cell.date().isoformat()
        if isinstance(cell, date):
            return cell.isoformat()
        forms = source.form or self.mapping.date_format
        return day_of(source, plain(cell), forms).isoformat() if forms else plain(cell)

    def _time(self, column: Column, source: Source, cell: Any, day: Any) -> str:
        form = source.form or self.mapping.time_format
        span = span_of(cell) if isinstance(cell, str) and not form else None
        if span is not None:
            cell = span[column.name.endswith("_end")]
        if isinstance(cell, (datetime, time)):
            moment: datetime | time | None = cell
        else:
            moment = moment_of(source, plain(cell), form, self.mapping.date_format)
        if moment is None:
            return plain(cell)
        if isinstance(moment, time):
            if not isinstance(day, date):
                raise BadInput(source.column, "the time has no date", "correct the date first")
            moment = datetime.combine(day, moment)
        check_year(source, moment)
        if moment.tzinfo is None:
            moment = in_zone(source, moment, self.zone, self.mapping.hours)
        return "" if moment is None else moment.isoformat()

    def _free(self, cell: Any, decimal: str) -> float | str:
        if isinstance(cell, (int, float)) and not isinstance(cell, bool):
            number: float | None = float(cell)
        else:
            number = plain_number(plain(cell), decimal)
        return plain(cell) if number is None or not math.isfinite(number) else number


def _clock(column: Column, unit: str, text: str) -> str:
    """Return how a number with a colon is meant in a column of this unit."""
    if ":" not in text:
        return ""
    if not unit and column.unit == "min":  # beside plain minutes: as it gives a usual length
        low, high = notebook_words().usual.get(column.name, (math.inf, 0.0))
        read = {form: amount(text, ".", ("s",), form) for form in CLOCKS}
        fits = [form for form, one in read.items() if one and low <= one[0] / 60.0 <= high]
        return fits[0] if len(fits) == 1 else ""
    unit = unit or ("s" if column.unit == "s" else "")  # seconds are never written as hours
    return {"s": "min:s", "min": "min:s", "h": "h:min"}.get(unit, unit if unit in CLOCKS else "")


def _defects(source: Source, text: str) -> str:
    """Return defects by our keys: the whole cell by its words, else each part of it."""
    if text in source.words:
        return source.words[text]
    ours = (source.words.get(part, part) for part in parts_of(text, source.words))
    return ";".join(one for one in ours if one)


def parts_of(text: str, words: Container[str] = ()) -> list[str]:
    """Return the defects that a cell names, each as it is written.

    Parameters
    ----------
    text : str
        The cell.
    words : container of str
        Words that stay whole though they hold a sign that parts others.
    """
    out: list[str] = []
    for part in (part.strip() for part in text.split(";")):
        if part in words or "@" in part:
            out.append(part)
        else:
            out += [one.strip() for one in _AND.split(part)]
    return [part for part in out if part]


def plain(cell: Any) -> str:
    """Return a cell as text, whatever a spreadsheet keeps it as."""
    if isinstance(cell, str):  # nearly all of them
        return cell.strip()
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, (datetime, date, time)):
        return cell.isoformat()
    return str(cell).strip()


def _order_of_times(
    number: int, values: Mapping[str, Any], found: Mapping[str, Source]
) -> Iterable[TableProblem]:
    for what, ends in ENDS_FIRST.items():
        start, end = values.get(f"{what}_start"), values.get(f"{what}_end")
        if start is not None and end is not None and end <= start:
            yield TableProblem(number, found[f"{what}_end"].column, ends, "correct one of the two")
    start = values.get("development_start")
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


def refuse(name: str, problems: Sequence[TableProblem]) -> None:
    """Raise the first of some problems, and how many more there are."""
    if not problems:
        return
    first, more = problems[0], len(problems) - 1
    right = first.right + (
        " (and {more} more: see them all with --dry-run)".format(more=more) if more else ""
    )
    raise BadInput(
        "{name} row {row}, {where}".format(name=name, row=first.row, where=in_words(first.column)),
        first.what,
        right,
    )
