"""Pictures read from a plate's page: asked by a form, confirmed or taken back by a button."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from argentry.book.judgements import judgement_of
from argentry.book.pictures.judged import confirm, judged
from argentry.book.pictures.kept import picture_file, pictures
from argentry.book.plates import plates
from argentry.errors import BadInput
from argentry.keeping.plates.grades import say as say_of_making
from argentry.keeping.plates.makings import chosen
from argentry.keeping.plates.plates import find_plate
from argentry.keeping.seeing.change import AskedChange, judge_change
from argentry.keeping.seeing.coat import AskedCoat, check_usual_light, judge_coat
from argentry.keeping.seeing.curve import curve_in_book
from argentry.keeping.seeing.kept import keep_judged
from argentry.keeping.seeing.own_scale import NEEDED, NOT_USABLE, scales_in_book, usable
from argentry.keeping.seeing.picture import four, fours, numbers, two
from argentry.keeping.seeing.plate import AskedPlate, judge_plate
from argentry.keeping.seeing.scale import AskedScale, judge_scale, scale_of_text
from argentry.keeping.seeing.wedge import AskedWedge, judge_wedge
from argentry.records.answers.seen import PictureSeen
from argentry.trade.defects import defects

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from argentry.desk.house import House
    from argentry.records.plate import Judged, Photograph

Judging = Callable[[Path, str, str], PictureSeen]  # of a picture, its own name, its hash
Usual = TypeVar("Usual", bound="float | None")

NO_MAKING, STRUCK = "this plate has no making yet", "struck out by the maker"
NO_ENDS = "the bands are not marked", "tap the middles of the first band and the last"
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


def read_picture(
    house: House, label: str, sha256: str, kind: str, fields: Mapping[str, str]
) -> None:
    """Read what a form asks out of a picture, and keep the answer.

    Parameters
    ----------
    house : House
        With its book.
    label, sha256 : str
        The plate, and the picture kept with it.
    kind : str
        coat, scale, wedge, or plate: defects of a finished plate are looked for.
    fields : Mapping[str, str]
        Of the form.

    Raises
    ------
    BadInput
        If the picture is not kept with that plate, or a field cannot be.
    """
    own = picture_of(house, label, sha256)
    asks = {"coat": _coat, "scale": _scale, "wedge": _wedge, "plate": _plate}
    judge = asks[kind](house, own, fields)
    answer = judge(picture_file(house.book, sha256), own.named or sha256, sha256)
    keep_judged(house.book, own.plate, answer, house.clock.now(), kind)


def _wedge(_house: House, _own: Photograph, fields: Mapping[str, str]) -> Judging:
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
    return partial(judge_wedge, asked=asked)


def _number(fields: Mapping[str, str], name: str, usual: Usual) -> float | Usual:
    found = numbers(name, fields.get(name))
    return usual if found is None else found[0]


def _coat(house: House, _own: Photograph, fields: Mapping[str, str]) -> Judging:
    asked = AskedCoat(
        fields.get("light") or None, fields.get("bare") or None,
        seconds=_number(fields, "seconds", None), card=four("card", fields.get("card")),
        scale=scale_of_text("scale", fields.get("scale")), phone=fields.get("phone"),
        own=scales_in_book(house.book, house.studio.site.time_zone), at=two("at", fields.get("at")),
    )  # fmt: skip
    return partial(judge_coat, asked=asked, now=house.live.now)


def _scale(house: House, _own: Photograph, fields: Mapping[str, str]) -> Judging:
    ends = four("ends", fields.get("ends"))
    if ends is None:
        raise BadInput("ends", *NO_ENDS)
    check_usual_light(fields.get("light") or None)
    asked = AskedScale(
        ends, numbers("nm", fields.get("nm")), numbers("seconds", fields.get("seconds")),
        fields.get("bare") or None, fields.get("light") or None, fields.get("phone"),
    )  # fmt: skip
    return partial(judge_scale, asked=asked, studio=house.live.now.studio)


def _plate(house: House, own: Photograph, fields: Mapping[str, str]) -> Judging:
    """Return how to look for defects; what the form leaves empty is as it was marked before."""
    earlier = _read(house, own.plate, own.sha256, "plate")
    before: dict[str, str] = {
        name: _as_text(name, values)
        for name, values in ({} if earlier is None else earlier.answer.get("marked", {})).items()
        if values
    }
    marks = before | {name: value for name, value in fields.items() if value}
    asked = AskedPlate(
        _size(house, own), four("grey", marks.get("grey")), numbers("greys", marks.get("greys")),
        two("trap", marks.get("trap")), two("unlit", marks.get("unlit")),
        four("smooth", marks.get("smooth")), fours("edges", marks.get("edges")),
        curve_in_book(house.book) if marks.get("grey") else None, two("at", marks.get("at")),
    )  # fmt: skip
    return partial(judge_plate, asked=asked)


def _size(house: House, own: Photograph) -> str | None:
    (plate,) = plates(house.book, {own.plate})
    return plate.size or house.studio.habits.plate_size


def _read(house: House, plate: str, sha256: str, kind: str) -> Judged | None:
    """Return what counts of what was read out of one picture."""
    read = judged(house.book, plate)
    return next((one for one in read if (one.picture, one.kind) == (sha256, kind)), None)


def _as_text(name: str, values: Sequence[Any]) -> str:
    """Return marks as a form has them."""
    lines = values if name == "edges" else (values,)
    return " ".join(",".join(map(str, line)) for line in lines)


def read_change(house: House, label: str, fields: Mapping[str, str]) -> str:
    """Compare two pictures of a plate as a form asks, keep the answer; return the one before.

    Raises
    ------
    BadInput
        If a picture is not kept with that plate, or a field cannot be.
    """
    two_of = [picture_of(house, label, fields.get(name, "")) for name in ("before", "after")]
    asked = AskedChange(
        _size(house, two_of[0]),
        four("grey", fields.get("grey")), four("grey_after", fields.get("grey_after")),
        numbers("greys", fields.get("greys")), bool(fields.get("same_light")),
    )  # fmt: skip
    files = [(picture_file(house.book, o.sha256), o.named or o.sha256, o.sha256) for o in two_of]
    answer = judge_change(files[0], files[1], asked)
    before, after = two_of
    now = house.clock.now()
    keep_judged(house.book, before.plate, answer, now, "change", after.sha256)
    return before.sha256


def say(
    house: House, label: str, sha256: str, kind: str, fields: Mapping[str, str], *, by: str
) -> None:
    """Add the maker's word on what was read out of a picture: it is so, or that is taken back.

    Of a plate's findings those that are ticked become defects of its newest making, the others are
    struck out.

    Raises
    ------
    BadInput
        If there is no such plate, nothing was read out of that picture, or the making is still on
        the bench.
    """
    plate, now = find_plate(house.book, label), house.clock.now()
    so = fields.get("so") == "yes"
    read = _read(house, plate.id, sha256, kind)
    if so and kind == "scale" and read is not None and not usable(read.answer):
        raise BadInput("scale", NOT_USABLE, NEEDED)
    found = read.answer.get("defects", ()) if so and read is not None else ()
    ticked = [one["key"] for one in found if fields.get(one["key"])]
    if ticked:
        which = chosen(house.book, plate)
        if which is None:
            raise BadInput("defects", NO_MAKING, "note its making first")
        own = judgement_of(which.making)
        known = {key for key, _ in own.defects}
        more = [(key, defects()[key].stages[0]) for key in ticked if key not in known]
        if more:
            judged_now = replace(own, defects=(*own.defects, *more))
            say_of_making(house.book, which, judged_now, by, now)
    struck = {one["key"]: STRUCK for one in found if one["key"] not in ticked}
    confirm(house.book, plate.id, sha256, kind, now if so else None, struck=struck)
