"""The steps of a run as they were listed when it was opened, with their checks and cautions."""

from __future__ import annotations

from dataclasses import dataclass


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
