"""What a photograph says of a coat, and what to do about it: one line, a map, the seconds more."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from argentry import trade
from argentry.arrays import Floats
from argentry.book.pictures.kept import clean_name
from argentry.errors import BadInput, check_range
from argentry.judge.coat import Look, Seen, see_coat
from argentry.judge.evenness import evenness
from argentry.judge.grey_scale import Line
from argentry.keeping.seeing.own_scale import OwnScale, fitting
from argentry.keeping.seeing.picture import (
    CROP_OR_MARK,
    Opened,
    check_edge,
    check_place,
    opened,
    sha256_of_named,
    shrunk,
)
from argentry.keeping.seeing.words import line_of, seconds_more
from argentry.needs.named_files.spectra import read_spectrum
from argentry.needs.over_iodine import box_today, coat_after
from argentry.physics.coat import colour, interlayer
from argentry.physics.coat.coat_words import colour_word
from argentry.physics.coat.colour import Light
from argentry.physics.coat.film import relative_coat_speed
from argentry.physics.lights.lamp import violet_w_m2_per_klx
from argentry.records.answers.coat_seen import (
    CoatMap,
    CoatSeen,
    EdgesNm,
    LightOfPicture,
    OtherCoat,
)
from argentry.records.answers.seen import NotTold, PhoneOfPicture
from argentry.records.instruments import Spectrum
from argentry.records.needs import StudioNow
from argentry.records.studio import Studio
from argentry.trade.spectra import generic

LOOKED_AT_PX = 800
LIGHTS = {"tungsten": "A", "led": "LED", "window": "D65", "overcast": "D65"}
RED = "red"
BY_CARD = "Compared with the card for want of a bare strip: the doubt is wider."
LONGEST_S = 3600  # over iodine, and open to a look
NOT_A_LIGHT, USE_LIGHT = "{light!r} is not a light known here", "use {lights}"
OR_A_FILE = "use {lights}, a generic lamp, or a file of two columns: nm and power"
NO_MAP = ("thickness_nm", "map", "edges_nm", "thin_edge", "more_seconds")
NO_SHARE = ("light_taken_share", "the light was not named")
NO_LUX = ("light_taken_share", "how bright the lamp of your own was is not known: give --lux")
NO_VIOLET = ("light_taken_share", "the lamp's spectrum does not begin at 380 nm or below")
GO_ON = "The look took {share:.2g} % of the light that the coat needs: go on."
AGAIN = (
    "The look took {share:.2g} % of the light that the coat needs: {seconds:g} s over iodine again."
)
POLISH = "The look took {share:.2g} % of the light that the coat needs: polish it back."
BEYOND_SCALE = "This coat lies beyond the bands of the scale: there it is told by the model."
NO_STUDIO = StudioNow()


@dataclass(frozen=True)
class AskedCoat:
    """How a coat was photographed; None where the maker did not say.

    Attributes
    ----------
    light : str or None
        One of `LIGHTS`, or red; of a lamp of one's own the name of its file.
    bare : str or None
        Edge with the bare strip.
    expect : (float, float) or None
        Thickness expected and its standard deviation. [nm]
    seconds : float or None
        Over iodine so far. [s]
    box_c : float or None
        The crystals, as read. [°C]
    angle_deg : float
        Of view. [deg]
    interlayer_nm, interlayer_silver : float or None
        The lossy layer. [nm, 1]
    lux : float or None
        Light on the plate during the look. [lx]
    open_s : float or None
        How long it lay open. [s]
    lamp : Spectrum or None
        Of a lamp of one's own: no page may name a file, so that a command alone gives it.
    card : (x, y, width, height) or None
        A part of the white card beside the plate, for want of a bare strip. [px]
    scale : ndarray of shape (n, 4) or None
        The studio's own scale, of the same phone under the same lamp.
    phone : str or None
        The phone, where the picture does not name its camera.
    own : tuple of OwnScale
        The studio's scales out of its book; the one that fits is used where no other is given.
    at : (x, y) or None
        A place on the plate that is meant, where several are in view. [px]
    """

    light: str | None = None
    bare: str | None = None
    expect: tuple[float, float] | None = None
    seconds: float | None = None
    box_c: float | None = None
    angle_deg: float = 0.0
    interlayer_nm: float | None = None
    interlayer_silver: float | None = None
    lux: float | None = None
    open_s: float | None = None
    lamp: Spectrum | None = None
    card: Line | None = None
    scale: Floats | None = None
    phone: str | None = None
    own: tuple[OwnScale, ...] = ()
    at: tuple[float, float] | None = None


def judge_coat_file(file: Path, asked: AskedCoat, now: StudioNow = NO_STUDIO) -> CoatSeen:
    """Return what a picture on this machine says of a coat.

    Raises
    ------
    BadInput
        If it is not a picture that can be used, or an option cannot be.
    """
    if asked.light is not None and asked.light not in (*LIGHTS, RED):
        asked = _with_lamp(asked, asked.light)
    return judge_coat(file, file.name, sha256_of_named(file), asked, now)


def known_light(light: str) -> str:
    """Return the name of a light: a usual one, a generic lamp, or a file with a lamp's spectrum."""
    if light not in (*LIGHTS, RED, *generic()) and not Path(light).is_file():
        what, lights = NOT_A_LIGHT.format(light=light[:40]), ", ".join((*LIGHTS, RED))
        raise BadInput("--light", what, OR_A_FILE.format(lights=lights))
    return clean_name(light)


