"""The steps of a run: as listed when it was opened, and how each stands for a plate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from argentry.records.run_plan import PlannedTime


@dataclass(frozen=True)
class StepCaution:
    """A caution that must have been shown before a step begins.

    Attributes
    ----------
    key : str
        Key of the caution.
    text : str
        As shown.
    asks_again : bool
        True when it is confirmed at its step too, not only with the others at the run's start.
    """

    key: str
    text: str
    asks_again: bool = True


@dataclass(frozen=True)
class StepCheck:
    """A cheap check of a step.

    Attributes
    ----------
    when : str
        before: before it begins; during: while it goes on; after: at its end.
    text : str
        What to look at.
    at_minutes : float or None
        While it goes on: how long after its begin. [min]
    """

    when: str
    text: str
    at_minutes: float | None = None


@dataclass(frozen=True)
class RunStep:
    """One step of the list that a run was opened with.

    Attributes
    ----------
    key : str
        Key of the step.
    title : str
        What the hands do.
    law : str
        What decides its length.
    planned_s, low_s, high_s : float
        Length as planned when the run was opened, and its 80 % range. [s]
    attended : bool
        True when it needs hands all the time.
    resource : str
        Key of what it holds, or an empty string.
    within_s : float or None
        Latest start after the end of the step before; 0 at once, None no limit. [s]
    look_for : str
        The sign that it is right.
    check : str
        The check asked at its end; empty when there is none.
    cautions : tuple of StepCaution
        To be shown before it.
    speak : str
        Words spoken at its start.
    stage : str
        Stage of the work it belongs to; empty in runs opened before it was written down.
    checks : tuple of StepCheck
        All of its checks, in order.
    made_of : str
        What the range of its length is made of; empty where no doubt is worked out.
    """

    key: str
    title: str
    law: str
    planned_s: float
    low_s: float
    high_s: float
    attended: bool
    resource: str
    within_s: float | None
    look_for: str
    check: str
    cautions: tuple[StepCaution, ...]
    speak: str
    stage: str = ""
    checks: tuple[StepCheck, ...] = ()
    made_of: str = ""


@dataclass(frozen=True)
class DurationChange:
    """A change of a step's planned length.

    Attributes
    ----------
    at : datetime
        When, UTC.
    was_s, planned_s : float
        Before and after. [s]
    why : str
        By how much and for what reason, in words.
    """

    at: datetime
    was_s: float
    planned_s: float
    why: str


@dataclass(frozen=True)
class CheckAnswer:
    """The answer to a check.

    Attributes
    ----------
    when : str
        before, during or after, as in the step's checks.
    at_minutes : float or None
        While it goes on: how long after its begin. [min]
    answer : str
        right, doubtful or wrong.
    value : float or None
        Number given with it; null when there was none. [of the check]
    words : str
        Remark given with it.
    at : datetime
        When it was answered, UTC.
    """

    when: str
    at_minutes: float | None
    answer: str
    value: float | None
    words: str
    at: datetime


@dataclass(frozen=True)
class RipeSeen:
    """When a plate is ripe, as pictures through the filter show it; a hand took it.

    Attributes
    ----------
    event : str
        Id of the event that says so.
    at : datetime
        When, UTC.
    picture : str
        SHA-256 of the last picture.
    state : str
        ripe, not yet or veiling.
    dose_kj_m2 : float
        Light at which it is ripe, the studio's own dose counted in. [kJ/m2]
    log_sd : float
        Standard deviation of its natural logarithm. [1]
    alone_kj_m2 : float or None
        The same by the pictures alone; null where they say next to nothing. [kJ/m2]
    alone_log_sd : float or None
        Its standard deviation in the same way. [1]
    words : str
        In one line.
    """

    event: str
    at: datetime
    picture: str
    state: str
    dose_kj_m2: float
    log_sd: float
    alone_kj_m2: float | None
    alone_log_sd: float | None
    words: str


@dataclass(frozen=True)
class StepState:
    """One step of one plate now.

    Attributes
    ----------
    key : str
        Key of the step.
    state : str
        waiting: not its turn; ready: it may begin; running; done; skipped: left out; stopped: cut
        off while running because the plate was given up or the run closed.
    planned_s, low_s, high_s : float
        Length as it now stands, and its range. [s]
    begun, ended : datetime or None
        Begin and end, UTC; the end is also when it was left out or cut off.
    elapsed_s : float
        From its begin to its end or now, without pauses. [s]
    left_s : float
        Planned less elapsed; negative when it is over its time. [s]
    keep_left_s : float or None
        While it is ready: what is left of its keeping limit. [s]
    waited_s : float or None
        Once begun: how long it came after the end of the step before. [s]
    answer : str or None
        Last answer to the check at its end: right, doubtful or wrong.
    answer_value : float or None
        Number given with the answer. [of the check]
    answer_words : str
        Remark given with the answer.
    check_due : bool
        True when it is done and the check at its end was not answered.
    changes : tuple of DurationChange
        In order.
    answers : tuple of CheckAnswer
        The last answer to each of its checks, in the order they were first answered.
    ask : StepCheck or None
        The check that is asked now.
    short : bool
        True when it is done and the clock saw less than half of the least planned of a step whose
        length makes the picture, whatever its check was answered.
    plan : PlannedTime or None
        When it is planned; null without a plan.
    float_s : float or None
        While it is not begun: its latest start less now, negative when late. [s]
    made_of : str
        What the range of its length is made of; empty where no doubt is worked out.
    ripe : RipeSeen or None
        Of a development: when pictures through the filter say that it is ripe.
    """

    key: str
    state: str
    planned_s: float
    low_s: float
    high_s: float
    begun: datetime | None = None
    ended: datetime | None = None
    elapsed_s: float = 0.0
    left_s: float = 0.0
    keep_left_s: float | None = None
    waited_s: float | None = None
    answer: str | None = None
    answer_value: float | None = None
    answer_words: str = ""
    check_due: bool = False
    changes: tuple[DurationChange, ...] = ()
    answers: tuple[CheckAnswer, ...] = ()
    ask: StepCheck | None = None
    short: bool = False
    plan: PlannedTime | None = None
    float_s: float | None = None
    made_of: str = ""
    ripe: RipeSeen | None = None
