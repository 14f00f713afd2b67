"""The instruments of a studio: lenses, iodine boxes, lamps, development frames, the light meter.

Plain values in the maker's units (named in each field); `None` means "not said", never zero.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import pairwise
from typing import Protocol, TypeVar

from argentry.errors import BadInput

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

    def known_c(self, read_c: float | None, room_c: float | None) -> float | None:
        """Return the temperature the box is at as far as known: read, its own, else the room's.

        Parameters
        ----------
        read_c, room_c : float or None
            Read in the box and in the room. [°C]

        Returns
        -------
        float or None
            [°C]
        """
        if read_c is not None:
            return read_c
        return self.temperature_c if room_c is None else self.held_c(room_c)


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


LAMP_FRAME = "Lamp of today"  # the frame under a lamp that a studio has for one day alone


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


class Named(Protocol):
    """Anything that has a name: a lens, a frame, a box."""

    @property
    def name(self) -> str:
        """What the maker calls it."""


Thing = TypeVar("Thing", bound=Named)


def choose(option: str, name: str | None, things: Sequence[Thing], otherwise: str) -> Thing | None:
    """Return the thing of that name, the first one when no name is given, None when there is none.

    Parameters
    ----------
    option : str
        The option that named it, for the sentence: ``"--lens"``.
    name : str or None
        The name.
    things : sequence
        What the studio has.
    otherwise : str
        What to do when the studio has none, for the sentence.

    Raises
    ------
    BadInput
        If nothing has that name.
    """
    if name is None:
        return things[0] if things else None
    for thing in things:
        if thing.name.casefold() == name.casefold():
            return thing
    known = ", ".join(repr(thing.name) for thing in things)
    right = "use one of {known}".format(known=known) if known else otherwise
    kind = option.removeprefix("--")
    raise BadInput(option, "there is no {kind} {name!r}".format(kind=kind, name=name), right)
