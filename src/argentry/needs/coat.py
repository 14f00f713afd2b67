"""What a coat looks like, how fast it is, and which coat shows a colour."""

from __future__ import annotations

from dataclasses import dataclass

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range
from argentry.needs.coat_view import View, look
from argentry.physics.coat import coat_colour, coat_words, colour, film

MODEL = (
    "The colours come from a model of the film (no measured plate stands behind it yet): "
    "trust the order, then the thickness, then the depth of a colour."
)
SEED = (
    "The lossy layer between iodide and silver is a starting value; fit your own from a stepped "
    "fume plate (argentry coat --fit)."
)
LOOK = (
    "Light that shows the colour also exposes the coat: look briefly, by weak warm light "
    "(common practice)."
)
TILTED = (
    "The word {word} is for the plate seen straight on; at {degrees:g} degrees it looks like "
    "{other}, a coat of {nm:.0f} nm."
)
NO_COAT = (
    "No coat of this model looks like that colour: check the white balance, the angle and the "
    "light, or fit your own lossy layer."
)
ALIKE = (
    "Coats of two cycles look alike here: let the fuming time decide (--cycle, or --expect with "
    "the thickness it gives)."
)


@dataclass(frozen=True)
class Seen:
    """How a coat is looked at, and what to know of the figures.

    Attributes
    ----------
    illuminant : str
        Light the coat is seen by.
    angle_deg : float
        Angle of view from the normal. [deg]
    interlayer_nm : float
        Full thickness of the lossy layer between iodide and silver. [nm]
    interlayer_silver : float
        Share of silver in that layer. [1]
    interlayer_growth_nm : float
        Coat over which that layer comes to 63 % of its thickness. [nm]
    interlayer_is_seed : bool
        True while some of the layer is the starting value, not fitted to a stepped plate.
    notes : tuple of str
        What to know about these figures, one sentence each.
    cautions : tuple of str
        Cautions; local codes and suppliers' safety data sheets decide.
    """

    illuminant: str
    angle_deg: float
    interlayer_nm: float
    interlayer_silver: float
    interlayer_growth_nm: float
    interlayer_is_seed: bool
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Spectrum:
    """Reflectance spectrum.

    Attributes
    ----------
    wavelength_nm : tuple of float
        Wavelengths. [nm]
    value : tuple of float
        Reflectance at each, 0 to 1. [1]
    """

    wavelength_nm: tuple[float, ...]
    value: tuple[float, ...]


@dataclass(frozen=True)
class CoatReport(Seen):
    """Colour and speed of a coat.

    Attributes
    ----------
    thickness_nm : float
        Thickness of the coat. [nm]
    thickness_doubt_nm : float
        Half width of the 80 % range within which the colour word stands for a thickness. [nm]
    lab : (float, float, float)
        CIELAB L*, a*, b* under the illuminant. [1]
    srgb : str
        Colour for a screen, #RRGGBB.
    colour : str
        The nearest trade word.
    cycle : int
        First, second ... passage through the colours.
    colour_range_nm : (float, float)
        Thicknesses that carry this word. [nm]
    reflectance : Spectrum
        Reflectance spectrum.
    coat_share : float
        Share of the exposure light that the film absorbs. [1]
    relative_speed : float
        Speed against a coat of 25 nm. [1]
    seen_as_nm : float
        Thickness whose head-on colour word it takes at this angle. [nm]
    seen_as : str
        The word it takes at this angle.
    """

    thickness_nm: float
    thickness_doubt_nm: float
    lab: tuple[float, float, float]
    srgb: str
    colour: str
    cycle: int
    colour_range_nm: tuple[float, float]
    reflectance: Spectrum
    coat_share: float
    relative_speed: float
    seen_as_nm: float
    seen_as: str


@dataclass(frozen=True)
class Candidate:
    """A coat that may show the colour.

    Attributes
    ----------
    thickness_nm : float
        Thickness. [nm]
    range_80_nm : (float, float)
        Its 80 % range. [nm]
    weight : float
        Likelihood among the candidates. [1]
    delta_e : float
        Distance of its colour from the measured one, CIEDE2000. [1]
    colour : str
        Trade word.
    cycle : int
        Passage through the colours.
    srgb : str
        Colour for a screen, #RRGGBB.
    """

    thickness_nm: float
    range_80_nm: tuple[float, float]
    weight: float
    delta_e: float
    colour: str
    cycle: int
    srgb: str


@dataclass(frozen=True)
class Candidates(Seen):
    """Thicknesses behind a measured colour.

    Attributes
    ----------
    lab : (float, float, float)
        The colour as measured. [1]
    noise : float
        Standard deviation taken for the measurement. [CIELAB units]
    candidates : tuple of Candidate
        Every thickness that could have this colour, the likeliest first; weights add up to one.
    """

    lab: tuple[float, float, float]
    noise: float
    candidates: tuple[Candidate, ...]


