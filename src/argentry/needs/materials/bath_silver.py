"""Silver that plates left in a fixing bath, and how well it is known.

Each coat is what a picture showed of it, drawn toward the usual coat of that time as far as the
picture may be off; a coat that nobody looked at is the usual one, as uneven as coats are. What is
wrong with all alike (the usual coat, the lossy layer under the film, the film's density) does not
grow less with more plates.

References
----------
.. [1] A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section 5.4: normal means that
   share a mean and a spread.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot, sqrt
from statistics import fmean
from typing import NamedTuple

from argentry.physics.stops import Z80
from argentry.records.day import Range
from argentry.trade.facts import facts, value
from argentry.trade.recipes import silver_mg


class Look(NamedTuple):
    """A coat that a picture showed and that went into a bath.

    Attributes
    ----------
    area_cm2 : float
        That went through, every time that it did. [cm2]
    nm : float
        The coat. [nm]
    half_nm : float or None
        Half of the 80 % range that the picture told; None: it told none. [nm]
    passes : int
        How often the plate went through: its coat goes in once.
    """

    area_cm2: float
    nm: float
    half_nm: float | None = None
    passes: int = 1

    @property
    def sd_nm(self) -> float:
        """How far the picture may be off, one standard deviation. [nm]."""
        return value("seeing", "picture_sd") if self.half_nm is None else self.half_nm / Z80


@dataclass(frozen=True)
class UsualCoat:
    """The coats of the plates that go into one bath.

    Attributes
    ----------
    nm : float
        Their mean. [nm]
    sd_nm : float
        How well the mean is known, one standard deviation. [nm]
    spread_nm : float
        From one coat to the next, one standard deviation. [nm]
    by_pictures : float
        How far the mean rests on pictures, 0 to 1. [1]
    alike_nm : float
        What is wrong with all pictures alike, one standard deviation. [nm]
    noise_share : float
        Share of a picture's variance that is its own. [1]
    """

    nm: float
    sd_nm: float
    spread_nm: float
    by_pictures: float
    alike_nm: float
    noise_share: float


@dataclass(frozen=True)
class Dissolved:
    """Silver with its doubt.

    Attributes
    ----------
    mg : float
        Silver. [mg]
    own_mg : float
        One standard deviation of what differs from plate to plate. [mg]
    alike_mg : tuple of float
        The same of what is wrong with all plates and baths alike: the usual coat, the pictures, the
        density of the film, what rinses carried out. [mg]
    """

    mg: float = 0.0
    own_mg: float = 0.0
    alike_mg: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)

    def range_80(self, more_share: float = 0.0) -> Range:
        """Return its 80 % range. [mg].

        Parameters
        ----------
        more_share : float
            Standard deviation of what else it is measured by, as a share of it. [1]
        """
        half = Z80 * hypot(self.own_mg, *self.alike_mg, more_share * self.mg)
        return Range(max(self.mg - half, 0.0), self.mg, self.mg + half)

    def times(self, share: float) -> Dissolved:
        """Return a share of it."""
        alike = tuple(share * one for one in self.alike_mg)
        return Dissolved(share * self.mg, share * self.own_mg, alike)

    def left_by_rinses(self, area_cm2: float, volume_ml: float) -> Dissolved:
        """Return what is left of it: each plate carries some bath into the rinse.

        Parameters
        ----------
        area_cm2 : float
            That went through. [cm2]
        volume_ml : float
            Of the bath. [mL]
        """
        # at half of the bath's last strength, for it rose from nothing
        known, of_bath = facts("baths")["carried_out"], 0.5 * area_cm2 / volume_ml
        left = self.times(max(1.0 - known.value * of_bath, 0.0))
        carried = (known.high - known.low) / (2.0 * Z80) * of_bath * self.mg
        return Dissolved(left.mg, left.own_mg, (*left.alike_mg[:3], carried))


def together(parts: Iterable[Dissolved]) -> Dissolved:
    """Return silver of several baths: what is wrong with all alike adds up."""
    found = (Dissolved(), *parts)
    alike = zip(*(one.alike_mg for one in found), strict=True)
    return Dissolved(
        sum(one.mg for one in found),
        hypot(*(one.own_mg for one in found)),
        tuple(sum(column) for column in alike),
    )


def usual_coat(
    habit_nm: float, baths: Sequence[Sequence[Look]], *, layer_known: bool = False
) -> UsualCoat:
    """Return what the coats in a fixing bath are like, before a plate's own picture is looked at.

    The mean wanders from one bath to the next, for the room and the iodine box do; it is followed
    through the baths by a filter of one number.

    Parameters
    ----------
    habit_nm : float
        The coat that the studio aims at. [nm]
    baths : sequence of sequence of Look
        Coats that pictures showed, by bath: a few baths in the order of their mixing, this one
        last.
    layer_known : bool
        True when the studio's own lossy layer is known: else all pictures may be off alike.

    References
    ----------
    J. Durbin & S. J. Koopman, Time Series Analysis by State Space Methods, 2nd ed. 2012, section
    2.2: the local level model.
    """
    looks = [look for bath in baths for look in bath]
    own = 1.0 if layer_known else 1.0 - value("seeing", "alike_share")
    picture = fmean(look.sd_nm**2 for look in looks) if looks else 0.0
    noise, worth = own * picture, value("decide", "error_plates")
    squares = [_squares([look.nm for look in bath]) for bath in baths if bath]
    each = (value("fuming", "box_spread") * habit_nm) ** 2 + noise
    scatter = (worth * each + sum(squares)) / (worth + len(looks) - len(squares))
    drift = (value("baths", "coat_drift_share") * habit_nm) ** 2
    nm, unsure, by_habit = habit_nm, (value("seeing", "clock_sd_share") * habit_nm) ** 2, 1.0
    for bath in baths:
        unsure += drift
        for look in bath:
            gain = unsure / (unsure + scatter)
            nm += gain * (look.nm - nm)
            unsure, by_habit = (1.0 - gain) * unsure, (1.0 - gain) * by_habit
    return UsualCoat(
        nm=nm,
        sd_nm=sqrt(unsure),
        spread_nm=sqrt(max(scatter - noise, 0.0)),
        by_pictures=1.0 - by_habit,
        alike_nm=sqrt(picture - noise),
        noise_share=own,
    )


def _squares(coats: Sequence[float]) -> float:
    mean = fmean(coats)
    return sum((nm - mean) ** 2 for nm in coats)


def dissolved(
    usual: UsualCoat, area_cm2: float, plates: int, looks: Sequence[Look] = ()
) -> Dissolved:
    """Return the silver that plates left in a bath.

    Parameters
    ----------
    usual : UsualCoat
        Coats in that bath.
    area_cm2 : float
        That went through the bath. [cm2]
    plates : int
        How many plates that were.
    looks : sequence of Look
        Those of them whose coat a picture showed.
    """
    shown = sum(look.area_cm2 for look in looks)
    rest = max(area_cm2 - shown, 0.0)
    others = max(plates - sum(look.passes for look in looks), 1)
    known = area_cm2 / max(shown, area_cm2, 1e-12)  # more was taken back by hand than was unseen
    nm_cm2, own = rest * usual.nm, rest**2 * usual.spread_nm**2 / others
    by_mean, by_pictures = rest, rest * usual.by_pictures
    for look in looks:
        area = known * look.area_cm2 / look.passes
        noise = usual.noise_share * look.sd_nm**2
        weight = usual.spread_nm**2 / (usual.spread_nm**2 + noise)
        nm_cm2 += area * (usual.nm + weight * (look.nm - usual.nm))
        own += area**2 * weight * noise
        by_mean += area * (1.0 - weight)
        by_pictures += area * (weight + (1.0 - weight) * usual.by_pictures)
    film = facts("recipes")["silver_per_coat"]
    density = (film.high - film.low) / (2.0 * Z80 * film.value)
    each = silver_mg(1.0, 1.0)
    alike = (by_mean * usual.sd_nm, by_pictures * usual.alike_nm, density * nm_cm2, 0.0)
    return Dissolved(each * nm_cm2, each * sqrt(own), tuple(each * one for one in alike))
