"""What the plates teach: causes of failures, and everything learned beside what was believed."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from argentry.desk.numbers.fitted import causes_of_studio, fitted, past_of_studio
from argentry.errors import BadInput
from argentry.learn.causes.plate_causes import why_plate
from argentry.learn.stages.effects import effects
from argentry.learn.stages.odds import odds
from argentry.learn.stages.table import succeeded

if TYPE_CHECKING:
    from argentry.desk.numbers.makings import Gathered
    from argentry.records.plate import Making


def why_failed(gathered: Gathered, label: str) -> dict[str, Any]:
    """Return what most likely went wrong with one plate.

    Parameters
    ----------
    gathered : Gathered
        The plates.
    label : str
        The plate; of several makings the last that failed, else the last.

    Returns
    -------
    dict
        ``causes``: most probable first, each with ``cause``, ``title``, ``stage``, ``probability``,
        ``low``, ``high``, ``check``, ``check_minutes``, ``check_worth``, ``because``, ``plates``;
        ``next_check``, ``chance``, ``failed``, ``plates``, ``failures``, ``enough_plates``,
        ``words``.

    Raises
    ------
    BadInput
        If there is no such plate, or nothing is known of it.
    """
    own = gathered.of_plate(label)
    if not own:
        raise BadInput(
            f"plate {label}",
            "nothing is known of how it came out",
            f"say so first: argentry plate grade {label} lost",
        )
    failed = [one for one in own if succeeded(one) is False] or list(own)
    which: Making = failed[-1]
    past = past_of_studio(gathered.makings)
    found = why_plate(past.ordered, which.id, past=past)
    return {
        "plate": label,
        "day": which.day,
        "grade": which.grade,
        "defects": [list(pair) for pair in which.defects],
        **asdict(found),
        "source": gathered.source,
        "notes": list(gathered.notes),
    }


def why_studio_wide(gathered: Gathered) -> dict[str, Any]:
    """Return what explains the failures over all plates.

    Returns
    -------
    dict
        ``causes`` as `why_failed`, and with ``share`` of the failures each explains, ``effect``,
        ``named``, ``words``; ``charts`` of what drifts; ``plates``, ``failures``,
        ``enough_plates``, ``words``.
    """
    found = causes_of_studio(gathered.makings)
    return {**asdict(found), "source": gathered.source, "notes": list(gathered.notes)}


def learned(gathered: Gathered) -> dict[str, Any]:
    """Return everything that was learned, each beside what was believed before.

    Returns
    -------
    dict
        ``plates``, ``good``, ``odds`` (of a usual plate: probability, low, high, plates,
        mostly_prior, model_used, reason), ``running``, ``settled``, ``stages`` (odds by stage and
        what was believed), ``effects``, ``numbers`` (plate speed, box factor, dose ...).
    """
    from argentry.desk.numbers.own_numbers import learned_numbers, light_offsets
    from argentry.trade.conditions import stage_priors

    fit = fitted(gathered.makings)
    usual = odds(fit, {})
    came = [good for one in gathered.makings if (good := succeeded(one)) is not None]
    numbers = learned_numbers(gathered, with_odds=False)
    return {
        "source": gathered.source,
        "plates": len(came),
        "good": sum(came),
        "odds": {
            "probability": usual.probability,
            "low": usual.low,
            "high": usual.high,
            "plates": usual.plates,
            "mostly_prior": usual.mostly_prior,
            "model_used": usual.model_used,
            "reason": usual.reason,
        },
        "running": {**asdict(usual.running), "model_wins": usual.running.model_wins},
        "settled": fit.settled,
        "stages": [
            {
                "stage": one.stage,
                "probability": one.share.probability,
                "low": one.share.low,
                "high": one.share.high,
                "plates": one.share.plates,
                "believed": stage_priors()[one.stage].ok_middle,
                "believed_low": stage_priors()[one.stage].ok_low,
                "believed_high": stage_priors()[one.stage].ok_high,
            }
            for one in usual.by_stage
        ],
        "effects": [asdict(one) for one in effects(fit)],
        "numbers": [asdict(one) for one in (*numbers.learned, *light_offsets(numbers))],
        "notes": [*gathered.notes, *numbers.notes],
    }
