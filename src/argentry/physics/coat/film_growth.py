"""What the film's own growth adds to the seconds over iodine: plate, damp and worked silver.

The vapour's way across the gap sets the pace (`fuming`); the film's own growth has a small part in
it. One study of silver in iodine vapour (30-73 °C; only its abstract could be read) finds that
growth quicker when warm (6.3 +- 1.5 kcal/mol), slower in moist air and slower on worked silver, the
last two without a figure. So each is a weak prior about the usual: a plate as warm as its crystals,
half-damp air, buffed silver. It moves the seconds little and widens their range.

References
----------
"Kinetic study of silver iodide film growth on silver at low temperatures (30-73 C)",
Metallurgical Transactions, doi 10.1007/BF02644494, abstract.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.constants import GAS_CONSTANT, kelvin
from argentry.physics.ranges import within


def slowing(
    box_temperature_c: ArrayLike,
    plate_temperature_c: ArrayLike | None = None,
    humidity_pct: ArrayLike | None = None,
) -> tuple[Floats, Floats]:
    """Return by how much the film's own growth slows fuming, as a logarithm, and how well known.

    ::

        ln(seconds over usual seconds) = part E / (R) (1 / T_plate - 1 / T_box) + damp (RH - usual)

    Parameters
    ----------
    box_temperature_c : array_like
        The crystals. [°C]
    plate_temperature_c : array_like, optional
        The plate; as warm as the crystals when not given (or NaN). [°C]
    humidity_pct : array_like, optional
        Relative humidity of the room; the usual when not given (or NaN). [%]

    Returns
    -------
    log, sd : ndarray
        Logarithm of the seconds over those of a usual plate, and its standard deviation. [1]
    """
    facts = trade.facts("fuming")
    box = np.asarray(box_temperature_c, dtype=np.float64)
    plate = _or_usual("plate temperature", plate_temperature_c, box, -30.0, 100.0, "°C")
    damp = _or_usual("humidity", humidity_pct, facts["usual_humidity"].value, 0.0, 100.0, "%")
    arrhenius = facts["film_activation"].value * 1000.0 / GAS_CONSTANT
    colder = arrhenius * (1.0 / kelvin(plate) - 1.0 / kelvin(box))
    damper = (damp - facts["usual_humidity"].value) / 100.0
    log = facts["film_part"].value * colder + facts["damp_slowing"].value * damper
    sd = np.sqrt(
        (facts["film_part_spread"].value * colder) ** 2
        + (facts["damp_slowing_spread"].value * damper) ** 2
        + facts["worked_spread"].value ** 2
    )
    return np.asarray(log), np.asarray(sd)


def _or_usual(
    name: str, given: ArrayLike | None, usual: ArrayLike, low: float, high: float, unit: str
) -> Floats:
    if given is None:
        return np.asarray(usual, dtype=np.float64)
    array = np.asarray(given, dtype=np.float64)
    return within(name, np.where(np.isnan(array), usual, array), low, high, unit)
