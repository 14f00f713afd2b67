"""Vapours in a room: how much comes, how strong it grows, how long airing takes; water drying."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.physics.constants import GAS_CONSTANT, STANDARD_ATMOSPHERE_PA, kelvin
from argentry.physics.halving import halved
from argentry.physics.ranges import within
from argentry.physics.room.air import saturation_pressure_pa
from argentry.physics.vapour.iodine import diffusivity_m2_s, saturated_concentration_mol_m3
from argentry.trade.chemistry.substances import molar_mass_g_mol

EVAPORATION_J_KG = 2.45e6  # water at 20 °C
LEWIS = 0.92  # Le^(2/3) of water vapour in air, near 0.6^(1/3) ... ASHRAE Handbook, mass transfer
VOLUME_HEAT = 1206.0  # J/(m3 K), air at 20 °C and sea level: 1.2 kg/m3 times 1005 J/(kg K)


def mg_m3(
    ppm: ArrayLike, molar_mass: float, temperature_c: ArrayLike = 25.0,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
) -> Floats:  # fmt: skip
    """Return parts per million of a vapour as milligrams in a cubic metre.

    Parameters
    ----------
    ppm : array_like
        By volume. [1e-6]
    molar_mass : float
        [g/mol]
    temperature_c, pressure_pa : array_like
        Of the air. Limits are stated for 25 °C in America and 20 °C in Europe.

    Returns
    -------
    ndarray
        [mg/m3]

    Examples
    --------
    >>> round(float(mg_m3(0.1, 253.8)), 2)
    1.04
    """
    share = within("vapour", ppm, 0.0, 1e6, "ppm") * 1e-6
    pressure = np.asarray(pressure_pa, dtype=float)
    return np.asarray(share * pressure / (GAS_CONSTANT * kelvin(temperature_c)) * molar_mass * 1e3)


def ppm_of(
    amount_mg_m3: ArrayLike, molar_mass: float, temperature_c: ArrayLike = 25.0,
    pressure_pa: ArrayLike = STANDARD_ATMOSPHERE_PA,
) -> Floats:  # fmt: skip
    """Return milligrams in a cubic metre as parts per million; the reverse of `mg_m3`."""
    one = mg_m3(1.0, molar_mass, temperature_c, pressure_pa)
    return np.asarray(within("vapour", amount_mg_m3, 0.0, 1e9, "mg/m3") / one)


def open_tray_mg_s(
    area_cm2: ArrayLike, temperature_c: ArrayLike, boundary_mm: ArrayLike | None = None
) -> Floats:
    """Return the iodine that leaves open crystals through still air: ``D c A / d``.

    Parameters
    ----------
    area_cm2, temperature_c : array_like
        Open crystals [cm2] and their temperature [°C].
    boundary_mm : array_like, optional
        Still air above them. [mm] None: the trade's.

    Returns
    -------
    ndarray
        [mg/s]

    Examples
    --------
    >>> round(float(open_tray_mg_s(400.0, 20.0, 10.0)) * 3600.0)  # in an hour
    327
    """
    area = within("open tray", area_cm2, 0.0, 1e5, "cm2") * 1e-4
    if boundary_mm is None:
        boundary_mm = trade.value("room", "boundary")
    layer = within("still air", boundary_mm, 0.1, 1000.0, "mm") * 1e-3
    t = kelvin(temperature_c)
    moles = diffusivity_m2_s(t) * saturated_concentration_mol_m3(t) * area / layer
    return np.asarray(moles * trade.value("iodine", "molar_mass") * 1e3)


def room_mg_m3(
    source_mg_s: ArrayLike,
    seconds: ArrayLike,
    volume_m3: ArrayLike,
    changes_per_hour: ArrayLike,
    before_mg_m3: ArrayLike = 0.0,
) -> Floats:
    """Return the strength in a well-mixed room: ``G/(nV) (1 - e^-nt) + C0 e^-nt``.

    Parameters
    ----------
    source_mg_s, seconds : array_like
        What comes [mg/s], and for how long [s].
    volume_m3, changes_per_hour : array_like
        Room [m3] and its air changes [1/h].
    before_mg_m3 : array_like
        At the start. [mg/m3]

    Returns
    -------
    ndarray
        [mg/m3]
    """
    source = within("source", source_mg_s, 0.0, 1e9, "mg/s")
    time = within("time", seconds, 0.0, 1e9, "s")
    volume = within("room", volume_m3, 0.1, 1e5, "m3")
    rate = within("air changes", changes_per_hour, 1e-3, 1e3, "per hour") / 3600.0
    stays = np.exp(-rate * time)
    before = within("strength before", before_mg_m3, 0.0, 1e9, "mg/m3")
    return np.asarray(source / (rate * volume) * (1.0 - stays) + before * stays)


def minutes_to_air(strength: ArrayLike, limit: ArrayLike, changes_per_hour: ArrayLike) -> Floats:
    """Return how long a room is aired until a strength has sunk to a limit; 0 when below it.

    Parameters
    ----------
    strength, limit : array_like
        In one unit.
    changes_per_hour : array_like
        While it is aired. [1/h]

    Returns
    -------
    ndarray
        [min]

    Examples
    --------
    >>> round(float(minutes_to_air(1.0, 0.1, 6.0)))
    23
    """
    now = within("strength", strength, 0.0, 1e12, "")
    wanted = within("limit", limit, 1e-12, 1e12, "")
    rate = within("air changes", changes_per_hour, 1e-3, 1e3, "per hour")
    return np.asarray(60.0 * np.log(np.maximum(now / wanted, 1.0)) / rate)


def sulfur_dioxide_mg(thiosulfate_g: ArrayLike) -> Floats:
    """Return the gas when acid breaks down hypo crystals: one mole from one mole.

    Examples
    --------
    >>> round(float(sulfur_dioxide_mg(1.0)))
    258
    """
    grams = within("thiosulfate", thiosulfate_g, 0.0, 1e5, "g")
    share = molar_mass_g_mol("SO2") / molar_mass_g_mol("Na2S2O3.5H2O")
    return np.asarray(grams * share * 1e3)


def water_g_m3(temperature_c: ArrayLike, relative_humidity_pct: ArrayLike) -> Floats:
    """Return the water vapour in a cubic metre of air.

    Examples
    --------
    >>> round(float(water_g_m3(20.0, 100.0)), 1)
    17.2
    """
    humidity = within("relative humidity", relative_humidity_pct, 0.0, 100.0, "%")
    vapour = saturation_pressure_pa(temperature_c) * humidity / 100.0
    moles = vapour / (GAS_CONSTANT * kelvin(temperature_c))
    return np.asarray(moles * molar_mass_g_mol("H2O"))


def drying_minutes(
    temperature_c: ArrayLike,
    relative_humidity_pct: ArrayLike,
    film_um: ArrayLike | None = None,
    heat_w_m2_k: ArrayLike | None = None,
) -> Floats:
    """Return how long a film of water takes to dry in the room's air.

    The film cools until the heat that the air brings pays for what evaporates: its wet bulb.
    ``film rho L / (h (t - wet bulb))``, the wet bulb by the same balance (Lewis).

    Parameters
    ----------
    temperature_c, relative_humidity_pct : array_like
        Of the air, to 98 %; nearer to its dew point nothing dries. Shapes broadcast.
    film_um : array_like, optional
        Water. [µm] None: the trade's draining film.
    heat_w_m2_k : array_like, optional
        Heat carried from air to plate. [W/(m2 K)] None: still air.

    Returns
    -------
    ndarray
        [min]
    """
    t = within("air temperature", temperature_c, 0.0, 45.0, "°C")
    humidity = within("relative humidity", relative_humidity_pct, 1.0, 98.0, "%")
    if film_um is None:
        film_um = trade.value("room", "water_film")
    if heat_w_m2_k is None:
        heat_w_m2_k = trade.value("room", "still_air")
    film = within("water film", film_um, 0.1, 1e4, "µm") * 1e-6
    heat = within("heat to the plate", heat_w_m2_k, 0.5, 200.0, "W/(m2 K)")
    t, humidity = np.broadcast_arrays(t, humidity)
    outside = water_g_m3(t, humidity)

    def loses(wet: Floats) -> Floats:
        # g/(m2 s) leaving times J/g less W/m2 arriving, both over h
        leaves = (water_g_m3(wet, 100.0) - outside) / (VOLUME_HEAT * LEWIS)
        return np.asarray(leaves * EVAPORATION_J_KG * 1e-3 - (t - wet))

    coldest = trade.facts("air")["air_temperature"].low  # that the law of water vapour is held to
    wet = halved(loses, 0.0, np.full(t.shape, coldest), t)
    grams_m2_s = heat * (t - wet) / (EVAPORATION_J_KG * 1e-3)
    return np.asarray(film * 998.0 * 1e3 / grams_m2_s / 60.0)


def silica_gel_g(
    box_l: ArrayLike,
    temperature_c: ArrayLike,
    room_humidity_pct: ArrayLike,
    openings: ArrayLike = 0,
    wood_g_l: ArrayLike | None = None,
) -> Floats:
    """Return the dry silica gel that keeps a box dry for a week.

    Parameters
    ----------
    box_l, temperature_c, room_humidity_pct : array_like
        Air in the box [L], the room [°C], [%].
    openings : array_like
        How often the box is filled with the room's air. [1]
    wood_g_l : array_like, optional
        Water from wood, felt and leaks. [g/L] None: the trade's.

    Returns
    -------
    ndarray
        [g]
    """
    litres = within("box", box_l, 0.0, 1e4, "L")
    times = within("openings", openings, 0.0, 1e4, "times")
    if wood_g_l is None:
        wood_g_l = trade.value("room", "box_wood")
    wood = within("water from the box", wood_g_l, 0.0, 50.0, "g/L")
    air = water_g_m3(temperature_c, room_humidity_pct) * 1e-3 * (1.0 + times)
    return np.asarray(litres * (air + wood) / trade.value("room", "silica_gel"))
