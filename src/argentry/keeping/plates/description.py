"""What a plate is, in the few lines of a label or a sheet: its silver, and the picture on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.book.from_runs import begun_at
from argentry.book.log import events
from argentry.book.plates import works
from argentry.book.runs.fold import fold
from argentry.keeping.plates.makings import chosen
from argentry.records.day import day_in_words
from argentry.records.plate_record import FREES
from argentry.trade.recipes import GILD
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from argentry.book.engine import Book
    from argentry.records.plate import Making, Plate

PICTURE = "Daguerreotype, {day}"
PROCESS, GILDED = "Iodine alone, developed by red light", "Iodine alone, red light; gilded"
SILVER, SILVERED, FROM = "Silver {um:g} µm", "Silvered {day}", "From {supplier}"
USED_AGAIN = "Polished back: {count} ×"
MADE = "Sensitised with iodine alone, developed by red light"
MADE_GILDED = "Sensitised with iodine alone, developed by red light, gilded with gold"
OBJECT = "Daguerreotype, {size} plate, {narrow:.0f} × {long:.0f} mm"


def plate_lines(book: Book, plate: Plate) -> tuple[str, ...]:
    """Return what the book knows of a plate and of the picture on it, the weightiest first."""
    lines = []
    made = _picture(book, plate)
    if made is not None:
        lines += [PICTURE.format(day=made.day), GILDED if _gilded(book, made) else PROCESS]
    if plate.silver_um is not None:
        lines.append(SILVER.format(um=plate.silver_um))
    if plate.made_on is not None:
        lines.append(SILVERED.format(day=plate.made_on))
    if plate.silver_source:
        lines.append(FROM.format(supplier=plate.silver_source))
    if plate.times_repolished:
        lines.append(USED_AGAIN.format(count=plate.times_repolished))
    return tuple(lines)


def picture_lines(book: Book, plate: Plate) -> tuple[str, ...]:
    """Return the day of the picture on a plate, what it is and how made; nothing without one."""
    made = _picture(book, plate)
    if made is None:
        return ()
    size = plate_size(plate.size)
    sides = {"narrow": size.width_mm, "long": size.height_mm}
    what = OBJECT.format(size=plate.size, **sides)
    return day_in_words(made.day), what, MADE_GILDED if _gilded(book, made) else MADE


def _picture(book: Book, plate: Plate) -> Making | None:
    """Return the making whose picture is on the plate; None where there is none worth a name."""
    found = chosen(book, plate)
    if found is None or found.making.state != "finished" or found.making.grade == "lost":
        return None
    made = found.making
    begun = begun_at(f"{made.day}", made.id, made.run)
    freed = any(work.at > begun for work in works(book, plate.id) if work.kind in FREES)
    return None if freed else made


def _gilded(book: Book, made: Making) -> bool:
    minutes = made.conditions.get("gilding_minutes")
    if made.run is None or minutes is not None:
        return isinstance(minutes, float) and minutes > 0.0
    plates = fold(events(book, made.run)).plates
    return any(
        step.key == GILD and step.state == "done"
        for plate in plates
        if plate.id == made.plate
        for step in plate.steps
    )
