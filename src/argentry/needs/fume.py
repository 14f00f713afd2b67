"""How long a plate lies over iodine, and what could make it come out uneven."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import expm1
from typing import Any

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.needs.doubt.fuming import fuming_doubt
from argentry.needs.numbers import factor_log_sd, numbers_in_use
from argentry.needs.over_iodine import (
    BoxToday,
    back_over_iodine_s,
    last_seconds,
    middle_seconds,
    seconds_over_iodine,
)
from argentry.physics.constants import kelvin
from argentry.physics.ranges import checked
from argentry.physics.room.air import pressure_at_elevation_pa
from argentry.physics.vapour import fuming
from argentry.physics.vapour.evenness import relative_rate_per_k
from argentry.physics.vapour.iodine import saturated_ppm
from argentry.records.answers.fume import (
    FumeAnswer,
    FumedBox,
    FumedPlate,
    FumingAt,
    Unevenness,
)
from argentry.records.instruments import IodineBox, choose
from argentry.records.needs import StudioNow
from argentry.records.studio import USUAL_SIZE, Studio
from argentry.trade.steps import by_law, cautions, plate_size

NO_STUDIO = StudioNow()
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
        Measured over computed seconds; one that is given counts as known. [1]
    film_k_m2_s : float or None
        Rate of a film that slows itself. [m2/s] None: no such film.
    humidity_pct : float or None
        Relative humidity of the room. [%]
    back_seconds : float or None
        Back over iodine in the dark after the colour was judged; 0 for none. [s]
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
    humidity_pct: float | None = None
    back_seconds: float | None = None
    pressure_hpa: float | None = None
    elevation_m: float | None = None
    size: str | None = None
    area_cm2: float | None = None
    box: str | None = None


def fume(asked: Fuming, now: StudioNow = NO_STUDIO) -> FumeAnswer:
    """Return the seconds over iodine with their range, and everything worth knowing before.

    Raises
    ------
    BadInput
        If something is missing, unknown or out of range.
    """
    check_range("coat thickness (--nm)", asked.thickness_nm, 0.0, 1000.0, "nm", open_low=True)
    studio = now.studio
    own = choose(
        "--box", asked.box, studio.boxes if studio else (), "name its studio with --studio"
    )
    if asked.plate_temperature_c is not None:
        check_range("plate temperature (--plate-temp)", asked.plate_temperature_c, -30, 100, "°C")
    if asked.humidity_pct is not None:
        check_range("--humidity", asked.humidity_pct, 0, 100, "%")
    box = _box(asked, studio, own)
    area, size = _area(asked, studio)
    h, known = asked.thickness_nm, box.geometry
    ways = {way: middle_seconds(replace(box, rested=way), h) for way in (True, False)}
    seconds = seconds_over_iodine(box, h)
    half = middle_seconds(box, h / 2)
    back = back_over_iodine_s(studio) if asked.back_seconds is None else asked.back_seconds
    check_range("--back-s", back, 0, 600, "s")
    spread = Unevenness(
        **fuming.evenness(
            box.gap_mm,
            _first(asked.tilt_mm, None, trade.value("fuming", "tilt")),
            box.crystal_spacing_mm,
            thickness_nm=h,
            cover_share=box.cover_share,
            tray_difference_k=trade.value("fuming", "tray_difference"),
            box_temperature_c=box.box_temperature_c,
        )
    )
    plate_c = _first(asked.plate_temperature_c, None, box.box_temperature_c)
    margin = float(
        fuming.convection_margin_k(box.gap_mm, box.box_temperature_c, plate_c, box.pressure_pa)
    )
    rest = fuming.rest_seconds(
        box_temperature_c=box.box_temperature_c, gap_mm=box.gap_mm, pressure_pa=box.pressure_pa
    )
    floor_cm2 = own.floor_area_cm2 if own else area
    lost_mg = fuming.headspace_loss_mg(floor_cm2 * box.gap_mm * 1e-4, box.box_temperature_c)
    return FumeAnswer(
        thickness_nm=h,
        seconds=seconds.middle,
        seconds_80=(seconds.low, seconds.high),
        doubt=fuming_doubt(box, h),
        iodine_mg=float(fuming.iodine_mg(h, area)),
        rested=box.rested,
        rested_seconds=ways[True],
        swept_seconds=ways[False],
        rest_seconds=float(rest),
        steady_rate_nm_s=float(fuming.steady_rate_nm_s(**known)),
        unevenness=spread,
        turn_plate_at_seconds=seconds.middle / 2,
        half_coat_seconds=half,
        last=last_seconds(box, h, back),
        around=_around(h, box),
        per_kelvin=float(relative_rate_per_k(box.box_temperature_c)),
        convection_margin_k=margin,
        air_over_crystals_ppm=float(
            saturated_ppm(kelvin(box.box_temperature_c), box.pressure_pa)
        ),
        box_air_iodine_mg=float(lost_mg),
        box=FumedBox(
            box.name, plate_c, box.box_temperature_c, box.gap_mm, box.crystal_spacing_mm,
            box.cover_share, box.pressure_pa, box.box_factor, box.film_resistance,
        ),
        plate=FumedPlate(size, area),
        warnings=tuple(_warnings(box, seconds.middle, spread, margin, plate_c)),
        cautions=tuple(cautions()[key].text for key in by_law("fuming").cautions),
        limits=cautions()["iodine_vapour"].figures,
        notes=tuple(_notes(box, h, seconds.middle)),
        numbers_in_use=numbers_in_use(
            now, "box_factor", given={"box_factor": asked.box_factor}, box=own
        ),
        as_written=now.as_written,
    )  # fmt: skip


def _first(asked: Any, studio: Any, trade_value: Any) -> Any:
    """Return the first that is said."""
    return asked if asked is not None else studio if studio is not None else trade_value


def _box(asked: Fuming, studio: Studio | None, own: IodineBox | None) -> BoxToday:
    """Return the box, each value from the first that names it."""
    held = own.held_c(studio.room.temperature_c) if own is not None and studio is not None else None
    temperature = _first(asked.box_temperature_c, held, None)
    if temperature is None:
        raise BadInput(
            "--box-temp", "the crystals' temperature is not given", "give it in °C, or a --studio"
        )

    def known(where: str, key: str, option: float | None, owned: float | None) -> float:
        usual = trade.value("fuming", key) if option is None and owned is None else 0.0
        return float(checked(where, _first(option, owned, usual), "fuming", key))

    factor = _first(asked.box_factor, own and own.box_factor, 1.0)
    timed = own is not None and own.box_factor_log_sd is not None and asked.box_factor is None
    film = None
    if asked.film_k_m2_s is not None:
        film = 1.0 / check_range("film rate (--film-k)", asked.film_k_m2_s, 1e-19, 1.0, "m2/s")
    return BoxToday(
        name=own.name if own else None,
        box_temperature_c=known(
            "box temperature (--box-temp)", "box_temperature", temperature, None
        ),
        gap_mm=known("gap (--gap-mm)", "gap", asked.gap_mm, own.gap_mm if own else None),
        cover_share=known(
            "crystal cover (--cover)",
            "cover_share",
            asked.cover_share,
            own.cover_share if own else None,
        ),
        crystal_spacing_mm=known(
            "crystal spacing (--spacing-mm)",
            "crystal_spacing",
            asked.crystal_spacing_mm,
            own.crystal_spacing_mm if own else None,
        ),
        pressure_pa=_pressure_pa(asked, studio),
        rested=_first(asked.rested, own and own.rested, True),
        box_factor=check_range("box factor (--box-factor)", factor, 0.05, 20.0, ""),
        factor_log_sd=0.0 if asked.box_factor is not None else factor_log_sd(own),
        film_resistance=film,
        plate_temperature_c=asked.plate_temperature_c,
        humidity_pct=_first(asked.humidity_pct, studio and studio.room.relative_humidity_pct, None),
        timed=timed,
        scatter=studio.habits.strayed("fuming") if timed and studio is not None else 1.0,
    )


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
    size = plate_size(_first(asked.size, studio and studio.habits.plate_size, USUAL_SIZE))
    return size.area_cm2, size.name


def _around(h: float, box: BoxToday) -> tuple[FumingAt, ...]:
    """Return the seconds in a box some degrees colder and warmer."""
    fact = trade.facts("fuming")["box_temperature"]
    others = [box.box_temperature_c + step for step in (-AROUND_K, AROUND_K)]
    return tuple(
        FumingAt(c, middle_seconds(replace(box, box_temperature_c=c), h))
        for c in others
        if fact.low <= c <= fact.high
    )


TURNS_OVER = (
    "The plate is {colder:.1f} K colder than the crystals, {beyond:.1f} K more than still air "
    "stands over {gap:g} mm: the vapour turns over and the coat grows faster than computed and "
    "mottled. Warm the plate or lower the gap."
)
PRINTS_THROUGH = (
    "The gap of {gap:g} mm is less than the {spacing:g} mm between crystals: they will print "
    "through. Strew them closer or raise the plate."
)
WEDGE = (
    "The coat may differ by {nm:.1f} nm across the plate, which shows as a wedge of colour. Level "
    "the box and strew the crystals evenly; a turn at half time evens out a tilt, not a ripple."
)
TOO_SHORT = "{seconds:.0f} s is too short to stop by eye: use a cooler box or a wider gap."
WARM_BOX = (
    "At {held:g} °C the air over the crystals holds {ppm:.0f} ppm of iodine: a leak or an opening "
    "fills the room sooner than at 20 °C."
)
NOT_TUNED = "This box is not tuned yet: log the seconds and the colour of every plate."
CRYSTALS = "The crystals' own temperature counts, not the room's{by}"
WARMER = ": {step:g} K warmer, the coat takes {percent:.0f} % less time."
DAMP = (
    "Damp air, a cold plate and worked silver slow iodising; by how much is not published. Their "
    "part here is a weak guess ({percent:+.0f} %) and widens the range: note the humidity "
    "and the plate's temperature."
)
SWEPT = "Every opening sweeps the box, a turn of the plate too: what follows starts slower."


def _warnings(
    box: BoxToday, seconds: float, spread: Unevenness, margin: float, plate_c: float
) -> list[str]:
    facts = trade.facts("fuming")
    held, gap = box.box_temperature_c, box.gap_mm
    out = []
    if margin < 0:
        out.append(TURNS_OVER.format(colder=held - plate_c, beyond=-margin, gap=gap))
    if gap < box.crystal_spacing_mm:
        out.append(PRINTS_THROUGH.format(gap=gap, spacing=box.crystal_spacing_mm))
    if spread.nm > facts["visible_step"].value:
        out.append(WEDGE.format(nm=spread.nm))
    if seconds < facts["short_seconds"].value:
        out.append(TOO_SHORT.format(seconds=seconds))
    if held > facts["warm_box"].value:
        out.append(WARM_BOX.format(held=held, ppm=float(saturated_ppm(kelvin(held)))))
    return out


def _notes(box: BoxToday, h: float, seconds: float) -> list[str]:
    warm = [at.seconds for at in _around(h, box) if at.box_temperature_c > box.box_temperature_c]
    percent = 100.0 * (1.0 - warm[0] / seconds) if warm and seconds else 0.0
    out = [NOT_TUNED] if box.box_factor == 1.0 else []
    slower = 100.0 * expm1(box.slowing[0])
    by = WARMER.format(step=AROUND_K, percent=percent) if percent else "."
    out += [CRYSTALS.format(by=by), DAMP.format(percent=slower)]
    return [*out, SWEPT] if box.rested else out
