"""Sheets to pin up or hand over: the room card, the waste sheet, the mixing sheet, sleeves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.out.drawing.pictograms import pictogram
from argentry.out.materials.paper import SHEETS, check_paper, code_svg
from argentry.out.sheet_parts import Part, head, set_sheet, table, ticks, words
from argentry.out.stock_words import amount, waste_silver
from argentry.out.wording import plates

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from argentry.keeping.stock.labels import Label
    from argentry.keeping.stock.mixing_sheet import MixingSheet
    from argentry.keeping.stock.safety import Held, RoomSafety
    from argentry.keeping.stock.waste import Waste

# smallest type
TYPES = {"room": 9.0, "waste": 10.0, "mixing": 13.0, "sleeve": 10.0, "handover": 10.0}  # [pt]
ROOM, APART, UNKNOWN = "In this room", "Keep apart", "Not known here: read its safety data sheet"
EMPTY_ROOM = "Nothing is in stock."
NEVER = "Never with"
BEFORE_USE = "Just before use"
FIRST = (
    ("statements", ""),
    ("eyes", "Eyes:"),
    ("skin", "Skin:"),
    ("breathed", "Breathed:"),
    ("swallowed", "Swallowed:"),
    ("spill", "Spilt:"),
    ("store", "Store:"),
)
EMERGENCY = "Poison centre: ______________________    Emergency number: ______________________"
WASTE_TITLE = "Silver-bearing waste"
WASTE_HEADS = ("waste", "plates", "thrown away", "silver that went in", "kept", "holds silver")
LIMIT_HEADS = ("published limit", "year", "limit", "what is kept")
OVER = {True: "holds more", False: "holds less", None: "not known"}
DAYS = "{first} to {last}"
SINCE, NEVER_COLLECTED = "Kept since {when:%Y-%m-%d}.", "Nothing was collected before."
BASIS = (
    "Computed from the area of plates that went through each bath and their coats, {nm:.3g} nm of "
    "silver iodide where no picture showed it; not measured. In brackets: the range that holds it "
    "in four cases of five."
)
SIGN = "Handed over by ______________________  taken by ______________________  on ____________"
HANDOVER_HEADS = ("plate", "as it left", "as it came")
HANDOVER_ROW = "{label}: {lines}"
HANDED = "{plates} of {studio}, each looked at by both sides:"
EMPTY_CELL = 16 * "_"
SLEEVE_TITLE = "Sleeve for {label}"
FOLD = "Cut along the line, fold at the dashes, turn the lip back and glue it; acid-free paper."
TOO_LARGE = "a sleeve of {wide:.0f} by {high:.0f} mm does not go on this paper"
EDGE, LIP, INNER = 4.0, 12.0, {"a4": (186.0, 235.0), "us-letter": (191.9, 225.0)}  # [mm]


def room_pdf(room: RoomSafety, paper: str = "a4") -> bytes:
    """Return the card for the room as PDF."""
    # what decides stands first: last, it was alone on a second page
    parts = [words(EMERGENCY, bold=True), words(room.note), head(ROOM)]
    parts += [_material(one) for one in room.materials] or [words(EMPTY_ROOM)]
    if room.apart:
        parts.append(head(APART))
        parts += [words(f"{one.one} / {one.other}: {one.why}.") for one in room.apart]
    if room.not_known:
        parts += [head(UNKNOWN), words(", ".join(room.not_known))]
    day = room.on.date()
    title = "Safety in this room"
    return set_sheet(TYPES["room"], title, room.studio, f"{day:%Y-%m-%d}", parts, paper, day)


def waste_pdf(waste: Waste, paper: str = "a4") -> bytes:
    """Return the sheet for the authority or the collector as PDF."""
    rows = [
        (
            kind.title, str(kind.plates), amount(kind.made_ml, "mL"), went_in,
            amount(kind.kept_ml, "mL"), holds,
        )
        for kind in waste.kinds
        for went_in, holds in [waste_silver(kind)]
    ]  # fmt: skip
    limits = [
        (f"{one.what.capitalize()}: {one.name}", one.year, f"{one.mg_per_l:g} mg/L", OVER[one.over])
        for one in waste.limits
    ]
    when = waste.collected_at
    parts = [
        table(WASTE_HEADS, rows),
        words(NEVER_COLLECTED if when is None else SINCE.format(when=when)),
        words(BASIS.format(nm=waste.coat_nm)),
        words(waste.copper),
        head("Published limits"),
        table(LIMIT_HEADS, limits),
        *(words(one) for one in dict.fromkeys(f"{limit.source}." for limit in waste.limits)),
        words(waste.note, bold=True),
        head("Recovery"),
        words(waste.recovery),
        words(SIGN),
    ]
    days = DAYS.format(first=waste.first, last=waste.last)
    return set_sheet(TYPES["waste"], WASTE_TITLE, waste.studio, days, parts, paper, waste.last)


def mixing_pdf(sheet: MixingSheet, day: date, paper: str = "a4") -> bytes:
    """Return the mixing sheet for the evening before as PDF; `day`: today in the studio."""
    parts: list[Part] = [words(sheet.ready, bold=True), *(words(one) for one in sheet.standing)]
    for bath in sheet.baths:
        parts += [head(bath.title), ticks(bath.tonight)]
        if bath.before_use:
            begin = len(bath.tonight) + 1
            parts += [words(BEFORE_USE, bold=True), ticks(bath.before_use, begin)]
        parts += [words(one) for one in bath.notes]
    small = {"kind": "cautions", "head": "Cautions", "type": TYPES["room"]}
    parts.append({**small, "lines": list(sheet.cautions)})
    return set_sheet(TYPES["mixing"], "Mixing", sheet.studio, sheet.day, parts, paper, day)


def handover_pdf(labels: Sequence[Label], paper: str, day: date, studio: str = "") -> bytes:
    """Return a list of plates that leave the house as PDF, with room for what both sides see.

    Parameters
    ----------
    labels : sequence of Label
        What stands on the label of each plate.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    day : date
        Today in the studio.
    studio : str
        Name of the studio.
    """
    rows = [
        (HANDOVER_ROW.format(label=one.title, lines="; ".join(one.lines)), EMPTY_CELL, EMPTY_CELL)
        for one in labels
    ]
    parts = [
        words(HANDED.format(plates=plates(len(labels)), studio=studio)),
        table(HANDOVER_HEADS, rows),
        *(words(foot) for foot in dict.fromkeys(one.foot for one in labels)),
        words(SIGN),
    ]
    return set_sheet(TYPES["handover"], "Plates handed over", studio, f"{day}", parts, paper, day)


def sleeve_pdf(
    labels: Sequence[Label],
    sizes: Sequence[tuple[float, float]],
    paper: str,
    day: date,
    studio: str = "",
) -> bytes:
    """Return folded paper sleeves for plates as PDF, none on two pages, turned where that fits.

    Parameters
    ----------
    labels : sequence of Label
        What stands on each.
    sizes : sequence of (float, float)
        Narrow and long side of each plate. [mm]
    paper : str
        ``"a4"`` or ``"us-letter"``.
    day : date
        Today in the studio.
    studio : str
        Name of the studio.

    Raises
    ------
    BadInput
        If the paper is not known, or a sleeve is too large for it.
    """
    check_paper(paper, SHEETS)
    parts: list[Part] = []
    for label, (width, height) in zip(labels, sizes, strict=True):
        wide, high = width + EDGE, height + EDGE
        cut, room = (2 * wide, high + LIP), INNER[paper]
        turned = cut[0] > room[0]
        if any(own > left for own, left in zip(sorted(cut) if turned else cut, room, strict=True)):
            what = TOO_LARGE.format(wide=cut[0], high=cut[1])
            raise BadInput("sleeve", what, "print a label instead: argentry label plate")
        flaps = {"kind": "flaps", "width": wide, "height": high, "lip": LIP, "turned": turned}
        words = {"title": SLEEVE_TITLE.format(label=label.title), "fold": FOLD}
        lines = [label.title, *label.lines, label.foot]
        parts.append({**flaps, **words, "lines": lines, "qr": code_svg(label.address)})
    return set_sheet(TYPES["sleeve"], "Sleeves", studio, "", parts, paper, day)


def _material(one: Held) -> Part:
    names = [name for name in one.names if name.casefold() != one.title.casefold()]
    lines = [{"head": "", "words": " · ".join(names)}] if names else []
    for field, first in FIRST:
        said = getattr(one, field)
        words = said if isinstance(said, str) else " ".join(f"{each.text}." for each in said)
        if words:
            lines.append({"head": first, "words": words})
    lines += [{"head": NEVER, "words": f"{each.what}: {each.why}."} for each in one.never_with]
    return {
        "kind": "material",
        "title": one.title,
        "signal": one.signal.upper(),
        "pictograms": [pictogram(key) for key in one.pictograms],
        "lines": lines,
    }
