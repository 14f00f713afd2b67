"""What the columns of a maker's own table of plates mean: the mapping file and its fields."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from argentry.errors import BadInput, did_you_mean
from argentry.exchange.plates.columns import columns
from argentry.exchange.plates.numbers import CLOCKS, DURATIONS
from argentry.exchange.sheets.layout import MOST_IN_ROW, Layout
from argentry.records.plate import STAGES
from argentry.records.run import OUTWARD
from argentry.trade.columns import Column
from argentry.trade.readings import quantities

LUX = "lx"  # of an incident meter, for the column meter_ev


@dataclass(frozen=True)
class Source:
    """Where a field comes from.

    Attributes
    ----------
    column : str
        Name of the column in the file.
    unit : str
        Unit it is given in; empty: the field's own.
    form : str
        Pattern of a date or time, such as ``"%d.%m.%Y"``, or several parted by ``" or "``; one
        may be ``"ISO"``. Empty: ISO 8601.
    words : Mapping[str, str]
        The maker's word to ours, empty for "not known"; other words pass unchanged.
    """

    column: str
    unit: str = ""
    form: str = ""
    words: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class PlateMapping:
    """How a table of plates is to be read.

    Attributes
    ----------
    fields : Mapping[str, Source]
        Field of `fields` to its source; fields not named are looked for under their own name.
    separator, encoding : str
        Of a CSV file; empty: found.
    decimal : str
        One of `DECIMALS`, of numbers written as text; empty: a point, and thousands not parted.
    decimals : Mapping[str, str]
        Column to its decimal sign, where it is another than `decimal`.
    date_format, time_format : str
        Patterns of all dates and times without one of their own; empty: ISO 8601.
    time_zone : str
        Zone of times without an offset; empty: the studio's.
    sheet : str
        Sheet of a spreadsheet; empty: the first.
    head_row, head_rows : int
        First row that names the columns, and how many do.
    plates_in_row : int
        How often the columns of a plate stand side by side.
    divider : str
        What parts two plates within one cell; empty: nothing does.
    repeat : tuple of str
        Columns in which an empty cell means "as above".
    hours : Mapping[str, str]
        Times that the clocks left out or had twice, to the offset that was meant.
    missing : tuple of str
        Cells that mean "not known", beside empty ones.
    skip : tuple of str
        Columns to leave out; other columns become conditions of their own.
    """

    fields: Mapping[str, Source] = field(default_factory=dict)
    separator: str = ""
    encoding: str = ""
    decimal: str = ""
    decimals: Mapping[str, str] = field(default_factory=dict)
    date_format: str = ""
    time_format: str = ""
    time_zone: str = ""
    sheet: str = ""
    head_row: int = 1
    head_rows: int = 1
    plates_in_row: int = 1
    divider: str = ""
    repeat: tuple[str, ...] = ()
    hours: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    skip: tuple[str, ...] = ()

    def sign_of(self, column: str) -> str:
        """Return the decimal sign of a column."""
        return self.decimals.get(column, self.decimal)

    def layout(self) -> Layout:
        """Return how the table lies in its file."""
        lead = self.fields["plate"].column if "plate" in self.fields else "plate"
        return Layout(
            self.head_row, self.head_rows, self.plates_in_row, self.divider, lead, self.repeat
        )


TEXTS = ("separator", "date_format", "time_format", "time_zone", "sheet", "divider")
COUNTS = {"head_row": 1000, "head_rows": 2, "plates_in_row": MOST_IN_ROW}
LISTS = ("missing", "skip", "repeat")
HEAD_KEYS = (*TEXTS, *COUNTS, *LISTS, "encoding", "decimal", "decimals", "hours")

# Beside the columns of docs/plates-csv.md a mapping may fill these of the book.
_MORE = tuple(
    Column(name, kind, group, about, empty, words=words)
    for name, kind, words, group, about, empty in (
        ("made_on", "date", (), "the plate", "Day it was silvered.", "not known"),
        ("silver_source", "text", (), "the plate", "Who silvered it.", "not known"),
        (
            "commissioned",
            "word",
            ("yes", "no"),
            "the plate",
            "Promised to somebody: no trials on it.",
            "no",
        ),
        (
            "given_up",
            "word",
            ("fault", *OUTWARD),
            "what came of it",
            "Why it was given up: something was wrong, or an outward reason.",
            "not given up",
        ),
        ("given_up_stage", "word", STAGES, "what came of it", "Where it stood then.", "not known"),
        ("given_up_why", "text", (), "what came of it", "The reason in words.", "nothing said"),
    )
)
_LENGTH = Column(
    "development_minutes", "number", "development",
    "How long it lay under the red filter, where start and end are not both known.",
    "taken from start and end, or not known", "min", 0.1, 10000.0,
)  # fmt: skip

_ENDED = Column(
    "exposure_end", "time", "exposure",
    "When the exposure ended, where its length is not written.",
    "taken from the length, or not known",
)  # fmt: skip


@cache
def fields() -> Mapping[str, Column]:
    """Return every field that a column may fill, by its name."""
    return {column.name: column for column in (*columns(), _LENGTH, _ENDED, *_MORE)}


@cache
def units() -> Mapping[str, Mapping[str, tuple[float, float]]]:
    """Return kept unit to given unit to (factor, offset): kept = (given + offset) * factor.

    Every unit in which an instrument may send a quantity, and those in which notebooks are kept.
    """
    path = files("argentry.exchange").joinpath("templates").joinpath("plate_units.toml")
    out: dict[str, dict[str, tuple[float, float]]] = {}
    for quantity in quantities().values():
        out.setdefault(quantity.unit, {}).update(quantity.also)
    for kept, rows in tomllib.loads(path.read_text(encoding="utf-8")).items():
        for name, row in rows.items():
            out.setdefault(kept, {})[name] = (float(row["factor"]), float(row.get("offset", 0)))
    return out


def units_of(column: Column) -> tuple[str, ...]:
    """Return the units in which a field may be given, its own first."""
    extra: tuple[str, ...] = (LUX,) if column.name == "meter_ev" else ()
    extra += tuple(CLOCKS) if column.unit in DURATIONS else ()
    return (column.unit, *units().get(column.unit, {}), *extra)


def place_fields(head: Sequence[str], mapping: PlateMapping, where: str) -> Mapping[str, Source]:
    """Return every field that the table fills, by mapping or by name, with its source.

    Parameters
    ----------
    head : sequence of str
        Names of the columns in the table.
    mapping : PlateMapping
        From the mapping file, or the default.
    where : str
        Name of the table's file, for the sentence.

    Returns
    -------
    Mapping[str, Source]
        Fields in the order of the documented columns.

    Raises
    ------
    BadInput
        If the mapping names a column that the table has not, or plate or date is filled by none.
    """
    for name, source in mapping.fields.items():
        if source.column not in head:
            has = "it has {head}".format(head=", ".join(head)[:300])
            raise BadInput(
                where,
                "there is no column {column!r} for {name}".format(column=source.column, name=name),
                did_you_mean(source.column, head, has),
            )
    taken = {source.column for source in mapping.fields.values()}
    for name, source in mapping.fields.items():
        if source.column != name and name in head and name not in (*taken, *mapping.skip):
            raise BadInput(
                where,
                "{name} is filled by {column!r}, but there is also a column {name}",
                'add skip = ["{name}"] to the mapping, or name that column',
                name=name,
                column=source.column,
            )
    found = {
        name: mapping.fields.get(name, Source(name))
        for name in fields()
        if name in mapping.fields
        or (name in head and name not in taken and name not in mapping.skip)
    }
    missing = [name for name in ("plate", "date") if name not in found]
    if missing:
        raise BadInput(
            where,
            "there is no column {missing}",
            'rename a column, or name it in a mapping file: {missing} = "..." under [columns]',
            missing=missing[0],
        )
    return found


def own_columns(
    head: Sequence[str], found: Mapping[str, Source], mapping: PlateMapping
) -> tuple[str, ...]:
    """Return the columns that become conditions of their own."""
    taken = {source.column for source in found.values()}
    return tuple(name for name in head if name not in taken and name not in mapping.skip)
