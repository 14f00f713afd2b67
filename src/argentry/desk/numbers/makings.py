"""The plates that learning learns from: of the book, of the bench's runs, or of a plain table."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from argentry import trade
from argentry.desk.numbers.adopted import NOTHING, adopted_in
from argentry.desk.numbers.fitted import digest
from argentry.desk.numbers.light_received import lit_by, with_light
from argentry.desk.numbers.making_facts import (
    as_it_was,
    of_itself,
    of_plate,
    with_facts,
    with_strips,
)
from argentry.desk.numbers.run_so_far import plates_so_far
from argentry.errors import BadInput, did_you_mean
from argentry.keeping.moments import zone_in
from argentry.keeping.studio import TABLE, has_book, studio_folder
from argentry.learn.pooling.pool import assumed_of
from argentry.learn.stages.assumed import of_trade
from argentry.learn.stages.table import in_order, succeeded
from argentry.records.studio import USUAL_SIZE

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from argentry.book.engine import Book
    from argentry.desk.numbers.light_received import Lit
    from argentry.desk.numbers.run_so_far import PlateSoFar
    from argentry.learn.stages.assumed import Assumed
    from argentry.records.learned import Adopted
    from argentry.records.plate import Making
    from argentry.records.studio import Studio

KEPT = 4000  # runs whose plates are kept; some kB each
_read: dict[tuple[str, int, Studio | None], list[PlateSoFar]] = {}
NONE_YET = (
    "There is no plate in the book yet: every figure is a starting assumption. Put plates in with "
    "argentry plate new, or take in an old notebook with argentry book import FILE"
)


@dataclass(frozen=True)
class Gathered:
    """Plates to learn from.

    Attributes
    ----------
    makings : tuple of Making
        All of them; ungraded ones too.
    labels : Mapping[str, str]
        Id of a plate to its label.
    sizes : Mapping[str, str]
        Id of a plate to its size.
    in_making : Mapping[str, PlateSoFar]
        Label of a plate that is on the bench now to how it stands.
    source : str
        Where they come from, in words.
    notes : tuple of str
        What to know about them.
    studio : Studio or None
        The studio they belong to.
    seen : Mapping[str, PlateSoFar]
        Id of a making to what the bench saw of it.
    adopted : Adopted
        What files of other studios let assume before any plate.
    lit : Lit or None
        By which the exposure that a plate received is told; None without a studio.
    folder : Path or None
        Studio folder, where the climate file lies that `studio` names; None without one.
    """

    makings: tuple[Making, ...]
    labels: Mapping[str, str]
    sizes: Mapping[str, str]
    in_making: Mapping[str, PlateSoFar]
    source: str
    notes: tuple[str, ...]
    studio: Studio | None
    seen: Mapping[str, PlateSoFar] = field(default_factory=dict)
    adopted: Adopted = NOTHING
    lit: Lit | None = None
    folder: Path | None = None

    def with_light(self) -> Gathered:
        """Return the same with the exposure that each plate received among its conditions."""
        if self.studio is None:
            return self
        lit = lit_by(self.studio, self.makings)
        return replace(self, makings=with_light(self.makings, lit), lit=lit)

    def known(
        self, known: Mapping[str, float | str], changed: Mapping[str, float | str]
    ) -> Mapping[str, float | str]:
        """Return what is known of a plate with some of it changed, and what follows from both."""
        return {**known, **changed} if self.lit is None else self.lit.again(known, changed)

    @property
    def assumed(self) -> Assumed | None:
        """Return the starting assumptions; None: those of the trade.

        The share of good plates that the studio file tells counts until a plate is graded.
        """
        found = assumed_of(self.adopted) if self.adopted.figures else None
        habits = None if self.studio is None else self.studio.habits
        if (
            habits is None
            or habits.good_share is None
            or any(succeeded(one) is not None for one in self.makings)
        ):
            return found
        found = found or of_trade()
        good = habits.good_share * habits.good_share_plates
        lost = habits.good_share_plates - good
        return replace(found, good=(found.good[0] + good, found.good[1] + lost))

    def size_of(self, plate: str) -> str:
        """Return the size of a plate by its id: its own, else the studio's usual one."""
        usual = self.studio.habits.plate_size if self.studio else USUAL_SIZE
        return self.sizes.get(plate) or usual

    def plate(self, label: str) -> str:
        """Return the id of the plate with that label.

        Raises
        ------
        BadInput
            If there is none; the sentence names one that is near.
        """
        ids = {name: key for key, name in self.labels.items()}
        if label in ids:
            return ids[label]
        right = did_you_mean(label, ids, "list them: argentry plate list", 0.5)
        raise BadInput(
            "plate",
            "{label!r} is not in {source}".format(label=label[:40], source=self.source),
            right,
        )

    def of_plate(self, label: str) -> tuple[Making, ...]:
        """Return the makings of a plate, the last one last."""
        plate = self.plate(label)
        own = [one for one in self.makings if one.plate == plate]
        return tuple(sorted(own, key=lambda o: (o.day, o.session, o.order, o.id)))


