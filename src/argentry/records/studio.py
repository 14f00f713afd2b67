"""What a studio is: the place, the instruments, the room, and the maker's own numbers.

Plain values in the maker's units (named in each field); where a studio says nothing the trade's
own value is used, so `None` means "not said", never zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from itertools import pairwise
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.records.units import Units

if TYPE_CHECKING:
    from collections.abc import Mapping

    Curve = tuple[tuple[float, ...], tuple[float, ...]]
    Filter = tuple[float | Curve, float]


@dataclass(frozen=True)
class Spectrum:
    """A spectrum of two columns: what a glass passes, or what a lamp gives.

    Attributes
    ----------
    name : str
        Of the file, or of one that is shipped.
    wavelength_nm : tuple of float
        Rising. [nm]
    value : tuple of float
        Transmission [1], or power per nm in any unit.
    """

    name: str
    wavelength_nm: tuple[float, ...]
    value: tuple[float, ...]

    @property
    def curve(self) -> Curve:
        """Both columns."""
        return self.wavelength_nm, self.value

    @property
    def half_way_nm(self) -> float:
        """Where a long-pass filter first passes half of the most that it passes up to 760 nm."""
        rows = [row for row in zip(self.wavelength_nm, self.value, strict=True) if row[0] <= 760.0]
        half = max(value for _, value in rows) / 2.0
        for (low, below), (high, above) in pairwise(rows):
            if below < half <= above:
                return low + (high - low) * (half - below) / (above - below)
        return rows[0][0]

    @property
    def most(self) -> float:
        """The most that a filter passes up to 760 nm. [1]."""
        return max(v for at, v in zip(self.wavelength_nm, self.value, strict=True) if at <= 760.0)


@dataclass(frozen=True)
class Site:
    """Where the light falls.

    Attributes
    ----------
    name : str
        Name of the place, for the sheets.
    latitude_deg, longitude_deg : float
        Latitude and longitude, north and east positive. [deg]
    elevation_m : float
        Height above sea level. [m]
    time_zone : str
        IANA zone name, for example ``"Europe/Madrid"``.
    horizon : tuple of (float, float)
        Azimuth from north through east and elevation of the skyline there. [deg]
        Linear in between, wrapping at 360. Empty means a free horizon.
    ground_albedo : float
        Share of light the ground throws back. [1]
    haze_aod : float or None
        Usual aerosol optical depth at 500 nm. [1] None: the trade's value.
    skyline : str or None
        Name of the file that `horizon` was read from; None: it is written down.
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str
    horizon: tuple[tuple[float, float], ...] = ()
    ground_albedo: float = 0.2
    haze_aod: float | None = None
    skyline: str | None = None


@dataclass(frozen=True)
class Lens:
    """One lens.

    Attributes
    ----------
    name : str
        What the maker calls it.
    f_number : float
        Focal length over entrance pupil, as used. [1]
    focal_length_mm : float
        Focal length. [mm]
    glass : str
        Kind of glass: a key of ``exposure.toml`` ``glass`` (its near-ultraviolet transmission).
    near_uv_transmission : float or None
        Transmission of the whole lens in the exposure band, when known. [1] Overrides `glass`.
    count : int
        How many cameras with such a lens there are.
    spectrum : Spectrum or None
        What the whole lens passes; it stands instead of both.
    """

    name: str
    f_number: float
    focal_length_mm: float
    glass: str = "uncoated crown"
    near_uv_transmission: float | None = None
    count: int = 1
    spectrum: Spectrum | None = None


@dataclass(frozen=True)
class IodineBox:
    """One iodine box.

    Attributes
    ----------
    name : str
        What the maker calls it.
    gap_mm : float
        From the crystals' upper face to the plate. [mm]
    crystal_area_cm2 : float
        Floor area strewn with crystals. [cm2]
    floor_area_cm2 : float
        Floor area of the box. [cm2]
    crystal_spacing_mm : float
        Between the middles of neighbouring crystals or clumps. [mm]
    temperature_c : float or None
        Temperature the box is held at. [°C] None: it takes the room's.
    box_factor : float
        Measured seconds over computed seconds, learned from the log. [1]
    rested : bool
        True when the box stays shut for minutes before a plate (its air full of vapour).
    box_factor_log_sd : float or None
        How well `box_factor` is known: standard deviation of its logarithm; None: the trade's. [1]
    count : int
        How many such boxes there are.
    """

    name: str
    gap_mm: float
    crystal_area_cm2: float
    floor_area_cm2: float
    crystal_spacing_mm: float = 6.0
    temperature_c: float | None = None
    box_factor: float = 1.0
    rested: bool = True
    box_factor_log_sd: float | None = None
    count: int = 1

    @property
    def cover_share(self) -> float:
        """Share of the floor under crystals, at most all of it. [1]."""
        return min(self.crystal_area_cm2 / self.floor_area_cm2, 1.0)

    def held_c(self, room_c: float) -> float:
        """Return the temperature the box is at in a room of `room_c`: its own, else the room's.

        Parameters
        ----------
        room_c : float
            [°C]

        Returns
        -------
        float
            [°C]
        """
        return room_c if self.temperature_c is None else self.temperature_c


