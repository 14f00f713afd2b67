"""What two pictures say has changed on a plate, as an answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import dist
from pathlib import Path
from typing import Any

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.judge.change import Area, Change, ChangeLook, Whole, see_change
from argentry.judge.grey_scale import Line
from argentry.keeping.seeing.picture import (
    CROP,
    LOOKED_AT_PX,
    Opened,
    check_place,
    grey_densities,
    mm_per_px,
    opened,
    sha256_of_named,
    shrunk,
)
from argentry.records.answers.change_seen import AreaChange, ChangeSeen, OtherPicture, WholeChange
from argentry.records.answers.seen import NotTold
from argentry.trade.sizes import plate_size

CANNOT = "cannot tell: {why}"
NONE, NO_AREA = "no change found", "no single area has changed; of the whole plate nothing is told"
WHOLE = "the whole plate has changed: {words}"
AREA, AREAS = (
    "one area has changed: {words}{wide}",
    "{count} areas have changed, the largest {words}{wide}",
)
WIDE = ", {mm:.1f} mm across"
NO_SIZE = "the plate's size is not named"
LOOKS_ALIKE = "Dust and reflections in one of the pictures look like changed areas."
SAME_FILE, TWO_FILES = "both pictures are the same file", "name two pictures of the plate"
ALL = ("before_to_after", "noise_delta_e", "change", "whole", "areas")
LEAST_STEP = 1.5  # of L*, a* or b*: a smaller one has no word
OTHER_COLOUR = "another colour"


@dataclass(frozen=True)
class AskedChange:
    """How two pictures were taken; None where the maker did not say.

    Attributes
    ----------
    size : str or None
        The plate's size by name.
    grey, grey_after : (x1, y1, x2, y2) or None
        Middles of the lightest and the darkest patch of a grey scale in either picture. [px]
    grey_densities : tuple of float or None
        Of its patches.
    same_light : bool
        True when light, exposure and white balance were left as they were between the pictures.
    """

    size: str | None = None
    grey: Line | None = None
    grey_after: Line | None = None
    grey_densities: tuple[float, ...] | None = None
    same_light: bool = False


def judge_change_files(before: Path, after: Path, asked: AskedChange) -> ChangeSeen:
    """Return what two pictures on this machine say has changed.

    Raises
    ------
    BadInput
        If one is not a picture that can be used, or an option cannot be.
    """
    two = [(one, one.name, sha256_of_named(one)) for one in (before, after)]
    return judge_change(two[0], two[1], asked)


def judge_change(
    before: tuple[Path, str, str], after: tuple[Path, str, str], asked: AskedChange
) -> ChangeSeen:
    """Return what two pictures say has changed, whatever their files are called.

    Parameters
    ----------
    before, after : (Path, str, str)
        The picture, its own name and its hash.
    asked : AskedChange
        How they were taken.
    """
    densities = grey_densities(asked.grey_densities)
    size = None if asked.size is None else plate_size(asked.size)
    check_place("--grey", asked.grey)
    check_place("--grey-after", asked.grey_after)
    if before[2] == after[2]:
        raise BadInput("AFTER", SAME_FILE, TWO_FILES)
    first, second = (opened(*one, LOOKED_AT_PX) for one in (before, after))
    seen = see_change(first.pixels, second.pixels, ChangeLook(
        shrunk(asked.grey, first.scale), shrunk(asked.grey_after, second.scale), densities,
        asked.same_light,
    ))  # fmt: skip
    facts = second.facts
    other = OtherPicture(
        facts["file"], facts["sha256"], facts["width_px"], facts["height_px"],
        second.plate(seen.after),
    )  # fmt: skip
    said = (
        one.notes_of(corners, others, CROP)
        for one, corners, others in zip(
            (first, second), (seen.before, seen.after), seen.others, strict=True
        )
    )
    notes = tuple(dict.fromkeys(note for one in said for note in one))
    made = ChangeSeen(
        **{**first.facts, "notes": notes}, plate=first.plate(seen.before), after=other
    )
    if seen.why:
        why = tuple(NotTold(what, seen.why) for what in ALL)
        return replace(made, line=CANNOT.format(why=seen.why), not_told=why)
    long_mm = None if size is None else size.height_mm
    return _told(made, seen, (first, second), long_mm)


def carried(turn: Sequence[Sequence[float]], mark: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a mark's place and radius in another picture.

    Parameters
    ----------
    turn : 3 by 3
        From pixels of the one to those of the other.
    mark : Mapping
        ``px`` and ``radius_px``.
    """

    def there(x: float, y: float) -> tuple[float, float]:
        along, down, far = (row[0] * x + row[1] * y + row[2] for row in turn)
        return along / far, down / far

    (x, y), radius = mark["px"], mark["radius_px"]
    here, beside = there(x, y), there(x + radius, y)
    return {"px": here, "radius_px": dist(here, beside)}


