"""The day sheet on paper: the day on page one, its steps and cautions on page two, by typst."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from argentry.errors import BadInput
from argentry.out.day import answer
from argentry.out.day.band import day_svg
from argentry.out.day.blocks import over_iodine, short_name
from argentry.out.day.caution_marks import marks, numbered_cautions
from argentry.out.day.hour_words import hour_table
from argentry.out.day.rows import rows, wait_rules
from argentry.out.typeset import pdf, with_units
from argentry.out.wording import length_range
from argentry.records.day import DayPlan, PlannedStep, Range, weekday_and_date
from argentry.records.units import told

# Width of the type on each paper: the drawing is made for it. [pt]
PAPERS = {"a4": 538.6, "us-letter": 555.3}
DRAWN_TYPE = 8.25  # 11 px: nothing on the sheet is smaller. [pt]
TEMPLATE = "day.typ"
TITLE = "Day sheet, {studio}, {date:%Y-%m-%d}"
# The type of each page is as large as the page allows, between these; what does not fit at the
# smallest runs on to a further page. [pt]
SIZES = {"rows": (10.0, 13.0), "steps": (9.0, 10.5)}
HEADS = ("start", "80 % of days", "at the latest", "plate", "hands; then the wait (80 %)")
HOURS = "odds of an exposure in time, its minutes (80 %), odds of ripe by the end"


def day_pdf(plan: DayPlan, paper: str = "a4") -> bytes:
    """Return the day sheet as a PDF: page one is read at arm's length, page two looked up.

    Parameters
    ----------
    plan : DayPlan
        The planned day.
    paper : str
        ``"a4"`` or ``"us-letter"``.
    """
    if paper not in PAPERS:
        raise BadInput(
            "--paper",
            "{paper!r} is not a known paper",
            "give one of {papers}",
            paper=paper,
            papers=", ".join(PAPERS),
        )
    return pdf(TEMPLATE, inputs(plan, paper))


def inputs(plan: DayPlan, paper: str) -> dict[str, str]:
    """Return what the template reads: words as JSON, the drawing as SVG."""
    return {
        "data": json.dumps(sheet_data(plan, paper)),
        "chart": day_svg(plan, PAPERS[paper], DRAWN_TYPE),
    }


def sheet_data(plan: DayPlan, paper: str) -> Mapping[str, Any]:
    """Return everything the template prints, as plain words.

    Returns
    -------
    dict
        JSON-ready; the template reads it and adds only headings.
    """
    single = len({step.plate for step in plan.steps if step.plate}) <= 1
    numbered = numbered_cautions(plan)
    return {
        "paper": paper,
        "sizes": SIZES,
        "title": TITLE.format(studio=plan.studio, date=plan.date),
        "made": {"year": plan.date.year, "month": plan.date.month, "day": plan.date.day},
        "studio": plan.studio,
        "place": plan.place,
        "date": weekday_and_date(plan.date),
        "zone": plan.time_zone,
        "sun": answer.sun_line(plan),
        "invented": plan.invented,
        "headline": answer.headline(plan),
        "odds": [{"words": words, "figure": figure} for words, figure in _figures(plan)],
        "holds": " ".join(answer.of_this_day(plan)),
        "warnings": [_whole(note) for note in answer.notes(plan)],
        "alt": "Light over the day and the plates below it, as the table gives it.",
        "heads": HEADS,
        "rows": [asdict(row) for row in rows(plan, each_step=single)],
        "waits": "; ".join(wait_rules(plan)),
        "hours": hour_table(plan),
        "hours-note": HOURS,
        "steps": [_step(steps, numbered, plan) for steps in _kinds(plan)],
        "cautions": [
            {"mark": f"!{mark}", "text": _on_paper(text)} for text, mark in numbered.items()
        ],
        "coat": answer.coat_words(plan),
        "swatch": answer.swatch(plan),
        "materials": answer.uses(plan),
        "assumptions": answer.assumptions(plan),
    }


def _figures(plan: DayPlan) -> Iterable[tuple[str, str]]:
    """Return the odds with the short form of their base, to stand in one line."""
    for words, figure in answer.odds_lines(plan):
        value, _, base = figure.partition(", ")
        yield (f"{words}, {base}" if base else words), value


def _whole(words: str) -> str:
    """Return words in which no line breaks within an option, or between a number and its unit."""
    return re.sub(r"--[\w-]+", lambda one: one[0].replace("-", "-\u2060"), with_units(words))


def _on_paper(caution: str) -> str:
    """Leave out the closing sentence that local rules decide: the sheet says it once for all."""
    short = re.sub(r"(?<=\. )[^.]*\b(?:rules|sheet|codes?) decides?\.$", "", caution).strip()
    return short or caution


def _kinds(plan: DayPlan) -> Iterable[list[PlannedStep]]:
    """Return the steps by kind, in the order of the work."""
    kinds: dict[str, list[PlannedStep]] = {}
    for step in sorted(plan.steps, key=lambda one: (one.plate, one.start.timestamp())):
        kinds.setdefault(step.step, []).append(step)
    return kinds.values()


def _step(steps: list[PlannedStep], numbered: dict[str, int], plan: DayPlan) -> dict[str, Any]:
    """Return one entry of the step list, its length over all the plates that go through it."""
    first = steps[0]
    middles = sorted(step.minutes.middle for step in steps)
    middle, span = over_iodine(plan, first) or length_range(
        Range(
            min(step.minutes.low for step in steps),
            middles[len(middles) // 2],
            max(step.minutes.high for step in steps),
        )
    )
    return {
        "what": short_name(first).capitalize(),
        "title": _sentence(first.title),
        "minutes": middle,
        "span": span,
        "marks": marks((text for step in steps for text in step.cautions), numbered),
        "look": _sentence(told(first.look_for, plan.units)),
        "check": _sentence(told(first.check, plan.units)),
    }


def _sentence(words: str) -> str:
    words = words.strip()
    return words if not words or words[-1] in ".!?" else f"{words}."