@dataclass(frozen=True)
class Lamp:
    """A lamp over a development frame: by its power and distance, or by a reading under the filter.

    Attributes
    ----------
    power_w : float or None
        Electrical power. [W] None only with a reading.
    distance_m : float or None
        From the lamp's face, or a bare bulb's middle, to the plate. [m] None only with a reading.
    kind : str
        A key of ``development.toml`` ``lamp``: ``"halogen"``, ``"red led"``.
    width_m, height_m : float or None
        Of its face; with the width alone it is round. [m] None: the trade's usual size.
    reading_w_m2 : float or None
        Development light measured under the filter at the plate. [W/m2]
    reading_lux : float or None
        The same with a lux meter. [lx]
    spectrum : Spectrum or None
        Its power by wavelength; None: that of its kind.
    """

    power_w: float | None = None
    distance_m: float | None = None
    kind: str = "halogen"
    width_m: float | None = None
    height_m: float | None = None
    reading_w_m2: float | None = None
    reading_lux: float | None = None
    spectrum: Spectrum | None = None

    @property
    def words(self) -> str:
        """The lamp as told to a maker."""
        if self.reading_w_m2 is not None:
            return LAMP_READ.format(kind=self.kind, number=self.reading_w_m2, unit="W/m²")
        if self.reading_lux is not None:
            return LAMP_READ.format(kind=self.kind, number=self.reading_lux, unit="lx")
        size = ""
        if self.width_m is not None:
            sides = [self.width_m] if self.height_m is None else [self.width_m, self.height_m]
            size = " ({size} m)".format(size=" × ".join(f"{side:g}" for side in sides))
        return LAMP.format(
            kind=self.kind, size=size, watts=self.power_w or 0.0, distance=self.distance_m or 0.0
        )


def lamp_mistake(where: str, lamp: Lamp, names: Mapping[str, str]) -> BadInput | None:
    """Return what is wrong with what is said of a lamp, each value being possible; or None.

    Parameters
    ----------
    where : str
        Where it stands, for the sentence.
    lamp : Lamp
        As said.
    names : Mapping[str, str]
        What its fields are called there; a field left out is called by its own name.
    """
    called = {field.name: names.get(field.name, field.name) for field in fields(Lamp)}
    if lamp.reading_w_m2 is not None and lamp.reading_lux is not None:
        return BadInput(where, TWO_READINGS.format(**called), "give one of them")
    if lamp.height_m is not None and lamp.width_m is None:
        return BadInput(where, HEIGHT_ALONE.format(**called), ADD_WIDTH.format(**called))
    if lamp.reading_w_m2 is None and lamp.reading_lux is None:
        for name in ("power_w", "distance_m"):
            if getattr(lamp, name) is None:
                return BadInput(where, MISSING.format(called[name]), LAMP_NEEDS.format(**called))
    return None


TWO_READINGS = "both {reading_w_m2} and {reading_lux} are given"
HEIGHT_ALONE = "{height_m} is given without {width_m}"
ADD_WIDTH = "add {width_m}, or leave {height_m} out"
MISSING = "{} is missing"
LAMP_NEEDS = (
    "give {power_w} and {distance_m}, or what was read under the filter as {reading_w_m2} "
    "or {reading_lux}"
)
LAMP = "{kind} lamp{size}, {watts:g} W at {distance:g} m"
LAMP_READ = "{kind} lamp, {number:g} {unit} read under the filter"