def check_usual_light(light: str | None) -> None:
    """Refuse a light other than the usual ones; None is one that nobody named."""
    lights = (*LIGHTS, RED)
    if light is not None and light not in lights:
        raise BadInput("--light", NOT_A_LIGHT, USE_LIGHT, light=light, lights=", ".join(lights))


def _with_lamp(asked: AskedCoat, light: str) -> AskedCoat:
    """Return what was asked with the spectrum of a lamp of one's own."""
    known_light(light)
    return replace(asked, light=clean_name(light), lamp=read_spectrum("--light", light, "lamp"))


def judge_coat(file: Path, name: str, sha256: str, asked: AskedCoat, now: StudioNow) -> CoatSeen:
    """Return what a picture says of a coat, whatever its file is called.

    Parameters
    ----------
    file : Path
        The picture.
    name, sha256 : str
        Its own name and its hash.
    asked : AskedCoat
        How it was taken.
    now : StudioNow
        The studio with its own numbers: box, coat aimed at, lossy layer.
    """
    asked = _checked(asked)
    picture = opened(file, name, sha256, LOOKED_AT_PX)
    phone, asked, own = _with_own(asked, picture)
    card, at = shrunk(asked.card, picture.scale), picture.own_place(asked.at)
    look = replace(_look(asked, now.studio), card=card, at=at)
    seen = see_coat(picture.pixels, look)
    share = _light_taken(asked, seen, now.studio)
    made = CoatSeen(
        **{**picture.facts, "notes": picture.notes_of(seen.corners, seen.others, CROP_OR_MARK)},
        plate=picture.plate(seen.corners),
        light=_light(asked, seen),
        order=_rows(seen.order, 3),
        light_taken_share=share,
        phone=phone,
        cautions=() if share is None else (_cost(share),),
    )
    if seen.by_card:
        made = replace(made, notes=(*made.notes, BY_CARD))
    if isinstance(own, OwnScale) and seen.coats:
        made = replace(made, scale=own.used, notes=(*made.notes, own.words))
    if asked.scale is not None and _beyond(seen, asked.scale):
        made = replace(made, notes=(*made.notes, BEYOND_SCALE))
    if seen.coats:
        made = _with_thickness(made, seen, asked, now.studio)
    else:
        made = replace(made, not_told=tuple(NotTold(what, seen.why) for what in NO_MAP))
    if share is None:
        made = replace(made, not_told=(*made.not_told, NotTold(*_no_share(asked))))
    if isinstance(own, str) and own:
        made = replace(made, not_told=(*made.not_told, NotTold("scale", own)))
    by_clock = None if now.studio is None or asked.expect is not None else asked.seconds
    return replace(made, line=line_of(made, by_clock))


