"""The stages of a plate as work: minutes, odds, repairs, and the cheap checks between them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.physics.stops import Z80
from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors
from argentry.trade.decide import KnownCheck, known_checks, ways_back
from argentry.trade.steps import stage_of, step_minutes, steps

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from argentry.arrays import Floats

    Seen = tuple[list[Floats], list[Floats]]  # results of a check: how likely, and p afterwards

PLAIN = 1.0  # how far beyond the middle what a check shows is plainly bad [standard deviations]


@dataclass(frozen=True)
class Check:
    """A cheap check after a stage: which of a few things it may show, and how often.

    Attributes
    ----------
    key : str
        Its name.
    minutes : float
        What it costs. [min]
    sound, fault : tuple of float
        Probability of each thing shown when the stage is sound, and when it has a fault; each
        sums to 1. [1]
    title : str
        In words.
    """

    key: str
    minutes: float
    sound: tuple[float, ...]
    fault: tuple[float, ...]
    title: str = ""


@dataclass(frozen=True)
class StageWork:
    """One stage of the work.

    Attributes
    ----------
    key : str
        Its name.
    minutes : float
        How long it takes. [min]
    ok : float
        Probability that it comes out sound. [1]
    attended : float
        Share of the minutes that hands are bound. [1] Counts only where plates overlap.
    redo_minutes : float or None
        What redoing it takes; None: it cannot be redone. [min]
    redo_price : float
        What a redoing costs beside time. [good plates]
    redo_from_first : bool
        True where redoing it does every stage before it once more too, as a coat is laid on bare
        silver.
    checks : tuple of Check
        What can be looked at before going on.
    reveals : bool
        True when every fault so far shows at its end, as in the developed image.
    scatter : float
        By how much its length scatters, one standard deviation. [min]
    """

    key: str
    minutes: float
    ok: float
    attended: float = 1.0
    redo_minutes: float | None = None
    redo_price: float = 0.0
    redo_from_first: bool = False
    checks: tuple[Check, ...] = ()
    reveals: bool = False
    scatter: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what cannot be calculated with."""
        where = f"stage {self.key}"
        check_range(f"{where}, minutes", self.minutes, 0.0, 1e5, "min", open_low=True)
        check_range("{where}, share that comes out ok".format(where=where), self.ok, 0.0, 1.0, "")
        check_range(f"{where}, scatter", self.scatter, 0.0, 1e5, "min")
        check_range("{where}, attended share".format(where=where), self.attended, 0.0, 1.0, "")
        check_range(
            "{where}, price of redoing".format(where=where),
            self.redo_price,
            0.0,
            10.0,
            "good plates",
        )
        if self.redo_minutes is not None:
            check_range(f"{where}, redoing", self.redo_minutes, 1.0, 1e5, "min")
        for check in self.checks:
            check_range(f"{where}, {check.key}", check.minutes, 0.0, 1e4, "min")
            for shown in (check.sound, check.fault):
                # a table of results cut short would quietly change the share of faults
                if not (abs(sum(shown) - 1.0) < 1e-9 and min(shown) >= 0.0):
                    raise BadInput(
                        f"{where}, {check.key}", "the chances of its results do not sum to 1",
                        "give every result its chance",
                    )  # fmt: skip


def graded_check(
    key: str,
    minutes: float,
    quality: float,
    title: str = "",
    cuts: Sequence[float] | None = None,
    spread: float = 1.0,
) -> Check:
    """Return a check that shows one of a few grades, from clean to bad.

    Parameters
    ----------
    key, minutes, title
        As in `Check`.
    quality : float
        By how many standard deviations a fault moves a normal score. [1]
    cuts : sequence of float, optional
        Where one grade ends and the next begins; by default clean, faint and plainly bad.
    spread : float
        By how much the score scatters about the cuts. [standard deviations]

    Returns
    -------
    Check
        Its grades from best to worst.

    Examples
    --------
    >>> check = graded_check("breath", 3.0, 2.0, cuts=(1.0,))
    >>> [round(c, 3) for c in (*check.sound, *check.fault)]
    [0.841, 0.159, 0.159, 0.841]
    """
    check_range("quality of a check", quality, 0.0, 20.0, "")
    middle = quality / 2.0
    at = (middle, middle + PLAIN) if cuts is None else tuple(cuts)

    def shares(moved: float) -> tuple[float, ...]:
        below = [0.0, *(NormalDist(moved, spread).cdf(cut) for cut in at), 1.0]
        return tuple(b - a for a, b in pairwise(below))

    return Check(key, minutes, shares(0.0), shares(quality), title)


