"""The tables of the book, the same on SQLite and PostgreSQL.

Times are whole microseconds since 1970 UTC (columns ``..._us``), days ISO 8601 text, JSON canonical
text. ``docs/book.md`` says what each table is for; the migrations make them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import (
    REAL,
    BigInteger,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
)

if TYPE_CHECKING:
    from sqlalchemy.types import TypeEngine

APPLICATION_ID = 0x41676F6B  # "Agok", in the head of every SQLite book

# Rows of these are never changed and never deleted; triggers refuse it.
APPEND_ONLY = {
    "event": "events are never changed; add a correction",
    "reading": "readings are never changed; add another",
    "grade": "grades are never changed; add another, the last counts",
    "verdict": "verdicts are never changed; add another, the last counts",
    "stage": "stages are never changed; add another, the last counts",
    "defect": "defects are never changed; withdraw one by another row",
    "plate_work": "work on a plate is never changed; add another row",
    "bath_use": "uses of a bath are never changed; add another",
    "lot_use": "uses of a lot are never changed; add another",
    "material_note": "notes on materials are never changed; add another, the last counts",
    "upgrade_note": "what an upgrade said is never changed",
    "judgement": "what a picture said is never changed; add another row",
}

metadata = MetaData(
    naming_convention={
        "ix": "%(table_name)s_%(column_0_N_name)s_index",
        "uq": "%(table_name)s_%(column_0_N_name)s_once",
        "ck": "%(table_name)s_%(constraint_name)s_check",
        "fk": "%(table_name)s_%(column_0_name)s_of",
        "pk": "%(table_name)s_key",
    }
)

Whole: TypeEngine[int] = BigInteger().with_variant(Integer, "sqlite")
Number: TypeEngine[float] = Double().with_variant(REAL, "sqlite")


def _table(name: str, *parts: Column | Index | CheckConstraint | ForeignKeyConstraint) -> Table:  # type: ignore[type-arg]
    own = Column("sum", Text, nullable=False, server_default="")  # see argentry.book.care.seal
    table = Table(name, metadata, *parts, own, sqlite_strict=True)
    unsealed = own == ""
    Index(f"{name}_unsealed_index", own, sqlite_where=unsealed, postgresql_where=unsealed)
    return table


def _seq() -> Column[int]:
    """Place in the log, given by the writer under the one lock: no gaps, in order of commit."""
    return Column("seq", Whole, primary_key=True, autoincrement=False)


def _own(table: str) -> Column[str]:
    return Column(table, Text, ForeignKey(f"{table}.id"), nullable=False)


def _when_who() -> tuple[Column[int], Column[str]]:
    return Column("at_us", Whole, nullable=False), Column("who", Text, nullable=False)


event = _table(
    "event",
    _seq(),
    Column("id", Text, nullable=False, unique=True),
    Column("run", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("at_us", Whole, nullable=False),
    Column("plate", Text),
    Column("step", Text),
    Column("body", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("version", Whole, nullable=False),
    Column("chain", Text, nullable=False, server_default=""),
    Column("salt", Text, nullable=False, server_default=""),
    Column("body_sha256", Text, nullable=False, server_default=""),
    CheckConstraint("length(id) = 36", name="id_form"),
)
Index("event_run_seq_index", event.c.run, event.c.seq)
EDGES = ("run_opened", "run_closed", "run_withdrawn", "corrected", "clock_set")
Index(
    "event_edges_index",
    event.c.kind,
    event.c.run,
    sqlite_where=event.c.kind.in_(EDGES),
    postgresql_where=event.c.kind.in_(EDGES),
)

plate = _table(
    "plate",
    Column("id", Text, primary_key=True),
    Column("label", Text, nullable=False, unique=True),
    Column("size", Text, nullable=False),
    Column("made_on", Text),
    Column("silver_um", Number),
    Column("silver_source", Text, nullable=False),
    Column("times_repolished", Whole, nullable=False),
    Column("remark", Text, nullable=False),
)

plate_work = _table(
    "plate_work",
    _seq(),
    Column("id", Text, nullable=False, unique=True),
    _own("plate"),
    Column("kind", Text, nullable=False),
    *_when_who(),
    Column("remark", Text, nullable=False),
)
Index("plate_work_plate_index", plate_work.c.plate)

making = _table(
    "making",
    Column("id", Text, primary_key=True),
    _own("plate"),
    Column("run", Text),
    Column("session", Text, nullable=False),
    Column("place", Whole, nullable=False),
    Column("day", Text, nullable=False),
    Column("commissioned", Whole, nullable=False),
    Column("conditions", Text, nullable=False),
    Column("remark", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("given_up", Text, nullable=False),
    CheckConstraint("commissioned in (0, 1)", name="commissioned"),
)
Index("making_day_index", making.c.day, making.c.session, making.c.place)
Index("making_plate_index", making.c.plate)
Index("making_run_plate_index", making.c.run, making.c.plate, unique=True)

grade = _table("grade", _seq(), _own("making"), Column("grade", Text), *_when_who())
verdict = _table("verdict", _seq(), _own("making"), Column("verdict", Text), *_when_who())
stage = _table(
    "stage",
    _seq(),
    _own("making"),
    Column("stage", Text, nullable=False),
    Column("state", Text),
    *_when_who(),
)
defect = _table(
    "defect",
    _seq(),
    _own("making"),
    Column("defect", Text, nullable=False),
    Column("step", Text, nullable=False),
    Column("withdrawn", Whole, nullable=False),
    *_when_who(),
    CheckConstraint("withdrawn in (0, 1)", name="withdrawn"),
)
for _judged in (grade, verdict, stage, defect):
    Index(f"{_judged.name}_making_index", _judged.c.making)

# What an upgrade could not bring over as it was, in sentences: told by `argentry book check`.
upgrade_note = _table(
    "upgrade_note",
    _seq(),
    Column("form", Text, nullable=False),
    Column("words", Text, nullable=False),
)

reading = _table(
    "reading",
    _seq(),
    Column("id", Text, nullable=False, unique=True),
    Column("what", Text, nullable=False),
    Column("value", Number, nullable=False),
    Column("unit", Text, nullable=False),
    Column("at_us", Whole, nullable=False),
    Column("source", Text, nullable=False),
    Column("run", Text),
    Column("plate", Text),
    Column("doubt", Text, nullable=False),
    CheckConstraint("length(id) = 36", name="id_form"),
)
Index("reading_what_at_index", reading.c.what, reading.c.at_us)

bath = _table(
    "bath",
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("recipe", Text, nullable=False),
    Column("mixed_us", Whole, nullable=False),
    Column("volume_ml", Number, nullable=False),
    Column("discarded_us", Whole),
)
bath_use = _table(
    "bath_use",
    _seq(),
    _own("bath"),
    Column("plates", Whole, nullable=False),
    Column("area_cm2", Number, nullable=False),
    *_when_who(),
)
Index("bath_use_bath_index", bath_use.c.bath)

lot = _table(
    "lot",
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("amount", Number, nullable=False),
    Column("unit", Text, nullable=False),
    Column("supplier", Text, nullable=False),
    Column("received_on", Text, nullable=False),
)
lot_use = _table(
    "lot_use",
    _seq(),
    _own("lot"),
    Column("amount", Number, nullable=False),
    *_when_who(),
    Column("remark", Text, nullable=False),
)
Index("lot_use_lot_index", lot_use.c.lot)
Index("lot_use_remark_index", lot_use.c.remark)

# What is known of a lot, a bath or the waste besides its amounts: argentry.book.materials.notes.
material_note = _table(
    "material_note",
    _seq(),
    Column("about", Text, nullable=False),
    Column("of", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("value", Text, nullable=False),
    *_when_who(),
)
Index("material_note_of_index", material_note.c.of)

photograph = _table(
    "photograph",
    Column("sha256", Text, primary_key=True),
    Column("plate", Text, ForeignKey("plate.id"), primary_key=True),
    Column("kind", Text, nullable=False),
    Column("taken_us", Whole, nullable=False),
    Column("media_type", Text, nullable=False),
    Column("bytes", Whole, nullable=False),
    Column("width_px", Whole),
    Column("height_px", Whole),
    Column("said", Text, nullable=False, server_default="{}"),
    Column("named", Text, nullable=False, server_default=""),
    Column("taken_from", Text, nullable=False, server_default="upload"),
    Column("carries", Text),
    CheckConstraint("length(sha256) = 64", name="sha256_form"),
)
Index("photograph_plate_index", photograph.c.plate)

# What was read out of a picture; a newer reading, or the maker's word on it, is another row.
judgement = _table(
    "judgement",
    _seq(),
    Column("picture", Text, nullable=False),
    Column("second_picture", Text),
    Column("plate", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("judged_us", Whole, nullable=False),
    Column("version", Text, nullable=False),
    Column("answer", Text, nullable=False),
    Column("confirmed_us", Whole),
    Column("struck", Text, nullable=False),
    ForeignKeyConstraint(["picture", "plate"], ["photograph.sha256", "photograph.plate"]),
)
Index("judgement_plate_index", judgement.c.plate)

# Who was let in. Not a record of the craft: an export leaves it out.
device = _table(
    "device",
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("scope", Text, nullable=False),
    Column("token_sha256", Text, nullable=False, unique=True),
    Column("created_us", Whole, nullable=False),
    Column("seen_us", Whole),
    Column("revoked_us", Whole),
    CheckConstraint("length(token_sha256) = 64", name="token_form"),
)
