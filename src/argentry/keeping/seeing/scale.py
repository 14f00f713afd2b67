"""A studio's own scale of coats: read from a plate fumed in bands, written, read again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput, check_range
from argentry.judge.coat import RED_LIGHT, band_colours
from argentry.judge.grey_scale import Line
from argentry.keeping.seeing.coat import RED, known_light
from argentry.keeping.seeing.own_scale import COLUMNS, FEWEST, MOST, sound
from argentry.keeping.seeing.picture import (
    check_edge,
    check_place,
    numbers,
    opened,
    sha256_of_named,
    shrunk,
)
from argentry.needs.named_files.columns import read_columns
from argentry.needs.over_iodine import box_today, coat_after
from argentry.records.answers.scale_seen import ScaleBand, ScaleSeen
from argentry.records.answers.seen import NotTold
from argentry.records.studio import Studio

LOOKED_AT_PX = 1600
LINE, CANNOT = "{count} bands from {low:.0f} to {high:.0f} nm", "cannot tell: {why}"
NOT_A_SCALE = "it is not a scale"
ROWS = (
    "give 3 to 30 rows by rising thickness_nm, red, green and blue above 0 as shares of bare silver"
)
NOT_BANDS, GIVE_BANDS = "3 to 30 different bands are needed", "give one value for each band"
NO_BANDS, SAY_BANDS = "the coats of the bands are not known", "give --nm, or --seconds in a studio"
NO_LIGHT = ("light", "it was not named: give --light, so that coats in it are read by this scale")
NO_PHONE = ("phone", "the picture does not name its camera: give --phone")
WHITE = "photograph the bands in the light in which you look at coats"
NO_SCALE, MARK = "no band was read", "mark the middles of the first and last band, bare silver seen"


@dataclass(frozen=True)
class AskedScale:
    """How a plate fumed in bands was photographed.

    Attributes
    ----------
    ends : (x1, y1, x2, y2)
        Middles of the first band and the last. [px]
    nm : tuple of float or None
        The coat of each band, in their order. [nm]
    seconds : tuple of float or None
        In place of them the seconds of each over the studio's iodine. [s]
    bare : str or None
        The plate's edge with bare silver.
    light : str or None
        The light, as of a coat: coats in no other are read by it.
    phone : str or None
        The phone, where the picture does not name its camera.
    """

    ends: Line
    nm: tuple[float, ...] | None = None
    seconds: tuple[float, ...] | None = None
    bare: str | None = None
    light: str | None = None
    phone: str | None = None


def judge_scale_file(file: Path, asked: AskedScale, studio: Studio | None = None) -> ScaleSeen:
    """Return the colours of a plate fumed in bands.

    Raises
    ------
    BadInput
        If it is not a picture that can be used, or an option cannot be.
    """
    if asked.light is not None:
        asked = replace(asked, light=known_light(asked.light))
    return judge_scale(file, file.name, sha256_of_named(file), asked, studio)


def judge_scale(
    file: Path, name: str, sha256: str, asked: AskedScale, studio: Studio | None = None
) -> ScaleSeen:
    """Return the colours of a plate fumed in bands, whatever its picture's file is called.

    Parameters
    ----------
    file : Path
        The picture.
    name, sha256 : str
        Its own name and its hash.
    asked : AskedScale
        How it was taken, and what its bands are.
    studio : Studio or None
        Whose iodine they were fumed over.

    Raises
    ------
    BadInput
        As `judge_scale_file`.
    """
    nm = _coats(asked, studio)
    check_place("--ends", asked.ends)
    check_edge("--bare", asked.bare)
    if asked.light == RED:
        raise BadInput("--light", RED_LIGHT, WHITE)
    picture = opened(file, name, sha256, LOOKED_AT_PX)
    ends = shrunk(asked.ends, picture.scale)
    assert ends is not None
    found = band_colours(picture.pixels, ends, len(nm), asked.bare)
    phone = picture.phone(asked.phone)
    made = ScaleSeen(**picture.facts, phone=phone, light=asked.light)
    missing = [NotTold(*NO_LIGHT)] * (asked.light is None) + [NotTold(*NO_PHONE)] * (phone is None)
    if isinstance(found, str):
        why = (NotTold("bands", found), *missing)
        return replace(made, line=CANNOT.format(why=found), not_told=why)
    colours, corners = found
    rows = sorted(zip(nm, colours.tolist(), strict=True))
    bands = tuple(ScaleBand(round(at, 2), *(round(one, 5) for one in rgb)) for at, rgb in rows)
    line = LINE.format(count=len(bands), low=bands[0].thickness_nm, high=bands[-1].thickness_nm)
    return replace(
        made, plate=picture.plate(corners), bands=bands, line=line, not_told=tuple(missing)
    )


def _coats(asked: AskedScale, studio: Studio | None) -> tuple[float, ...]:
    """Return the coat of each band. [nm]."""
    nm = asked.nm
    if nm is None and asked.seconds is not None and studio is not None:
        box = box_today(studio, None)
        nm = tuple(coat_after(box, one) for one in asked.seconds)
    if nm is None:
        raise BadInput("--nm", NO_BANDS, SAY_BANDS)
    for one in nm:
        check_range("--nm", one, 0, trade.value("film", "thickness_high_nm"), "nm")
    if not FEWEST <= len(set(nm)) == len(nm) <= MOST:
        raise BadInput("--nm", NOT_BANDS, GIVE_BANDS)
    return nm


def scale_csv(answer: ScaleSeen) -> str:
    """Return a scale as a table.

    Raises
    ------
    BadInput
        If no band was read.
    """
    if not answer.bands:
        raise BadInput("--to", NO_SCALE, MARK)
    rows = (f"{b.thickness_nm:g},{b.red:.5f},{b.green:.5f},{b.blue:.5f}" for b in answer.bands)
    return "\n".join([",".join(COLUMNS), *rows]) + "\n"


def read_scale(file: Path) -> Floats:
    """Return a scale from a file with a column for the thickness and one for each colour.

    Raises
    ------
    BadInput
        If it is none.
    """
    found = read_columns(file, COLUMNS)
    return _checked(file.name, np.stack([found[name] for name in COLUMNS], axis=1))


def scale_of_text(where: str, text: str | None) -> Floats | None:
    """Return a scale as it is pasted into a page: the rows of such a file, None for nothing.

    Raises
    ------
    BadInput
        If it is none.
    """
    lines = [line for line in (text or "").split() if not line.startswith(COLUMNS[0])]
    rows = [numbers(where, line) for line in lines[: MOST + 1]]
    if not rows:
        return None
    if any(row is None or len(row) != len(COLUMNS) for row in rows):
        raise BadInput(where, NOT_A_SCALE, ROWS)
    return _checked(where, np.array(rows))


def _checked(where: str, rows: Floats) -> Floats:
    if not sound(rows):
        raise BadInput(where, NOT_A_SCALE, ROWS)
    return rows
