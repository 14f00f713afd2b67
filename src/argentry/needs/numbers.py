"""The studio's own numbers: learned ones in the place of beliefs, and what an answer used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import hypot, log, log2
from typing import Any

from argentry import trade
from argentry.learn.numbers.box_doubt import same_instruments_log_sd
from argentry.physics.stops import Z80, spread
from argentry.records.decision import Learned, OwnNumbers
from argentry.records.instruments import IodineBox
from argentry.records.needs import NumberInUse, StudioNow
from argentry.records.studio import Habits, Studio

NAMES = ("plate_speed", "plate_noise", "box_factor", "development_dose")
UNITS = {"plate_speed": "ISO", "box_factor": "1", "development_dose": "kJ/m2"}


def studio_now(
    studio: Studio, numbers: OwnNumbers | None, *, as_written: bool = False
) -> StudioNow:
    """Return a studio with its own numbers in the place of what was believed.

    The doubt about a learned number and the scatter from plate to plate go into the range together.

    Parameters
    ----------
    studio : Studio
        As ``studio.toml`` has it.
    numbers : OwnNumbers or None
        Learned; one without a plate behind it, here or elsewhere, changes nothing.
    as_written : bool
        True to leave every learned number out.
    """
    if numbers is None or as_written:
        return StudioNow(studio, (), as_written)
    habits: dict[str, Any] = {}
    speed, noise = numbers.of("plate_speed"), numbers.of("plate_noise")
    if speed is not None:
        habits["plate_speed"] = speed.value
        each = noise.value if noise else trade.value("decide", "plate_noise")
        # known as of the last session: until the next one it wanders
        drift = numbers.of("speed_drift")
        wanders = drift.value if drift else trade.value("decide", "speed_drift")
        known = hypot(_stops(speed), wanders)
        habits["plate_speed_sigma_stops"] = hypot(known, each)
        habits["plate_noise_stops"] = each
    dose = numbers.of("development_dose")
    if dose is not None:
        each = trade.value("decide", "end_point_log_sd") / log(2.0)
        habits["development_dose_kj_m2"] = dose.value
        habits["development_dose_sigma_stops"] = hypot(_stops(dose), each)
        if dose.plates:
            shared = trade.value("decide", "dose_shared_log_sd")
            habits["development_light_sigma_stops"] = shared / log(2.0)
    veil = numbers.of("veil_ratio")
    if veil is not None:
        habits["veil_ratio"] = veil.value
        habits["veil_ratio_sigma_stops"] = _stops(veil)
    habits["scatter"] = tuple(
        (one.of, one.value) for one in numbers.learned if one.what == "scatter" and one.plates
    )
    factor = numbers.of("box_factor")
    boxes = studio.boxes
    if factor is not None:
        doubt = same_instruments_log_sd(factor)
        boxes = (
            replace(boxes[0], box_factor=factor.value, box_factor_log_sd=doubt),
            *boxes[1:],
        )
    used = tuple(one for one in map(numbers.of, NAMES) if one is not None)
    return StudioNow(replace(studio, habits=replace(studio.habits, **habits), boxes=boxes), used)


def _stops(number: Learned) -> float:
    """Return how well a learned number is known, as a standard deviation. [stops]."""
    return log2(number.high / number.low) / (2.0 * Z80)


def factor_log_sd(box: IodineBox | None) -> float:
    """Return how well a box's factor is known, as a standard deviation of its logarithm. [1]."""
    if box is None or box.box_factor_log_sd is None:
        return trade.value("decide", "box_factor_log_sd")
    return box.box_factor_log_sd


def dose_sigma_stops(habits: Habits | None) -> float:
    """Return the spread of the development dose, of this studio or the trade's. [stops]."""
    if habits is None or habits.development_dose_sigma_stops is None:
        return trade.value("development", "dose_sigma")
    return habits.development_dose_sigma_stops


def veil_known(habits: Habits | None) -> tuple[float, float]:
    """Return the light at which plates veil over the ripe dose, and its spread. [1, stops].

    The spread is that from plate to plate, and how well the ratio itself is known here.
    """
    fact = trade.facts("development")["veil_ratio"]
    each = trade.value("development", "veil_sigma")
    if habits is not None and habits.veil_ratio and habits.veil_ratio_sigma_stops:
        return habits.veil_ratio, hypot(each, habits.veil_ratio_sigma_stops)
    return fact.value, hypot(each, log2(fact.high / fact.low) / (2.0 * Z80))


def numbers_in_use(
    now: StudioNow,
    *names: str,
    given: Mapping[str, float | None] | None = None,
    box: IodineBox | None = None,
) -> tuple[NumberInUse, ...]:
    """Return the numbers behind an answer, each with its range and where it comes from.

    Parameters
    ----------
    now : StudioNow
        The studio.
    *names : str
        Those that the answer uses, of `NAMES`.
    given : Mapping, optional
        Those that an option gave in their place, by name.
    box : IodineBox, optional
        The box of a box factor; else the studio's first.
    """
    learned = {one.what: one for one in now.learned}
    if box is None and now.studio is not None:
        box = now.studio.boxes[0]
    if now.studio is not None and box is not now.studio.boxes[0]:
        learned.pop("box_factor", None)  # the plates teach of the first box only
    found = []
    for name in names:
        option = (given or {}).get(name)
        one = learned.get(name)
        if option is not None:
            found.append(NumberInUse(name, option, option, option, UNITS[name], "given"))
        elif one is not None:
            found.append(
                NumberInUse(
                    name, one.value, one.low, one.high, one.unit,
                    "learned" if one.plates else "other studios", one.plates, one.day,
                    one.of, one.before,
                )
            )  # fmt: skip
        elif name in UNITS:
            found.append(_believed(name, now.studio, box))
    return tuple(found)


def _believed(name: str, studio: Studio | None, box: IodineBox | None) -> NumberInUse:
    habits = studio.habits if studio else Habits()
    of = ""
    if name == "box_factor":
        own = None if box is None or box.box_factor == 1.0 else box.box_factor
        usual, sigma, of = 1.0, factor_log_sd(box) / log(2.0), box.name if box else ""
    elif name == "plate_speed":
        own, usual = habits.plate_speed, trade.value("exposure", "plate_speed")
        named = habits.plate_speed_sigma_stops
        sigma = trade.value("exposure", "plate_speed_sigma") if named is None else named
    else:
        own, usual = habits.development_dose_kj_m2, trade.value("development", "dose")
        sigma = dose_sigma_stops(habits)
    value = usual if own is None else own
    low, _, high = spread(value, sigma).tolist()
    source = "trade" if own is None else "studio file"
    return NumberInUse(name, value, low, high, UNITS[name], source, of=of)


def box_spread(log_sd: float) -> float:
    """Return the spread of the seconds over iodine that geometry and temperature leave open. [1].

    Parameters
    ----------
    log_sd : float
        How well the box's factor is known, see `factor_log_sd`.
    """
    return hypot(log_sd, trade.value("fuming", "box_spread"))
