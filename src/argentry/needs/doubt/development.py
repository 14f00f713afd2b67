"""What is not known of a development: the dose, and the light of sun or lamp."""

from __future__ import annotations

from collections.abc import Sequence
from math import log, sqrt
from typing import TYPE_CHECKING

from argentry import trade
from argentry.needs.doubt.compose import LAMP, LAMP_BY_LOG, NOISE, OTHER_LIGHT, compose
from argentry.needs.lamp import by_log, lamp_sigma_stops
from argentry.physics.picture.development import MOST_STOPS
from argentry.physics.stops import Z80
from argentry.records.answers.doubt import Doubt, DoubtPart
from argentry.records.instruments import Lamp
from argentry.records.studio import Studio
from argentry.sky.light_doubt import METER, light_doubt

if TYPE_CHECKING:
    from argentry.sky.sky_day import Filter

DOSE, FADING = "development dose", "fading of the image"
BY_RED_READING, BY_END_POINTS = "a reading behind the filter", "end points of your own"


def red_light_doubt(elevation_deg: float, *, haze_named: bool) -> tuple[DoubtPart, ...]:
    """Return how well the sun's red light is known: better than its violet, which air takes first.

    Parameters
    ----------
    elevation_deg : float
        Of the sun. [deg]
    haze_named : bool
        True when the haze was given, or varies in skies that are drawn.
    """
    share = trade.value("development", "red_doubt_share")
    violet = light_doubt(elevation_deg, haze_named=haze_named)
    return tuple(DoubtPart(part.cause, share * part.sigma_stops) for part in violet)


def lamp_doubt(lamp: Lamp) -> tuple[DoubtPart, ...]:
    """Return how well a lamp's light is known: by watts and distance, or by a reading."""
    by_watts = lamp.reading_w_m2 is None and lamp.reading_lux is None
    cause = LAMP_BY_LOG if by_log(lamp) else LAMP if by_watts else METER
    return (DoubtPart(cause, lamp_sigma_stops(lamp)),)


def other_light_part(
    studio: Studio | None, through: Filter, lamp: Lamp | None
) -> tuple[DoubtPart, ...]:
    """Return what a learned dose may be wrong by in another light than taught it.

    Plates teach the dose in the sun under the studio's first filter, as its light is counted. What
    is wrong with all of that light is in the dose and cancels under the same filter in the sun.

    Parameters
    ----------
    studio : Studio or None
        With its own numbers in place; None, or one without a plate behind the dose, gives nothing.
    through : (float or Curve or None, float or None)
        The filter asked for, see `argentry.needs.lamp.lamp_light`.
    lamp : Lamp or None
        The lamp asked for; None for the sun.
    """
    sigma = None if studio is None else studio.habits.development_light_sigma_stops
    if studio is None or sigma is None:
        return ()
    same = lamp is None and through == studio.frames[0].through
    return () if same else (DoubtPart(OTHER_LIGHT, sigma),)


def fading_sigma_stops(waited_min: float) -> float:
    """Return how well the exposure that a waiting plate loses is known. [stops].

    Parameters
    ----------
    waited_min : float
        Between camera and frame. [min]
    """
    rate = trade.facts("development")["fading_per_hour"]
    return min((rate.high - rate.low) / (2.0 * Z80) * waited_min / 60.0, MOST_STOPS)


def fading_part(waited_min: float) -> DoubtPart:
    """Return what is not known of a latent image's fading, as stops of the dose it then needs.

    Parameters
    ----------
    waited_min : float
        Between camera and frame. [min]
    """
    each = trade.value("development", "exposure_power")
    return DoubtPart(FADING, each * fading_sigma_stops(waited_min), shared=False)


def dose_doubts(sigma_stops: float, tied: float = 0.0) -> tuple[DoubtPart, ...]:
    """Return the spread of the development dose: of the studio's middle, and of each plate.

    Parameters
    ----------
    sigma_stops : float
        The whole. [stops]
    tied : float
        Share of the dose that the light makes up for, as one note tells of both: see
        `argentry.needs.lamp.gain_times`. [1]
    """
    # from plate to plate only the end point differs; the rest is what is not known of the studio
    each = min(trade.value("decide", "end_point_log_sd") / log(2.0), sigma_stops)
    return (
        DoubtPart(DOSE, (1.0 - tied) * sqrt(sigma_stops**2 - each**2)),
        DoubtPart(NOISE, each, shared=False),
    )


def development_doubt(sigma_stops: float, light: Sequence[DoubtPart], scatter: float) -> Doubt:
    """Return all that is not known of a development.

    Parameters
    ----------
    sigma_stops : float
        Whole spread of the dose. [stops]
    light : sequence of DoubtPart
        Of sun or lamp, with what the weather adds.
    scatter : float
        How far the studio's end points strayed, see `compose`. [1]
    """
    causes = {part.cause for part in light}
    tied = trade.value("development", "halogen_log_share") if LAMP_BY_LOG in causes else 0.0
    dose = dose_doubts(sigma_stops, tied)
    here = [part for part in light if part.cause != OTHER_LIGHT]
    ways = [(BY_END_POINTS, (*(part for part in dose if not part.shared), *here))]
    if causes & {LAMP, LAMP_BY_LOG}:
        read = DoubtPart(METER, trade.value("development", "reading_power_sigma"))
        other = (part for part in light if part.cause == OTHER_LIGHT)
        ways.append((BY_RED_READING, (*dose_doubts(sigma_stops), read, *other)))
    return compose((*dose, *light), ways, scatter)
