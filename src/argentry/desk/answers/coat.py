"""What a coat looks like, how fast it is, which coat shows a colour, the maker's own layer."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from argentry import trade
from argentry.desk.answers.coat_view import View, look
from argentry.desk.answers.csv_columns import read_columns
from argentry.errors import check_range
from argentry.physics import coat_colour, coat_words, colour, film, interlayer_fit

if TYPE_CHECKING:
    from pathlib import Path

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


def _described(view: View) -> dict[str, Any]:
    return {
        "illuminant": view.light.name,
        "angle_deg": view.angle_deg,
        "interlayer_nm": view.interlayer_nm,
        "interlayer_silver": view.interlayer_silver,
        "interlayer_is_seed": view.seeded,
    }


def coat_report(nm: float, view: View | None = None) -> dict[str, Any]:
    """Return what a coat looks like and how fast it is.

    Parameters
    ----------
    nm : float
        Thickness, 0 to 250. [nm]
    view : View, optional
        Straight on in daylight with the trade's interlayer when not given.

    Returns
    -------
    dict
        ``thickness_nm``, ``thickness_doubt_nm``, ``lab``, ``srgb``, ``colour``, ``cycle``,
        ``colour_range_nm``, ``reflectance`` (``wavelength_nm``, ``value``), ``coat_share``,
        ``relative_speed``, ``seen_as_nm``, ``seen_as``, the view, ``notes``, ``cautions``.

    Raises
    ------
    BadInput
        If the thickness is out of range.
    """
    view = view or look()
    check_range("--nm", nm, 0, trade.value("film", "thickness_high_nm"), "nm")
    spectrum = film.reflectance(
        colour.WAVELENGTH_NM,
        nm,
        angle_deg=view.angle_deg,
        interlayer_nm=view.interlayer_nm,
        interlayer_silver=view.interlayer_silver,
    )[0]
    seen_xyz, white = colour.xyz(spectrum, view.light), colour.white(view.light)
    layer = {"interlayer_nm": view.interlayer_nm, "interlayer_silver": view.interlayer_silver}
    word = coat_words.band(nm)
    seen_as = film.seen_as_nm(nm, view.angle_deg)
    return {
        "thickness_nm": nm,
        "thickness_doubt_nm": _doubt(word.cycle),
        "lab": colour.lab(seen_xyz, white),
        "srgb": colour.hex_colour(colour.srgb(seen_xyz, white)),
        "colour": word.word,
        "cycle": word.cycle,
        "colour_range_nm": [word.low_nm, word.high_nm],
        "reflectance": {"wavelength_nm": colour.WAVELENGTH_NM, "value": spectrum},
        "coat_share": float(film.coat_share(nm, **layer)),
        "relative_speed": float(film.relative_coat_speed(nm, **layer)),
        "seen_as_nm": seen_as,
        "seen_as": coat_words.band(seen_as).word,
        **_described(view),
        "notes": _report_notes(nm, view, seen_as),
        "cautions": [LOOK],
    }


def _doubt(cycle: int) -> float:
    key = "thickness_doubt_cycle_1_nm" if cycle <= 1 else "thickness_doubt_cycle_2_nm"
    return trade.value("film", key)


def _report_notes(nm: float, view: View, seen_as: float) -> list[str]:
    notes = [MODEL]
    if view.seeded:
        notes.append(SEED)
    if nm < 10 and view.interlayer_nm > 0:
        notes.append(
            "Below 10 nm the lossy layer is not yet grown on a real plate: bare silver is whiter "
            "than shown."
        )
    word = coat_words.band(nm).word
    as_word = coat_words.band(seen_as).word
    if as_word != word:
        notes.append(
            f"The word {word} is for the plate seen straight on; at {view.angle_deg:g} degrees it "
            f"looks like {as_word}, a coat of {seen_as:.0f} nm."
        )
    return notes


def coat_for_word(word: str, cycle: int | None = None, view: View | None = None) -> dict[str, Any]:
    """Return the report of the coat that a colour word stands for.

    Parameters
    ----------
    word : str
        A makers' word, for example ``"rose"``.
    cycle : int, optional
        Which passage through the colours; the earliest with that word when not given.
    view : View, optional
        As in `coat_report`.

    Returns
    -------
    dict
        As `coat_report`, at the thickness where the word is most itself.

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
) -> dict[str, Any]:
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

    Returns
    -------
    dict
        ``lab``, ``noise``, ``candidates`` (``thickness_nm``, ``range_80_nm``, ``weight``,
        ``delta_e``, ``colour``, ``cycle``, ``srgb``), the view, ``notes``, ``cautions``.

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
        interlayer_nm=view.interlayer_nm,
        interlayer_silver=view.interlayer_silver,
    )
    rows = []
    for one in found:
        word, passage = coat_words.colour_word(one.thickness_nm)
        rows.append(
            {
                "thickness_nm": one.thickness_nm,
                "range_80_nm": [one.low_nm, one.high_nm],
                "weight": one.weight,
                "delta_e": one.delta_e,
                "colour": word,
                "cycle": passage,
                "srgb": coat_report(one.thickness_nm, view)["srgb"],
            }
        )
    return {
        "lab": list(lab),
        "noise": noise,
        "candidates": rows,
        **_described(view),
        "notes": _candidate_notes(found, noise, view),
        "cautions": [LOOK],
    }