@dataclass(frozen=True)
class DevelopmentFrame:
    """One development frame: a filter over a plate, in the sun or under a lamp.

    Attributes
    ----------
    name : str
        What the maker calls it.
    cut_on_nm : float
        Wavelength at which the filter passes half of what it passes in the red. [nm]
    transmission : float
        Transmission in the red. [1]
    blocking_density : float or None
        Optical density below 450 nm, when measured. [1]
    lamp : Lamp or None
        None: the sun.
    count : int
        How many such frames there are.
    spectrum : Spectrum or None
        What the filter passes; it stands instead of `cut_on_nm` and `transmission`.
    """

    name: str
    cut_on_nm: float
    transmission: float = 0.9
    blocking_density: float | None = None
    lamp: Lamp | None = None
    count: int = 1
    spectrum: Spectrum | None = None

    @property
    def through(self) -> Filter:
        """The filter as the light asks for it: its edge [nm] or spectrum, and transmission [1]."""
        return (self.cut_on_nm if self.spectrum is None else self.spectrum.curve), self.transmission


@dataclass(frozen=True)
class Room:
    """The room where plates are coated.

    Attributes
    ----------
    temperature_c, relative_humidity_pct : float
        Usual values on the day, before a reading is taken. [°C, %]
    """

    temperature_c: float
    relative_humidity_pct: float


@dataclass(frozen=True)
class Water:
    """The water of the last rinse and of the gold bath.

    Attributes
    ----------
    kind : str
        ``"distilled"``, ``"deionised"`` or ``"tap"``.
    conductivity_us_cm : float or None
        When measured. [µS/cm]
    """

    kind: str
    conductivity_us_cm: float | None = None


@dataclass(frozen=True)
class Hours:
    """When hands are there.

    Attributes
    ----------
    start, end : str
        Local wall clock, ``"HH:MM"``.
    breaks : tuple of (str, str)
        Breaks within the day, local wall clock, for everyone.
    workers : int
        How many pairs of hands.
    """

    start: str = "08:00"
    end: str = "19:00"
    breaks: tuple[tuple[str, str], ...] = ()
    workers: int = 1


@dataclass(frozen=True)
class Subject:
    """What the camera usually sees.

    Attributes
    ----------
    plane : str
        ``"sun"`` (facing the sun), ``"shade"`` (open shade), ``"window"`` or ``"horizontal"``.
    reflectance : float
        Of the tone that must come out light: a face, a wall. [1]
    distance_m : float
        From lens to subject. [m]
    pose : str
        A key of ``exposure.toml`` ``pose``: ``"standing"``, ``"seated"``, ``"head-rest"``...
    window_spectrum : Spectrum or None
        What the pane of the plane ``"window"`` passes; None: the trade's pane.
    """

    plane: str = "sun"
    reflectance: float = 0.4
    distance_m: float = 2.0
    pose: str = "head-rest"
    window_spectrum: Spectrum | None = None


@dataclass(frozen=True)
class Habits:
    """The maker's own numbers; None means the trade's starting value is used.

    Attributes
    ----------
    plate_size : str
        A name of ``sizes.toml``: ``"quarter"``, ``"sixth"``...
    coat_nm : float
        Thickness the maker coats to. [nm]
    plate_speed : float or None
        Effective ISO speed of these plates, median. [ISO]
    plate_speed_sigma_stops : float or None
        Spread of the speed: how well its median is known, and plates about it. [stops]
    plate_noise_stops : float or None
        What of it is one plate against the next of the same day. [stops]
    plate_speed_at_s : float or None
        Exposure time for which the speed is stated. [s]
    reciprocity_exponent : float or None
        How a long exposure counts against a short one of as much light; 1: alike. [1]
    development_dose_kj_m2 : float or None
        Development light behind the filter to the end point, median. [kJ/m2]
    development_dose_sigma_stops : float or None
        Its spread. [stops]
    interlayer_nm : float or None
        Full thickness of the lossy layer between iodide and silver. [nm]
    interlayer_silver : float or None
        Share of silver in that layer. [1]
    interlayer_growth_nm : float or None
        Coat over which that layer comes to 63 % of its thickness. [nm]
    back_over_iodine_s : float or None
        Back over iodine in the dark after the colour was judged. [s]
    good_share : float or None
        Share of plates that come out good. [1]
    good_share_plates : int
        Number of plates behind `good_share`.
    polished : int
        Plates that come polished from the evening before, on a usual day.
    seal_later : bool
        True when plates are sealed and labelled another day.
    longest_pose_min : float or None
        No exposure longer than this is planned. [min]
    scatter : tuple of (str, float)
        How many times as far as said before them the studio's plates strayed, by plane of the
        exposure, ``"development"`` or ``"fuming"``; learned only. [1]
    """

    plate_size: str = "quarter"
    coat_nm: float = 25.0
    plate_speed: float | None = None
    plate_speed_sigma_stops: float | None = None
    plate_noise_stops: float | None = None
    plate_speed_at_s: float | None = None
    reciprocity_exponent: float | None = None
    development_dose_kj_m2: float | None = None
    development_dose_sigma_stops: float | None = None
    interlayer_nm: float | None = None
    interlayer_silver: float | None = None
    interlayer_growth_nm: float | None = None
    back_over_iodine_s: float | None = None
    good_share: float | None = None
    good_share_plates: int = 0
    polished: int = 0
    seal_later: bool = False
    longest_pose_min: float | None = None
    scatter: tuple[tuple[str, float], ...] = ()

    def strayed(self, what: str) -> float:
        """Return the scatter of one kind; 1 while no plate has shown it. [1]."""
        return dict(self.scatter).get(what, 1.0)


