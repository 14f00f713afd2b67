"""The development of one invented plate: out under red until it looks ripe, or the light ends."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, isnan

from argentry.demo.chance import happens, normal, share
from argentry.demo.daily_light import MINUTES, LitSession, between
from argentry.demo.days import Session
from argentry.demo.plate_story import Done, Key, fact, faults_of, plain, within, written
from argentry.demo.preparing import by_chance
from argentry.physics.picture.development import development_dose_j_m2
from argentry.physics.picture.dose import end_index
from argentry.physics.picture.exposure import plate_dose_j_m2

FRAMES = "ABC"
OVERCAST_OKTA = 6.0
LONGEST = 300  # the maker gives up after five hours [min]


@dataclass(frozen=True)
class Developed:
    """A development ended.

    Attributes
    ----------
    done : Done
        Cells, faults, truth.
    end_minute : int
        From 08:00. [min]
    ripe : bool
        Whether it came far enough to judge the exposure by.
    """

    done: Done
    end_minute: int
    ripe: bool


def develop(
    session: Session,
    lit: LitSession,
    *,
    minute: int,
    waited_minutes: float,
    frame: str,
    density: float,
    stops: float,
    key: Key,
) -> Developed:
    """Return a development begun at a minute of the day.

    It fails when the light ends first, when the plate is left too long, when the third frame leaks
    violet, or by chance.

    Parameters
    ----------
    session, lit : Session, LitSession
        The day and its light.
    minute : int
        Start, from 08:00. [min]
    waited_minutes : float
        Since the exposure. [min]
    frame : str
        Which of the three.
    density : float
        Optical density of a sound filter below 450 nm. [1]
    stops : float
        True exposure from the middle of right. [stops]
    key : tuple
        What chance is drawn for.
    """
    needed = development_dose_j_m2(fact("development_dose"), min(max(stops, -3.0), 3.0))
    needed *= 2.0 ** (fact("dose_noise") * normal(*key, "dose"))
    wanted = needed * 2.0 ** (fact("look_noise") * normal(*key, "look"))
    light_end = min(lit.beam_minutes[1] + 1, MINUTES, minute + LONGEST)
    ripe_at = end_index(lit.development, float(minute), wanted)
    stop = light_end if isnan(ripe_at) else min(ceil(ripe_at), light_end)
    overrun = happens(fact("overrun_share"), *key, "overrun")
    if overrun:
        stop = min(stop + 35 + int(50 * share(*key, "how long")), light_end)
    ratio = between(lit.development, minute, stop) / needed
    leaks = frame == FRAMES[2] and within(session.day, "leak")
    through = 10.0 ** -(fact("leak_density") if leaks else density)
    violet = through * between(lit.exposure["sun"], minute, stop)
    veil = violet / plate_dose_j_m2(fact("plate_speed"))
    cloudy = float(lit.okta[minute:stop].mean()) > OVERCAST_OKTA
    margins = {
        "overcast" if cloudy else "late_start": (fact("unripe_share") - ratio) / 0.5,
        "left_too_long": ratio / fact("fog_share") - 1.0,
        "leaking_frame": veil / fact("leak_limit") - 1.0,
        "chance_development": by_chance("chance_development", key),
    }
    cells = {
        "exposure_to_development_minutes": written(waited_minutes, 0),
        "development_start": lit.at(minute).isoformat(timespec="seconds"),
        "development_end": lit.at(stop).isoformat(timespec="seconds"),
        "frame": frame,
    }
    hidden = {
        "dose_needed_kj_m2": plain(needed / 1000.0),
        "dose_share": plain(ratio),
        "leaked_violet_share": plain(veil),
    }
    ripe = ratio > fact("unripe_share")
    return Developed(Done(cells, faults_of(margins), hidden), stop, ripe)
