"""What an event sent by a device may say: its form, before it is asked whether it fits."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from argentry.bench.state_json import iso
from argentry.book.runs.corrections import effective, read_moment
from argentry.errors import UNSAFE, BadInput, unsafe_sign
from argentry.records.event import KINDS, OLDEST_S, Event
from argentry.records.ids import is_id
from argentry.records.plate import GRADES, STAGES, VERDICTS
from argentry.records.run import ANSWERS, MOMENTS, OUTWARD, REASONS, RIPENESS, RunState
from argentry.trade.defects import check_origin, defect
from argentry.trade.readings import in_own_unit, quantity

LONGEST_TEXT = 4000
MOST_ABOVE_0 = 1e5  # of a ripe dose [kJ/m2]
NOT_SENT = "{kind!r} is not a kind that a device may send"
NOT_KNOWN = "{word!r} is not known"
USE = "use {words}"
NEEDED = "{kind} needs one"
NAME_IT = "name the {name}"
AS_LISTED = "give the {name} as the run lists it"
HAS = "it has {names}"
GIVE = "give the {what}"
LETTERS = "give up to {most} letters"
STAGE_WORDS = "give {stages}: ok or fault"
COAT_LAB = ("coat_l", "coat_a", "coat_b")
COAT_RANGE = ("coat_low_nm", "coat_high_nm")
SEEN_KEYS = "give picture, coat_l, coat_a and coat_b, and both ends of the range or none"


@dataclass(frozen=True)
class Incoming:
    """An event as a device sends it.

    Attributes
    ----------
    id, kind : str
        See `Event`.
    plate, step : str or None
        See `Event`.
    body : Mapping[str, Any]
        See `KINDS`.
    age_s : float
        How long ago by the device's own steady clock. [s]
    """

    id: str
    kind: str
    plate: str | None
    step: str | None
    body: Mapping[str, Any]
    age_s: float


def read_incoming(given: Mapping[str, Any]) -> Incoming:
    """Return an event sent by a device with its form checked.

    Raises
    ------
    BadInput
        If it has no proper id, kind, age, plate or step.
    """
    kind, age = given.get("kind"), given.get("age_s")
    if not is_id(given.get("id")):
        raise BadInput("id", "it must be a UUID version 7", "make one where the event happens")
    if not isinstance(kind, str) or kind not in KINDS or KINDS[kind].house_only:
        allowed = ", ".join(word for word, one in KINDS.items() if not one.house_only)
        raise BadInput("kind", NOT_SENT, USE, kind=str(kind), words=allowed)
    age = 0.0 if age is None else age
    if not _is_number(age) or not 0.0 <= age <= OLDEST_S:
        raise BadInput("age_s", "it must be an age in seconds", "give a number from 0 to 2592000")
    body = given.get("body") or {}
    if not isinstance(body, dict):
        raise BadInput("body", "it must be an object", "give names and values")
    for name, needed in (("plate", KINDS[kind].plate), ("step", KINDS[kind].step)):
        value = given.get(name)
        if needed and not value:
            raise BadInput(name, NEEDED, NAME_IT, kind=kind, name=name)
        if value is not None and not isinstance(value, str):
            raise BadInput(name, "it must be text", AS_LISTED, name=name)
    return Incoming(str(given["id"]), kind, given.get("plate"), given.get("step"), body, float(age))


def check_body(
    kind: str, body: Mapping[str, Any], state: RunState, known: Mapping[str, Event], now: datetime
) -> Mapping[str, Any]:
    """Return the body of an event, checked, readings in the unit they are kept in.

    Parameters
    ----------
    kind : str
        Kind of the event.
    body : Mapping[str, Any]
        As sent.
    state : RunState
        The run.
    known : Mapping[str, Event]
        Events of the run by id.
    now : datetime
        UTC.

    Raises
    ------
    BadInput
        If a key is missing, not known, or holds what cannot be.
    """
    if kind == "corrected":
        return _correction(body, state, known, now)
    return _plain_body(kind, body, state)


def _plain_body(kind: str, body: Mapping[str, Any], state: RunState) -> dict[str, Any]:
    allowed = KINDS[kind].body
    for key in body:
        if key not in allowed:
            said = HAS.format(names=", ".join(allowed)) if allowed else "it has no values"
            raise BadInput(f"{kind} {str(key)[:40]}", "there is no such value", said)
    out = dict(body)
    for key, (check, needed) in _CHECKS.get(kind, {}).items():
        if key in body:
            out[key] = check(f"{kind} {key}", body[key])
        elif needed:
            raise BadInput(f"{kind} {key}", "it is missing", GIVE.format(what=allowed[key]))
    if kind == "reading_taken":
        unit = out.get("unit") or ""
        out["value"] = in_own_unit("reading", out["what"], out["value"], unit)
        out["unit"] = quantity("reading", out["what"]).unit
    if kind in ("caution_shown", "cautions_read"):
        keys = {caution.key for step in state.steps for caution in step.cautions}
        named = [out["caution"]] if kind == "caution_shown" else out["cautions"]
        if not keys.issuperset(named):
            raise BadInput("caution", "no step of this run has it", "give the key of a caution")
    if kind == "plate_abandoned":
        _check_giving_up(out)
    if kind == "making_graded" and not any(out.values()):
        raise BadInput(kind, "it is empty", USE, words=", ".join(GRADES))
    return out


def _check_giving_up(body: Mapping[str, Any]) -> None:
    """Refuse a reason for giving up that contradicts itself."""
    reason, fault, outward = (body.get(key) for key in ("reason", "defect", "outward"))
    if (fault and reason != "fault") or (outward and reason != "outward"):
        raise BadInput(
            "plate_abandoned reason",
            "it does not go with the rest",
            "give fault with a defect, or outward with what happened",
        )
    if fault and body.get("stage"):
        check_origin("plate_abandoned defect", fault, body["stage"])


def _correction(
    body: Mapping[str, Any], state: RunState, known: Mapping[str, Event], now: datetime
) -> dict[str, Any]:
    out = _plain_body("corrected", body, state)
    target = known.get(out["event"])
    if target is None:
        raise BadInput("corrected event", "this run has no such event", "give the id of one")
    if not (out.get("withdrawn") or out.get("at") or out.get("body")):
        raise BadInput("corrected", "it changes nothing", "give withdrawn: true, a time or a body")
    if target.kind == "plate_added" and out.get("withdrawn") and _begun(target.plate, known):
        raise BadInput("corrected event", "work on that plate was begun", "withdraw the plate")
    if target.kind == "run_opened":
        raise BadInput("corrected event", "the opening of a run stays", "open another run")
    if out.get("at") is not None:
        moment = read_moment(out["at"])
        if moment is None:
            raise BadInput("corrected at", "it must be a time with its offset", "write ISO 8601")
        if not now - timedelta(seconds=OLDEST_S) <= moment <= now:
            raise BadInput("corrected at", "it lies ahead or long past", "give when it happened")
        out["at"] = iso(moment)
    if out.get("body"):
        if KINDS[target.kind].house_only or target.kind == "corrected":
            raise BadInput("corrected body", "this event's body stays", "withdraw it instead")
        merged = _plain_body(target.kind, {**target.body, **out["body"]}, state)
        out["body"] = {key: merged[key] for key in merged if merged[key] != target.body.get(key)}
    return out


def _begun(plate: str | None, known: Mapping[str, Event]) -> bool:
    counted, _ = effective(known.values())
    return any(one.kind == "step_begun" and one.plate == plate for one in counted)


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def _text(where: str, value: Any) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise BadInput(where, "it must be text, and not too long", LETTERS, most=LONGEST_TEXT)
    sign = unsafe_sign(" ".join(value.split()))  # the lines of a remark do no harm there
    if sign is not None:
        what, right = UNSAFE
        raise BadInput(where, what, right, sign=sign)
    return value


def _words(where: str, value: Any) -> str:
    if not _text(where, value).strip():
        raise BadInput(where, "it is empty", "say something")
    return str(value)


def _number(where: str, value: Any) -> float:
    if not _is_number(value):
        raise BadInput(where, "it must be a finite number", "give a number")
    return float(value)


def _or_none(check: Callable[[str, Any], Any]) -> Callable[[str, Any], Any]:
    """Return the same check that lets null through as well."""
    return lambda where, value: None if value is None else check(where, value)


def _one_of(*words: str | None) -> Callable[[str, Any], Any]:
    """Return a check that lets only these through."""
    right = USE.format(words=", ".join("null" if word is None else word for word in words))

    def check(where: str, value: Any) -> Any:
        if not (value is None or isinstance(value, str)) or value not in words:
            raise BadInput(where, NOT_KNOWN.format(word=str(value)[:20]), right)
        return value

    return check


def _texts(where: str, value: Any) -> list[str]:
    if not isinstance(value, list):
        raise BadInput(where, "it is not a list", "give a list")
    return [_text(where, one) for one in value]


def _defects(where: str, value: Any) -> list[list[str]]:
    right = "give a list of pairs: a defect, and the stage or step it comes from"
    if not isinstance(value, list) or any(
        not isinstance(one, list) or len(one) != 2 for one in value
    ):
        raise BadInput(where, "it is not a list of pairs", right)
    pairs = [[_text(where, one) for one in pair] for pair in value]
    return [[key, check_origin(where, key, origin)] for key, origin in pairs]


def _stages(where: str, value: Any) -> dict[str, str]:
    table = _table(where, value)
    if not set(table) <= set(STAGES) or not all(one in ("ok", "fault") for one in table.values()):
        raise BadInput(
            where, "a stage or its word is not known", STAGE_WORDS, stages=", ".join(STAGES)
        )
    return table


def _flag(where: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise BadInput(where, "it is neither true nor false", "give true or false")
    return value


def _table(where: str, value: Any) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise BadInput(where, "it must be an object", "give names and values")
    return value


def _seen(where: str, value: Any) -> dict[str, Any]:
    """Check what a picture showed of a coat: its hash, L*, a*, b*, and the range of the coat."""
    table = _table(where, value)
    keys = {"picture", *COAT_LAB}
    if set(table) not in (keys, keys | {*COAT_RANGE}):
        raise BadInput(where, "a value is missing or not known", SEEN_KEYS)
    _text(where, table["picture"])
    for key in set(table) - {"picture"}:
        _number(where, table[key])
    return table


def _above_0(where: str, value: Any) -> float:
    if not 0.0 < _number(where, value) <= MOST_ABOVE_0:
        raise BadInput(where, "it lies out of range", "give a number above 0")
    return float(value)


def _defect(where: str, value: Any) -> str:
    return defect(where, _text(where, value)).key


# kind: {key: (check, needed)}
_CHECKS: Mapping[str, Mapping[str, tuple[Callable[[str, Any], Any], bool]]] = {
    "caution_shown": {"caution": (_text, True)},
    "step_skipped": {"why": (_text, False)},
    "step_redone": {"why": (_text, False)},
    "check_answered": {
        "answer": (_one_of(*ANSWERS), True),
        "value": (_or_none(_number), False),
        "words": (_text, False),
        "when": (_one_of(*MOMENTS), False),
        "at_minutes": (_or_none(_number), False),
        "seen": (_or_none(_seen), False),
    },
    "ripe_seen": {
        "picture": (_text, True),
        "state": (_one_of(*RIPENESS), True),
        "dose_kj_m2": (_above_0, True),
        "log_sd": (_above_0, True),
        "alone_kj_m2": (_or_none(_above_0), False),
        "alone_log_sd": (_or_none(_above_0), False),
        "words": (_text, False),
    },
    "reading_taken": {
        "what": (_text, True),
        "value": (_number, True),
        "unit": (_text, False),
        "source": (_text, False),
    },
    "remark_made": {"words": (_words, True)},
    "plate_added": {"label": (_words, True), "once": (_texts, False)},
    "cautions_read": {"cautions": (_texts, True)},
    "plate_abandoned": {
        "stage": (_one_of(*STAGES, "", None), False),
        "reason": (_one_of(*REASONS), False),
        "defect": (_or_none(_defect), False),
        "outward": (_one_of(*OUTWARD, None), False),
        "why": (_text, False),
    },
    "making_graded": {
        "grade": (_one_of(*GRADES, None), False),
        "verdict": (_one_of(*VERDICTS, None), False),
        "defects": (_defects, False),
        "stages": (_stages, False),
        "words": (_text, False),
    },
    "plan_taken": {"offer": (_text, True)},
    "plan_declined": {"offer": (_text, True)},
    "run_withdrawn": {"why": (_text, False)},
    "plate_withdrawn": {"why": (_text, False)},
    "corrected": {
        "event": (_text, True),
        "withdrawn": (_flag, False),
        "at": (_or_none(_text), False),
        "body": (_or_none(_table), False),
    },
}