def _with_own(
    asked: AskedCoat, picture: Opened
) -> tuple[PhoneOfPicture | None, AskedCoat, OwnScale | str]:
    """Return the phone, and the studio's own scale that fits with what was asked, or why none."""
    phone = picture.phone(asked.phone)
    if asked.scale is not None or asked.light == RED:
        return phone, asked, ""
    own = fitting(asked.own, phone, asked.light)
    return phone, asked if isinstance(own, str) else replace(asked, scale=own.rows), own


def _beyond(seen: Seen, scale: Floats) -> bool:
    """Return True where the likeliest coat lies outside the bands of a scale."""
    return bool(seen.coats) and not scale[0, 0] <= seen.coats[0].thickness_nm <= scale[-1, 0]


def _checked(asked: AskedCoat) -> AskedCoat:
    check_place("--card", asked.card)
    check_place("--at", asked.at)
    if asked.lamp is None:
        check_usual_light(asked.light)
    check_edge("--bare", asked.bare)
    check_range("--angle", asked.angle_deg, 0, trade.value("film", "angle_high_deg"), "deg")
    high = trade.value("film", "thickness_high_nm")
    if asked.expect is not None:
        check_range("--expect", asked.expect[0], 0, high, "nm")
        check_range("--expect", asked.expect[1], 0, high, "nm", open_low=True)
    for name, value, most, unit in (
        ("--seconds", asked.seconds, LONGEST_S, "s"), ("--lux", asked.lux, 100_000, "lx"),
        ("--open", asked.open_s, LONGEST_S, "s"),
    ):  # fmt: skip
        if value is not None:
            check_range(name, value, 0, most, unit)
    return asked


def _look(asked: AskedCoat, studio: Studio | None) -> Look:
    names = [asked.light] if asked.light in LIGHTS else ["window", "tungsten", "led"]
    if asked.scale is not None and asked.light is None:
        names = names[:1]  # the scale bends any light to its own
    lights: dict[str, Light] = {str(name): colour.light(LIGHTS[str(name)]) for name in names}
    red = asked.light == RED
    if asked.lamp is not None:
        own_lamp = colour.lamp(str(asked.light), *asked.lamp.curve)
        lights, red = {own_lamp.name: own_lamp}, colour.lacks_colour(own_lamp, colour.light("D65"))
    own: dict[str, Any] = {"nm": asked.interlayer_nm, "silver": asked.interlayer_silver}
    if studio is not None:
        for key in ("nm", "silver", "growth_nm"):
            if own.get(key) is None:
                own[key] = getattr(studio.habits, f"interlayer_{key}")
    return Look(
        lights, interlayer.likely(**own), asked.bare, _expected(asked, studio), asked.angle_deg,
        red=red, scale=asked.scale,
    )  # fmt: skip


def _expected(asked: AskedCoat, studio: Studio | None) -> tuple[float, float] | None:
    """Return the coat expected: as said, else by the seconds so far in the studio's box."""
    if asked.expect is not None or asked.seconds is None or studio is None:
        return asked.expect
    nm = coat_after(box_today(studio, asked.box_c), asked.seconds)
    return nm, 1.0 + trade.value("seeing", "clock_sd_share") * nm


def _light(asked: AskedCoat, seen: Seen) -> LightOfPicture | None:
    if asked.light is not None:
        return LightOfPicture(asked.light, "said")
    return (
        None
        if seen.light is None or asked.scale is not None
        else LightOfPicture(seen.light, "picture")
    )


