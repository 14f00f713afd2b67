"""The maker's own lossy layer, fitted from a stepped fume plate."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from argentry import trade
from argentry.needs.coat import MODEL
from argentry.needs.coat_view import View, look
from argentry.needs.named_files.columns import read_columns
from argentry.physics.coat import interlayer_fit

SPREAD = "Each spread is one standard deviation and holds only as far as the model does."
POOR = (
    "The model explains this plate poorly (rms above {doubt:g}): check the white balance and the "
    "steps before using these numbers."
)
PARTS = {
    "interlayer_nm": "thickness",
    "interlayer_silver": "share of silver",
    "interlayer_growth_nm": "growth of the layer",
}
AT_THE_END = "The {name} ran to the end of its range: the plate does not fix it."


@dataclass(frozen=True)
class LossyLayer(interlayer_fit.Fit):
    """The maker's own lossy layer, from a stepped fume plate.

    Attributes
    ----------
    nm_per_second, nm_per_second_sd : float or None
        Growth and its standard deviation; null when the steps are thicknesses. [nm/s]
    illuminant : str
        Light the steps were measured in.
    angle_deg : float
        Angle of view from the normal. [deg]
    notes : tuple of str
        What to know about these figures, one sentence each.
    """

    nm_per_second: float | None
    nm_per_second_sd: float | None
    illuminant: str
    angle_deg: float
    notes: tuple[str, ...]


def fit_stepped_plate(path: Path, view: View | None = None) -> LossyLayer:
    """Return the maker's own interlayer from the colours of a stepped fume plate.

    Parameters
    ----------
    path : Path
        CSV with the columns thickness_nm (or seconds), L, a, b; one row per step.
    view : View, optional
        The light and angle the colours were measured in.

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
    return LossyLayer(
        **vars(fit),
        nm_per_second=None if in_nm else fit.nm_per_unit,
        nm_per_second_sd=None if in_nm else fit.nm_per_unit_sd,
        illuminant=view.light.name,
        angle_deg=view.angle_deg,
        notes=(MODEL, *_fit_notes(fit)),
    )


def _fit_notes(fit: interlayer_fit.Fit) -> list[str]:
    notes = [SPREAD]
    doubt = 3 * trade.value("film", "lab_noise")
    if fit.rms > doubt:
        notes.append(POOR.format(doubt=doubt))
    facts = trade.facts("film")
    for key, name in PARTS.items():
        value, fact = getattr(fit, key), facts[key]
        edge = 0.001 * (fact.high - fact.low)
        if value < fact.low + edge or value > fact.high - edge:
            notes.append(AT_THE_END.format(name=name))
    return notes
