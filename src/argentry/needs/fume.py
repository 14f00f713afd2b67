"""How long a plate lies over iodine, and what could make it come out uneven."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.needs.choose import choose
from argentry.physics import fuming
from argentry.physics.air import pressure_at_elevation_pa
from argentry.physics.evenness import relative_rate_per_k
from argentry.physics.iodine import kelvin, saturated_ppm
from argentry.physics.ranges import checked
from argentry.trade.steps import cautions, plate_size

if TYPE_CHECKING:
    from argentry.records.studio import IodineBox, Studio

AROUND_K = 5.0  # the answer is also given for a box this much colder and warmer


@dataclass(frozen=True)
class Fuming:
    """One fuming as asked for; None takes the studio's value, else the trade's.

    Attributes
    ----------
    thickness_nm : float
        Wanted coat. [nm]
    box_temperature_c, plate_temperature_c : float or None
        Crystals and plate. [°C] A plate not named is as warm as the box.
    gap_mm, tilt_mm, crystal_spacing_mm : float or None
        Gap, its difference from edge to edge, middle to middle of crystals. [mm]
    cover_share : float or None
        Share of the floor under crystals. [1]
    rested : bool or None
        Box shut for minutes before, or just swept by opening.
    box_factor : float or None
        Measured over computed seconds. [1]
    film_k_m2_s : float or None
        Rate of a film that slows itself. [m2/s] None: no such film.
    pressure_hpa, elevation_m : float or None
        Air pressure [hPa], or the height it follows from [m].
    size : str or None
        Plate size by name.
    area_cm2 : float or None
        Plate area, in place of a size. [cm2]
    box : str or None
        Name of one of the studio's boxes; None the first.
    """

    thickness_nm: float
    box_temperature_c: float | None = None
    plate_temperature_c: float | None = None
    gap_mm: float | None = None
    tilt_mm: float | None = None
    crystal_spacing_mm: float | None = None
    cover_share: float | None = None
    rested: bool | None = None
    box_factor: float | None = None
    film_k_m2_s: float | None = None
    pressure_hpa: float | None = None
    elevation_m: float | None = None
    size: str | None = None
    area_cm2: float | None = None
    box: str | None = None


def fume(asked: Fuming, studio: Studio | None = None) -> dict[str, Any]:
    """Return the seconds over iodine with their range, and everything worth knowing before.

    Parameters
    ----------
    asked : Fuming
        What is wanted.
    studio : Studio, optional
        Gives what `asked` leaves open.

    Returns
    -------
    dict
        ``seconds``, ``seconds_80`` (low, high), ``iodine_mg``, ``rested_seconds``,
        ``swept_seconds``, ``rest_seconds``, ``steady_rate_nm_s``, ``unevenness`` (parts, and all
        together in nm), ``turn_plate_at_seconds``, ``half_coat_seconds``, ``around`` (the same for
        a colder and a warmer box), ``convection_margin_k``, ``air_over_crystals_ppm``,
        ``box`` (what was reckoned with), ``warnings``, ``cautions``, ``notes``.

    Raises
    ------
    BadInput
        If something is missing, unknown or out of range.
    """
    check_range("coat thickness (--nm)", asked.thickness_nm, 0.0, 1000.0, "nm", open_low=True)
    boxes = studio.boxes if studio else ()
    box = choose("--box", asked.box, boxes, "name its studio with --studio")
    known = _conditions(asked, studio, box)
    rested = _first(asked.rested, box.rested if box else None, True)
    area, size = _area(asked, studio)
    h = asked.thickness_nm

    ways = {
        way: float(fuming.seconds_to_thickness(h, rested=way, **known)) for way in (True, False)
    }
    seconds = ways[rested]
    low, high = fuming.seconds_range(h, rested=rested, **known)
    half = float(fuming.seconds_to_thickness(h / 2, rested=rested, **known))
    place = {k: known[k] for k in ("box_temperature_c", "gap_mm", "pressure_pa")}
    spread = fuming.evenness(
        known["gap_mm"],
        _first(asked.tilt_mm, None, trade.value("fuming", "tilt")),
        known["crystal_spacing_mm"],
        thickness_nm=h,
        cover_share=known["cover_share"],
        tray_difference_k=trade.value("fuming", "tray_difference"),
        box_temperature_c=known["box_temperature_c"],
    )
    plate_c = _first(asked.plate_temperature_c, None, known["box_temperature_c"])
    check_range("plate temperature (--plate-temp)", plate_c, -30.0, 100.0, "°C")
    margin = float(
        fuming.convection_margin_k(
            known["gap_mm"], known["box_temperature_c"], plate_c, known["pressure_pa"]
        )
    )
    steady = fuming.steady_rate_nm_s(**{k: v for k, v in known.items() if k != "film_resistance"})
    return {
        "thickness_nm": h,
        "seconds": seconds,
        "seconds_80": [float(low), float(high)],
        "iodine_mg": float(fuming.iodine_mg(h, area)),
        "rested": rested,
        "rested_seconds": ways[True],
        "swept_seconds": ways[False],
        "rest_seconds": float(fuming.rest_seconds(**place)),
        "steady_rate_nm_s": float(steady),
        "unevenness": spread,
        "turn_plate_at_seconds": seconds / 2,
        "half_coat_seconds": half,
        "around": _around(h, known, rested=rested),
        "per_kelvin": float(relative_rate_per_k(known["box_temperature_c"])),
        "convection_margin_k": margin,
        "air_over_crystals_ppm": float(
            saturated_ppm(kelvin(known["box_temperature_c"]), known["pressure_pa"])
        ),
        "box_air_iodine_mg": float(
            fuming.headspace_loss_mg(
                (box.floor_area_cm2 if box else area) * known["gap_mm"] * 1e-4,
                known["box_temperature_c"],
            )
        ),
        "box": {"name": box.name if box else None, "plate_temperature_c": plate_c, **known},
        "plate": {"size": size, "area_cm2": area},
        "warnings": _warnings(known, seconds, spread, margin, plate_c),
        "cautions": [cautions()[key].text for key in ("iodine_vapour", "iodine_ammonia")],
        "limits": cautions()["iodine_vapour"].figures,
        "notes": _notes(known, rested=rested),
    }


def _first(asked: Any, studio: Any, trade_value: Any) -> Any:
    """Return the first that is said."""
    return asked if asked is not None else studio if studio is not None else trade_value


def _conditions(asked: Fuming, studio: Studio | None, box: IodineBox | None) -> dict[str, Any]:
    """Return the box as `fuming` wants it, each value from the first that names it."""
    held = None
    if box is not None and studio is not None:
        held = box.held_c(studio.room.temperature_c)
    temperature = _first(asked.box_temperature_c, held, None)
    if temperature is None:
        raise BadInput(
            "--box-temp", "the crystals' temperature is not given", "give it in °C, or a --studio"
        )
    known = {
        "box_temperature_c": ("box temperature (--box-temp)", temperature, "box_temperature"),
        "gap_mm": ("gap (--gap-mm)", _first(asked.gap_mm, box and box.gap_mm, None), "gap"),
        "cover_share": (
            "crystal cover (--cover)",
            _first(asked.cover_share, box and box.cover_share, None),
            "cover_share",
        ),
        "crystal_spacing_mm": (
            "crystal spacing (--spacing-mm)",
            _first(asked.crystal_spacing_mm, box and box.crystal_spacing_mm, None),
            "crystal_spacing",
        ),
    }
    out: dict[str, Any] = {}
    for name, (where, given, key) in known.items():
        number = trade.value("fuming", key) if given is None else given
        out[name] = float(checked(where, number, "fuming", key))
    out["pressure_pa"] = _pressure_pa(asked, studio)
    factor = _first(asked.box_factor, box and box.box_factor, 1.0)
    out["box_factor"] = check_range("box factor (--box-factor)", factor, 0.05, 20.0, "")
    if asked.film_k_m2_s is not None:
        check_range("film rate (--film-k)", asked.film_k_m2_s, 1e-19, 1.0, "m2/s")
        out["film_resistance"] = 1.0 / asked.film_k_m2_s
    return out


def _pressure_pa(asked: Fuming, studio: Studio | None) -> float:
    fact = trade.facts("air")["pressure"]
    if asked.pressure_hpa is not None:
        if asked.elevation_m is not None:
            raise BadInput(
                "--pressure-hpa", "--elevation-m is given as well", "give one or the other"
            )
        low, high = fact.low / 100.0, fact.high / 100.0
        return 100.0 * check_range("--pressure-hpa", asked.pressure_hpa, low, high, "hPa")
    site_m = studio.site.elevation_m if studio else None
    elevation = _first(asked.elevation_m, site_m, None)
    if elevation is None:
        return fact.value
    checked("--elevation-m", elevation, "air", "elevation")
    return float(pressure_at_elevation_pa(elevation))


def _area(asked: Fuming, studio: Studio | None) -> tuple[float, str | None]:
    if asked.area_cm2 is not None:
        if asked.size is not None:
            raise BadInput("--area-cm2", "--size is given as well", "give one or the other")
        return check_range("--area-cm2", asked.area_cm2, 0.0, 5000.0, "cm2", open_low=True), None
    size = plate_size(_first(asked.size, studio and studio.habits.plate_size, "quarter"))
    return size.area_cm2, size.name


def _around(h: float, known: dict[str, Any], *, rested: bool) -> list[dict[str, float]]:
    """Return the seconds in a box some degrees colder and warmer."""
    fact = trade.facts("fuming")["box_temperature"]
    out = []
    for step in (-AROUND_K, AROUND_K):
        other = known["box_temperature_c"] + step
        if fact.low <= other <= fact.high:
            changed = {**known, "box_temperature_c": other}
            seconds = float(fuming.seconds_to_thickness(h, rested=rested, **changed))
            out.append({"box_temperature_c": other, "seconds": seconds})
    return out


def _warnings(
    known: dict[str, Any], seconds: float, spread: dict[str, float], margin: float, plate_c: float
) -> list[str]:
    facts = trade.facts("fuming")
    temperature, gap = known["box_temperature_c"], known["gap_mm"]
    out = []
    if margin < 0:
        out.append(
            f"The plate is {temperature - plate_c:.1f} K colder than the crystals, "
            f"{-margin:.1f} K more than still air bears over {gap:g} mm: the vapour turns over, "
            "the coat is quicker than reckoned and mottled. Warm the plate or lower the gap."
        )
    if gap < known["crystal_spacing_mm"]:
        out.append(
            f"The gap of {gap:g} mm is less than the {known['crystal_spacing_mm']:g} mm between "
            "crystals: they will print through. Strew them closer or raise the plate."
        )
    if spread["nm"] > facts["visible_step"].value:
        out.append(
            f"The coat may differ by {spread['nm']:.1f} nm across the plate, which shows as a "
            "wedge of colour. Level the box and strew the crystals evenly; "
            "a turn at half time evens out a tilt, not a ripple."
        )
    if seconds < facts["short_seconds"].value:
        out.append(f"{seconds:.0f} s is too short to stop by eye: use a cooler box or a wider gap.")
    if temperature > facts["warm_box"].value:
        out.append(
            f"At {temperature:g} °C the air over the crystals holds "
            f"{float(saturated_ppm(kelvin(temperature))):.0f} ppm of iodine: a leak or an opening "
            "fills the room sooner than at 20 °C."
        )
    return out


def _notes(known: dict[str, Any], *, rested: bool) -> list[str]:
    per_kelvin = 100.0 * float(relative_rate_per_k(known["box_temperature_c"]))
    out = [
        f"The crystals' own temperature counts, not the room's: {per_kelvin:.0f} % per kelvin.",
        "Damp slows iodising by an unknown amount: log the humidity, nothing is added for it.",
    ]
    if known["box_factor"] == 1.0:
        out.insert(0, "This box is not tuned yet: log the seconds and the colour of every plate.")
    if rested:
        out.append(
            "Every opening sweeps the box, a turn of the plate too: what follows starts slower."
        )
    return out
