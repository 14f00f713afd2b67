"""A plate's record: what the plate's page shows and ``argentry plate show`` prints.

It reads the plate's own rows and events, and what was worked out before; only a command asks for
that where nothing was.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import tzinfo
from pathlib import Path

from argentry.book.engine import Book
from argentry.book.log import events as read_events
from argentry.book.makings import all_said
from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import pictures
from argentry.book.plates import makings, works
from argentry.desk.numbers.kept import last_kept
from argentry.desk.numbers.plates_seen import coat_at_exposure_nm
from argentry.desk.numbers.run_so_far import plates_so_far, with_run
from argentry.desk.pages.making_of_run import making_of_run
from argentry.keeping.book import studio_book
from argentry.keeping.moments import zone_or_own
from argentry.keeping.plates.plates import find_plate, known_conditions
from argentry.keeping.studio import load_studio
from argentry.needs.numbers import studio_now
from argentry.needs.plate_light import development_range, exposure_range, ripenings, shots
from argentry.records.day import Range
from argentry.records.decision import OwnNumbers
from argentry.records.plain import part_of
from argentry.records.plate import Making, MakingFacts, Said
from argentry.records.plate_record import (
    DefectRecord,
    DoseRecord,
    MakingRecord,
    PlateRecord,
    SaidRecord,
)
from argentry.records.studio import Studio
from argentry.trade.defects import defect_look, defects

FAULT_WORDS = "something was wrong at the {stage} stage: {words}"
OUTWARD_WORDS = "no fault of the plate, at the {stage} stage: {words}"
SAID = {
    "grade": "grade: {said}",
    "verdict": "exposure: {said}",
    "stage": "{of}: {said}",
    "defect": "{of}, from {said}",
}
READ_OUT = "{at:%Y-%m-%d %H:%M}, {kind}: {line} ({said})"
CONFIRMED, NOT_CONFIRMED = "you said that it is so", "not confirmed"
TAKEN_BACK = "{what} {of} taken back"


def plate_record(
    book: Book, label: str, studio: Studio | None, folder: Path | None, zone: tzinfo | None
) -> PlateRecord:
    """Return all that the book knows of one plate.

    Parameters
    ----------
    book : Book
        The book.
    label : str
        The plate.
    studio : Studio or None
        The studio it belongs to: for the light received and needed.
    folder : Path or None
        Its folder: for the numbers worked out before.
    zone : tzinfo or None
        The studio's time zone.
    """
    plate = find_plate(book, label)
    numbers = last_kept(folder)
    return PlateRecord(
        **vars(plate),
        work=tuple(replace(work, at=work.at.astimezone(zone)) for work in works(book, plate.id)),
        outcomes=tuple(
            _making(book, one, studio, numbers, zone) for one in makings(book, plate.id)
        ),
        pictures=tuple(pictures(book, plate.id)),
    )


def show_record(folder: Path | None, label: str, address: str | None = None) -> PlateRecord:
    """Return the record of one plate of a studio's book."""
    studio = None if folder is None else load_studio(folder)
    with studio_book(folder, address) as book:
        if studio is not None and last_kept(folder) is None:
            from argentry.desk.numbers.kept import own_numbers
            from argentry.desk.numbers.makings import from_book

            own_numbers(from_book(book, studio), folder, with_odds=False)  # kept from here on
        record = plate_record(book, label, studio, folder, zone_or_own(folder))
        return replace(record, read=tuple(_read_out(book, record.id, zone_or_own(folder))))


def _read_out(book: Book, plate: str, zone: tzinfo | None) -> Iterator[str]:
    for one in judged(book, plate):
        if line := one.answer.get("line"):
            said = CONFIRMED if one.confirmed_at else NOT_CONFIRMED
            at = one.judged_at.astimezone(zone)
            yield READ_OUT.format(at=at, kind=one.kind, line=line, said=said)


def _making(
    book: Book,
    making: Making,
    studio: Studio | None,
    numbers: OwnNumbers | None,
    zone: tzinfo | None,
) -> MakingRecord:
    events = [] if making.run is None else read_events(book, making.run)
    of_run = making_of_run(events, making.plate) if events else None
    if of_run is not None:
        seen = next(one for one in plates_so_far(events, studio) if one.plate == making.plate)
        making = with_run(making, seen)
    return MakingRecord(
        **vars(part_of(MakingFacts, making)),
        title=of_run.title if of_run else "",
        sitter=of_run.sitter if of_run else "",
        run_plates=of_run.plates if of_run else (),
        given_up=_given_up(making),
        known=known_conditions(making.conditions),
        defects=tuple(_defect(key, origin) for key, origin in making.defects),
        steps=of_run.steps if of_run else (),
        readings=of_run.readings if of_run else (),
        remarks=of_run.remarks if of_run else (),
        advice=of_run.advice if of_run else (),
        doses=_doses(book, studio, making, numbers) if studio else (),
        judgements=tuple(_said(said, zone) for said in all_said(book, making.id)),
    )


def _given_up(making: Making) -> str:
    """Return why a making was given up, in words."""
    up = making.given_up
    if up is None:
        return ""
    kind = OUTWARD_WORDS if up.reason == "outward" else FAULT_WORDS
    seen = defects().get(up.defect or "")
    told = ", ".join(dict.fromkeys(part for part in (seen.look if seen else "", up.why) if part))
    return kind.format(stage=up.stage or "unknown", words=told)


def _said(one: Said, zone: tzinfo | None) -> SaidRecord:
    template = TAKEN_BACK if one.said is None else SAID[one.what]
    of = defect_look(one.of) if one.what == "defect" else one.of.replace("_", " ")
    words = template.format(what=one.what, of=of, said=one.said)
    return SaidRecord(one.at.astimezone(zone), one.by, words)


def _defect(key: str, origin: str) -> DefectRecord:
    entry = defects().get(key)
    if entry is None:
        return DefectRecord(key, origin, "", (), "", None)
    return DefectRecord(key, origin, entry.look, entry.causes, entry.remedy, entry.mends)


def _doses(
    book: Book, studio: Studio, making: Making, numbers: OwnNumbers | None
) -> tuple[DoseRecord, ...]:
    """Return light received against light that such plates need, where start and length are known.

    The need is what the other plates teach.
    """
    lit, ripened = shots(studio, [making]), ripenings(studio, [making])
    if not (lit or ripened):
        return ()
    from argentry.desk.numbers.makings import from_book
    from argentry.desk.numbers.own_numbers import by_the_others

    others = by_the_others(from_book(book, studio), making.id, numbers)
    now = studio_now(studio, others).studio or studio
    found = []
    for shot in lit:
        need = exposure_range(now, shot, coat_at_exposure_nm(now, making))
        if need is not None:
            behind = _behind("plate_speed", others)
            found.append(_dose("exposure", shot.dose_j_m2 / 1000.0, need, behind))
    for ripe in ripened:
        need, behind = development_range(now, ripe), _behind("development_dose", others)
        found.append(_dose("development", ripe.dose_kj_m2, need, behind))
    return tuple(found)


def _dose(what: str, received_kj_m2: float, need: Range, plates: int) -> DoseRecord:
    low, middle, high = (float(one or 0.0) / 1000.0 for one in (need.low, need.middle, need.high))
    return DoseRecord(what, received_kj_m2, middle, low, high, plates)


def _behind(what: str, numbers: OwnNumbers | None) -> int:
    """Return the plates that a number was learned from; 0 when it is a starting value."""
    learned = None if numbers is None else numbers.of(what)
    return 0 if learned is None else round(learned.plates)