@dataclass(frozen=True)
class Told:
    """Plates and their studio as a key: equal when all that is said in them is.

    Plates that are on the bench now are left out: they teach nothing yet.
    """

    said: str
    gathered: Gathered = field(compare=False)


def told_by(gathered: Gathered) -> Told:
    """Return plates and their studio as a key for what they teach."""
    own = (gathered.studio, gathered.assumed, gathered.adopted, gathered.source, gathered.notes)
    return Told(f"{digest(gathered.makings)} {own!r}", gathered)


def gather(
    folder: Path | None,
    address: str | None = None,
    table: Path | None = None,
    *,
    plate: str | None = None,
) -> Gathered:
    """Return the plates to learn from: the newest ones, as many as the trade's facts say.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    address : str, optional
        Of a PostgreSQL book.
    table : Path, optional
        A table of plates instead of the book.
    plate : str, optional
        Label of a plate that is asked about: its makings are there however old they are.

    Returns
    -------
    Gathered
        Of the table if one is named; else of the book; of ``plates.csv`` in the studio folder where
        the book holds no plate.

    Raises
    ------
    BadInput
        If neither names plates, or the table cannot be used.
    """
    studio = None
    if folder is not None:
        from argentry.keeping.studio import load_studio

        studio = load_studio(folder)
    found = _gather(folder, address, table, studio, plate)
    folder = None if folder is None else studio_folder(folder)
    return replace(found, adopted=adopted_in(folder), folder=folder)


def _gather(
    folder: Path | None,
    address: str | None,
    table: Path | None,
    studio: Studio | None,
    plate: str | None,
) -> Gathered:
    if table is not None:
        return from_table(table, studio, plate)
    if folder is None and not address:
        right = "name a studio with --studio DIR, or a table with --plates FILE"
        raise BadInput("plates", "there is no studio here", right)
    folder = None if folder is None else studio_folder(folder)
    beside = None if folder is None else folder / TABLE
    if has_book(folder, address):
        from argentry.keeping.book import studio_book

        with studio_book(folder, address, quick=False) as book:  # it is only read
            found = from_book(book, studio, plate)
        if found.makings or found.labels or beside is None or not beside.is_file():
            return found
    if beside is not None and beside.is_file():
        return from_table(beside, studio, plate)
    return Gathered((), {}, {}, {}, "the book", (f"{NONE_YET}.",), studio)


def from_table(path: Path, studio: Studio | None, plate: str | None = None) -> Gathered:
    """Return the plates of a table in the columns of docs/plates-csv.md.

    Rows that cannot be read are left out with a note, unless they are most of the table.

    Raises
    ------
    BadInput
        If the file cannot be used, or fewer than half of its rows can.
    """
    from argentry.exchange.plates.cells import refuse
    from argentry.exchange.plates.table import read_plate_table

    zone = zone_in(studio)
    read = read_plate_table(path, time_zone=zone.key, today=datetime.now(zone).date())
    if read.problems and 2 * len(read.rows) < read.total:
        refuse(read.name, read.problems)
    notes = []
    if read.problems:
        left_out = read.total - len(read.rows)
        notes.append(
            "{left_out} {word} left out of {name}; the first is {first}".format(
                left_out=left_out,
                word="row was" if left_out == 1 else "rows were",
                name=read.name,
                first=read.problems[0].sentence,
            )
        )
    if read.own:
        notes.append(
            "Columns of your own count as conditions: {own}.".format(own=", ".join(read.own))
        )
    if not read.rows:
        notes.append(
            "{name} holds no plate: every figure is a starting assumption.".format(name=read.name)
        )
    labels = {row.plate.id: row.plate.label for row in read.rows}
    ordered = in_order([of_plate(row.making, row.plate) for row in read.rows])
    newest = ordered[-_newest() :]
    kept = {one.id for one in newest}
    also = [one for one in ordered if labels[one.plate] == plate and one.id not in kept]
    return Gathered(
        makings=(*also, *newest),
        labels=labels,
        sizes={row.plate.id: row.plate.size for row in read.rows},
        in_making={},
        source=read.name,
        notes=tuple(notes),
        studio=studio,
    ).with_light()


