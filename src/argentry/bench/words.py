"""Words of the bench: spans of time, why a length changed, what a plate wants of the hands."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from argentry.bench.hands import Hands
    from argentry.records.run import RunState


CHANGED = "{why}: {now} instead of {before}"
WANTED = "{title}: {wants}"
OVER_TIME = "{span} over time"
LOOK = "look at it, {span} left"
LEFT = "{span} left"
WAITS = "waits for the {thing} that {label} holds, {span}"
WITHIN = "begin within {span}"
LATE = "at once, late by {span}"


def span(seconds: float) -> str:
    """Return a span of time in words for the bench.

    Examples
    --------
    >>> [span(s) for s in (82.4, 250, 7500)]
    ['82 s', '4 min 10 s', '2 h 05 min']
    """
    sign, whole = ("-" if round(seconds) < 0 else ""), abs(round(seconds))
    if whole < 120:
        return f"{sign}{whole} s"
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        return f"{sign}{minutes} min" + (f" {rest:02d} s" if rest else "")
    hours, minutes = divmod(round(whole / 60), 60)
    return f"{sign}{hours} h {minutes:02d} min"


def clock_face(seconds: float) -> str:
    """Return seconds as a clock face: minutes and seconds, with hours from an hour on.

    Examples
    --------
    >>> [clock_face(s) for s in (9, 250.2, -61, 7500)]
    ['0:09', '4:10', '-1:01', '2:05:00']
    """
    whole = abs(round(seconds))
    sign = "-" if seconds < 0 and whole else ""
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{sign}{hours}:{minutes:02d}:{rest:02d}" if hours else f"{sign}{minutes}:{rest:02d}"


def change_words(why: str, was_s: float, planned_s: float) -> str:
    """Return by how much and why a step's length changed, as one line.

    Examples
    --------
    >>> change_words("box at 14 °C", 50, 82)
    'box at 14 °C: 82 s instead of 50 s'
    """
    return CHANGED.format(why=why, now=span(planned_s), before=span(was_s))


def hands_words(state: RunState, hands: Hands) -> str:
    """Return what a plate wants of the hands, in a few words."""
    title = state.step(hands.step).title
    return WANTED.format(title=title, wants=_want_words(state, hands))


def _want_words(state: RunState, hands: Hands) -> str:
    left, keep = hands.left_s or 0.0, hands.keep_left_s
    words = {
        "paused": "clock stopped",
        "ripe": OVER_TIME.format(span=span(-left)),
        "look": LOOK.format(span=span(left)),
        "busy": LEFT.format(span=span(left)),
        "wait": LEFT.format(span=span(left)),
        "begin": "may begin",
    }
    if hands.waits_for is not None:
        label = state.plate(hands.waits_for).label
        thing = state.step(hands.step).resource
        return WAITS.format(thing=thing, label=label, span=span(hands.in_s or 0.0))
    if hands.want in words:
        return words[hands.want]
    keep = keep or 0.0
    if keep > 0.0:
        return WITHIN.format(span=span(keep))
    return LATE.format(span=span(-keep)) if keep <= -1.0 else "at once"
