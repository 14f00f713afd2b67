"""The bench in a terminal: the step in hand with its time in large figures, then all plates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from argentry.bench.dew import dew_words
from argentry.bench.hands import hands_next
from argentry.bench.questions import choices, question
from argentry.bench.words import (
    clock_face,
    early_words,
    hands_words,
    next_words,
    offer_lines,
    offer_of,
    past_words,
    plan_words,
    span,
)
from argentry.desk.bench.acts import hand_of, next_act
from argentry.trade.defects import defect_look

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import Console, RenderableType
    from rich.text import Text

    from argentry.bench.questions import Form
    from argentry.desk.bench.acts import Act
    from argentry.records.run import PlateState, RunState
    from argentry.records.run_plan import PlanOffer
    from argentry.records.run_step import StepState

# Figures three wide and five high, drawn with full blocks.
FIGURES = {
    "0": ("███", "█ █", "█ █", "█ █", "███"),
    "1": ("  █", "  █", "  █", "  █", "  █"),
    "2": ("███", "  █", "███", "█  ", "███"),
    "3": ("███", "  █", "███", "  █", "███"),
    "4": ("█ █", "█ █", "███", "  █", "  █"),
    "5": ("███", "█  ", "███", "  █", "███"),
    "6": ("███", "█  ", "███", "█ █", "███"),
    "7": ("███", "  █", "  █", "  █", "  █"),
    "8": ("███", "█ █", "███", "█ █", "███"),
    "9": ("███", "█ █", "███", "  █", "███"),
    ":": (" ", "█", " ", "█", " "),
    "-": ("   ", "   ", "███", "   ", "   "),
}
KEYS = (
    "n next plate   u undo   p pause   r reading   m remark   s skip   b do again   x give up   "
    "g grade   w range   q leave"
)
OFFER_KEYS = "t takes the new plan   k keeps the old one"
MORE_KEY = "   o takes one more plate"
USUAL = "{low} to {high}"
GONE = "{gone} of {planned} gone; usually {usual}"
KEEPS = "left of its keeping limit; the step lasts {planned}, usually {usual}"
KEPT_TOO_LONG = "past its keeping limit; the step lasts {planned}, usually {usual}"
LASTS = "lasts {planned}, usually {usual}"
LOOK_FOR = "Look for: {sign}"
MOST_PLANNED = 4  # plates whose planned times have a line of their own on one screen
FORM_KEYS = "u takes back an answer   q leaves"
CHOICE_KEYS = "1234567890abcdefghijklmnoprstvwxyz"  # one for each answer; q and u are taken


@dataclass(frozen=True)
class Look:
    """How the screen looks.

    Attributes
    ----------
    bright, quiet : str
        Styles of what counts and of the rest.
    ground : str
        Style of the whole.
    mark : str
        What figures are drawn with.
    """

    bright: str
    quiet: str
    ground: str
    mark: str = "█"


def look_of(console: Console, *, daylight: bool) -> Look:
    """Return pure red on true black where the terminal can; by daylight its own colours."""
    mark = "█" if console.encoding.lower().startswith("utf") else "#"
    if daylight or console.color_system is None:
        return Look("bold", "", "", mark)
    if console.color_system == "truecolor":
        return Look("bold #ff0000 on #000000", "#b00000 on #000000", "#ff0000 on #000000", mark)
    return Look("bold red on black", "red on black", "red on black", mark)


def large(text: str, mark: str = "█") -> list[str]:
    """Return figures, colons and minus signs as five lines of blocks."""
    rows = ("  ".join(FIGURES[letter][row] for letter in text) for row in range(5))
    return [row.replace("█", mark) for row in rows]


def shown_time(step: StepState) -> str:
    """Return the time that counts: left of the step, or of the keeping limit before it."""
    if step.state == "ready" and step.keep_left_s is not None:
        return clock_face(step.keep_left_s)
    return clock_face(step.left_s)


def screen(
    state: RunState,
    plate: str | None,
    look: Look,
    *,
    say: str,
    typed: str | None,
    advice: Mapping[str, str] | None = None,
    form: Form | None = None,
) -> RenderableType:
    """Return the whole screen.

    Parameters
    ----------
    state : RunState
        The run now.
    plate : str or None
        Id of the plate looked at; None the most pressing one.
    look : Look
        Colours.
    say : str
        Last answer of the bench.
    typed : str or None
        What is being typed, with its question.
    advice : Mapping[str, str], optional
        Odds and advice in one line, by plate at a checkpoint.
    form : Form, optional
        Questions about a plate, asked instead.
    """
    from rich.console import Group
    from rich.padding import Padding
    from rich.style import Style

    act = next_act(state, plate)
    if form is not None:
        asked = [_line(one, look.bright) for one in form_lines(form)]
        lines = [*_head(state, look), *asked, _line("", look.quiet), *_plates(state, act, look)]
        lines += _said(look, say, FORM_KEYS, typed)
    else:
        lines = [
            *_head(state, look),
            *_in_hand(state, plate, act, look, advice or {}),
            *_plates(state, act, look),
            *_offer(state, look),
            *(_line(one, look.bright) for one in act_words(act).split("\n")),
            *_said(look, say, KEYS, typed),
        ]
    return Padding(Group(*lines), (0, 1), style=Style.parse(look.ground), expand=True)


def full_height(shown: RenderableType, look: Look, height: int) -> RenderableType:
    """Return the screen down to the last line, so that no light ground shines under it."""
    from rich.align import Align
    from rich.style import Style

    ground = Style.parse(look.ground)
    return Align.left(shown, vertical="top", height=height, style=ground)


def _line(text: str, style: str) -> Text:
    from rich.text import Text

    return Text(text, style=style)


def _head(state: RunState, look: Look) -> list[Text]:
    stopped = "   CLOCK STOPPED" if state.state == "paused" else ""
    return [_line(f"{state.title}{stopped}", look.quiet), _line("", look.quiet)]


def _in_hand(
    state: RunState, plate: str | None, act: Act, look: Look, advice: Mapping[str, str]
) -> list[Text]:
    hand = hand_of(state, plate)
    if hand is None:
        return [_line(act.words, look.bright), _line("", look.quiet)]
    rule = state.step(hand.step)
    step = state.plate(hand.plate).step(hand.step)
    title = f"{hand.label}   {rule.title}"
    lines = [_line(title, look.bright), _line("", look.quiet)]
    lines += [_line(row, look.bright) for row in large(shown_time(step), look.mark)]
    lines += [_line("", look.quiet), _line(_time_words(step), look.quiet)]
    if hand.plate in advice:
        lines.append(_line(advice[hand.plate], look.bright))
    past = past_words(step)
    if past:
        lines.append(_line(past, look.bright))
    if step.changes:
        lines.append(_line(step.changes[-1].why, look.quiet))
    planned = plan_words(state, state.plate(hand.plate))
    if planned:
        lines.append(_line(planned, look.bright if (step.float_s or 0.0) < 0 else look.quiet))
    dew = dew_words(state, hand.plate, hand.step)
    if dew:
        lines.append(_line(dew, look.bright))
    early = early_words(state, hand)
    if early:
        lines.append(_line(early, look.bright))
    if rule.look_for:
        lines.append(_line(LOOK_FOR.format(sign=rule.look_for), look.quiet))
    return [*lines, _line("", look.quiet)]


def _time_words(step: StepState) -> str:
    usual = USUAL.format(low=span(step.low_s), high=span(step.high_s))
    if step.state == "running":
        return GONE.format(gone=span(step.elapsed_s), planned=span(step.planned_s), usual=usual)
    if step.keep_left_s is not None:
        words = KEPT_TOO_LONG if step.keep_left_s < 0 else KEEPS
        return words.format(planned=span(step.planned_s), usual=usual)
    return LASTS.format(planned=span(step.planned_s), usual=usual)


def _plates(state: RunState, act: Act, look: Look) -> list[Text]:
    lines = []
    for hand in hands_next(state):
        mark = ">" if hand.plate == act.plate else " "
        style = look.bright if hand.want in ("ripe", "keep") else look.quiet
        lines.append(_line(f"{mark} {hand.label:<10} {hands_words(state, hand)}", style))
        planned = plan_words(state, state.plate(hand.plate))
        if planned and hand.plate != act.plate and len(state.plates) <= MOST_PLANNED:
            lines.append(_line(f"             {planned}", look.quiet))
    for plate in state.plates:
        if plate.state != "open":
            words = _over_words(plate)
            lines.append(_line(f"  {plate.label:<10} {words}", look.quiet))
    upcoming = next_words(state)
    if upcoming:
        lines.append(_line(upcoming, look.quiet))
    return [*lines, _line("", look.quiet)]


def _offer(state: RunState, look: Look) -> list[Text]:
    offer = offer_of(state)
    if offer is None:
        return []
    lines = [_line(line, look.bright) for line in offer_lines(offer)]
    return [*lines, _line(offer_keys(offer), look.bright), _line("", look.quiet)]


def offer_keys(offer: PlanOffer) -> str:
    """Return the keys that answer a new plan."""
    return OFFER_KEYS + (MORE_KEY if offer.more else "")


def _over_words(plate: PlateState) -> str:
    if plate.grading is not None:
        defects = ", ".join(defect_look(key) for key, _ in plate.grading.defects)
        return ": ".join(filter(None, ("finished", plate.grading.grade, defects)))
    words = {"done": "finished", "abandoned": "given up", "withdrawn": "withdrawn"}[plate.state]
    return ": ".join(filter(None, (words, plate.why)))


def form_lines(form: Form) -> list[str]:
    """Return a question about a plate and its answers, each with its key."""
    told = zip(CHOICE_KEYS, choices(form), strict=False)
    return [question(form), *(f"  {key}  {words}" for key, (_, words) in told)]


ANSWERS = "space: {right}   2: {also}doubtful   3: {also}wrong"
ACT_WORDS = {
    "cautions": "CAUTIONS OF THE DAY\n{words}\nspace: I have read these",
    "caution": "CAUTION  {words}\nspace: seen, begin",
    "closed": "{words}",
    "wait": "{words}",
    "grade": "{words}",
}


def act_words(act: Act) -> str:
    """Return what the one key does now; several lines where there are cautions."""
    if act.check is not None:
        also = "done, " if act.kind == "end" else ""
        right = "right, begin" if act.check.when == "before" else f"{also}right"
        *cautions, check = act.words.split("\n")
        lines = [*(f"CAUTION  {text}" for text in cautions), f"CHECK  {check}"]
        return "\n".join(lines) + "   " + ANSWERS.format(right=right, also=also)
    return ACT_WORDS.get(act.kind, "space: {words}").format(words=act.words)


def _said(look: Look, say: str, keys: str, typed: str | None) -> list[Text]:
    lines = [_line(say, look.quiet)] if say else []
    lines += [_line("", look.quiet), _line(keys, look.quiet)]
    if typed is not None:
        lines.append(_line(f"{typed}_", look.bright))
    return lines


def plain_lines(
    state: RunState,
    plate: str | None,
    advice: Mapping[str, str] | None = None,
    form: Form | None = None,
) -> list[str]:
    """Return how the run stands in a few plain lines, for a pipe or a screen reader."""
    if form is not None:
        return form_lines(form)
    act = next_act(state, plate)
    hand = hand_of(state, plate)
    lines = []
    if hand is not None:
        step = state.plate(hand.plate).step(hand.step)
        why = f" ({step.changes[-1].why})" if step.changes else ""
        lines.append(f"{hand.label}: {hands_words(state, hand)}{why}")
        planned = plan_words(state, state.plate(hand.plate))
        lines += [f"{hand.label}: {planned}"] if planned else []
        told = (dew_words(state, hand.plate, hand.step), early_words(state, hand))
        lines += [f"{hand.label}: {words}" for words in told if words]
        if advice and hand.plate in advice:
            lines.append(f"{hand.label}: {advice[hand.plate]}")
    lines += filter(None, [next_words(state)])
    offer = offer_of(state)
    lines += [] if offer is None else [*offer_lines(offer), offer_keys(offer)]
    return [*lines, *act_words(act).split("\n")]