def _with_thickness(
    made: CoatSeen, seen: Seen, asked: AskedCoat, studio: Studio | None
) -> CoatSeen:
    best, *others = seen.coats
    word, cycle = colour_word(best.thickness_nm)
    even = evenness(best.fields_nm)
    edges = {name: None if nm is None else round(nm, 1) for name, nm in even.edges_nm}
    same = [one for one in seen.coats if colour_word(one.thickness_nm)[1] == cycle]
    rows = _rows(best.fields_nm, 1)
    assert rows is not None
    assert seen.lab is not None
    lightness, red, yellow = (round(float(one), 1) for one in seen.lab)
    aim = studio.habits.coat_nm if studio else trade.value("film", "reference_coat_nm")
    told = replace(
        made,
        thickness_nm=round(best.thickness_nm, 1),
        range_80_nm=(round(best.low_nm, 1), round(best.high_nm, 1)),
        cycle=cycle,
        sure=round(sum(one.weight for one in same), 3),
        colour=word,
        other_coats=tuple(
            OtherCoat(round(o.thickness_nm, 1), colour_word(o.thickness_nm)[1], round(o.weight, 3))
            for o in others
        ),
        lab=(lightness, red, yellow),
        map=CoatMap(len(rows[0]), len(rows), rows),
        order=None,
        edges_nm=EdgesNm(**edges),
        thin_edge=even.thin_edge,
        not_told=(),
    )
    if studio is None:
        why = NotTold("more_seconds", "no studio with its iodine box is named")
        return replace(told, not_told=(why,))
    return replace(
        told, more_seconds=seconds_more(told, box_today(studio, asked.box_c), aim, asked.seconds)
    )


def _rows(fields: Any, digits: int) -> tuple[tuple[float | None, ...], ...] | None:
    if fields is None:
        return None
    return tuple(
        tuple(round(float(one), digits) if np.isfinite(one) else None for one in row)
        for row in fields
    )


def _light_taken(asked: AskedCoat, seen: Seen, studio: Studio | None) -> float | None:
    """Return the light that a look took, as a share of what the coat needs in camera.

    In camera a middle tone needs 10 / S lux seconds of daylight at the plate (ISO 2240, by analogy:
    from memory); other lights count by their violet.
    """
    name = asked.light
    if name is None:
        return None
    if name == RED:
        return 0.0
    own = asked.lamp is not None
    lux = asked.lux if own or asked.lux is not None else trade.value("seeing", f"look_lux_{name}")
    violet = _violet(asked)
    if lux is None or violet is None:
        return None
    seconds = trade.value("seeing", "look_seconds") if asked.open_s is None else asked.open_s
    speed = studio.habits.plate_speed if studio else None
    speed = trade.value("exposure", "plate_speed") if speed is None else speed
    nm = seen.coats[0].thickness_nm if seen.coats else trade.value("film", "reference_coat_nm")
    beside = violet / trade.value("seeing", "violet_per_klx_window")
    return round(lux * seconds * beside * float(relative_coat_speed(nm)) * speed / 10.0, 6)


def _violet(asked: AskedCoat) -> float | None:
    """Return the violet of the light per 1000 lx, None where its spectrum does not tell. [W/m2]."""
    if asked.lamp is not None:
        return violet_w_m2_per_klx(asked.lamp.curve)
    return trade.value("seeing", f"violet_per_klx_{asked.light}")


def _no_share(asked: AskedCoat) -> tuple[str, str]:
    if asked.lamp is None:
        return NO_SHARE
    return NO_VIOLET if _violet(asked) is None else NO_LUX


def _cost(share: float) -> str:
    if share <= trade.value("seeing", "go_on_light_share"):
        return GO_ON.format(share=100 * share)
    if share <= trade.value("seeing", "iodine_again_light_share"):
        return AGAIN.format(share=100 * share, seconds=trade.value("seeing", "iodine_again_s"))
    return POLISH.format(share=100 * share)