def coat_report(nm: float, view: View | None = None) -> CoatReport:
    """Return what a coat looks like and how fast it is.

    Parameters
    ----------
    nm : float
        Thickness, 0 to 250. [nm]
    view : View, optional
        Straight on in daylight with the trade's interlayer when not given.
    """
    view = view or look()
    check_range("--nm", nm, 0, trade.value("film", "thickness_high_nm"), "nm")
    spectrum = film.reflectance(
        colour.WAVELENGTH_NM,
        nm,
        angle_deg=view.angle_deg,
        layer=view.layer,
    )[0]
    seen_xyz, white = colour.xyz(spectrum, view.light), colour.white(view.light)
    word = coat_words.band(nm)
    seen_as = film.seen_as_nm(nm, view.angle_deg)
    return CoatReport(
        thickness_nm=nm,
        thickness_doubt_nm=_doubt(word.cycle),
        lab=_three(colour.lab(seen_xyz, white)),
        srgb=colour.hex_colour(colour.srgb(seen_xyz, white)),
        colour=word.word,
        cycle=word.cycle,
        colour_range_nm=(word.low_nm, word.high_nm),
        reflectance=Spectrum(tuple(colour.WAVELENGTH_NM.tolist()), tuple(spectrum.tolist())),
        coat_share=float(film.coat_share(nm, layer=view.layer)),
        relative_speed=float(film.relative_coat_speed(nm, layer=view.layer)),
        seen_as_nm=seen_as,
        seen_as=coat_words.band(seen_as).word,
        illuminant=view.light.name,
        angle_deg=view.angle_deg,
        interlayer_is_seed=view.seeded,
        notes=tuple(_report_notes(nm, view, seen_as)),
        cautions=(LOOK,),
        **_layer(view),
    )


def _layer(view: View) -> dict[str, float]:
    layer = view.layer
    return {
        "interlayer_nm": layer.nm,
        "interlayer_silver": layer.silver,
        "interlayer_growth_nm": layer.growth_nm,
    }


def _three(lab: Floats) -> tuple[float, float, float]:
    first, second, third = (float(value) for value in lab)
    return first, second, third


def _doubt(cycle: int) -> float:
    key = "thickness_doubt_cycle_1_nm" if cycle <= 1 else "thickness_doubt_cycle_2_nm"
    return trade.value("film", key)


def _report_notes(nm: float, view: View, seen_as: float) -> list[str]:
    notes = [MODEL]
    if view.seeded:
        notes.append(SEED)
    word = coat_words.band(nm).word
    as_word = coat_words.band(seen_as).word
    if as_word != word:
        notes.append(TILTED.format(word=word, degrees=view.angle_deg, other=as_word, nm=seen_as))
    return notes


def coat_for_word(word: str, cycle: int | None = None, view: View | None = None) -> CoatReport:
    """Return the report of the coat that a colour word stands for.

    Parameters
    ----------
    word : str
        A makers' word, for example ``"rose"``.
    cycle : int, optional
        Which passage through the colours; the earliest with that word when not given.
    view : View, optional
        As in `coat_report`.

    Raises
    ------
    BadInput
        If there is no such word in that cycle.
    """
    return coat_report(coat_words.thickness_for(word, cycle), view)


def coat_candidates(
    lab: tuple[float, float, float],
    view: View | None = None,
    *,
    noise: float | None = None,
    cycle: int | None = None,
    expected_nm: tuple[float, float] | None = None,
) -> Candidates:
    """Return every coat that may show a measured colour, with its likelihood.

    Parameters
    ----------
    lab : tuple of float
        L*, a*, b* relative to a white card in the same light.
    view : View, optional
        The light and angle the colour was measured in.
    noise : float, optional
        Standard deviation of L*, a* and b* each.
    cycle : int, optional
        Keep that cycle only.
    expected_nm : (float, float), optional
        Mean and standard deviation of the thickness expected from fuming. [nm]

    Raises
    ------
    BadInput
        If the colour or an option is out of range.
    """
    view = view or look()
    noise = trade.value("film", "lab_noise") if noise is None else noise
    found = coat_colour.candidates(
        lab,
        view.light,
        noise=noise,
        cycle=cycle,
        prior_nm=expected_nm,
        angle_deg=view.angle_deg,
        layers=view.layers,
    )
    return Candidates(
        lab=lab,
        noise=noise,
        candidates=tuple(_candidate(one, view) for one in found),
        illuminant=view.light.name,
        angle_deg=view.angle_deg,
        interlayer_is_seed=view.seeded,
        notes=tuple(_candidate_notes(found, noise, view)),
        cautions=(LOOK,),
        **_layer(view),
    )


def _candidate(one: coat_colour.Candidate, view: View) -> Candidate:
    word, cycle = coat_words.colour_word(one.thickness_nm)
    return Candidate(
        thickness_nm=one.thickness_nm,
        range_80_nm=(one.low_nm, one.high_nm),
        weight=one.weight,
        delta_e=one.delta_e,
        colour=word,
        cycle=cycle,
        srgb=coat_report(one.thickness_nm, view).srgb,
    )


def _candidate_notes(found: list[coat_colour.Candidate], noise: float, view: View) -> list[str]:
    notes = [MODEL]
    if view.seeded:
        notes.append(SEED)
    if min(one.delta_e for one in found) > 3 * noise:
        notes.append(NO_COAT)
    if len(found) > 1 and found[1].weight > 0.05:
        notes.append(ALIKE)
    return notes
