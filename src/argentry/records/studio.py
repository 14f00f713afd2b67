"""What a studio is: the place, the room, the instruments, and the maker's own numbers.

Plain values in the maker's units (named in each field); where a studio says nothing the trade's
own value is used, so `None` means "not said", never zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from argentry.records.instruments import DevelopmentFrame, IodineBox, Lens, Meter, Spectrum
from argentry.records.units import Units

NO_SERVICE = "none"  # as the source of weather: no service is asked
USUAL_SIZE = "quarter"  # where neither plate nor studio says


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
    development_light_sigma_stops : float or None
        What may be wrong with all light that plates had while they taught that dose, which another
        light does not share; learned only. [stops]
    veil_ratio : float or None
        Light at which plates veil, over the ripe dose; learned only. [1]
    veil_ratio_sigma_stops : float or None
        How well it is known; learned only. [stops]
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

    plate_size: str = USUAL_SIZE
    coat_nm: float = 25.0
    plate_speed: float | None = None
    plate_speed_sigma_stops: float | None = None
    plate_noise_stops: float | None = None
    plate_speed_at_s: float | None = None
    reciprocity_exponent: float | None = None
    development_dose_kj_m2: float | None = None
    development_dose_sigma_stops: float | None = None
    development_light_sigma_stops: float | None = None
    veil_ratio: float | None = None
    veil_ratio_sigma_stops: float | None = None
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

    source: str = NO_SERVICE
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
