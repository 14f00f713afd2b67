"""One way to every label and sheet of materials, for the command and for the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.keeping.moments import today_of
from argentry.keeping.studio import load_studio, name_of
from argentry.out.materials import sheets
from argentry.out.materials.labels import labels_pdf
from argentry.out.materials.paper import PAPERS, SHEETS, check_paper
from argentry.records.units import Units, told

if TYPE_CHECKING:
    from argentry.keeping.stock.mixing_sheet import BathToMix, MixingSheet

KINDS = ("bottle", "plate", "sleeve", "mixing", "room", "waste", "condition", "handover", "wall")


def printed(
    folder: Path | None,
    address: str | None,
    kind: str,
    names: Sequence[str],
    *,
    paper: str = "a4",
    base: str = "",
    copies: int = 1,
    skip: int = 0,
    plates: int | None = None,
    recipes: tuple[str, ...] = (),
    picture: str | None = None,
    by: str = "",
    titles: Sequence[str] = (),
    maker: str = "",
    place: str = "",
) -> tuple[bytes, object]:
    """Return a label or sheet as PDF, and what stands on it.

    Parameters
    ----------
    folder : Path or None
        Studio folder.
    address : str or None
        Of a PostgreSQL book.
    kind : str
        One of `KINDS`.
    names : sequence of str
        Baths and lots, or plates.
    paper : str
        One of `argentry.out.materials.paper.PAPERS`.
    base : str
        Address of the studio's server, to which the codes lead; empty: no codes.
    copies, skip : int
        Of each label, and labels of the sheet that are used already.
    plates : int, optional
        Plates of tomorrow, for the mixing sheet; None: as many as a usual day makes.
    recipes : tuple of str
        Baths of the mixing sheet; empty: the usual ones.
    picture, by : str
        Of a condition sheet: how the picture's SHA-256 begins, and who judged the plate by eye.
    titles, maker, place
        Of labels for the wall, as of `argentry.keeping.stock.labels.wall_labels`.

    Raises
    ------
    BadInput
        If something is not known, or cannot be printed on that paper.
    """
    from argentry.keeping.stock import labels as desk
    from argentry.keeping.stock.mixing_sheet import mixing_sheet
    from argentry.keeping.stock.safety import room_safety
    from argentry.keeping.stock.waste import waste

    check_paper(paper, PAPERS if kind in KINDS[:2] else SHEETS)
    studio, day = name_of(folder), today_of(folder)
    if kind == "bottle":
        made = desk.bottle_labels(folder, address, names, base=base)
    elif kind == "plate":
        made = desk.plate_labels(folder, names, address, base=base)
    elif kind in ("sleeve", "handover"):
        names = tuple(dict.fromkeys(names)) if kind == "handover" else names
        made = desk.plate_labels(folder, names, address, base=base)
        if kind == "handover":
            data = sheets.handover_pdf(made, paper, day, studio)
        else:
            sizes = desk.plate_sizes_mm(folder, names, address)
            data = sheets.sleeve_pdf(made, sizes, paper, day, studio)
        return data, desk.Labels(made)
    elif kind == "wall":
        made = desk.wall_labels(
            folder, names, address, base=base, titles=titles, maker=maker, place=place
        )
    elif kind == "mixing":
        sheet = mixing_sheet(folder, plates, recipes, address)
        return sheets.mixing_pdf(_in_units(sheet, folder), day, paper), sheet
    elif kind == "room":
        room = room_safety(folder, address)
        return sheets.room_pdf(room, paper), room
    elif kind == "condition":
        return _condition(folder, address, names, paper, picture, by)
    else:
        found = waste(folder, address)
        return sheets.waste_pdf(found, paper), found
    data = labels_pdf(
        made, paper, day=day, studio=studio, copies=copies, skip=skip, wall=kind == "wall"
    )
    return data, desk.Labels(made)


def _in_units(sheet: MixingSheet, folder: Path | None) -> MixingSheet:
    """Return the mixing sheet with its temperatures as the studio likes them."""
    units = Units() if folder is None else load_studio(folder).units

    def told_in(bath: BathToMix) -> BathToMix:
        return replace(bath, notes=tuple(told(note, units) for note in bath.notes))

    return replace(sheet, baths=tuple(told_in(bath) for bath in sheet.baths))


def _condition(
    folder: Path | None,
    address: str | None,
    names: Sequence[str],
    paper: str,
    picture: str | None,
    by: str,
) -> tuple[bytes, object]:
    from argentry.keeping.book import studio_book
    from argentry.keeping.plates.pictures import shown_picture
    from argentry.keeping.seeing.condition import condition
    from argentry.out.plates.condition_sheet import condition_pdf

    if not names:
        raise BadInput("plate", "none is named", "give the label of a plate")
    with studio_book(folder, address) as book:
        assert folder is not None
        studio = load_studio(folder)
        made = condition(book, studio, names[0], picture=picture, by=by)
        jpeg = None
        if made.picture is not None:
            jpeg = shown_picture(book, folder, made.picture, 1600)
    return condition_pdf(made, jpeg, today_of(folder), paper), made
