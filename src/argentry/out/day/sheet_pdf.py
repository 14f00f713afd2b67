"""The day sheet on paper: one page, black on white, made by typst from data alone."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput
from argentry.out.day import answer
from argentry.out.day.band import day_svg
from argentry.out.day.blocks import Block, block_of, blocks, from_to, names, ripe, short_name
from argentry.out.day.caution_marks import marks, numbered_cautions
from argentry.out.wording import clock, clock_range, length_range
from argentry.records.day import Range

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from argentry.records.day import DayPlan, PlannedStep

# Width of the type on each paper: the drawing is made for it. [pt]
PAPERS = {"a4": 538.6, "us-letter": 555.3}
DRAWN_TYPE = 8.25  # 11 px. [pt]
TITLE = "Day sheet, {studio}, {date:%Y-%m-%d}"
NO_HANDS = "{title} (no hands)"
CLOSE_ABOVE = 16  # rows of the running order before it is set in two columns
# The type is set as large as one page allows, between these. [pt]
SMALLEST, LARGEST = 4.0, 11.0


def day_pdf(plan: DayPlan, paper: str = "a4") -> bytes:
    """Return the day sheet as a PDF of exactly one page.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    paper : str
        ``"a4"`` or ``"us-letter"``.

    Returns
    -------
    bytes
        A PDF/A-2b file with its fonts inside.

    Raises
    ------
    BadInput
        If the paper is not known.
    """
    if paper not in PAPERS:
        raise BadInput(
            "--paper",
            "{paper!r} is not a known paper",
            "give one of {papers}",
            paper=paper,
            papers=", ".join(PAPERS),
        )
    return bytes(
        _compiler().compile(
            format="pdf",
            sys_inputs=_inputs(plan, paper),
            pdf_standards=["a-2b"],
        )
    )


def day_picture(plan: DayPlan, paper: str = "a4", ppi: float = 110.0) -> bytes:
    """Return the day sheet as a PNG picture, for pages that show it.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    paper : str
        Name of the paper, see `PAPERS`.
    ppi : float
        Pixels per inch. [1/in]
    """
    return bytes(
        _compiler().compile(
            format="png",
            ppi=ppi,
            sys_inputs=_inputs(plan, paper),
        )
    )


def type_size(plan: DayPlan, paper: str = "a4") -> float:
    """Return the size of the body type the sheet is set in, in pt."""
    import typst

    with as_file(files("argentry.out")) as folder:
        found = typst.query(
            str(folder / "templates" / "day.typ"),
            "<type-size>",
            field="value",
            one=True,
            root=str(folder / "templates"),
            font_paths=[str(folder / "fonts")],
            ignore_system_fonts=True,
            sys_inputs=_inputs(plan, paper),
        )
    return float(json.loads(found))


def _inputs(plan: DayPlan, paper: str) -> dict[str, str]:
    """Return what the template reads: words as JSON, the drawing as SVG."""
    return {
        "data": json.dumps(sheet_data(plan, paper)),
        "chart": day_svg(plan, PAPERS[paper], DRAWN_TYPE),
    }


@cache
def _compiler() -> Any:
    import typst

    with as_file(files("argentry.out")) as folder:
        return typst.Compiler(
            str(folder / "templates" / "day.typ"),
            root=str(folder / "templates"),
            font_paths=[str(folder / "fonts")],
            ignore_system_fonts=True,
        )


def sheet_data(plan: DayPlan, paper: str) -> Mapping[str, Any]:
    """Return everything the template prints, as plain words.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    paper : str
        Name of the paper.

    Returns
    -------
    dict
        JSON-ready; the template reads it and adds only headings.
    """
    numbers = {step.plate for step in plan.steps if step.plate}
    single = len(numbers) <= 1
    numbered = numbered_cautions(plan)
    pieces = blocks(plan)
    close = len(pieces) > CLOSE_ABOVE
    notes = (*plan.warnings, answer.clock_change(plan))
    return {
        "paper": paper,
        "sizes": [SMALLEST, LARGEST],
        "title": TITLE.format(studio=plan.studio, date=plan.date),
        "made": {"year": plan.date.year, "month": plan.date.month, "day": plan.date.day},
        "studio": plan.studio,
        "place": plan.place,
        "date": f"{plan.date:%A} {plan.date.day} {plan.date:%B %Y}",
        "zone": plan.time_zone,
        "sun": answer.sun_line(plan),
        "invented": plan.invented,
        "headline": answer.headline(plan),
        "odds": [{"words": words, "figure": figure} for words, figure in _figures(plan)],
        "holds": answer.holds(plan),
        "warnings": [note for note in notes if note],
        "alt": "Light over the day and the plates below it, as the table gives it.",
        "single": single,
        "order": [] if single else [_block_row(block, short=close) for block in pieces],
        "close": close,
        "steps": [_step(steps, numbered, timed=single) for steps in _kinds(plan, single=single)],
        "cautions": [
            {"mark": f"!{mark}", "text": _on_paper(text)} for text, mark in numbered.items()
        ],
        "coat": answer.coat_words(plan),
        "swatch": answer.swatch(plan),
        "materials": ", ".join(f"{one.name} {one.amount}" for one in plan.materials),
        "assumptions": answer.assumptions(plan),
    }


def _figures(plan: DayPlan) -> Iterable[tuple[str, str]]:
    """Return the odds with the short form of their base, to stand in one line."""
    for words, figure in answer.odds_lines(plan):
        value, _, base = figure.partition(", ")
        yield (f"{words}, {base}" if base else words), value


def _on_paper(caution: str) -> str:
    """Leave out the closing sentence that local rules decide: the sheet says it once for all."""
    short = re.sub(r"(?<=\. )[^.]*\b(?:rules|sheet|codes?) decides?\.$", "", caution).strip()
    return short or caution


def _begin_by(step: PlannedStep) -> str:
    """Return by when a step must begin, nothing for one that begins by itself."""
    return block_of((step,)).begin_by if step.attended else ""


def _block_row(block: Block, *, short: bool) -> dict[str, Any]:
    middle, span = length_range(block.minutes)
    wait = block.wait
    row = {
        "start": clock(block.start),
        "latest": block.begin_by,
        "range": clock_range(block.start_low, block.start_high),
        "plate": str(block.plate) if block.plate else "",
        "what": (from_to if short else names)(block.hands) if block.hands else "",
        "minutes": middle,
        "span": span,
        "wait": "",
    }
    if wait is not None:
        early, middle_end, late = ripe(wait)
        span = clock_range(early, late)
        row["wait"] = (
            f"ripe {span}" if short else f"{short_name(wait)} to {clock(middle_end)} ({span})"
        )
    return row


def _kinds(plan: DayPlan, *, single: bool) -> Iterable[list[PlannedStep]]:
    """Return the steps to be explained: each one for a single plate, else each kind once."""
    if single:
        return [[step] for step in plan.steps]
    kinds: dict[str, list[PlannedStep]] = {}
    for step in sorted(plan.steps, key=lambda one: (one.plate, one.start.timestamp())):
        kinds.setdefault(step.step, []).append(step)
    return kinds.values()


def _step(steps: list[PlannedStep], numbered: dict[str, int], *, timed: bool) -> dict[str, Any]:
    """Return one entry of the step list, its length over all the plates that go through it."""
    first = steps[0]
    middles = sorted(step.minutes.middle for step in steps)
    middle, span = length_range(
        Range(
            min(step.minutes.low for step in steps),
            middles[len(middles) // 2],
            max(step.minutes.high for step in steps),
        )
    )
    return {
        "start": clock(first.start) if timed else "",
        "latest": _begin_by(first) if timed else "",
        "range": clock_range(first.start_low, first.start_high) if timed else "",
        "what": _title(first, timed=timed),
        "minutes": middle,
        "span": span,
        "marks": marks((text for step in steps for text in step.cautions), numbered),
        "look": _sentence(first.look_for),
        "check": _sentence(first.check),
    }


def _title(step: PlannedStep, *, timed: bool) -> str:
    if not timed:
        return short_name(step).capitalize()
    return step.title if step.attended else NO_HANDS.format(title=step.title)


def _sentence(words: str) -> str:
    words = words.strip()
    return words if not words or words[-1] in ".!?" else f"{words}."