def _candidate_notes(found: list[coat_colour.Candidate], noise: float, view: View) -> list[str]:
    notes = [MODEL]
    if view.seeded:
        notes.append(SEED)
    if min(one.delta_e for one in found) > 3 * noise:
        notes.append(
            "No coat of this model looks like that colour: check the white balance, the angle and "
            "the light, or fit your own lossy layer."
        )
    if len(found) > 1 and found[1].weight > 0.05:
        notes.append(
            "Coats of two cycles look alike here: let the fuming time decide "
            "(--cycle, or --expect with the thickness it gives)."
        )
    return notes


def fit_stepped_plate(path: Path, view: View | None = None) -> dict[str, Any]:
    """Return the maker's own interlayer from the colours of a stepped fume plate.

    Parameters
    ----------
    path : Path
        CSV with the columns thickness_nm (or seconds), L, a, b; one row per step.
    view : View, optional
        The light and angle the colours were measured in.

    Returns
    -------
    dict
        ``interlayer_nm``, ``interlayer_silver`` and their ``_sd``; ``nm_per_second`` with its sd
        when the steps are seconds; ``rms``, ``steps``, ``notes``.

    Raises
    ------
    BadInput
        If the file cannot be used.
    """
    view = view or look()
    columns = read_columns(path, ("L", "a", "b"), either=("thickness_nm", "seconds"))
    in_nm = "thickness_nm" in columns
    fit = interlayer_fit.fit_interlayer(
        columns["thickness_nm" if in_nm else "seconds"],
        np.stack([columns[key] for key in ("L", "a", "b")], axis=1),
        view.light,
        in_nm=in_nm,
        angle_deg=view.angle_deg,
    )
    result = asdict(fit)
    rate = {key: result.pop(key) for key in ("nm_per_unit", "nm_per_unit_sd")}
    if not in_nm:
        result["nm_per_second"] = rate["nm_per_unit"]
        result["nm_per_second_sd"] = rate["nm_per_unit_sd"]
    result |= {"illuminant": view.light.name, "angle_deg": view.angle_deg}
    result["notes"] = [MODEL, *_fit_notes(fit)]
    return result


def _fit_notes(fit: interlayer_fit.Fit) -> list[str]:
    notes = ["Each spread is one standard deviation and holds only as far as the model does."]
    doubt = 3 * trade.value("film", "lab_noise")
    if fit.rms > doubt:
        notes.append(
            f"The model explains this plate poorly (rms above {doubt:g}): check the white balance "
            "and the steps before using these numbers."
        )
    facts = trade.facts("film")
    for key, name in (("interlayer_nm", "thickness"), ("interlayer_silver", "share of silver")):
        value, fact = getattr(fit, key), facts[key]
        edge = 0.001 * (fact.high - fact.low)
        if value < fact.low + edge or value > fact.high - edge:
            notes.append(f"The {name} ran to the end of its range: the plate does not fix it.")
    return notes
