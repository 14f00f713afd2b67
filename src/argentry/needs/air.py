"""Whether a plate would fog in this room's air, and how to warm it first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.needs.materials.vapours import SOURCES, Drying, RoomVapours, drying, room_vapours
from argentry.physics.ranges import checked
from argentry.physics.room import air
from argentry.physics.room.warming import warm_seconds
from argentry.physics.stops import Z80

if TYPE_CHECKING:
    from collections.abc import Iterator

    from argentry.records.studio import Studio

Where = Literal["room", "warm place"]
FOGS = "would fog"
NEAR = "is too near the dew point"
IN_THE_ROOM = "in the room"
IN_A_WARM_PLACE = "in a dry place at {celsius:g} °C"
DRY = "The plate is dry: it may be buffed and fumed."
WARM_IT = (
    "The plate {fogs}: warm it to {celsius:g} °C {where}, about {minutes}, wrapped until it is "
    "warm."
)
MEASURE = (
    "A bare mirror in still air may take twice as long. Measure on its back, on a strip of "
    "dark tape: an infrared thermometer reads the room, not a bare mirror."
)
HIDDEN = "The hygrometer's own error could hide a fog: warm the plate a few degrees anyway."
DAMP = "Above {percent:g} % the iodine draws damp: dry the crystals, and log the humidity."


@dataclass(frozen=True)
class RoomAir:
    """Dew point of the room and whether the plate must be warmed.

    Attributes
    ----------
    temperature_c : float
        Air temperature. [°C]
    relative_humidity_pct : float
        Relative humidity. [%]
    plate_temperature_c : float
        Plate temperature. [°C]
    dew_point_c : float
        Dew point. [°C]
    dew_point_80 : (float, float)
        Its 80 % range, from a usual hygrometer's error. [°C]
    margin_k : float
        Plate above dew point; negative when it fogs. [K]
    wanted_margin_k : float
        Margin wanted before buffing and fuming. [K]
    safe : bool
        True when the margin is reached.
    warm_to_c : float or None
        Temperature to warm the plate to; null when it is dry. [°C]
    warm_minutes : float or None
        How long that takes; null when it is dry. [min]
    warm_in : str or None
        Where to warm it; null when it is dry.
    advice : tuple of str
        What to do, one sentence each.
    drying : Drying or None
        How fast a plate, a shelf and a box dry; null in air too damp for it.
    vapours : RoomVapours or None
        What came into the room and how long to air it; null when nothing was said to have come.
    """

    temperature_c: float
    relative_humidity_pct: float
    plate_temperature_c: float
    dew_point_c: float
    dew_point_80: tuple[float, float]
    margin_k: float
    wanted_margin_k: float
    safe: bool
    warm_to_c: float | None = None
    warm_minutes: float | None = None
    warm_in: Where | None = None
    advice: tuple[str, ...] = ()
    drying: Drying | None = None
    vapours: RoomVapours | None = None


def room_air(
    *,
    temperature_c: float | None = None,
    relative_humidity_pct: float | None = None,
    wet_bulb_c: float | None = None,
    plate_temperature_c: float | None = None,
    plate_thickness_mm: float | None = None,
    warm_place_c: float | None = None,
    elevation_m: float | None = None,
    box_l: float | None = None,
    openings: int = 1,
    studio: Studio | None = None,
    **came: float | None,
) -> RoomAir:
    """Return the dew point, the plate's margin over it, and how long to warm the plate.

    Parameters
    ----------
    temperature_c : float, optional
        Room air. [°C] Default: the studio's.
    relative_humidity_pct, wet_bulb_c : float, optional
        Relative humidity [%], or a wet thermometer in moving air [°C] in its place. Default: the
        studio's humidity.
    plate_temperature_c : float, optional
        Plate. [°C] Default: as warm as the room.
    plate_thickness_mm : float, optional
        Copper. [mm] Default: the trade's.
    warm_place_c : float, optional
        Warm block or cupboard used when the room is not warm enough. [°C] Default: the trade's.
    elevation_m : float, optional
        For the wet thermometer. [m] Default: the studio's site, else sea level.
    box_l : float, optional
        A box to keep dry with silica gel. [L]
    openings : int
        How often the box, or the iodine box, is opened.
    studio : Studio, optional
        Gives what is left open.
    **came
        What came into the room, as `argentry.needs.materials.vapours.room_vapours`; None or left
        out: its own default.

    Raises
    ------
    BadInput
        If something is missing or out of range.
    """
    facts = trade.facts("air")
    if temperature_c is None and studio is not None:
        temperature_c = studio.room.temperature_c
    if temperature_c is None:
        raise BadInput(
            "--temp", "the room's temperature is not given", "give it in °C, or a --studio"
        )
    temperature = float(
        checked("room temperature (--temp)", temperature_c, "air", "air_temperature")
    )
    humidity = _humidity(
        temperature, relative_humidity_pct, wet_bulb_c, _elevation(elevation_m, studio), studio
    )
    plate = temperature if plate_temperature_c is None else plate_temperature_c
    check_range("plate temperature (--plate-temp)", plate, -30.0, 100.0, "°C")
    thickness = facts["plate_thickness"].value if plate_thickness_mm is None else plate_thickness_mm
    checked("plate thickness (--plate-mm)", thickness, "air", "plate_thickness")
    warm_place = facts["warm_place"].value if warm_place_c is None else warm_place_c
    checked("warm place (--warm-place)", warm_place, "air", "warm_place")

    dew = float(air.dew_point_c(temperature, humidity))
    doubt = Z80 * facts["hygrometer_sd"].value  # 10 % and 90 % of a normal error
    low, high = (float(air.dew_point_c(temperature, _clip(humidity + s * doubt))) for s in (-1, 1))
    margin, wanted = plate - dew, facts["dew_margin"].value
    answer = RoomAir(
        temperature_c=temperature,
        relative_humidity_pct=humidity,
        plate_temperature_c=plate,
        dew_point_c=dew,
        dew_point_80=(low, high),
        margin_k=margin,
        wanted_margin_k=wanted,
        safe=bool(margin >= wanted),
    )
    if not answer.safe:
        celsius, minutes, where = _warming(plate, dew + wanted, temperature, warm_place, thickness)
        answer = replace(answer, warm_to_c=celsius, warm_minutes=minutes, warm_in=where)
    given = {key: one for key, one in came.items() if one is not None}
    vapours = (
        room_vapours(temperature, openings=openings, **given) if given.keys() & SOURCES else None
    )
    dries = drying(temperature, humidity, box_l, openings)
    answer = replace(answer, drying=dries, vapours=vapours)
    return replace(answer, advice=tuple(_advice(answer, warm_place, facts["damp_room"].value)))


def _clip(humidity: float) -> float:
    return min(max(humidity, 1.0), 100.0)


def _elevation(asked: float | None, studio: Studio | None) -> float:
    if asked is None:
        return studio.site.elevation_m if studio else 0.0
    return float(checked("--elevation-m", asked, "air", "elevation"))


def _humidity(
    temperature: float,
    asked: float | None,
    wet_bulb_c: float | None,
    elevation_m: float,
    studio: Studio | None,
) -> float:
    if asked is not None and wet_bulb_c is not None:
        raise BadInput("--wet-bulb", "--rh is given as well", "give one or the other")
    if wet_bulb_c is not None:
        pressure = air.pressure_at_elevation_pa(elevation_m)
        return float(air.relative_humidity_from_wet_bulb(temperature, wet_bulb_c, pressure))
    if asked is None and studio is not None:
        asked = studio.room.relative_humidity_pct
    if asked is None:
        raise BadInput(
            "--rh", "the humidity is not given", "give it in %, or --wet-bulb in °C, or a --studio"
        )
    return check_range("relative humidity (--rh)", asked, 1.0, 100.0, "%")


def _warming(
    plate: float, wanted_c: float, room_c: float, warm_place_c: float, thickness_mm: float
) -> tuple[float, float, Where]:
    """Return how to bring the plate up: in the room when that is warm enough by a kelvin."""
    in_room = wanted_c <= room_c - 1.0
    place = room_c if in_room else warm_place_c
    target = round(wanted_c + 0.05, 1)  # up to the next tenth
    if target >= place:
        raise BadInput(
            "warm place (--warm-place)",
            "{place:g} °C cannot bring the plate to the {target:g} °C it must have",
            "name a warmer one, or dry the room",
            place=place,
            target=target,
        )
    seconds = float(warm_seconds(thickness_mm, plate, target, place))
    return target, seconds / 60.0, "room" if in_room else "warm place"


def _advice(answer: RoomAir, warm_place_c: float, damp_pct: float) -> Iterator[str]:
    if answer.safe:
        yield DRY
    else:
        assert answer.warm_minutes is not None
        in_room = answer.warm_in == "room"
        yield WARM_IT.format(
            fogs=FOGS if answer.margin_k <= 0 else NEAR,
            celsius=answer.warm_to_c,
            where=IN_THE_ROOM if in_room else IN_A_WARM_PLACE.format(celsius=warm_place_c),
            minutes=minutes_in_words(answer.warm_minutes),
        )
        yield MEASURE
    if answer.dew_point_80[1] + 1.0 > answer.plate_temperature_c and answer.safe:
        yield HIDDEN
    if answer.relative_humidity_pct > damp_pct:
        yield DAMP.format(percent=damp_pct)


def minutes_in_words(minutes: float) -> str:
    """Return whole minutes as said, never none."""
    return "1 minute" if minutes < 1.5 else f"{minutes:.0f} minutes"
