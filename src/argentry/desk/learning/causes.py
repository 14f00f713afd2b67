"""What the plates teach: causes of failures, and everything learned next to what was assumed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from argentry.desk.learning.sharing import as_shown, usual_shares
from argentry.desk.numbers.fitted import causes_of_studio, fitted, past_of_studio
from argentry.desk.numbers.light_received import by_meter_alone, condition_keys
from argentry.errors import BadInput
from argentry.learn.causes.plate_causes import why_plate
from argentry.learn.odds.effects import effects
from argentry.learn.odds.odds import odds
from argentry.learn.stages.table import succeeded
from argentry.records.causes import PlateCauses, StudioCauses
from argentry.records.learned import OddsShown, Share
from argentry.records.plain import part_of

if TYPE_CHECKING:
    from datetime import date

    from argentry.desk.numbers.light_received import Lit
    from argentry.desk.numbers.makings import Gathered
    from argentry.records.causes import Cause
    from argentry.records.decision import Learned
    from argentry.records.learned import Adopted, Effect, RunningScore
    from argentry.records.plate import Making

MISLED = 0.5  # by which the meter's word must differ from the light received to be told [stops]
BY_METER = "by the meter alone {metered:+.1f} stops: it misjudged the violet of this light"


@dataclass(frozen=True)
class WhyPlate(PlateCauses):
    """What most likely went wrong with one plate, and the check to make first.

    Attributes
    ----------
    plate : str
        The plate.
    day : date or None
        When it was made.
    grade : str or None
        Its grade.
    defects : tuple of (str, str)
        Defects seen, each as its key and where it is put down to.
    source : str
        Where the plates come from.
    notes : tuple of str
        What to know about these figures, one sentence each.
    """

    plate: str
    day: date | None
    grade: str | None
    defects: tuple[tuple[str, str], ...]
    source: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class WhyStudio(StudioCauses):
    """What explains the failures over all plates, and what drifts.

    Attributes
    ----------
    source : str
        Where the plates come from.
    notes : tuple of str
        What to know about these figures, one sentence each.
    """

    source: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class StageLearned(Share):
    """One stage of a usual plate.

    Attributes
    ----------
    stage : str
        Which.
    believed : float
        Share assumed before. [1]
    believed_low, believed_high : float
        Ends of its 80 % range. [1]
    """

    stage: str
    believed: float
    believed_low: float
    believed_high: float


@dataclass(frozen=True)
class AllLearned:
    """Everything that was learned, each next to what was assumed before.

    Attributes
    ----------
    source : str
        Where the plates come from.
    plates : int
        Plates of which it is known how they came out.
    good : int
        Good ones among them.
    odds : OddsShown
        Of a usual plate of this studio.
    running : RunningScore
        Figures of each plate by the other sessions against their share of good ones.
    settled : bool
        Whether the random walks behind the figures agree.
    stages : tuple of StageLearned
        Each stage of a usual plate.
    effects : tuple of Effect
        Each condition.
    numbers : tuple of Learned
        Numbers that the day plan takes.
    notes : tuple of str
        What to know about these figures, one sentence each.
    adopted : Adopted
        What files of other studios let assume.
    """

    source: str
    plates: int
    good: int
    odds: OddsShown
    running: RunningScore
    settled: bool
    stages: tuple[StageLearned, ...]
    effects: tuple[Effect, ...]
    numbers: tuple[Learned, ...]
    notes: tuple[str, ...]
    adopted: Adopted


def why_failed(gathered: Gathered, label: str) -> WhyPlate:
    """Return what most likely went wrong with one plate.

    Parameters
    ----------
    gathered : Gathered
        The plates.
    label : str
        The plate; of several makings the last that failed, else the last.

    Raises
    ------
    BadInput
        If there is no such plate, or nothing is known of it.
    """
    own = gathered.of_plate(label)
    if not own:
        raise BadInput(
            "plate {label}".format(label=label),
            "it is not known how it came out",
            "grade it first: argentry plate grade {label} lost",
            label=label,
        )
    failed = [one for one in own if succeeded(one) is False] or list(own)
    which: Making = failed[-1]
    past = past_of_studio(gathered.makings, gathered.assumed)
    found = why_plate(past.ordered, which.id, past=past)
    told = tuple(_by_meter(one, which, gathered.lit) for one in found.causes)
    return WhyPlate(
        **vars(replace(found, causes=told)),
        plate=label,
        day=which.day,
        grade=which.grade,
        defects=which.defects,
        source=gathered.source,
        notes=tuple(gathered.notes),
    )


def _by_meter(cause: Cause, making: Making, lit: Lit | None) -> Cause:
    """Return a cause of too little or too much light, and where the meter did not show it."""
    off = {"too_little_light": -1.0, "too_much_light": 1.0}.get(cause.cause)
    if off is None or lit is None:
        return cause
    received, metered = (
        making.conditions.get(condition_keys()[0]),
        by_meter_alone(making.conditions, lit),
    )
    if not isinstance(received, float) or metered is None:
        return cause
    if off * (received - metered) < MISLED:
        return cause
    return replace(cause, because=(*cause.because, BY_METER.format(metered=metered)))


def why_studio_wide(gathered: Gathered) -> WhyStudio:
    """Return what explains the failures over all plates."""
    found = causes_of_studio(gathered.makings, gathered.assumed)
    return WhyStudio(**vars(found), source=gathered.source, notes=tuple(gathered.notes))


def learned(gathered: Gathered) -> AllLearned:
    """Return everything that was learned, each next to what was assumed before."""
    from argentry.desk.numbers.own_numbers import learned_numbers, light_offsets

    fit = fitted(gathered.makings, gathered.assumed)
    usual = odds(fit, {})
    came = [good for one in gathered.makings if (good := succeeded(one)) is not None]
    numbers = learned_numbers(gathered, with_odds=False)
    # by the same way as the learned ones, so that before any plate both are the same
    before = usual_shares(gathered.assumed)
    return AllLearned(
        source=gathered.source,
        plates=len(came),
        good=sum(came),
        odds=part_of(OddsShown, usual),
        running=usual.running,
        settled=fit.settled,
        stages=tuple(
            StageLearned(
                **vars(one.share),
                stage=one.stage,
                believed=before[one.stage].probability,
                believed_low=before[one.stage].low,
                believed_high=before[one.stage].high,
            )
            for one in usual.by_stage
        ),
        effects=tuple(effects(fit)),
        numbers=(*numbers.learned, *light_offsets(numbers)),
        notes=(*gathered.notes, *numbers.notes),
        adopted=as_shown(gathered.adopted),
    )
