"""What a picture says of a finished plate, as an answer with findings for the maker to confirm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import dist
from pathlib import Path

import numpy as np

from argentry import trade
from argentry.errors import BadInput
from argentry.judge.edge_blur import Curve
from argentry.judge.grey_scale import Line
from argentry.judge.odds import odds_over
from argentry.judge.plate import Plate, PlateLook, see_plate
from argentry.judge.scratches import weight_of
from argentry.keeping.seeing.blur import DEFECT, LEAST_ODDS, blur_of, words_of
from argentry.keeping.seeing.picture import (
    CROP_OR_MARK,
    LOOKED_AT_PX,
    Opened,
    check_place,
    grey_densities,
    mm_per_px,
    of_file,
    opened,
    shrunk,
)
from argentry.records.answers.plate_seen import (
    BlurSeen,
    BuffSeen,
    Finding,
    Marked,
    PlateSeen,
    ScratchSeen,
    SpotSeen,
)
from argentry.records.answers.seen import NotTold
from argentry.trade.sizes import PlateSize, plate_size

CANNOT = "cannot tell: {why}"
NOTHING = "nothing found"
FOUND = "perhaps {words}"
SURE_ODDS = 0.95  # from here on a finding is told without "perhaps"
FOG = "fog, {share:.0f} % of white"
BLUE = "blue lights on {share:.1f} % of the plate"
RIM = "a tarnished rim, {share:.0f} % of the shorter side wide"
BUFF = "buff lines at {angle:.0f}°"
SCRATCH, SCRATCHES = "one scratch", "{count} scratches"
LIGHT, DARK = "{count} light spots", "{count} dark spots"
NO_SIZE = "the plate's size is not named"
RELATIVE = "By the scattered light of this picture; compare only pictures lit alike."
FRAMED = (
    "A border of one tone lies around it: a frame, a mat or the margin of a print. Only what it "
    "encloses was read, as a plate; a picture does not tell a plate from a print of one."
)
FRAMED_MM = "Lengths in mm take the opening of that border for the whole plate."
ALL = (
    "fog_share",
    "blue_share",
    "rim_share",
    "buff",
    "blur",
    "spots",
    "scratches",
    "evenness",
    "defects",
)
NO_GREY = "a curve tells nothing without a grey scale in the picture"
MARK_GREY = "mark one with --grey"


@dataclass(frozen=True)
class AskedPlate:
    """How a finished plate was photographed; None where the maker did not say.

    Attributes
    ----------
    size : str or None
        The plate's size by name.
    grey : (x1, y1, x2, y2) or None
        Middles of the lightest patch of a grey scale and of the darkest. [px]
    grey_densities : tuple of float or None
        Of its patches. [1]
    trap : (x, y) or None
        A black hole in view. [px]
    unlit : (x, y) or None
        A part of the plate that got no light. [px]
    smooth : (x, y, width, height) or None
        A part of the plate without details. [px]
    edges : tuple of (x1, y1, x2, y2)
        Straight edges of the subject. [px]
    curve : Curve or None
        What such a plate makes of light.
    at : (x, y) or None
        A place on the plate that is meant, where several are in view. [px]
    """

    size: str | None = None
    grey: Line | None = None
    grey_densities: tuple[float, ...] | None = None
    trap: tuple[float, float] | None = None
    unlit: tuple[float, float] | None = None
    smooth: Line | None = None
    edges: tuple[Line, ...] = ()
    curve: Curve | None = None
    at: tuple[float, float] | None = None


def judge_plate(file: Path, name: str, sha256: str, asked: AskedPlate) -> PlateSeen:
    """Return what a picture says of a finished plate, whatever its file is called.

    Parameters
    ----------
    file : Path
        The picture.
    name, sha256 : str
        Its own name and its hash.
    asked : AskedPlate
        How it was taken.
    """
    densities, size = checked(asked)
    picture = opened(file, name, sha256, LOOKED_AT_PX)
    scale = picture.scale
    trap, unlit, at = map(picture.own_place, (asked.trap, asked.unlit, asked.at))
    edges = tuple(one for line in asked.edges if (one := shrunk(line, scale)) is not None)
    look = PlateLook(
        shrunk(asked.grey, scale), densities, trap, unlit, shrunk(asked.smooth, scale), edges,
        asked.curve, at,
    )  # fmt: skip
    seen = see_plate(picture.pixels, look)
    marked = Marked(
        asked.grey, asked.grey_densities, asked.trap, asked.unlit, asked.smooth, asked.edges,
        asked.at,
    )  # fmt: skip
    facts = {**picture.facts, "notes": picture.notes_of(seen.corners, seen.others, CROP_OR_MARK)}
    if seen.framed and not seen.why:
        more = (FRAMED,) if size is None else (FRAMED, FRAMED_MM)
        facts["notes"] = (*facts["notes"], *more)
    made = PlateSeen(**facts, plate=picture.plate(seen.corners), marked=marked)
    if seen.corners is None or seen.why:
        why = tuple(NotTold(what, seen.why) for what in ALL)
        return replace(made, line=CANNOT.format(why=seen.why), not_told=why)
    mm = None
    if size is not None:
        mm = mm_per_px(seen.corners, scale, size.height_mm)
    made = _told(made, seen, picture, asked, mm)
    sure = [one.words for one in made.defects if one.odds >= SURE_ODDS]
    unsure = [one.words for one in made.defects if one.odds < SURE_ODDS]
    if made.blur is not None and made.blur.kind == "unknown":
        unsure.append(words_of(made.blur))
    said = [*sure, *(FOUND.format(words=one) for one in unsure)]
    return replace(made, line="; ".join(said) or NOTHING, cautions=(RELATIVE,))


judge_plate_file = of_file(judge_plate)


def checked(asked: AskedPlate) -> tuple[tuple[float, ...], PlateSize | None]:
    """Return the densities of a grey scale and the plate's size, as asked.

    Raises
    ------
    BadInput
        If an option cannot be.
    """
    for where in ("grey", "trap", "unlit", "smooth", "at"):
        check_place(f"--{where}", getattr(asked, where))
    for line in asked.edges:
        check_place("--edge", line)
    if asked.curve is not None and asked.grey is None:
        raise BadInput("--curve", NO_GREY, MARK_GREY)
    size = None if asked.size is None else plate_size(asked.size)
    return grey_densities(asked.grey_densities), size


def _told(
    made: PlateSeen, seen: Plate, picture: Opened, asked: AskedPlate, mm: float | None
) -> PlateSeen:
    scale, buff = picture.scale, seen.buff
    assert buff is not None
    assert made.plate is not None
    missing = [NotTold(what, why) for what, why in seen.whys]
    found = tuple(
        SpotSeen(
            (round(one.x * scale, 1), round(one.y * scale, 1)), round(one.diameter * scale, 1),
            None if mm is None else round(one.diameter * scale * mm, 3), one.tone,
        )
        for one in seen.spots or ()
    )  # fmt: skip
    each = None
    if mm is None:
        rim = () if seen.rim is None else ("rim_mm",)
        missing += [NotTold(what, NO_SIZE) for what in ("mm_per_px", *rim, "spots_per_cm2")]
    elif asked.smooth is not None and seen.spots is not None:
        each = len(found) / (asked.smooth[2] * asked.smooth[3] * mm**2 / 100.0)
    hairs = tuple(_scratch(one.start, one.end, one.tone, scale, mm) for one in seen.scratches)
    blur, whys = blur_of(seen, scale, mm)
    missing += whys
    side = min(np.hypot(*np.subtract(b, a)) for a, b in
               zip(made.plate.corners_px, made.plate.corners_px[1:], strict=False))  # fmt: skip
    return replace(
        made, mm_per_px=mm if mm is None else round(mm, 5), not_told=tuple(missing),
        fog_share=None if seen.fog is None else round(seen.fog, 4),
        blue_share=None if seen.blue is None else round(seen.blue, 5),
        rim_share=None if seen.rim is None else round(seen.rim, 4),
        rim_mm=None if mm is None or seen.rim is None else round(seen.rim * float(side) * mm, 2),
        buff=BuffSeen(round(buff.direction_deg, 1), round(buff.strength, 3)), blur=blur,
        evenness=None if seen.evenness is None else round(seen.evenness, 3),
        scratches=hairs, spots=found, spots_per_cm2=None if each is None else round(each, 3),
        defects=_findings(seen, found, hairs, blur),
    )  # fmt: skip


def _scratch(
    start: tuple[float, float], end: tuple[float, float], tone: str, scale: float, mm: float | None
) -> ScratchSeen:
    here, there = ((round(x * scale, 1), round(y * scale, 1)) for x, y in (start, end))
    return ScratchSeen(here, there, None if mm is None else round(dist(here, there) * mm, 1), tone)


def _middle(one: ScratchSeen) -> tuple[float, float]:
    (x1, y1), (x2, y2) = one.from_px, one.to_px
    return round((x1 + x2) / 2, 1), round((y1 + y2) / 2, 1)


def _findings(
    seen: Plate,
    found: tuple[SpotSeen, ...],
    hairs: tuple[ScratchSeen, ...],
    blur: BlurSeen | None,
) -> tuple[Finding, ...]:
    """Return what lies beyond its limit, the likeliest first."""
    assert seen.buff is not None
    lines = SCRATCH if len(hairs) == 1 else SCRATCHES.format(count=len(hairs))
    middles = [_middle(one) for one in hairs]
    places = {tone: [one.px for one in found if one.tone == tone] for tone in ("light", "dark")}
    light, dark = places["light"], places["dark"]
    blue, rim = (
        words.format(share=100 * (one or 0.0))
        for words, one in ((BLUE, seen.blue), (RIM, seen.rim))
    )
    asked = [
        ("fog", seen.fog, "fog_from_share", FOG.format(share=100 * (seen.fog or 0.0)), ()),
        ("blue_highlights", seen.blue, "blue_from_share", blue, ()),
        ("tarnish_halo", seen.rim_colour, "rim_from", rim, ()),
        ("buff_lines", seen.buff.strength, "buff_from",
         BUFF.format(angle=seen.buff.direction_deg), ()),
        ("scratches", weight_of(seen.scratches), "scratches_from", lines, middles),
        ("white_specks", len(light), "spots_from", LIGHT.format(count=len(light)), light),
        ("black_specks", len(dark), "spots_from", DARK.format(count=len(dark)), dark),
    ]  # fmt: skip
    made = []
    for key, figure, limit, words, where in asked:
        odds = 0.0
        if figure:
            odds = odds_over(figure, trade.value("seeing", limit), 3.0)
        if odds >= LEAST_ODDS:
            made.append(Finding(key, round(odds, 3), words, tuple(where)))
    if blur is not None and blur.kind in DEFECT:
        made.append(Finding(DEFECT[blur.kind], blur.odds, words_of(blur), ()))
    return tuple(sorted(made, key=lambda one: -one.odds))