def _newest() -> int:
    """Return how many of the newest makings teach."""
    return int(trade.value("decide", "newest_plates"))


def from_book(book: Book, studio: Studio | None, plate: str | None = None) -> Gathered:
    """Return the newest plates of a book, with what its runs tell of them.

    A plate given up at the bench because something was wrong, and never graded, counts as lost.

    Parameters
    ----------
    book : Book
        Open. No more of it is read than is learned from, however large it is.
    studio : Studio or None
        The studio it belongs to.
    plate : str, optional
        Label of a plate that is asked about: its makings are there however old they are.
    """
    from argentry.book.pictures.judged import confirmed
    from argentry.book.plates import days_polished_back, makings, names_and_sizes, plates

    named = names_and_sizes(book)
    labels = {key: label for key, label, _ in named}
    newest = makings(book, newest=_newest())
    kept = {one.id for one in newest}
    also = [
        one
        for key, label, _ in named
        if label == plate
        for one in makings(book, key)
        if one.id not in kept
    ]
    # on the bench now: how it comes out is still to be seen
    taught = [one for one in (*also, *newest) if one.state != "going" or one.grade is not None]
    runs, on_bench = _runs(book, studio, plate)
    wanted = {one.plate for one in taught} | {key for _, key in runs}
    by_id = {one.id: one for one in plates(book, wanted)}
    seen = {one.id: found for one in taught if (found := runs.get((one.run or "", one.plate)))}
    zone = UTC if studio is None else ZoneInfo(studio.site.time_zone)
    again = [one.id for one in by_id.values() if one.times_repolished]
    backs = days_polished_back(book, again, zone)
    told = [
        with_facts(one, seen.get(one.id), as_it_was(by_id[one.plate], one, backs)) for one in taught
    ]
    told = with_strips(told, confirmed(book, "wedge"))
    notes = () if told else (f"{NONE_YET}.",)
    if len(newest) == _newest():
        notes = (
            "Only the newest {newest_count} makings of this book are learned from.".format(
                newest_count=len(newest)
            ),
        )
    return Gathered(
        makings=in_order(told),
        labels=labels,
        sizes={key: size for key, _, size in named},
        in_making={
            labels[one.plate]: replace(
                one, known={**of_itself(by_id.get(one.plate), one), **one.known}
            )
            for one in on_bench.values()
            if one.plate in labels
        },
        source="the book",
        notes=notes,
        studio=studio,
        adopted=adopted_in(book.folder),
        seen=seen,
    ).with_light()


def _runs(
    book: Book, studio: Studio | None, asked: str | None
) -> tuple[dict[tuple[str, str], PlateSoFar], dict[str, PlateSoFar]]:
    """Return plates of the newest runs by run and plate; by label those on the bench now.

    Of the plate that is asked about every run counts, however old it is.
    """
    from argentry.book.log import runs

    found: dict[tuple[str, str], PlateSoFar] = {}
    on_bench: dict[str, PlateSoFar] = {}
    newest = runs(book, _newest())
    if asked is not None and len(newest) == _newest():
        newest += [head for head in runs(book)[len(newest) :] if asked in head.plates]
    for head in reversed(newest):
        for plate in _plates_of(book, head.run, head.last_seq, studio):
            found[head.run, plate.plate] = plate
            on_bench.pop(plate.label, None)
            if head.closed is None and plate.state == "open":
                on_bench[plate.label] = plate
    return found, on_bench


def _plates_of(book: Book, run: str, last_seq: int, studio: Studio | None) -> list[PlateSoFar]:
    """Return the plates of a run; read again only when the run has grown."""
    from argentry.book.log import events

    key = (run, last_seq, studio)
    if key not in _read:
        while len(_read) >= KEPT:
            _read.pop(next(iter(_read)))
        _read[key] = plates_so_far(events(book, run), studio)
    return _read[key]
