"""What a plate's condition sheet says: one picture's findings, the maker's word, what changed."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, product
from string import ascii_lowercase
from typing import TYPE_CHECKING, Any

from argentry.book.engine import reading
from argentry.book.judgements import history
from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import pictures
from argentry.errors import BadInput
from argentry.keeping.plates.description import plate_lines
from argentry.keeping.plates.makings import chosen
from argentry.keeping.plates.plates import find_plate
from argentry.keeping.seeing.blur import blur_figure
from argentry.keeping.seeing.change import carried
from argentry.records.answers.condition import (
    ChangeSince,
    Condition,
    DefectInBook,
    FoundOnPlate,
    MarkInPicture,
)
from argentry.records.answers.seen import not_told_words
from argentry.trade.defects import defects
from argentry.trade.sizes import plate_size

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from argentry.book.engine import Book
    from argentry.records.plate import Judged, Photograph, Plate
    from argentry.records.studio import Studio

NOT_THIS = "this picture of the plate was not looked into for defects"
LOOK_FIRST = "do so on its page, or with: argentry judge plate FILE --plate LABEL"
FINISHED = "plate", "scan"  # kinds of pictures that show the finished plate
SIZE, NO_SIZE = "{name} plate, {narrow:g} × {long:g} mm", "{name}"
CONFIRMED, STRUCK = "confirmed", "struck out"
SPOTS = {"white_specks": "light", "black_specks": "dark"}
SHARE = (
    ("fog_share", "Fog {share:.1f} % of white"),
    ("blue_share", "Blue lights on {share:.2f} % of the plate"),
    ("rim_share", "Tarnished rim {share:.1f} % of the shorter side"),
    ("evenness", "Smooth ground uneven by ±{share:.0f} %, the light of the copy included"),
)
LINES = "{count} fine lines"
ONE_LINE = "One fine line; the subject's own look alike"
SPOTS_EACH = "{count:.2g} spots per cm²"
CORNERS = "Edges of the plate found to ±{px:.0f} px"
AREA = "{letter}  {words}{size}, colour difference {delta_e:.1f}"
AREA_SIZE = ", {mm2:.1f} mm²"


def condition(
    book: Book, studio: Studio, label: str, *, picture: str | None = None, by: str = ""
) -> Condition:
    """Return what the condition sheet of a plate says.

    Parameters
    ----------
    book : Book
        Its book.
    studio : Studio
        Whose plate it is.
    label : str
        The plate.
    picture : str, optional
        How the SHA-256 of the picture begins; None: the one looked into last.
    by : str
        Who judged the plate by eye.

    Raises
    ------
    BadInput
        If the plate is not in the book, or the picture that is named was not looked into.
    """
    plate = find_plate(book, label)
    read = judged(book, plate.id)
    own = [one for one in read if one.kind == "plate" and "defects" in one.answer]
    kept = {one.sha256: one for one in pictures(book, plate.id)}
    if picture is not None:
        own = [one for one in own if one.picture.startswith(picture)]
        if not own:
            raise BadInput("picture", NOT_THIS, LOOK_FIRST)
    plain = _by_the_book(book, studio, plate, kept.values(), by)
    if not own:
        return plain
    last = max(own, key=lambda one: one.judged_at)
    pairs = [
        one for one in read
        if one.kind == "change" and last.picture in (one.picture, one.second_picture)
    ]  # fmt: skip
    change = max(pairs, key=lambda one: one.judged_at, default=None)
    answer = last.answer
    found = _found(last)
    marks = [*_marks(answer, found), *_changed(change, last.picture)]
    where = answer.get("plate") or {}
    shot = kept[last.picture]
    return replace(
        plain, picture=last.picture, taken_at=shot.taken_at, taken_from=shot.taken_from,
        width_px=answer["width_px"], height_px=answer["height_px"],
        corners_px=tuple((x, y) for x, y in where.get("corners_px", ())), line=answer["line"],
        found=found, figures=_figures(answer), not_told=not_told_words(answer.get("not_told", ())),
        cautions=tuple(answer.get("cautions", ())), marks=tuple(marks),
        change=None if change is None else _since(change, kept), judged_at=last.judged_at,
        version=last.version, confirmed_at=last.confirmed_at,
    )  # fmt: skip


def _by_the_book(
    book: Book, studio: Studio, plate: Plate, kept: Iterable[Photograph], by: str
) -> Condition:
    """Return what the book knows, with the newest picture of the finished plate if there is one."""
    made = Condition(
        studio.name, studio.site.time_zone, plate.label,
        _size(plate.size or studio.habits.plate_size), plate_lines(book, plate),
        None, None, "", None, None, (), "", (), (), (), (), (), None, _in_book(book, plate), None,
        "", None, by,
    )  # fmt: skip
    shown = [one for one in kept if one.kind in FINISHED and one.width_px]
    if not shown:
        return made
    shot = max(shown, key=lambda one: one.taken_at)
    return replace(
        made, picture=shot.sha256, taken_at=shot.taken_at, taken_from=shot.taken_from,
        width_px=shot.width_px, height_px=shot.height_px,
    )  # fmt: skip


def _size(name: str) -> str:
    try:
        size = plate_size(name)
    except BadInput:
        return NO_SIZE.format(name=name)
    return SIZE.format(name=size.name, narrow=size.width_mm, long=size.height_mm)


def _found(one: Judged) -> tuple[FoundOnPlate, ...]:
    def word(key: str) -> str:
        if one.confirmed_at is None:
            return ""
        return STRUCK if key in one.struck else CONFIRMED

    return tuple(
        FoundOnPlate(str(number), row["key"], row["words"], row["odds"], word(row["key"]))
        for number, row in enumerate(one.answer["defects"], 1)
    )


def _marks(answer: Mapping[str, Any], found: Sequence[FoundOnPlate]) -> Iterable[MarkInPicture]:
    number = {one.key: one.number for one in found}
    for key, tone in SPOTS.items():
        for spot in answer.get("spots", ()) if key in number else ():
            if spot["tone"] == tone:
                yield MarkInPicture(number[key], tuple(spot["px"]), 0.8 * spot["diameter_px"])
    for line in answer.get("scratches", ()):
        name = number.get("scratches", "")
        yield MarkInPicture(name, tuple(line["from_px"]), None, tuple(line["to_px"]))


def _changed(change: Judged | None, picture: str) -> Iterable[MarkInPicture]:
    if change is None:
        return
    turn = change.answer.get("before_to_after")
    for letter, area in _lettered(change.answer):
        place: Mapping[str, Any] = {"px": area["px"], "radius_px": 0.8 * area["diameter_px"]}
        if picture != change.picture:
            if turn is None:
                return
            place = carried(turn, place)
        yield MarkInPicture(letter, tuple(place["px"]), place["radius_px"])


def _lettered(answer: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Give each changed area its letter: a to z, then aa to zz."""
    one = ascii_lowercase
    letters = chain(one, map("".join, product(one, one)))
    return zip(letters, answer.get("areas", ()), strict=False)


