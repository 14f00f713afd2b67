"""Lens, plate and subject of an exposure: from options, the studio and the trade's usual values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry import trade
from argentry.errors import check_range
from argentry.needs.doubt.exposure import coat_sigma_stops, plate_doubts
from argentry.needs.named_files.spectra import read_spectrum
from argentry.physics.coat.film import relative_coat_speed
from argentry.physics.coat.interlayer import interlayer
from argentry.physics.lights.bands import lens_share
from argentry.physics.picture import exposure
from argentry.physics.picture.reciprocity import reciprocity
from argentry.physics.ranges import checked
from argentry.records.instruments import choose
from argentry.records.studio import Habits

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from argentry.arrays import Floats
    from argentry.physics.picture.reciprocity import Reciprocity
    from argentry.records.answers.doubt import DoubtPart
    from argentry.records.instruments import Lens
    from argentry.records.studio import Studio

PLATE_SPEED = "plate speed"  # begins the note that tells a maker to test


@dataclass(frozen=True)
class Camera:
    """What the exposure is asked for; None means the studio's, else the trade's usual value.

    Attributes
    ----------
    lens : str or None
        Name of one of the studio's lenses.
    f_number, focal_mm, distance_m : float or None
        [1, mm, m]
    transmission : float or None
        Of the lens in the exposure band. [1]
    speed_iso, speed_sigma_stops : float or None
        Plate speed and its spread. [ISO, stops]
    coat_nm : float or None
        Thickness of the coat. [nm]
    plane, pose : str or None
        How the light falls, and how the sitter is held.
    reflectance : float or None
        Of the tone that must come out light. [1]
    mirror : bool
        True with a reversing mirror or prism.
    reciprocity_exponent : float or None
        [1]
    lens_spectrum : str or None
        A file of two columns, or a generic spectrum: what the whole lens passes.
    """

    lens: str | None = None
    f_number: float | None = None
    focal_mm: float | None = None
    distance_m: float | None = None
    transmission: float | None = None
    speed_iso: float | None = None
    speed_sigma_stops: float | None = None
    coat_nm: float | None = None
    plane: str | None = None
    pose: str | None = None
    reflectance: float | None = None
    mirror: bool = False
    reciprocity_exponent: float | None = None
    lens_spectrum: str | None = None


@dataclass(frozen=True)
class CameraValues:
    """The camera with every value found.

    Attributes
    ----------
    f_number, focal_mm, distance_m, transmission, speed_iso, speed_sigma_stops, coat_nm : float
        As in `Camera`.
    plane, pose, reflectance, mirror : str, str, float, bool
        As in `Camera`.
    coat_speed : float
        Speed of the coat over that of the reference coat. [1]
    law : Reciprocity
        How long and short exposures count.
    doubts : tuple of DoubtPart
        What is not known of plate and lens.
    place_known : bool
        True when the speed is the studio's own, at its usual place.
    scatter : float
        How far the studio's exposures in this plane strayed; 1 beside a speed of another's. [1]
    taken : tuple of str
        What was not given and was taken from the trade's usual values.
    """

    f_number: float
    focal_mm: float
    distance_m: float
    transmission: float
    speed_iso: float
    speed_sigma_stops: float
    coat_speed: float
    coat_nm: float
    plane: str
    pose: str
    reflectance: float
    mirror: bool
    law: Reciprocity
    doubts: tuple[DoubtPart, ...]
    place_known: bool
    scatter: float
    taken: tuple[str, ...]

    @property
    def scale(self) -> float:
        """Magnification, as a pure number."""
        return exposure.magnification(self.focal_mm, self.distance_m)


def camera_values(camera: Camera, studio: Studio | None) -> CameraValues:
    """Return the camera with every value filled in and checked.

    Raises
    ------
    BadInput
        If a value is out of range or a word is not known.
    """
    taken: list[str] = []
    lenses = studio.lenses if studio else ()
    lens = choose("--lens", camera.lens, lenses, "name a studio that has it, or give --f-number")
    subject = studio.subject if studio else None
    habits = studio.habits if studio else None

    def pick(key: str, words: str, *values: float | None) -> float:
        for number in values:
            if number is not None:
                return number
        usual = trade.value("exposure", key)
        taken.append(words.format(usual))
        return usual

    distance = subject.distance_m if subject else None
    tone = subject.reflectance if subject else None
    speed, sigma = _habit(habits)
    spread = pick(
        "plate_speed_sigma", "spread of the plate speed {:g} stops", camera.speed_sigma_stops, sigma
    )
    coat_nm = _coat_nm(camera, habits)
    measured = camera.transmission is not None or camera.lens_spectrum is not None
    usual_lens = studio is not None and lens is studio.lenses[0] and not measured
    own = camera.speed_iso is None and speed is not None
    stated = camera.speed_sigma_stops is not None
    plane = camera.plane or (subject.plane if subject else "sun")
    found = CameraValues(
        f_number=pick("f_number", "f/{:g}", camera.f_number, lens.f_number if lens else None),
        focal_mm=pick(
            "focal_length",
            "focal length {:g} mm",
            camera.focal_mm,
            lens.focal_length_mm if lens else None,
        ),
        distance_m=pick("subject_distance", "{:g} m to the subject", camera.distance_m, distance),
        speed_iso=pick("plate_speed", PLATE_SPEED + " {:g}", camera.speed_iso, speed),
        speed_sigma_stops=spread,
        reflectance=pick("reference_tone", "a light tone of {:g}", camera.reflectance, tone),
        coat_nm=coat_nm,
        coat_speed=_coat_speed(coat_nm, habits),
        transmission=_transmission(camera, lens, taken),
        plane=plane,
        pose=camera.pose or (subject.pose if subject else "head-rest"),
        mirror=camera.mirror,
        law=_law(camera, habits),
        doubts=plate_doubts(
            check_range("--speed-sigma", spread, 0.0, 5.0, "stops"),
            _noise(habits),
            coat_sigma_stops(lambda nm: _speeds(nm, habits), coat_nm),
            None if measured else _glass(lens),
            own=own and usual_lens,
            held=_glass(None) if camera.speed_sigma_stops is None and sigma is None else None,
        ),
        place_known=own and subject is not None and plane == subject.plane,
        scatter=habits.strayed(plane) if habits and own and usual_lens and not stated else 1.0,
        taken=tuple(taken),
    )
    checked("--f-number", found.f_number, "exposure", "f_number")
    checked("--focal-mm", found.focal_mm, "exposure", "focal_length")
    checked("--distance-m", found.distance_m, "exposure", "subject_distance")
    checked("--reflectance", found.reflectance, "exposure", "plane_reflectance")
    check_range("--speed", found.speed_iso, 1e-6, 10.0, "ISO")
    return found


def _habit(habits: Habits | None) -> tuple[float | None, float | None]:
    if habits is None:
        return None, None
    return habits.plate_speed, habits.plate_speed_sigma_stops


def _noise(habits: Habits | None) -> float:
    own = habits.plate_noise_stops if habits else None
    return trade.value("decide", "plate_noise") if own is None else own


def _law(camera: Camera, habits: Habits | None) -> Reciprocity:
    own, at = camera.reciprocity_exponent, None
    if own is not None:
        checked("--reciprocity", own, "exposure", "reciprocity_exponent")
    if habits is not None:
        own, at = habits.reciprocity_exponent if own is None else own, habits.plate_speed_at_s
    return reciprocity(own, at)


def _glass(lens: Lens | None) -> tuple[float, float] | None:
    """Return the range of a lens's transmission by its glass, of any where no lens is named.

    None when it was measured. [1]
    """
    if lens is not None and (lens.near_uv_transmission or lens.spectrum) is not None:
        return None
    facts, words = trade.facts("exposure"), trade.toml("exposure")["glass"]
    named = words if lens is None else (lens.glass,)
    of = [facts[exposure.fact_of_word("exposure", "glass", word)] for word in named]
    return min(fact.low for fact in of), max(fact.high for fact in of)


def _coat_nm(camera: Camera, habits: Habits | None) -> float:
    if camera.coat_nm is not None:
        return camera.coat_nm
    return habits.coat_nm if habits else trade.value("film", "reference_coat_nm")


def _transmission(camera: Camera, lens: Lens | None, taken: list[str]) -> float:
    if shown := read_spectrum("--lens-spectrum", camera.lens_spectrum, "lens"):
        return lens_share(shown.curve)
    if camera.transmission is not None:
        return float(
            checked("--transmission", camera.transmission, "exposure", "near_uv_transmission")
        )
    if lens is None:
        taken.append("a simple uncoated lens")
        return trade.value("light", "lens_transmission")
    return lens_transmission(lens)


def lens_transmission(lens: Lens) -> float:
    """Return a lens's transmission in the near ultraviolet: as measured, else by its glass [1]."""
    if lens.spectrum is not None:
        return lens_share(lens.spectrum.curve)
    if lens.near_uv_transmission is not None:
        return lens.near_uv_transmission
    return exposure.glass_transmission(lens.glass)


def _coat_speed(coat_nm: float, habits: Habits | None) -> float:
    thinnest = trade.value("exposure", "thinnest_useful_coat")
    thickest = trade.value("film", "thickness_high_nm")
    check_range("--coat-nm", coat_nm, thinnest, thickest, "nm")
    return float(_speeds(coat_nm, habits))


def _speeds(coat_nm: ArrayLike, habits: Habits | None) -> Floats:
    known = habits or Habits()
    layer = interlayer(known.interlayer_nm, known.interlayer_silver, known.interlayer_growth_nm)
    return relative_coat_speed(coat_nm, layer=layer)