@dataclass(frozen=True)
class Meter:
    """The maker's light meter.

    Attributes
    ----------
    name : str
        What the maker calls it.
    spectrum : Spectrum or None
        Its response by wavelength; None: as the eye.
    """

    name: str = "Light meter"
    spectrum: Spectrum | None = None


@dataclass(frozen=True)
class Prices:
    """What the maker pays, in the studio's currency; None means the trade's starting value.

    Attributes
    ----------
    silver_per_g, gold_per_g : float or None
        Fine metal. [currency/g]
    sundries_per_plate : float or None
        Copper, glass, mat, tape and baths. [currency/plate]
    hour : float or None
        What an hour of your hands is worth; None: hours are counted and cost nothing. [currency/h]
    """

    silver_per_g: float | None = None
    gold_per_g: float | None = None
    sundries_per_plate: float | None = None
    hour: float | None = None


@dataclass(frozen=True)
class WeatherSource:
    """Which weather service may be asked; none until the maker agrees.

    Attributes
    ----------
    source : str
        ``"open-meteo"``, ``"open-meteo-ensemble"``, ``"met-norway"``, ``"bright-sky"`` or
        ``"none"``.
    agreed : tuple of str
        Services that the place may be sent to, to two decimals.
    contact : str or None
        E-mail or web address that a service is told.
    host : str or None
        Address of one's own instance of the service in `source`.
    climate : str or None
        A file of typical or many measured years, or a folder of such, seen from the studio folder.
    """

    source: str = "none"
    agreed: tuple[str, ...] = ()
    contact: str | None = None
    host: str | None = None
    climate: str | None = None

    @property
    def asked(self) -> str:
        """The service that may be asked; empty for none."""
        return self.source if self.source in self.agreed else ""


@dataclass(frozen=True)
class Backups:
    """The backups that a running server makes by itself.

    Attributes
    ----------
    daily : bool
        True to have one made a day.
    keep : int
        How many sound ones stay.
    folder : str
        Where they go, seen from the studio folder.
    """

    daily: bool = True
    keep: int = 14
    folder: str = "backups"


@dataclass(frozen=True)
class Studio:
    """A studio: the folder's ``studio.toml`` as values.

    Attributes
    ----------
    name : str
        Name of the studio, for the sheets.
    site : Site
        Where the light falls.
    lenses, boxes, frames : tuples of records
        At least one each; the first is the usual one.
    room : Room
        The room where plates are coated, on a usual day.
    water : Water
        The water of the last rinse and of the gold bath.
    hours : Hours
        When hands are there.
    subject : Subject
        What the camera usually sees.
    habits : Habits
        The maker's own numbers.
    units : Units
        How temperatures, lengths and money are shown and typed.
    prices : Prices
        What the maker pays.
    weather : WeatherSource
        Which weather service may be asked.
    backups : Backups
        The backups that a running server makes.
    meter : Meter
        The maker's light meter.
    invented : bool
        True for the demo: place and people are invented, and every sheet says so.
    """

    name: str
    site: Site
    lenses: tuple[Lens, ...]
    boxes: tuple[IodineBox, ...]
    frames: tuple[DevelopmentFrame, ...]
    room: Room
    water: Water
    hours: Hours = field(default_factory=Hours)
    subject: Subject = field(default_factory=Subject)
    habits: Habits = field(default_factory=Habits)
    units: Units = field(default_factory=Units)
    prices: Prices = field(default_factory=Prices)
    weather: WeatherSource = field(default_factory=WeatherSource)
    backups: Backups = field(default_factory=Backups)
    meter: Meter = field(default_factory=Meter)
    invented: bool = False
