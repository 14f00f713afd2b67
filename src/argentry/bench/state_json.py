"""A run's state as JSON values: what the page and the terminal show, and the shared test cases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, is_dataclass
from datetime import UTC, datetime
from typing import Any

from argentry.bench.hands import Hands, NextPlanned, hands_next, next_planned
from argentry.records.event import Event
from argentry.records.plain import shown_fields
from argentry.records.run import RunState


@dataclass(frozen=True, kw_only=True)
class RunNow(RunState):
    """The run as it stands now.

    Attributes
    ----------
    hands : tuple of Hands
        What each open plate wants of the hands, the most pressing first.
    next_planned : NextPlanned or None
        The step for hands that the plan begins next; null without a plan.
    """

    hands: tuple[Hands, ...]
    next_planned: NextPlanned | None


def iso(moment: datetime) -> str:
    """Return a moment in UTC, always with microseconds and Z, so that text order is time order."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f") + "Z"


def state_dict(state: RunState) -> Mapping[str, Any]:
    """Return a run's state with its list of hands as JSON values.

    Returns
    -------
    dict
        The fields of `RunState` by name (times ISO 8601 in UTC, seconds to the millisecond) and
        ``hands``: `hands_next`, ``next_planned``: that function's.
    """
    return {
        **_plain(state),
        "hands": _plain(hands_next(state)),
        "next_planned": _plain(next_planned(state)),
    }


def event_dict(event: Event) -> Mapping[str, Any]:
    """Return an event as JSON values."""
    told: Mapping[str, Any] = _plain(event)
    return told


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return iso(value)
    if is_dataclass(value):
        names = (one.name for one in shown_fields(value))
        return {name: _field(name, getattr(value, name)) for name in names}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if hasattr(value, "items"):
        return {key: _plain(item) for key, item in value.items()}
    return value


def _field(name: str, value: Any) -> Any:
    if name.endswith("_s") and isinstance(value, (int, float)):
        return round(float(value), 3)
    return _plain(value)
