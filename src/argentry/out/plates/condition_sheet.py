"""A plate's condition on paper: its picture with findings numbered in it, and what they are."""

from __future__ import annotations

from base64 import b64encode
from datetime import date, datetime
from zoneinfo import ZoneInfo

from argentry.needs.doubt.percent import percent
from argentry.out.plates.seen_pictures import marked_picture
from argentry.out.sheet_parts import Part, drawing, head, set_sheet, table, words
from argentry.records.answers.condition import Condition
from argentry.records.plate import IMPORTED

TITLE = "Condition of plate {label}"
TYPE, HIGH_MM, ACROSS = 9.0, 105.0, 640.0
PICTURE, PLAIN = "The plate with its findings numbered", "The plate"
TAKEN = {"file": "Photographed {when}", "upload": "Photograph added {when}"}
SHOT = "{taken}; {width} × {height} px. SHA-256 of the original: {sha256}"
FOUND, NONE_FOUND = "Findings", "Nothing found that is beyond its limit."
NOT_JUDGED = (
    "No picture of this plate was judged, so this sheet does not say what one would show. To judge "
    "one: argentry judge plate FILE --plate {label}, or the page of the plate."
)
ROW, NAMED = "{number}  {words}", "{words} ({key})"
HEADS = ("what was seen", "likely", "maker")
NOT_SAID = "not said"
FIGURES, NOT_TOLD, CHANGE, IN_BOOK = "Measured", "Not told", "Change", "Defects in the book"
BETWEEN = "From {before} to {after}: {line}."
NO_CHANGE = "No other picture of this plate was compared with this one."
SAID_BY, CAME_IN = ", noted by {by} on {at}", ", imported on {at}"
NO_DEFECTS = "None."
WHO = "Who judged"
READ = "Read out of the picture by argentry (judging version {version}) on {when}."
CONFIRMED, NO_WORD = "Maker's word on it: {when}.", "The maker has not said yet what is so."
NOT_READ = "By the book alone."
BY = "Judged by eye: {by}."
SIGN = "Seen by ______________________________  on ______________"
LIMITS = (
    "Odds say how far a figure lies beyond its limit. Scattered light, dust and reflections in the "
    "picture count as well: this sheet says what a photograph shows, not what the plate is worth."
)


def condition_pdf(one: Condition, jpeg: bytes | None, day: date, paper: str = "a4") -> bytes:
    """Return the condition sheet of a plate as PDF.

    Parameters
    ----------
    one : Condition
        What it says.
    jpeg : bytes or None
        The picture, without anything of the original's metadata; None: there is none.
    day : date
        Today in the studio.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    """
    title = TITLE.format(label=one.plate)
    about = [words(". ".join(one.about) + ".")] if one.about else []
    picture, shot = ([], []) if jpeg is None else _picture(one, jpeg)
    seen = [words(NOT_JUDGED.format(label=one.plate))]
    if one.judged_at is not None:
        seen = [*_findings(one), *_change(one)]
    parts = [*picture, *about, *shot, *seen, *_book(one), *_who(one)]
    return set_sheet(TYPE, title, one.studio, one.size, parts, paper, day)


def _picture(one: Condition, jpeg: bytes) -> tuple[list[Part], list[Part]]:
    """Return the picture with its marks, and what it is."""
    plate = {"corners_px": one.corners_px} if one.corners_px else None
    size = {"width_px": one.width_px, "height_px": one.height_px, "plate": plate}
    marks = [
        {"px": m.px, "radius_px": m.radius_px, "to_px": m.to_px, "words": m.name} for m in one.marks
    ]
    held = "data:image/jpeg;base64," + b64encode(jpeg).decode()
    taken = TAKEN[one.taken_from].format(when=_when(one, one.taken_at))
    shot = SHOT.format(taken=taken, width=one.width_px, height=one.height_px, sha256=one.picture)
    title = PLAIN if one.judged_at is None else PICTURE
    return [drawing(marked_picture(held, size, marks, title, ACROSS), HIGH_MM)], [words(shot)]


def _findings(one: Condition) -> list[Part]:
    rows = [
        (
            ROW.format(number=row.number, words=_named(row.words, row.key)), percent(row.odds, 1),
            row.word or NOT_SAID,
        )
        for row in one.found
    ]  # fmt: skip
    none = NONE_FOUND if one.cautions else f"{one.line[:1].upper()}{one.line[1:]}."
    parts = [head(FOUND), table(HEADS, rows) if rows else words(none)]
    if one.figures:
        parts += [head(FIGURES), words(". ".join(one.figures) + ".")]
    if one.not_told:
        parts += [head(NOT_TOLD), *(words(f"{said}.") for said in one.not_told)]
    return parts


def _change(one: Condition) -> list[Part]:
    since = one.change
    if since is None:
        return [head(CHANGE), words(NO_CHANGE)]
    before, after = _when(one, since.before), _when(one, since.after)
    said = BETWEEN.format(before=before, after=after, line=since.line)
    more = (*since.areas, *(f"{why}." for why in since.not_told), *since.cautions)
    return [head(CHANGE), words(said), *map(words, more)]


def _book(one: Condition) -> list[Part]:
    parts = [head(IN_BOOK)]
    for row in one.defects:
        at = "" if row.at is None else _when(one, row.at)
        said = CAME_IN if row.by == IMPORTED else SAID_BY
        by = said.format(by=row.by, at=at) if row.by and at else ""
        parts.append(words(_named(row.look, row.key) + by))
    return parts if one.defects else [*parts, words(NO_DEFECTS)]


def _who(one: Condition) -> list[Part]:
    if one.judged_at is None:
        said, limits = [NOT_READ], []
    else:
        at = one.confirmed_at
        said = [
            READ.format(version=one.version, when=_when(one, one.judged_at)),
            NO_WORD if at is None else CONFIRMED.format(when=_when(one, at)),
        ]
        limits = [words(" ".join((*one.cautions, LIMITS)))] if one.cautions else []
    if one.by:
        said.append(BY.format(by=one.by.rstrip(". ")))
    return [head(WHO), words(" ".join(said)), *limits, words(SIGN)]


def _when(one: Condition, at: datetime | None) -> str:
    return "" if at is None else f"{at.astimezone(ZoneInfo(one.time_zone)):%Y-%m-%d %H:%M}"


def _named(said: str, key: str) -> str:
    """Return what is seen with its name in the catalogue, where that says more."""
    said, name = said[:1].upper() + said[1:], key.replace("_", " ")
    return said if name in said.lower() else NAMED.format(words=said, key=name)