def trade_check(known: KnownCheck) -> Check:
    """Return a check as the trade has it, before any answer of this studio is counted.

    Where makers draw the line between its words, and how much a fault moves what it shows, is in
    doubt: an answer tells what it tells on the mean of both.
    """
    moved = (known.high - known.low) / (2.0 * Z80)  # the cuts lie half of it from either
    spread = hypot(1.0, trade.value("decide", "check_line_sd"), moved / 2.0)
    return graded_check(known.key, known.minutes, known.quality, known.title, spread=spread)


def posterior(check: Check, ok: float | Floats) -> Seen:
    """Return for each result of a check its probability and what is then believed of the stage.

    Parameters
    ----------
    check : Check
        The check.
    ok : float or NDArray
        Probability that the stage is sound, before. [1]

    Returns
    -------
    weights, after : lists of NDArray
        By result. The weighted mean of `after` is `ok` again: nothing is gained or lost by looking.
    """
    before = np.asarray(ok, dtype=np.float64)
    weights, after = [], []
    for sound, fault in zip(check.sound, check.fault, strict=True):
        weight = before * sound + (1.0 - before) * fault
        shown = np.divide(before * sound, weight, out=np.zeros_like(weight), where=weight > 0.0)
        weights.append(weight)
        after.append(shown)
    again = np.asarray(sum(w * q for w, q in zip(weights, after, strict=True)))
    assert np.allclose(again, before, atol=1e-9), "looking must not change the share of faults"
    return weights, after


def usual_work(
    area_cm2: float,
    ok: Mapping[str, float] | None = None,
    minutes: Mapping[str, float] | None = None,
    checks: Mapping[str, Check] | None = None,
) -> tuple[StageWork, ...]:
    """Return the stages of a usual plate, from the trade's steps and what is known of the studio.

    Parameters
    ----------
    area_cm2 : float
        Plate area. [cm2] Within 1 to 5000.
    ok : Mapping[str, float], optional
        Share of each stage that comes out ok in this studio; else what the trade believes. [1]
    minutes : Mapping[str, float], optional
        Minutes of each step, as the day's plan has them; else the trade's typical ones. [min]
    checks : Mapping[str, Check], optional
        What checks show in this studio, by key (`check_quality`); else what the trade believes.

    Returns
    -------
    tuple of StageWork
        Polish, coat, exposure, development, finish; every fault so far shows when it is developed.

    Raises
    ------
    BadInput
        If the area or a share is out of range.
    """
    shares = {key: prior.ok_middle for key, prior in stage_priors().items()} | dict(ok or {})
    times, hands, spread = (dict.fromkeys(STAGES, 0.0) for _ in range(3))
    by_hand, by_light = (
        trade.value("day", "step_log_sd"),
        trade.value("decide", "end_point_log_sd"),
    )
    for rule in steps():
        if rule.scope == "plate":
            length = (minutes or {}).get(rule.key, step_minutes(rule, area_cm2)[1])
            times[stage_of()[rule.key]] += length
            hands[stage_of()[rule.key]] += length if rule.attended else 0.0
            spread[stage_of()[rule.key]] += (length * (by_hand if rule.attended else by_light)) ** 2
    again = {stage: trade.value("decide", f"redo_{stage}_minutes") for stage in ("polish", "coat")}
    return tuple(
        StageWork(
            key=stage,
            minutes=times[stage],
            ok=shares[stage],
            attended=hands[stage] / times[stage],
            redo_minutes=again.get(stage),
            redo_price=trade.value("decide", "redo_price"),
            redo_from_first=stage != STAGES[0] and _begins(stage) == STAGES[0],
            checks=tuple(
                (checks or {}).get(c.key) or trade_check(c)
                for c in known_checks()
                if c.stage == stage
            ),
            reveals=stage == "development",
            scatter=spread[stage] ** 0.5,
        )
        for stage in STAGES
    )


def _begins(stage: str) -> str:
    """Return the stage in which the work of a stage done once more begins."""
    way = ways_back().get(stage)
    return stage if way is None else stage_of()[way.step]