def _told(
    made: ChangeSeen, seen: Change, pictures: tuple[Opened, Opened], long_mm: float | None
) -> ChangeSeen:
    assert seen.turn is not None
    assert seen.before is not None
    first, second = (one.scale for one in pictures)
    larger, smaller = np.diag([second, second, 1.0]), np.diag([1 / first, 1 / first, 1.0])
    turn = larger @ seen.turn @ smaller
    missing, mm = [], None
    if long_mm is None:
        missing += [NotTold(what, NO_SIZE) for what in ("mm_per_px", "area_mm2")]
    else:
        mm = mm_per_px(seen.before, first, long_mm)
    if seen.no_whole:
        missing += [NotTold(what, seen.no_whole) for what in ("change", "whole")]
    areas = tuple(_area(one, first, mm) for one in seen.areas)
    whole = None if seen.whole is None else _whole(seen.whole)
    kind = None
    if whole is not None:
        kinds = {(False, False): "same", (True, False): "whole", (False, True): "areas"}
        kind = kinds.get((bool(whole.words), bool(areas)), "both")
    return replace(
        made, before_to_after=tuple(tuple(float(f"{x:.9g}") for x in row) for row in turn),
        mm_per_px=None if mm is None else round(mm, 5), change=kind, whole=whole, areas=areas,
        noise_delta_e=None if seen.noise is None else round(seen.noise, 2),
        not_told=tuple(missing), line=_line(whole, areas, mm),
        cautions=(LOOKS_ALIKE,) if areas else (),
    )  # fmt: skip


def _area(one: Area, scale: float, mm: float | None) -> AreaChange:
    wide = one.diameter * scale
    names = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"))
    most = int(np.argmax(np.abs(one.moved)))
    return AreaChange(
        (round(one.x * scale, 1), round(one.y * scale, 1)), round(wide, 1),
        None if mm is None else round(float(np.pi) / 4 * (wide * mm) ** 2, 2),
        round(one.delta_e, 1), names[most][one.moved[most] < 0],
    )  # fmt: skip


def _whole(one: Whole) -> WholeChange:
    level = (one.lights + one.shadows) / 2
    steps = (
        (one.yellow, "warmer", "cooler"), (level, "lighter", "darker"),
        ((one.lights - one.shadows) / 2, "more contrast", "less contrast"),
        (one.red, "redder", "greener"),
    )  # fmt: skip
    words = [up if step > 0 else down for step, up, down in steps if abs(step) >= LEAST_STEP]
    changed = one.delta_e >= trade.value("seeing", "whole_delta_e")
    return WholeChange(round(one.delta_e, 2), (", ".join(words) or OTHER_COLOUR) if changed else "")


def _line(whole: WholeChange | None, areas: tuple[AreaChange, ...], mm: float | None) -> str:
    parts = []
    if whole is not None and whole.words:
        parts.append(WHOLE.format(words=whole.words))
    if areas:
        wide = "" if mm is None else WIDE.format(mm=areas[0].diameter_px * mm)
        said = AREA if len(areas) == 1 else AREAS
        parts.append(said.format(count=len(areas), words=areas[0].words, wide=wide))
    return "; ".join(parts) or (NO_AREA if whole is None else NONE)
