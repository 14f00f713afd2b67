"""What most likely went wrong, as plain records: causes of one plate, of a studio, and drift."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class CauseFound:
    """What is told of a cause, of one plate or of all.

    Attributes
    ----------
    cause : str
        Key of the cause, or the name of a condition of the maker's own.
    title : str
        What went wrong, in words.
    stage : str
        Stage it spoils.
    probability, low, high : float
        That it was there on this plate, or matters in this studio, with the range that holds it
        four times in five; where a studio's is judged by its look alone: that a fault of its stage
        came from it. [1]
    plates : float
        Plates behind its figures: failed ones of this stage; over all plates, those on which its
        conditions were read or whose looks were written down. [plates]
    check : str
        The check that would prove it; empty for a condition of the maker's own.
    check_minutes : float
        What the check costs the maker. [min]
    """

    cause: str
    title: str
    stage: str
    probability: float
    low: float
    high: float
    plates: float
    check: str
    check_minutes: float


@dataclass(frozen=True)
class Cause(CauseFound):
    """One cause of one failed plate.

    Attributes
    ----------
    check_worth : float
        How much surer the choice of what to mend becomes, for each minute of the check. [1/min]
    because : tuple of str
        What speaks for it: looks and readings, in words.
    basis, source : str
        What the trade's word on it rests on, and where that was read.
    """

    check_worth: float
    because: tuple[str, ...]
    basis: str
    source: str


@dataclass(frozen=True)
class PlateCauses:
    """What most likely went wrong with one plate.

    Attributes
    ----------
    outcome : str
        Id of the making.
    failed : bool
        Whether it failed; the causes are empty when it did not.
    causes : tuple of Cause
        Most probable first.
    next_check : str
        Key of the cause whose check to make first; empty when the first cause is sure enough to
        be mended at once.
    chance : float
        Probability of an accident that nothing written down tells of. [1]
    plates, failures : int
        Plates in the book, and failed ones among them, behind the figures.
    enough_plates : bool
        Whether the studio's own plates weigh as much as the trade's word.
    words : str
        One sentence on how far to trust it.
    """

    outcome: str
    failed: bool
    causes: tuple[Cause, ...]
    next_check: str
    chance: float
    plates: int
    failures: int
    enough_plates: bool
    words: str


@dataclass(frozen=True)
class StudioCause(CauseFound):
    """One cause over all plates of a studio.

    Attributes
    ----------
    conditions : tuple of str
        Conditions through which it was judged; empty when it was judged by its look alone.
    share, share_low, share_high : float
        Share of the failed plates it explains, with its 80 % range. [1]
    effect, effect_low, effect_high : float or None
        Fall of the stage's probit for one spread of the condition that tells most, if it matters.
        [probit]
    faults : float
        Faults of its stage. [plates]
    named : bool
        True when it may be named as a cause; else it is one of several suspects, or cannot be told.
    words : str
        One sentence.
    """

    conditions: tuple[str, ...]
    share: float
    share_low: float
    share_high: float
    effect: float | None
    effect_low: float | None
    effect_high: float | None
    faults: float
    named: bool
    words: str


@dataclass(frozen=True)
class Chart:
    """One control chart: a quantity by session, and the two sums that betray a drift.

    Attributes
    ----------
    quantity : str
        What is charted.
    title : str
        In words.
    unit : str
        Its unit.
    days : tuple of date
        Day of each session on which it was read.
    values : tuple of float
        Its mean on that day. [unit]
    above, below : tuple of float
        Sums of how far it lies above and below what was usual before. [standard deviations]
    limit : float
        Height at which a sum tells a drift. [standard deviations]
    alarm : int or None
        Place of the first day of the last alarm that still stands; None when there is none.
    since : date or None
        Day on which that drift began, by the sum's last zero.
    toward : str
        ``"above"``, ``"below"`` or ``""``.
    false_alarm_every : float
        Sessions between false alarms on average where nothing drifts. [sessions]
    enough : bool
        Whether there are sessions enough to tell.
    words : str
        One sentence.
    """

    quantity: str
    title: str
    unit: str
    days: tuple[date, ...]
    values: tuple[float, ...]
    above: tuple[float, ...]
    below: tuple[float, ...]
    limit: float
    alarm: int | None
    since: date | None
    toward: str
    false_alarm_every: float
    enough: bool
    words: str


@dataclass(frozen=True)
class StudioCauses:
    """What explains the failures of a studio.

    Attributes
    ----------
    causes : tuple of StudioCause
        By the share of failures each explains, largest first; one judged by its look alone counts
        half.
    charts : tuple of Chart
        Drift of what was measured, and of good against bad.
    plates, failures : int
        Plates whose outcome is known, and the failed ones among them.
    enough_plates : bool
        Whether a cause may be named at all.
    words : str
        One sentence.
    """

    causes: tuple[StudioCause, ...]
    charts: tuple[Chart, ...]
    plates: int
    failures: int
    enough_plates: bool
    words: str
