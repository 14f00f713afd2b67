"""The answer of ``argentry judge ripening``: how far a plate under the red filter has come."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.records.answers.seen import PictureSeen


@dataclass(frozen=True)
class RedLook:
    """One picture through the filter.

    Attributes
    ----------
    file : str
        Its own name, cleaned.
    minutes : float or None
        Since development began; null where doses were given. [min]
    dose_kj_m2 : float
        Light behind the filter so far. [kJ/m2]
    shadows, middle, lights : float
        Level of each as a share of the bare edge's. [1]
    """

    file: str
    minutes: float | None
    dose_kj_m2: float
    shadows: float
    middle: float
    lights: float


@dataclass(frozen=True, kw_only=True)
class RipeningSeen(PictureSeen):
    """How far a plate has come; what is said of the picture itself is of the last one.

    Attributes
    ----------
    looks : tuple of RedLook
        In order of their light.
    state : str
        ripe, not yet or veiling; unknown when nothing could be told.
    ripe_odds : float or None
        That its middle tone is ripe by now. [1]
    middle_risen, shadows_risen : float or None
        Share of the plate's white to which they have risen; a middle tone is ripe at a half. [1]
    ripe_dose_kj_m2 : float or None
        Dose at which it is ripe. [kJ/m2]
    ripe_dose_80 : (float, float) or None
        Its 80 % range. [kJ/m2]
    ripe_log_sd : float or None
        Standard deviation of the natural logarithm of that dose. [1]
    alone_kj_m2 : float or None
        The dose by the pictures alone, without what the studio knew before; null where they say
        next to nothing. [kJ/m2]
    alone_log_sd : float or None
        Its standard deviation in the same way. [1]
    light_taken_share : float or None
        Light of a lit screen through the filter during the last look, as a share of that dose. [1]
    to_go_kj_m2 : float or None
        Light still needed; 0 when it is ripe. [kJ/m2]
    to_go_minutes : float or None
        How long that takes in the light to come; null where doses were given, or the light ends
        first. [min]
    to_go_80 : (float, float or None) or None
        Its 80 % range; the upper end null when the light ends first. [min]
    """

    looks: tuple[RedLook, ...] = ()
    state: str = "unknown"
    ripe_odds: float | None = None
    middle_risen: float | None = None
    shadows_risen: float | None = None
    ripe_dose_kj_m2: float | None = None
    ripe_dose_80: tuple[float, float] | None = None
    ripe_log_sd: float | None = None
    alone_kj_m2: float | None = None
    alone_log_sd: float | None = None
    light_taken_share: float | None = None
    to_go_kj_m2: float | None = None
    to_go_minutes: float | None = None
    to_go_80: tuple[float, float | None] | None = None
