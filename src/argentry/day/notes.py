"""What the sheet says loudly, and its small print: warnings, materials, coat, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.needs.camera import lens_transmission
from argentry.needs.coat import coat_report
from argentry.needs.coat_view import look
from argentry.needs.frame import filter_leak
from argentry.needs.over_iodine import back_over_iodine_s, last_seconds
from argentry.physics.lights import filter as red_filter
from argentry.physics.room import air
from argentry.physics.vapour import evenness
from argentry.plan.daylight import expected_exposure_ends
from argentry.records.day import IN_SECONDS, Amount
from argentry.trade import steps as trade_steps
from argentry.trade.stock import in_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.day.planner_light import LitDay
    from argentry.needs.over_iodine import BoxToday
    from argentry.plan.day import Planned
    from argentry.records.day import HourLight, PlannedStep, Range
    from argentry.records.studio import Studio
    from argentry.sky.weather.days import SkyDays


def warnings(
    studio: Studio,
    skies: SkyDays,
    lit: LitDay,
    planned: Planned,
    hours: tuple[HourLight, ...],
    box: BoxToday,
    asked: int,
    causes: Mapping[str, float],
    more: tuple[str, ...] = (),
) -> tuple[str, ...]:
    """Return the day's loud notes, the gravest first.

    Parameters
    ----------
    studio : Studio
        The studio.
    skies : SkyDays
        Where the weather came from.
    lit : LitDay
        The light.
    planned : Planned
        The plan.
    hours : tuple of HourLight
        Odds by hour.
    box : BoxToday
        The iodine box.
    asked : int
        Plates wanted.
    causes : Mapping
        Of `argentry.day.missed`; empty where no day was simulated.
    more : tuple of str
        What would change the light's answer: a lamp, a longer pose.
    """
    return (
        *_placed(planned, lit, hours, asked),
        *more,
        *_mirror(studio, box),
        *_crowding(planned, studio, causes, varied=lit.needs.varied),
        *(words[0].upper() + words[1:] for words in skies.warnings),
        *_light(planned, hours),
        *_filter(studio, lit),
        *_damp(studio),
        *(_own_numbers(studio) if planned.placed else ()),
    )


def _placed(planned: Planned, lit: LitDay, hours: tuple[HourLight, ...], asked: int) -> list[str]:
    best = max((row.development_suffices for row in hours), default=0.0)
    if not planned.placed:
        why = (
            "no hour lets an exposure end within {longest:g} min".format(
                longest=lit.day.longest_exposure
            )
            if np.isnan(expected_exposure_ends(lit.day)).all()
            else "no plate would be ripe in time"
            if best < HARDLY
            else "the hours are too short for the steps"
        )
        return ["This day holds no plate: {why}.".format(why=why)]
    if planned.placed < asked and not planned.most_proved:  # else the most is told as such
        words = (
            "Asked for {asked} plates; a plan was found for {placed}. No plan was found for one "
            "more, and nothing rules it out."
        )
        return [words.format(asked=asked, placed=planned.placed)]
    return []


def _light(planned: Planned, hours: tuple[HourLight, ...]) -> list[str]:
    least = trade.value("day", "development_may_fail")
    notes = []
    best = max((row.development_suffices for row in hours), default=0.0)
    if best < NEVER and not planned.placed:
        pass  # that the day holds no plate has been said
    elif best < least:
        notes.append(
            "Development may fail: even at the best hour a plate is ripe in time on only "
            "{best:.0f} % of such days.".format(best=100 * best)
        )
    else:
        afternoon = [r for r in hours if r.time.hour >= 13 and r.sun_elevation_deg > 0]
        late = [r for r in afternoon if r.development_suffices < least]
        if late:
            notes.append(
                "Development may fail when it starts at {time:%H:%M} or later: the plate is ripe "
                "in time on {development_suffices:.0f} % of such days.".format(
                    time=late[0].time, development_suffices=100 * late[0].development_suffices
                )
            )
    low = trade.value("exposure", "low_sun")
    if planned.placed and max((r.sun_elevation_deg for r in hours), default=0.0) < low:
        notes.append(
            "The sun stays below {low:.0f}°: an ordinary light meter overstates the light the "
            "plate sees; use the computed minutes.".format(low=low)
        )
    return notes


def _crowding(
    planned: Planned, studio: Studio, causes: Mapping[str, float], *, varied: bool
) -> list[str]:
    """Return what keeps plates from being finished, by how often, with what would help."""
    if planned.days is None:
        return []
    notes = []
    under_lamp = any(frame.lamp is not None for frame in studio.frames)
    more: dict[str, float] = {
        "workers": studio.hours.workers + 1,
        "frames": studio.frames[0].count + 1,
        "waits": trade.value("day", "sitter_waits"),
    }
    for cause, share in sorted(causes.items(), key=lambda one: -one[1]):
        if share > MISSED_TO_TELL:
            known = NO_LIGHT[varied, under_lamp] if cause == "light" else REMEDIES[cause]
            remedies = one_of([one for one in known if planned.placed > 1 or one != FEWER])
            said = {"share": 100 * share, "remedies": remedies.format(**more)}
            notes.append(MISSED[cause].format(**said, **more))
    if planned.days.ripe_days > 0.1:
        notes.append(
            "On {ripe_days:.0f} % of such days a plate is ripe while "
            "hands are busy: lay an opaque card over the frame until it can be taken out.".format(
                ripe_days=100 * planned.days.ripe_days
            )
        )
    return notes


MISSED_TO_TELL, HARDLY, NEVER = 0.1, 0.5, 0.005
FEWER = "begin fewer plates (--plates)"  # no remedy for a day of one plate
MISSED = {
    "light": (
        "On {share:.0f} % of such days the light is too weak to finish every plate: {remedies}."
    ),
    "sitter": (
        "On {share:.0f} % of such days a sitter's pose cannot begin within {waits:g} min of "
        "the time: {remedies}."
    ),
    "frames": (
        "On {share:.0f} % of such days an exposed plate waits too long for a frame: {remedies}."
    ),
    "hands": (
        "On {share:.0f} % of such days a coat or an exposed plate waits too long for hands: "
        "{remedies}."
    ),
    "hours": (
        "On {share:.0f} % of such days the hours run out before the last plate is done: {remedies}."
    ),
}
NO_LIGHT = {  # by whether a weather file is known, and whether a frame lies under a lamp
    (False, False): ("look at a forecast first (--weather)", "develop under a lamp (--lamp)"),
    (False, True): ("look at a forecast first (--weather)", FEWER),
    (True, False): ("develop under a lamp (--lamp)", FEWER),
    (True, True): (FEWER, "wait for a brighter day"),
}
REMEDIES = {
    "sitter": ("agree on an hour of stronger light or more time before it (--sitter)",),
    "frames": (FEWER, "have more frames (--frames {frames})"),
    "hands": (FEWER, "have more hands (--workers {workers})"),
    "hours": (FEWER, "begin earlier (--from)", "stay longer (--until)"),
}


def one_of(remedies: Sequence[str]) -> str:
    """Return remedies as one phrase.

    Examples
    --------
    >>> one_of(["go"]), one_of(["go", "stay"]), one_of(["go", "stay", "wait"])
    ('go', 'go, or stay', 'go, stay, or wait')
    """
    *others, last = remedies
    return ", ".join((*others, f"or {last}" if others else last))


def _filter(studio: Studio, lit: LitDay) -> list[str]:
    frame = studio.frames[0]
    if lit.violet_on_frame_j_m2 <= 0.0 or frame.lamp is not None:
        return []
    # the highlight gets the subject's light through the lens; the frame lies in the open
    lens = studio.lenses[0]
    plate = lit.day.exposure_dose * red_filter.camera_seconds(
        1.0,
        f_number=lens.f_number,
        magnification=lit.needs.camera.scale,
        reflectance=studio.subject.reflectance,
        transmission=lens_transmission(lens),
    )
    needed = red_filter.density_needed(plate, lit.violet_on_frame_j_m2)
    blocks = filter_leak(frame.blocking_density, frame.spectrum)
    if blocks is None or (blocks.at_least and blocks.density < needed):
        note = (
            "The filter of {name} must hold back violet to an optical density of "
            "{needed:.1f} below 450 nm; its density is not in the studio: test it on a spoilt "
            "plate.".format(name=frame.name, needed=needed)
        )
        return [note]
    if blocks.density < needed:
        note = (
            "The filter of {name} leaks: density {blocking_density:.1f} below 450 nm, "
            "{needed:.1f} needed for this exposure and development; add a second sheet.".format(
                name=frame.name, blocking_density=blocks.density, needed=needed
            )
        )
        return [note]
    return []


def _dew_margin_k(studio: Studio) -> float:
    """Return how far a plate as warm as the room is from dew. [K]."""
    warm, humidity = studio.room.temperature_c, studio.room.relative_humidity_pct
    return float(air.dew_margin_k(warm, warm, humidity))


def _mirror(studio: Studio, held: BoxToday) -> list[str]:
    """Return what would spoil every coat of the day: dew on the silver, vapour that turns over."""
    notes, room, margin = [], studio.room, _dew_margin_k(studio)
    if margin < trade.value("air", "dew_margin"):
        notes.append(
            "Damp: a plate at room temperature is only {margin:.1f} K above the dew point; warm "
            "it to {fuming_plate:.0f} °C before fuming and dry the iodine.".format(
                margin=margin, fuming_plate=trade.value("air", "fuming_plate")
            )
        )
    spare = float(
        evenness.convection_margin_k(held.gap_mm, held.box_temperature_c, room.temperature_c)
    )
    if spare < 0.0:
        notes.append(
            "A plate at {temperature_c:.0f} °C over a box at {box_temperature_c:.0f} °C "
            "makes the vapour turn over and mottles the coat: warm the plate first.".format(
                temperature_c=room.temperature_c, box_temperature_c=held.box_temperature_c
            )
        )
    return notes


def _damp(studio: Studio) -> list[str]:
    notes, humidity = [], studio.room.relative_humidity_pct
    dew = _dew_margin_k(studio) < trade.value("air", "dew_margin")  # said before
    if humidity > trade.value("air", "damp_room") and not dew:
        notes.append(
            "The room is damp ({humidity:.0f} %): damp iodine gives blue "
            "pictures; dry it and warm the plate.".format(humidity=humidity)
        )
    if studio.water.kind == "tap":
        notes.append("Tap water leaves rings: use distilled water for the last rinse and the gold.")
    return notes


def _own_numbers(studio: Studio) -> list[str]:
    if studio.habits.plate_speed is None:
        sigma = trade.value("exposure", "plate_speed_sigma")
        note = (
            "Plate speed is the trade's starting value, good to ± {sigma:g} stop: begin with a "
            "plate exposed in half-stop strips.".format(sigma=sigma)
        )
        return [note]
    return []


def materials(area_cm2: float, planned: Planned) -> tuple[Amount, ...]:
    """Return what the day uses up, as printed.

    Parameters
    ----------
    area_cm2 : float
        Plate area. [cm2]
    planned : Planned
        The plan: what only steps of another day use is left out.
    """
    if not planned.placed:
        return ()
    plates = range(planned.placed)
    done = {task.key for p in plates for block in planned.route(p) for task in block.tasks}
    used = {name for r in trade_steps.steps() if r.key in done for name, _, _ in r.uses}
    return tuple(
        Amount(m.name, in_words(float(f"{m.amount:.2g}"), m.unit))
        for m in trade_steps.materials(area_cm2, planned.placed + (planned.further is not None))
        if m.key in used
    )


JUDGED = "{last.judged_nm:.0f} nm ({last.judged_colour}), then {last.seconds:g} s back in the dark"


def coat(studio: Studio, box: BoxToday, over: Range) -> dict[str, str]:
    """Return the coat aimed at: thickness, colour, its screen colour and the time over iodine.

    Parameters
    ----------
    studio : Studio
        Thickness and interlayer.
    box : BoxToday
        The iodine box.
    over : Range
        Time over iodine. [s]
    """
    report = coat_report(studio.habits.coat_nm, look(studio))
    cycle = {1: "first cycle", 2: "second cycle", 3: "third cycle"}[report.cycle]
    step = 1.0 if over.middle < IN_SECONDS else 5.0
    low, middle, high = (
        float(np.round(s / step) * step) for s in (over.low, over.middle, over.high)
    )
    over_iodine = (
        "{middle:.0f} s ({low:.0f} to {high:.0f}) in {name} at "
        "{box_temperature_c:.0f} °C, turned at half time".format(
            middle=middle,
            low=low,
            high=high,
            name=box.name,
            box_temperature_c=box.box_temperature_c,
        )
    )
    last = last_seconds(box, studio.habits.coat_nm, back_over_iodine_s(studio))
    judged = {"judged at": JUDGED.format(last=last)} if last.seconds else {}
    return {
        "thickness": f"{studio.habits.coat_nm:g} nm",
        "colour": f"{report.colour}, {cycle}",
        "srgb": report.srgb,
        "over iodine": over_iodine,
        **judged,
    }


def cautions(steps: tuple[PlannedStep, ...]) -> tuple[str, ...]:
    """Return every caution that a step of the day carries, each once, in the order of the work."""
    return tuple(dict.fromkeys(text for step in steps for text in step.cautions))
