"""How far a plate under the red filter has come, by pictures through the filter, in one line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log, sqrt
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.judge.red_looks import red_looks
from argentry.judge.ripening import ripeness
from argentry.keeping.seeing.picture import check_edge, check_place, opened, sha256_of_named, shrunk
from argentry.needs.development_time import development_dose
from argentry.needs.numbers import dose_sigma_stops
from argentry.physics.stops import Z80
from argentry.records.answers.ripening_seen import RedLook, RipeningSeen
from argentry.records.answers.seen import NotTold

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.arrays import Floats
    from argentry.judge.grey_scale import Line
    from argentry.judge.red_looks import RedLooks
    from argentry.judge.ripening import Ripeness
    from argentry.keeping.seeing.picture import Opened
    from argentry.needs.red_light import RedLight
    from argentry.records.studio import Habits

MOST_LOOKS, MOST_MINUTES, MOST_KJ = 40, 1440.0, 1e5
LOOKED_AT_PX = 1000  # longest side as it is looked at
LEAST_SHARE = 0.02  # of a usual ripe dose: a first look before any light counts as so much
SOONEST_MIN = 5.0  # to the next look
LEAST_SAID = 0.9  # of the variance known before: from there on pictures say next to nothing alone
FLASHED = "the flash fired: switch it off, its light may veil the plate"
LEFT_OUT = "{file} is left out: {why}."
CANNOT, CANNOT_THIS = "cannot tell: {why}", "cannot tell: {file}: {why}"
NO_BARE = "no bare edge is named: how bright the picture is says nothing without it"
RIPE, VEILING = "ripe: take it out", "veiling: take it out at once"
TO, OR_LONGER = " to {late:.0f}", " or longer"
MINUTES = "not yet: about {middle:.0f} min more ({low:.0f}{high})"
EARLY = (
    "too early to tell: look again in {again:.0f} min ({by} about {middle:.0f} min more, "
    "{low:.0f}{high})"
)
ENDS = "not yet, and the light ends before it is ripe"
SHARE = "not yet: {share:.0f} % more light than so far ({low:.0f} to {high:.0f} %)"
EARLY_SHARE = (
    "too early to tell: {by} {share:.0f} % more light than so far ({low:.0f} to {high:.0f} %)"
)
DOSE, BOTH = "by the dose", "by dose and pictures"
NOT_BEGUN = "not yet: about {to_go:.0f} kJ/m² to go"
RED_ONLY = (
    "Take the picture through the red filter with the screen dimmed and red and without flash: any "
    "other light veils the plate."
)
BY_DOSE = "The pictures add little so far: this is mostly the studio's own dose."
ALL = ("ripe_odds", "ripe_dose_kj_m2", "to_go_kj_m2", "to_go_minutes")
DOSES_GIVEN = "doses were given, and not the light to come"
NO_LIGHT = "the light ends first"
NOT_EACH, GIVE_EACH = (
    "{given} values for {count} pictures",
    "give one for each picture, in their order",
)
NOT_LATER, IN_TIME = "the light does not grow from picture to picture", "give them in order of time"
NO_DOSE, GIVE_DOSE = "the light so far is not known", "give --begun and --at, or --dose"
TOO_MANY, FEWER = "{count} pictures are too many", "give at most {most}"


@dataclass(frozen=True)
class AskedRipening:
    """How the pictures were taken.

    Attributes
    ----------
    bare : str or None
        The plate's edge with bare silver: left, right, top or bottom.
    middle : (x, y, width, height) or None
        A part of the last picture that is to be a middle tone; None: the middle of its tones. [px]
    minutes : tuple of float or None
        Since development began, of each. [min]
    doses_kj_m2 : tuple of float or None
        Light behind the filter until each, in their place. [kJ/m2]
    """

    bare: str | None = None
    middle: Line | None = None
    minutes: tuple[float, ...] | None = None
    doses_kj_m2: tuple[float, ...] | None = None


def judge_ripening_files(
    files: Sequence[Path],
    asked: AskedRipening,
    habits: Habits | None = None,
    light: RedLight | None = None,
) -> RipeningSeen:
    """Return what pictures through the filter say of a plate.

    Parameters
    ----------
    files : sequence of Path
        In order of time.
    asked : AskedRipening
        How they were taken.
    habits : Habits or None
        The studio's numbers.
    light : RedLight or None
        Behind the filter since development began; None: doses are given.

    Raises
    ------
    BadInput
        If one is no picture that can be used, or an option cannot be.
    """
    named = [(one, one.name, sha256_of_named(one)) for one in files]
    return judge_ripening(named, asked, habits, light)


def judge_ripening(
    files: Sequence[tuple[Path, str, str]],
    asked: AskedRipening,
    habits: Habits | None = None,
    light: RedLight | None = None,
    waited_min: float = 0.0,
) -> RipeningSeen:
    """Return the same of files with their own names and hashes.

    Parameters
    ----------
    files : sequence of (Path, str, str)
        File, own name and hash of each.
    asked, habits, light
        As `judge_ripening_files`.
    waited_min : float
        How long the plate waited between camera and frame. [min]
    """
    doses = _doses(asked, light, len(files))
    pictures = [opened(*one, LOOKED_AT_PX) for one in files]
    last = pictures[-1]
    made = RipeningSeen(**last.facts)
    if asked.bare is None:
        return _cannot(made, CANNOT.format(why=NO_BARE), NO_BARE)
    used, middle = list(range(len(pictures))), shrunk(asked.middle, last.scale)
    looks = _looks(pictures, used, asked.bare, middle)
    while isinstance(looks, tuple):  # an earlier picture that cannot be used is left out
        place, why = looks
        file = pictures[place].facts["file"]
        if place == len(pictures) - 1:
            return _cannot(made, CANNOT_THIS.format(file=file, why=why), why)
        made = replace(made, notes=(*made.notes, LEFT_OUT.format(file=file, why=why)))
        used.remove(place)
        looks = _looks(pictures, used, asked.bare, middle)
    made = replace(made, plate=last.plate(looks.corners), looks=tuple(
        RedLook(
            pictures[k].facts["file"],
            None if light is None or asked.minutes is None else asked.minutes[k],
            round(doses[k] / 1000.0, 2), *_levels(looks, row),
        )
        for row, k in enumerate(used)
    ))  # fmt: skip
    usual = development_dose(habits, waited_min=waited_min).middle
    before = log(usual), dose_sigma_stops(habits) * log(2.0)
    return _told(made, looks, doses[used], before, light)


def _looks(
    pictures: Sequence[Opened], used: Sequence[int], bare: str, middle: Line | None
) -> RedLooks | tuple[int, str]:
    """Return the tones in the pictures used, or which of all cannot be and why."""
    flashed = next((k for k in used if pictures[k].flash), None)
    if flashed is not None:
        return flashed, FLASHED
    found = red_looks([pictures[k].pixels for k in used], bare, middle)
    return (used[found[0]], found[1]) if isinstance(found, tuple) else found


def _told(
    made: RipeningSeen, looks: RedLooks, doses: Floats, before: tuple[float, float],
    light: RedLight | None,
) -> RipeningSeen:  # fmt: skip
    counted = np.maximum(doses, LEAST_SHARE * exp(before[0]))
    seen = ripeness(counted, looks.levels, looks.middle, before)
    so_far = float(doses[-1])
    odds = NormalDist().cdf((log(max(so_far, 1e-9)) - seen.end) / seen.sd)
    low, middle, high = (exp(seen.end + sign * Z80 * seen.sd) for sign in (-1.0, 0.0, 1.0))
    to_go = [max(one - so_far, 0.0) for one in (low, middle, high)]
    ripe = odds >= trade.value("seeing", "ripe_odds_from")
    veiling = ripe and seen.risen[0] >= trade.value("seeing", "veil_risen_from")
    state = "veiling" if veiling else "ripe" if ripe else "not yet"
    alone, alone_sd = _alone(seen, before)
    near = so_far >= trade.value("seeing", "ripening_told_from") * middle
    known = near and seen.sd <= trade.value("seeing", "ripening_known_from")
    by, notes = (BOTH, ()) if alone is not None else (DOSE, (BY_DOSE,))
    made = replace(
        made, state=state, ripe_odds=round(odds, 3), notes=(*made.notes, *notes),
        middle_risen=round(float(seen.risen[looks.middle]), 3),
        shadows_risen=round(float(seen.risen[0]), 3), ripe_dose_kj_m2=round(middle / 1000.0, 1),
        ripe_dose_80=(round(low / 1000.0, 1), round(high / 1000.0, 1)),
        ripe_log_sd=round(seen.sd, 4), light_taken_share=float(f"{_by_screen(middle):.2g}"),
        to_go_kj_m2=0.0 if ripe else round(to_go[1] / 1000.0, 1),
        alone_kj_m2=alone, alone_log_sd=alone_sd, cautions=() if ripe else (RED_ONLY,),
    )  # fmt: skip
    if ripe:
        return replace(made, line=VEILING if veiling else RIPE)
    if light is None and so_far > 0.0:
        shares = [100.0 * one / max(so_far, 1e-9) for one in to_go]
        said = SHARE if known else EARLY_SHARE
        line = said.format(by=by, low=shares[0], share=shares[1], high=shares[2])
        return replace(made, line=line, not_told=(NotTold("to_go_minutes", DOSES_GIVEN),))
    if light is None:  # no light so far: nothing that is to come could be a share of it
        return replace(made, line=NOT_BEGUN.format(to_go=to_go[1] / 1000.0))
    ahead = [light.minutes_at(so_far + one) for one in to_go]
    now = made.looks[-1].minutes or 0.0
    if ahead[0] is None or ahead[1] is None:
        return replace(made, line=ENDS, not_told=(NotTold("to_go_minutes", NO_LIGHT),))
    early, mid = ahead[0] - now, ahead[1] - now
    late = None if ahead[2] is None else round(ahead[2] - now, 1)
    line = (MINUTES if known else EARLY).format(
        low=early, middle=mid, high=OR_LONGER if late is None else TO.format(late=late),
        again=max(early, SOONEST_MIN), by=by,
    )  # fmt: skip
    return replace(made, line=line, to_go_minutes=round(mid, 1), to_go_80=(round(early, 1), late))


def _alone(seen: Ripeness, before: tuple[float, float]) -> tuple[float | None, float | None]:
    """Return what the pictures say by themselves: what was known before is taken out again."""
    share = (seen.sd / before[1]) ** 2
    if share >= LEAST_SAID:
        return None, None
    end = before[0] + (seen.end - before[0]) / (1.0 - share)
    return round(exp(end) / 1000.0, 1), round(seen.sd / sqrt(1.0 - share), 4)


def _by_screen(ripe_j_m2: float) -> float:
    """Return the light of a lit screen during a look as a share of a dose, as if all were red."""
    return trade.value("seeing", "screen_w_m2") * trade.value("seeing", "look_seconds") / ripe_j_m2


def _doses(asked: AskedRipening, light: RedLight | None, count: int) -> Floats:
    """Return the light behind the filter until each picture, checked. [J/m2]."""
    if not 1 <= count <= MOST_LOOKS:
        raise BadInput("FILE", TOO_MANY, FEWER, count=count, most=MOST_LOOKS)
    check_edge("--bare", asked.bare)
    check_place("--middle", asked.middle)
    where, given = ("--dose", asked.doses_kj_m2) if light is None else ("--at", asked.minutes)
    if given is None:
        raise BadInput(where, NO_DOSE, GIVE_DOSE)
    if len(given) != count:
        raise BadInput(where, NOT_EACH, GIVE_EACH, given=len(given), count=count)
    for one in given:
        check_range(
            where, one, 0.0, *((MOST_KJ, "kJ/m2") if light is None else (MOST_MINUTES, "min"))
        )
    doses = np.array([1000.0 * one if light is None else light.dose_at(one) for one in given])
    if (np.diff(doses) < 0.0).any() or (np.diff(given) <= 0.0).any():
        raise BadInput(where, NOT_LATER, IN_TIME)
    return doses


def _levels(looks: RedLooks, place: int) -> tuple[float, float, float]:
    own = looks.levels[place]
    return round(float(own[0]), 4), round(float(own[looks.middle]), 4), round(float(own[-1]), 4)


def _cannot(made: RipeningSeen, line: str, why: str) -> RipeningSeen:
    return replace(made, line=line, not_told=tuple(NotTold(what, why) for what in ALL))
