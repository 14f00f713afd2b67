"""Pictures read from a plate's page: asked by a form, confirmed or taken back by a button."""

from __future__ import annotations

from typing import TYPE_CHECKING

from argentry.book.pictures.judged import confirm
from argentry.book.pictures.kept import picture_file, pictures
from argentry.desk.plates.plates import find_plate
from argentry.desk.seeing.kept import keep_judged
from argentry.desk.seeing.picture import four, numbers
from argentry.desk.seeing.wedge import AskedWedge, judge_wedge
from argentry.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.desk.house import House
    from argentry.records.plate import Photograph

NOT_KEPT, OPEN_AGAIN = "this picture is not kept with that plate", "open the plate's page again"


def picture_of(house: House, label: str, sha256: str) -> Photograph:
    """Return a picture that is kept with a plate.

    Raises
    ------
    BadInput
        If there is no such plate, or the picture is not kept with it.
    """
    plate = find_plate(house.book, label)
    own = next((one for one in pictures(house.book, plate.id) if one.sha256 == sha256), None)
    if own is None:
        raise BadInput("picture", NOT_KEPT, OPEN_AGAIN)
    return own


def read_wedge(house: House, label: str, sha256: str, fields: Mapping[str, str]) -> None:
    """Read a step wedge out of a picture as a form asks, and keep the answer.

    Raises
    ------
    BadInput
        If the picture is not kept with that plate, or a field cannot be.
    """
    own = picture_of(house, label, sha256)
    usual = AskedWedge()
    asked = AskedWedge(
        int(_number(fields, "steps", usual.steps)),
        _number(fields, "increment", usual.increment),
        _number(fields, "first", usual.first),
        four("ends", fields.get("ends")),
        fields.get("brightest", usual.brightest),
        four("grey", fields.get("grey")),
        numbers("greys", fields.get("greys")),
    )
    answer = judge_wedge(picture_file(house.book, sha256), own.named or sha256, sha256, asked)
    keep_judged(house.book, own.plate, answer, house.clock.now(), "wedge")


def _number(fields: Mapping[str, str], name: str, usual: float) -> float:
    found = numbers(name, fields.get(name))
    return usual if found is None else found[0]


def say(house: House, label: str, sha256: str, kind: str, *, so: bool) -> None:
    """Add the maker's word on what was read out of a picture: it is so, or that is taken back.

    Raises
    ------
    BadInput
        If there is no such plate, or nothing was read out of that picture.
    """
    plate = find_plate(house.book, label)
    confirm(house.book, plate.id, sha256, kind, house.clock.now() if so else None)
