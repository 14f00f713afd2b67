"""Silver on plates: current and time, weighing, and how many repolishes it bears."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.errors import BadInput, check_range
from argentry.physics.baths.plating import (
    Doubtful,
    layer_g,
    layer_um,
    minutes_for,
    silver_g,
    takes_um,
    weighed_um,
)
from argentry.physics.stops import Z80
from argentry.trade.facts import facts, value
from argentry.trade.sizes import plate_size

CAUTION = (
    "Many silver baths are cyanide baths, and acid near one frees a gas that kills: argentry "
    "guides no plating bath. It computes metal and current only. The bath's data sheet, licensed "
    "practice and your local rules decide."
)
WEIGH = "Weigh the dry plate before and after: the gain tells the true thickness and efficiency."
BACKS = "Masked backs take no silver: say --sides 1. Clips and racks take some: say --rack-cm2."
ONE_OF = "both a layer and a time are given"
GIVE_ONE = "give --um or --minutes"
NO_LOSS = "it gained {gain:.3f} g"
WEIGHED_OFF = "give the heavier weighing first for silver that was polished off"
NO_GAIN = "it lost {loss:.3f} g"
TOO_MUCH = "{gain:.3f} g came on, and {hours:g} Ah puts on {most:.3f} g at the most"
WEIGH_AGAIN = "check the current, its time and both weighings"
PUT_ON = "give the lighter weighing first for silver that a current put on"


@dataclass(frozen=True)
class Layer:
    """One layer of silver.

    Attributes
    ----------
    name : str
        ``"strike"`` or ``"main"``.
    um, um_low, um_high : float
        Mean thickness and its range from the efficiency's doubt. [µm]
    density_a_dm2 : float
        Current density. [A/dm2]
    current_a : float
        For all the area. [A]
    minutes : float
        How long. [min]
    silver_g : float
        On plates, backs and racks. [g]
    ampere_hours : float
        Current times time. [A h]
    """

    name: str
    um: float
    um_low: float
    um_high: float
    density_a_dm2: float
    current_a: float
    minutes: float
    silver_g: float
    ampere_hours: float


@dataclass(frozen=True)
class PlatingPlan:
    """Current, time and silver for some plates.

    Attributes
    ----------
    plates : int
        How many.
    sides : int
        Sides that take silver, 1 or 2.
    area_cm2 : float
        All that takes silver: plates and racks. [cm2]
    rack_cm2 : float
        Clips and racks of it. [cm2]
    efficiency : float
        Share of the current that deposits silver. [1]
    layers : tuple of Layer
        The strike, if any, and the main layer.
    silver_g : float
        All of it. [g]
    each_plate_g : float
        On one plate. [g]
    advice : tuple of str
        What to mind.
    caution : str
        What argentry does not guide.
    """

    plates: int
    sides: int
    area_cm2: float
    rack_cm2: float
    efficiency: float
    layers: tuple[Layer, ...]
    silver_g: float
    each_plate_g: float
    advice: tuple[str, ...]
    caution: str


@dataclass(frozen=True)
class Weighed:
    """Silver between two weighings.

    Attributes
    ----------
    um, um_low, um_high : float
        Gained, or lost when passes are given; with its 80 % range. [µm]
    silver_g : float
        Gained or lost. [g]
    efficiency : float or None
        Of the current, when ampere hours are given. [1]
    each_um, each_low, each_high : float or None
        What one pass takes, seed and weighing together, with its 80 % range; null for a gain. [µm]
    """

    um: float
    um_low: float
    um_high: float
    silver_g: float
    efficiency: float | None = None
    each_um: float | None = None
    each_low: float | None = None
    each_high: float | None = None


def plating_plan(
    size: str,
    plates: int = 1,
    *,
    um: float | None = None,
    minutes: float | None = None,
    sides: int = 2,
    rack_cm2: float = 0.0,
    density_a_dm2: float | None = None,
    current_a: float | None = None,
    efficiency: float | None = None,
    strike_um: float = 0.0,
    strike_density_a_dm2: float | None = None,
) -> PlatingPlan:
    """Return current, time and silver for some plates.

    Parameters
    ----------
    size : str
        Of the plates.
    plates : int
        How many hang together.
    um, minutes : float, optional
        Main layer wanted [µm], or its time in place [min]. None of both: the trade's layer.
    sides : int
        1 with masked backs, else 2.
    rack_cm2 : float
        Bare clips and racks. [cm2]
    density_a_dm2, current_a : float, optional
        Current density [A/dm2], or the current itself [A]. None: the trade's density.
    efficiency : float, optional
        [1] None: the trade's.
    strike_um : float
        First thin layer. [µm] 0: none.
    strike_density_a_dm2 : float, optional
        Its current density. [A/dm2] None: as for the main layer.

    Raises
    ------
    BadInput
        If two things that exclude each other are given, or a value is out of range.
    """
    check_range("plates (--plates)", plates, 1, 200, "plates")
    check_range("sides (--sides)", sides, 1, 2, "sides")
    check_range("rack (--rack-cm2)", rack_cm2, 0.0, 1e4, "cm2")
    if um is not None and minutes is not None:
        raise BadInput("--um", ONE_OF, GIVE_ONE)
    if density_a_dm2 is not None and current_a is not None:
        raise BadInput("--amps", "a current density is given as well", "give one of the two")
    one = plate_size(size).area_cm2 * sides
    area = one * plates + rack_cm2
    share = value("plating", "efficiency") if efficiency is None else efficiency
    known = facts("plating")
    check_range("efficiency (--efficiency)", share, known["efficiency"].low, 1.0, "1")
    if current_a is not None:
        check_range("current (--amps)", current_a, 0.0, 1000.0, "A", open_low=True)
        density = current_a / area * 100.0
    else:
        density = known["current_density"].value if density_a_dm2 is None else density_a_dm2
    if um is None and minutes is None:
        um = known["layer"].value
    layers = []
    if strike_um:
        thin = density if strike_density_a_dm2 is None else strike_density_a_dm2
        layers.append(_layer("strike", area, thin, share, um=strike_um))
    layers.append(_layer("main", area, density, share, um=um, minutes=minutes))
    total = sum(layer.silver_g for layer in layers)
    return PlatingPlan(
        plates=plates, sides=sides, area_cm2=area, rack_cm2=rack_cm2, efficiency=share,
        layers=tuple(layers), silver_g=total, each_plate_g=total * one / area,
        advice=(WEIGH, BACKS), caution=CAUTION,
    )  # fmt: skip


def _layer(
    name: str,
    area: float,
    density: float,
    share: float,
    *,
    um: float | None = None,
    minutes: float | None = None,
) -> Layer:
    known = facts("plating")
    within = known["current_density"]
    check_range("current density (--density)", density, within.low, within.high, "A/dm2")
    current = density * area / 100.0
    if um is None:
        assert minutes is not None
        check_range("time (--minutes)", minutes, 0.0, 1e4, "min", open_low=True)
        um = float(layer_um(silver_g(current, minutes, share), area))
    else:
        check_range("silver (--um)", um, known["layer"].low, known["layer"].high, "µm")
        minutes = float(minutes_for(um, area, current, share))
    doubt = Z80 * known["efficiency_doubt"].value / share
    return Layer(
        name, um, um * (1.0 - doubt), um * min(1.0 + doubt, 1.0 / share), density, current,
        minutes, float(layer_g(um, area)), current * minutes / 60.0,
    )  # fmt: skip


def weighed(
    before_g: float,
    after_g: float,
    size: str,
    *,
    sides: int = 2,
    balance_sd_g: float | None = None,
    ampere_hours: float | None = None,
    passes: int | None = None,
) -> Weighed:
    """Return the silver between two weighings: put on, or polished off in some passes.

    Parameters
    ----------
    before_g, after_g : float
        The dry plate. [g]
    size : str
        Of the plate.
    sides : int
        Sides that gained or lost silver.
    balance_sd_g : float, optional
        Standard deviation of one weighing. [g]
    ampere_hours : float, optional
        Of the current that put it on, for its efficiency. [A h]
    passes : int, optional
        In how many repolishes it was taken off.

    Raises
    ------
    BadInput
        If a value is out of range, the plate gained more silver than the current can put on, or
        passes are told of a plate that gained.
    """
    check_range("sides (--sides)", sides, 1, 2, "sides")
    area = plate_size(size).area_cm2 * sides
    found = weighed_um(before_g, after_g, area, balance_sd_g)
    gain = after_g - before_g
    if passes is None:
        share = None
        if ampere_hours is not None:
            check_range("ampere hours (--ah)", ampere_hours, 0.0, 1e4, "Ah", open_low=True)
            if gain < 0.0:
                raise BadInput("weights", NO_GAIN, PUT_ON, loss=-gain)
            most = float(silver_g(ampere_hours, 60.0, 1.0))
            share = gain / most
            if share * _range(found)[0] > found.value:  # Faraday's law, and the balance's doubt
                values = {"gain": gain, "hours": ampere_hours, "most": most}
                raise BadInput("ampere hours (--ah)", TOO_MUCH, WEIGH_AGAIN, **values)
        low, high = _range(found)
        return Weighed(found.value, low, high, gain, share)
    check_range("passes (--passes)", passes, 1, 1000, "repolishes")
    if gain > 0.0:
        raise BadInput("weights", NO_LOSS, WEIGHED_OFF, gain=gain)
    lost = Doubtful(-found.value, found.sd)
    each = takes_um("repolish_takes", [(lost, passes)])
    ends = (*_range(lost), *_range(each))
    return Weighed(lost.value, ends[0], ends[1], -gain, None, each.value, ends[2], ends[3])


def _range(of: Doubtful) -> tuple[float, float]:
    return of.value - Z80 * of.sd, of.value + Z80 * of.sd
