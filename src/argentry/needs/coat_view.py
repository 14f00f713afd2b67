"""How a plate is looked at: the light, the angle, and the lossy layer under its film."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.needs.named_files.spectra import read_spectrum
from argentry.physics.coat import colour, interlayer
from argentry.physics.coat.colour import Light
from argentry.physics.coat.interlayer import Interlayer
from argentry.physics.ranges import checked
from argentry.records.studio import Studio
from argentry.trade.spectra import generic


@dataclass(frozen=True)
class View:
    """How the plate is looked at, and what lies under its film.

    Attributes
    ----------
    light : Light
        The light.
    angle_deg : float
        From the plate's normal. [deg]
    layers : tuple of (float, Interlayer)
        The lossy layers that may lie under the film with their weights, the middle one first; one
        alone when the maker's own is known.
    """

    light: Light
    angle_deg: float
    layers: tuple[tuple[float, Interlayer], ...]

    @property
    def layer(self) -> Interlayer:
        """The lossy layer, or the middle one of those that it may be."""
        return self.layers[0][1]

    @property
    def seeded(self) -> bool:
        """True when some of the lossy layer is the trade's starting value."""
        return len(self.layers) > 1


def read_light(name: str) -> Light:
    """Return a light by its name, or from a CSV file of the maker's own lamp.

    Parameters
    ----------
    name : str
        ``D65``, ``A``, ``LED`` in any case, a generic lamp, or a file of two columns.

    Raises
    ------
    BadInput
        If it is neither, or the file cannot be used.
    """
    if name.upper() in colour.LIGHTS:
        return colour.light(name.upper())
    if name not in generic() and not Path(name).is_file():
        raise BadInput(
            "--illuminant",
            "{name!r} is neither a light known here nor a file",
            "give D65, A, LED, a generic lamp, or a file of two columns: nm and power",
            name=name,
        )
    shown = read_spectrum("--illuminant", name, "lamp")
    assert shown is not None
    return colour.lamp(Path(name).name, *shown.curve)


def look(
    studio: Studio | None = None,
    *,
    illuminant: str = "D65",
    window: str | None = None,
    screen: str | None = None,
    angle_deg: float = 0.0,
    interlayer_nm: float | None = None,
    interlayer_silver: float | None = None,
    interlayer_growth_nm: float | None = None,
) -> View:
    """Return the view the options name, filled up from the studio, then from the trade.

    Parameters
    ----------
    studio : Studio or None
        None without a studio.
    illuminant : str
        As in `read_light`.
    window, screen : str or None
        A file of two columns, or a generic spectrum: of the pane and of the filter that the light
        passes before it falls on the plate.
    angle_deg : float
        0 to 80. [deg]
    interlayer_nm, interlayer_silver, interlayer_growth_nm : float or None
        Options; None takes the studio's, else what the trade knows.

    Raises
    ------
    BadInput
        If an option is out of range or the light cannot be read.
    """
    check_range("--angle", angle_deg, 0, trade.value("film", "angle_high_deg"), "deg")
    options = {
        "interlayer_nm": interlayer_nm,
        "interlayer_silver": interlayer_silver,
        "interlayer_growth_nm": interlayer_growth_nm,
    }
    for key, value in options.items():
        if value is not None:
            checked(f"--{key.replace('_', '-')}", value, "film", key)
        elif studio is not None:
            options[key] = getattr(studio.habits, key)
    light = read_light(illuminant)
    for where, name, kind in (("--window", window, "window"), ("--filter", screen, "filter")):
        if glass := read_spectrum(where, name, kind):
            light = colour.behind(light, glass.name, glass.curve)
    return View(light, angle_deg, interlayer.likely(*options.values()))
