"""What a plate's page shows: its record, the forms that correct it, and what was worked out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from argentry.book.pictures.judged import judged
from argentry.book.plates import add_work
from argentry.desk.learning.kept_plates import is_fresh, kept_plate, kept_plates
from argentry.desk.pages.grading_form import grade_by_form, grading_form
from argentry.desk.pages.plate_record import plate_record
from argentry.keeping.plates.mistakes import relabel, withdraw_making
from argentry.keeping.plates.plates import find_plate
from argentry.records.ids import new_id
from argentry.records.plate_record import FREES, PlateWork

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.desk.house import House
    from argentry.desk.learning.causes import WhyPlate
    from argentry.desk.learning.odds import PlateOdds
    from argentry.desk.pages.grading_form import GradingForm
    from argentry.records.plate import Judged
    from argentry.records.plate_record import PlateRecord

HOST = "host"
SHOWN = ("coat", "scale", "wedge", "plate", "change", "ripening")
NEEDED = {"line", "width_px", "height_px"}


@dataclass(frozen=True)
class PlatePage:
    """What a plate's page shows.

    Attributes
    ----------
    record : PlateRecord
        Of the plate.
    forms : Mapping[str, GradingForm]
        By id of a making that may be graded: not one that is going on.
    odds : PlateOdds or None
        As worked out beforehand; None where it does not apply or is not there yet.
    why : WhyPlate or None
        The same of why it failed.
    fresh : bool
        False when the book has changed since, or nothing was worked out of this plate.
    zone : ZoneInfo
        The studio's time zone.
    seen : tuple of Judged
        What was read out of its pictures: coats, scales, wedges, findings, changes,
        how far it had come.
    """

    record: PlateRecord
    forms: Mapping[str, GradingForm]
    odds: PlateOdds | None
    why: WhyPlate | None
    fresh: bool
    zone: ZoneInfo
    seen: tuple[Judged, ...] = ()


def plate_page(house: House, label: str) -> PlatePage:
    """Return what the page of a plate shows; nothing is worked out here."""
    zone = ZoneInfo(house.studio.site.time_zone)
    record = plate_record(house.book, label, house.studio, house.studio_dir, zone)
    kept = kept_plates(house.studio_dir)
    own = kept_plate(kept, label)
    return PlatePage(
        record=record,
        forms={one.id: grading_form(one) for one in record.outcomes if one.state != "going"},
        odds=None if own is None else own.odds,
        why=None if own is None else own.why,
        fresh=own is not None and is_fresh(house.book, kept),
        zone=zone,
        seen=tuple(
            one
            for one in judged(house.book, record.id)
            if one.kind in SHOWN and one.answer.keys() >= NEEDED  # else of another argentry
        ),
    )


def grade(house: House, making: str, fields: Mapping[str, str], by: str) -> None:
    """Grade a making by the form of its page."""
    grade_by_form(house.book, making, fields, by=by or HOST, at=house.clock.now())


def rename(house: House, label: str, new: str, by: str) -> str:
    """Give a plate another label and return it."""
    return relabel(house.book, label, new, by or HOST, house.clock.now()).label


def polished_back(house: House, label: str, by: str) -> None:
    """Note that a plate was polished back."""
    plate = find_plate(house.book, label)
    done = PlateWork(new_id(), plate.id, FREES[0], house.clock.now(), by or HOST)
    add_work(house.book, done)


def withdraw(house: House, making: str, why: str, by: str) -> None:
    """Say that a plate was in a run by mistake."""
    withdraw_making(house.book, making, why, by=by or HOST, at=house.clock.now())
