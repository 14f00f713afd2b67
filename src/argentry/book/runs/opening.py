"""What a run was opened with, read from the body of its first event.

Whatever is missing or of the wrong kind is left out or taken as nothing: the server checks a body
before it stores it, and a fold must never fail on what is stored.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from argentry.records.run import MOMENTS
from argentry.records.run_step import RunStep, StepCaution, StepCheck

MOST_KNOWN = 8
# what was read last: a press folds its run several times, and half of that was reading these
_KNOWN: list[tuple[Mapping[str, Any], tuple[RunStep, ...]]] = []


def opened_plates(body: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    """Return id and label of each plate of the run, each id once."""
    found: dict[str, str] = {}
    for entry in _dicts(body.get("plates")):
        plate = entry.get("id")
        if isinstance(plate, str) and plate and plate not in found:
            found[plate] = str(entry.get("label") or plate)
    return tuple(found.items())


def opened_steps(body: Mapping[str, Any]) -> tuple[RunStep, ...]:
    """Return the steps of the run, each key once; a body that is stored does not change."""
    for known, steps in _KNOWN:
        if known is body:
            return steps
    found: dict[str, RunStep] = {}
    for entry in _dicts(body.get("steps")):
        key = entry.get("key")
        if isinstance(key, str) and key and key not in found:
            found[key] = _step(key, entry)
    _KNOWN[:] = [(body, tuple(found.values())), *_KNOWN[: MOST_KNOWN - 1]]
    return tuple(found.values())


def opened_table(body: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """Return one table of the body, empty where it is none."""
    value = body.get(name)
    return dict(value) if isinstance(value, dict) else {}


def _step(key: str, entry: Mapping[str, Any]) -> RunStep:
    planned = _seconds(entry.get("planned_s")) or 0.0
    low, high = _seconds(entry.get("low_s")), _seconds(entry.get("high_s"))
    checks = _checks(entry)
    return RunStep(
        key=key,
        title=str(entry.get("title") or key),
        law=str(entry.get("law") or "fixed"),
        planned_s=planned,
        low_s=planned if low is None else low,
        high_s=planned if high is None else high,
        attended=entry.get("attended") is not False,
        resource=str(entry.get("resource") or ""),
        within_s=_seconds(entry.get("within_s")),
        look_for=str(entry.get("look_for") or ""),
        check=next((check.text for check in checks if check.when == "after"), ""),
        cautions=tuple(
            StepCaution(
                caution["key"],
                str(caution.get("text") or ""),
                caution.get("asks_again") is not False,
            )
            for caution in _dicts(entry.get("cautions"))
            if isinstance(caution.get("key"), str)
        ),
        speak=str(entry.get("speak") or ""),
        stage=str(entry.get("stage") or ""),
        checks=checks,
        made_of=str(entry.get("made_of") or ""),
    )


def _checks(entry: Mapping[str, Any]) -> tuple[StepCheck, ...]:
    """Return a step's checks, one for each moment; of an older run the one at its end."""
    if "checks" not in entry and entry.get("check"):
        return (StepCheck("after", str(entry["check"])),)
    found: dict[tuple[str, float | None], StepCheck] = {}
    for one in _dicts(entry.get("checks")):
        when, minutes = one.get("when"), _seconds(one.get("at_minutes"))
        if when in MOMENTS and one.get("text") and (minutes is not None) == (when == "during"):
            found.setdefault((when, minutes), StepCheck(when, str(one["text"]), minutes))
    return tuple(found.values())


def _dicts(value: Any) -> list[dict[str, Any]]:
    return [item for item in value if isinstance(item, dict)] if isinstance(value, list) else []


def _seconds(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return float(value) if 0 <= value < 1e9 else None
