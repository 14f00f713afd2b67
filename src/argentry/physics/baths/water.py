"""What a reading of water means: dissolved salts, what they leave when a drop dries, hardness."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import BadInput
from argentry.physics.ranges import within
from argentry.trade.chemistry.substances import molar_mass_g_mol

AGCL_DENSITY = 5.56  # g/cm3, CRC Handbook
# mg/L of calcium carbonate in one degree: German 10 mg CaO, French 10 mg CaCO3, English a grain to
# the imperial gallon, grain to the US gallon (gpg)
HARDNESS = {
    "mg/L": 1.0,
    "ppm": 1.0,
    "dH": 10.0 * 100.086 / 56.077,
    "fH": 10.0,
    "eH": 64.79891 / 4.54609,
    "gpg": 64.79891 / 3.785411784,
    "mmol/L": 100.086,
}


def at_25c(conductivity_us_cm: ArrayLike, temperature_c: ArrayLike) -> Floats:
    """Return a conductivity as it would read at 25 °C, for a meter that does not correct it.

    Parameters
    ----------
    conductivity_us_cm, temperature_c : array_like
        [µS/cm], [°C]; shapes broadcast.

    Returns
    -------
    ndarray
        [µS/cm]

    Examples
    --------
    >>> round(float(at_25c(450.0, 20.0)))
    500
    """
    reading = within("conductivity", conductivity_us_cm, 0.0, 2e5, "µS/cm")
    temperature = within("water temperature", temperature_c, 0.0, 60.0, "°C")
    slope = trade.value("water", "conductivity_slope")
    return np.asarray(reading / (1.0 + slope * (temperature - 25.0)))


def solids_mg_l(conductivity_us_cm: ArrayLike) -> Floats:
    """Return the dissolved solids that a conductivity at 25 °C stands for.

    Pure water conducts a little by itself; that much is taken off first.

    Examples
    --------
    >>> round(float(solids_mg_l(500.0)))
    325
    """
    reading = within("conductivity", conductivity_us_cm, 0.0, 2e5, "µS/cm")
    salts = np.maximum(reading - trade.value("water", "pure_water"), 0.0)
    return np.asarray(salts * trade.value("water", "tds_factor"))


def hardness_mg_l(amount: float, unit: str) -> float:
    """Return a hardness in milligrams of calcium carbonate in a litre.

    Parameters
    ----------
    amount : float
        [unit]
    unit : str
        ``"mg/L"``, ``"dH"``, ``"fH"``, ``"eH"``, ``"gpg"`` or ``"mmol/L"``.

    Raises
    ------
    BadInput
        If the unit is not known.

    Examples
    --------
    >>> round(hardness_mg_l(10.0, "dH"), 1)
    178.5
    """
    if unit not in HARDNESS:
        raise BadInput(
            "hardness", "{unit!r} is not a unit of it", "use one of {known}",
            unit=unit, known=", ".join(HARDNESS),
        )  # fmt: skip
    return float(within("hardness", amount, 0.0, 1e4, unit)) * HARDNESS[unit]


def residue_ug_cm2(solids: ArrayLike, film_um: ArrayLike | None = None) -> Floats:
    """Return what a film of water leaves when it dries.

    Parameters
    ----------
    solids : array_like
        Dissolved solids. [mg/L]
    film_um : array_like, optional
        Water on the plate. [µm] None: the trade's draining film.

    Returns
    -------
    ndarray
        [µg/cm2]

    Examples
    --------
    >>> float(residue_ug_cm2(300.0, 50.0))
    1.5
    """
    salts = within("dissolved solids", solids, 0.0, 1e5, "mg/L")
    film = within(
        "film", trade.value("water", "film") if film_um is None else film_um, 0, 1e4, "µm"
    )
    return np.asarray(salts * film * 1e-4)


def drop_ring_nm(solids: ArrayLike, drop_ul: ArrayLike | None = None) -> Floats:
    """Return how thick the ring is that one drying drop leaves.

    Its salts gather in a part of the drop's area; the drop's volume cancels while it lies flat.

    Parameters
    ----------
    solids : array_like
        Dissolved solids. [mg/L]
    drop_ul : array_like, optional
        One drop. [µL] None: the trade's.

    Returns
    -------
    ndarray
        [nm]

    Examples
    --------
    >>> round(float(drop_ring_nm(2.0)))
    15
    """
    salts = within("dissolved solids", solids, 0.0, 1e5, "mg/L")
    facts = trade.facts("water")
    drop = within("drop", facts["drop"].value if drop_ul is None else drop_ul, 0.1, 1e4, "µL")
    area_cm2 = drop * 1e-3 / (facts["drop_height"].value * 0.1)
    ug = salts * drop * 1e-3
    volume_cm3 = ug * 1e-6 / facts["salt_density"].value
    return np.asarray(volume_cm3 / (area_cm2 * facts["ring"].value) * 1e7)


def silver_chloride_nm(chloride: ArrayLike, film_um: ArrayLike | None = None) -> Floats:
    """Return the silver chloride that a draining film's chloride could make, all of it taken up.

    Parameters
    ----------
    chloride : array_like
        [mg/L]
    film_um : array_like, optional
        As in `residue_ug_cm2`.

    Returns
    -------
    ndarray
        [nm]

    Examples
    --------
    >>> round(float(silver_chloride_nm(50.0, 50.0)), 1)
    1.8
    """
    ug_cm2 = residue_ug_cm2(chloride, film_um) * molar_mass_g_mol("AgCl") / molar_mass_g_mol("Cl")
    return np.asarray(ug_cm2 * 1e-6 / AGCL_DENSITY * 1e7)