def _figures(answer: Mapping[str, Any]) -> tuple[str, ...]:
    made = [
        words.format(share=100 * answer[key]) for key, words in SHARE if answer.get(key) is not None
    ]
    blur, lines, where = answer.get("blur"), answer.get("scratches", ()), answer.get("plate")
    if blur:
        made.append(blur_figure(blur))
    if lines:
        made.append(ONE_LINE if len(lines) == 1 else LINES.format(count=len(lines)))
    if answer.get("spots_per_cm2") is not None:
        made.append(SPOTS_EACH.format(count=answer["spots_per_cm2"]))
    if where:
        made.append(CORNERS.format(px=where["doubt_px"]))
    return tuple(made)


def _since(change: Judged, kept: Mapping[str, Photograph]) -> ChangeSince:
    answer, areas = change.answer, []
    for letter, area in _lettered(answer):
        mm2 = area.get("area_mm2")
        size = "" if mm2 is None else AREA_SIZE.format(mm2=mm2)
        words = {"words": area["words"], "delta_e": area["delta_e"]}
        areas.append(AREA.format(letter=letter, size=size, **words))
    second = change.second_picture or change.picture
    return ChangeSince(
        kept[change.picture].taken_at, kept[second].taken_at, answer["line"], tuple(areas),
        not_told_words(answer.get("not_told", ()), answer["line"]),
        tuple(answer.get("cautions", ())),
    )  # fmt: skip


def _in_book(book: Book, plate: Plate) -> tuple[DefectInBook, ...]:
    which = chosen(book, plate)
    if which is None:
        return ()
    with reading(book) as connection:
        said = {one.of: one for one in history(connection, which.making.id) if one.what == "defect"}
    known = defects()
    return tuple(
        DefectInBook(
            key, known[key].look if key in known else key, said[key].by if key in said else "",
            said[key].at if key in said else None,
        )
        for key in dict.fromkeys(key for key, _ in which.making.defects)
    )  # fmt: skip
