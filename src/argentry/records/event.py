"""One thing that happened in a run. Events are never edited; a correction is a new event.

The kinds, their bodies and what they mean are the table `KINDS`; ``docs/events.md`` is made of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Any

VERSION = 1
OLDEST_S = 30 * 86400.0  # at most so long ago is what a device tells, an event or a reading
HOUSE_RUN = "house"  # where events stand that belong to no run


@dataclass(frozen=True)
class EventKind:
    """One kind of event.

    Attributes
    ----------
    means : str
        What it says.
    body : Mapping[str, str]
        Keys of its body with their meaning.
    plate, step : bool
        True when it needs a plate, a step.
    house_only : bool
        True when only the house says it, never a device.
    stays : bool
        True when not even the device that said it takes it back.
    """

    means: str
    body: Mapping[str, str] = field(default_factory=dict)
    plate: bool = False
    step: bool = False
    house_only: bool = False
    stays: bool = False

    @property
    def undone(self) -> bool:
        """Whether a device may take its own back as the last thing it did."""
        return not (self.house_only or self.stays)


KINDS: Mapping[str, EventKind] = MappingProxyType(
    {
        "run_opened": EventKind(
            "A run began with these plates and these steps, with the durations of that moment.",
            {
                "title": "name of the run",
                "plates": "list of {id, label}",
                "steps": "list of steps",
                "plan": (
                    "plate: step: {start, end, latest, limit, held}: planned times, the latest "
                    "start by the clock or null, what its limit runs from in words, the box, "
                    "camera or frame"
                ),
            },
            house_only=True,
        ),
        "caution_shown": EventKind(
            "A caution of a step was shown; the step may begin only after each was shown once.",
            {"caution": "key of the caution"},
            step=True,
            stays=True,
        ),
        "cautions_read": EventKind(
            "The cautions of the day were read and confirmed together.",
            {"cautions": "list of keys"},
            stays=True,
        ),
        "step_begun": EventKind("Hands began a step.", {}, plate=True, step=True),
        "step_ended": EventKind("A step was done.", {}, plate=True, step=True),
        "step_skipped": EventKind("A step was skipped.", {"why": "words"}, plate=True, step=True),
        "step_redone": EventKind(
            (
                "Hands go back to this step: it and every later step of that plate are to be done "
                "again."
            ),
            {"why": "words"},
            plate=True,
            step=True,
        ),
        "check_answered": EventKind(
            "A check of a step was answered.",
            {
                "answer": "right, doubtful or wrong",
                "value": "number or null",
                "words": "remark",
                "when": "before, during or after (where it is not said)",
                "at_minutes": "minutes from the step's begin, for a check during it",
                "seen": (
                    "what a picture showed: picture (its hash), coat_l, coat_a, coat_b, and where "
                    "it told them the ends of its 80 % range, coat_low_nm, coat_high_nm"
                ),
            },
            plate=True,
            step=True,
        ),
        "ripe_seen": EventKind(
            (
                "Pictures through the red filter say when this plate is ripe, and a hand took it: "
                "its end moves."
            ),
            {
                "picture": "hash of the last picture",
                "state": "ripe, not yet or veiling",
                "dose_kj_m2": "light at which it is ripe, the studio's dose counted in",
                "log_sd": "standard deviation of its natural logarithm",
                "alone_kj_m2": "the same by the pictures alone, or null",
                "alone_log_sd": "its standard deviation, or null",
                "words": "the answer in one line",
            },
            plate=True,
            step=True,
        ),
        "reading_taken": EventKind(
            "Something was measured.",
            {
                "what": "quantity",
                "value": "number",
                "unit": "unit",
                "source": "who or which sensor",
            },
        ),
        "duration_changed": EventKind(
            "A step now lasts longer or shorter, because a reading or the light changed.",
            {
                "planned_s": "seconds",
                "was_s": "seconds before",
                "low_s": "seconds, lower end of the range",
                "high_s": "seconds, upper end",
                "why": "words",
                "made_of": "what the range is made of, in words",
            },
            plate=True,
            step=True,
            house_only=True,
        ),
        "paused": EventKind("The clock of the run, or of one plate, was stopped.", {}),
        "resumed": EventKind("It went on.", {}),
        "remark_made": EventKind("Somebody said something.", {"words": "text"}),
        "plate_abandoned": EventKind(
            "A plate was given up: something was wrong with it, or time, light or sitter ran out.",
            {
                "stage": "stage it was given up in",
                "reason": "fault or outward",
                "defect": "key of the defect, or null",
                "outward": "no_time, light_gone, sitter_left, other or null",
                "why": "words",
            },
            plate=True,
        ),
        "making_graded": EventKind(
            "How a plate came out; the newest counts. It may come after the run was closed.",
            {
                "grade": "lost, study, good, fine or null",
                "verdict": "verdict on the exposure, or null",
                "defects": "list of [defect, stage or step it comes from]",
                "stages": "stage: ok or fault",
                "words": "remark",
            },
            plate=True,
        ),
        "grading_put_off": EventKind("Its grade is given later.", {}, plate=True),
        "advice_given": EventKind(
            "argentry advised what to do with a plate before this step; nobody has to follow it.",
            {
                "stage": "the stage just finished",
                "answer": "answer of its check, or null",
                "since": "id of the last going back it knew of, or null",
                "advice": "continue, redo, stop or check",
                "back_to": "the step to go back to where it says redo, else null",
                "line": "odds and advice in one line",
                "words": "the advice in words",
                "probability": "that it is good",
                "low": "low end of its 80 % range",
                "high": "high end of its 80 % range",
                "plates": "plates behind it",
                "mostly_prior": "true while it rests mostly on starting assumptions",
                "worth": "good plates gained over the next best",
                "rule": "the rule with its numbers",
            },
            plate=True,
            step=True,
            house_only=True,
        ),
        "advice_overruled": EventKind(
            "The hands did otherwise than advised.",
            {
                "advice": "id of the advice",
                "advised": "what it said",
                "did": "what was done: continue, redo or stop",
            },
            plate=True,
            step=True,
            house_only=True,
        ),
        "plan_offered": EventKind(
            (
                "argentry made a new plan from where the plates stand; the old one stands until "
                "it is taken."
            ),
            {
                "plan": "plate: step: planned times, as in run_opened",
                "lines": "what changes, in words",
                "moved": "list of [plate, step] whose planned start moves",
                "left_out": "plates that no longer fit",
                "kept_share": "chance that all finish by the old order; null where it holds others",
                "share": "the same by this plan",
                "why": "what made it, in words",
                "knows": "how far the plates were off their plan when it was made",
                "then": "how far they would be off it once it was taken",
                "more": (
                    "{id, label, once, after}: the plate more that there is time for, or null; "
                    "`after`: {plate, step, until}: what it waits for before it is begun, or null"
                ),
            },
            house_only=True,
        ),
        "plate_added": EventKind(
            "A plate more was taken into the run.",
            {
                "label": "its label",
                "once": "keys of the steps done once for the whole run: it leaves them out",
            },
            plate=True,
        ),
        "plan_taken": EventKind(
            "The new plan stands from now on.", {"offer": "id of the event that offered it"}
        ),
        "plan_declined": EventKind(
            "The new plan was turned down: the one before stands.",
            {"offer": "id of the event that offered it"},
        ),
        "corrected": EventKind(
            "An earlier event was withdrawn, or its time or body was put right.",
            {
                "event": "id of the event corrected",
                "withdrawn": "true to withdraw it",
                "at": "its right time, ISO 8601",
                "body": "keys of its body put right",
            },
            stays=True,
        ),
        "clock_set": EventKind(
            (
                "The house's clock was set: it had been wrong. In a run, the events after a place "
                "in the log and before this one happened so much later; in the run `house` it "
                "says that it was set."
            ),
            {"by_us": "microseconds, negative for earlier", "after": "place in the log"},
            house_only=True,
        ),
        "words_erased": EventKind(
            "A person's words were erased on request; nothing else of those events changed.",
            {"left": "event: hash of the body that is left"},
            house_only=True,
        ),
        "event_lost": EventKind(
            "An event stood here that could not be read when the book was salvaged.",
            {},
            house_only=True,
        ),
        "run_closed": EventKind("The run was over.", {}),
        "run_withdrawn": EventKind(
            "The run was opened by mistake: it stays in the log and counts for nothing.",
            {"why": "words"},
        ),
        "plate_withdrawn": EventKind(
            "The plate was in this run by mistake: what is written of it here counts for nothing.",
            {"why": "words"},
            plate=True,
        ),
    }
)


@dataclass(frozen=True)
class Event:
    """One event.

    Attributes
    ----------
    id : str
        UUID version 7, made where it happened, so that sending it twice is harmless.
    run : str
        Id of the run.
    kind : str
        One of `KINDS`.
    at : datetime
        When it happened, UTC, by the steady clock of the house (never jumps within a run).
    plate, step : str or None
        Id of the plate and key of the step, where it has them.
    body : Mapping[str, Any]
        What the kind says, JSON values.
    device : str
        Who or what reported it.
    version : int
        Version of the event's form.
    seq : int
        Place in the book's log; 0 before it is stored.
    """

    id: str
    run: str
    kind: str
    at: datetime
    plate: str | None = None
    step: str | None = None
    body: Mapping[str, Any] = field(default_factory=dict)
    device: str = ""
    version: int = VERSION
    seq: int = 0


@dataclass(frozen=True)
class RunHead:
    """One run in the list of runs.

    Attributes
    ----------
    run : str
        Its id.
    title : str
        Its name.
    opened : datetime
        When it was opened, UTC.
    closed : datetime or None
        When it was closed, UTC; None while it is open.
    plates : tuple of str
        Labels.
    last_seq : int
        Place of its last event in the log.
    withdrawn : bool
        True when it was opened by mistake.
    """

    run: str
    title: str
    opened: datetime
    closed: datetime | None
    plates: tuple[str, ...]
    last_seq: int
    withdrawn: bool
