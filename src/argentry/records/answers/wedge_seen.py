"""The answer of ``argentry judge wedge``: what a step wedge on a plate says of its speed."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.answers.seen import PictureSeen


@dataclass(frozen=True)
class WedgeStep:
    """One step.

    Attributes
    ----------
    log_exposure : float
        Decadic logarithm of its light, against the light that the plate's record has. [1]
    density : float
        How much brighter than the veil it is: decadic logarithm of the ratio. [1]
    doubt : float
        Standard deviation of that. [1]
    px : (float, float)
        Its middle in the file turned upright. [px]
    """

    log_exposure: float
    density: float
    doubt: float
    px: tuple[float, float]


@dataclass(frozen=True)
class WedgeStrip:
    """One step as a strip of a test plate.

    Attributes
    ----------
    stops : float
        Its light, against the light that the plate's record has. [stops]
    verdict : str
        Of a middle tone with that light: under, right, over or solarised.
    """

    stops: float
    verdict: str


@dataclass(frozen=True)
class CurvePoint:
    """A point of the fitted curve.

    Attributes
    ----------
    log_exposure : float
        Decadic logarithm of the light. [1]
    density : float
        Above the veil. [1]
    """

    log_exposure: float
    density: float


@dataclass(frozen=True, kw_only=True)
class WedgeSeen(PictureSeen):
    """What a photograph says of a step wedge on a plate.

    Attributes
    ----------
    steps : tuple of WedgeStep
        In order of their light, the least first; empty when none could be read.
    veil_share : float or None
        What the plate reflects where no light fell, as a share of white. [1]
    veil_share_sd : float or None
        Its standard deviation. [1]
    speed_point_log_exposure : float or None
        Log exposure at which the density is 0.10. [1]
    speed_point_log_exposure_sd : float or None
        Its standard deviation. [1]
    steepest : float or None
        Largest rise of density for one of log exposure. [1]
    steepest_sd : float or None
        Its standard deviation. [1]
    latitude : float or None
        Log exposure from the speed point to nine tenths of the highest density. [1]
    latitude_sd : float or None
        Its standard deviation. [1]
    peak_log_exposure : float or None
        Log exposure of the highest density; null where the wedge does not turn. [1]
    peak_log_exposure_sd : float or None
        Its standard deviation. [1]
    turns : bool or None
        True when the brightest steps are solarised: darker than those with less light.
    right_stops : (float, float) or None
        Light between which a middle tone is right, against the light of the plate's record. [stops]
    strips : tuple of WedgeStrip
        What the steps say of the exposure, as learned from once the maker confirms it.
    curve : tuple of CurvePoint
        The fitted curve over the steps.
    """

    steps: tuple[WedgeStep, ...] = ()
    veil_share: float | None = None
    veil_share_sd: float | None = None
    speed_point_log_exposure: float | None = None
    speed_point_log_exposure_sd: float | None = None
    steepest: float | None = None
    steepest_sd: float | None = None
    latitude: float | None = None
    latitude_sd: float | None = None
    peak_log_exposure: float | None = None
    peak_log_exposure_sd: float | None = None
    turns: bool | None = None
    right_stops: tuple[float, float] | None = None
    strips: tuple[WedgeStrip, ...] = ()
    curve: tuple[CurvePoint, ...] = ()
