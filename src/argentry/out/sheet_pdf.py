"""The day sheet on paper: one page, black on white, made by typst from data alone."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

from argentry.errors import BadInput
from argentry.out import answer
from argentry.out.blocks import Block, blocks, short_name
from argentry.out.chart import day_svg
from argentry.out.wording import clock, clock_range, length, length_range, percent
from argentry.records.day import Range

if TYPE_CHECKING:
    from collections.abc import Iterable

    from argentry.records.day import DayPlan, HourLight, PlannedStep

PAPERS = ("a4", "us-letter")
# Type sizes tried from the largest on, until the sheet stays on its page. [pt]
SIZES = tuple(size / 4 for size in range(44, 17, -1))
HALVES_ABOVE = 14  # rows of the running order before it stands in two columns
HOURS_AT_MOST = 16


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
        If the paper is no known one.
    """
    if paper not in PAPERS:
        raise BadInput("--paper", f"{paper!r} is no known paper", f"give one of {', '.join(PAPERS)}")
    return bytes(
        _compiler().compile(
            format="pdf",
            sys_inputs={"data": json.dumps(sheet_data(plan, paper)), "chart": day_svg(plan)},
            pdf_standards=["a-2b"],
        )
    )


def type_size(plan: DayPlan, paper: str = "a4") -> float:
    """Return the size of the body type the sheet is set in. [pt]"""
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
            sys_inputs={"data": json.dumps(sheet_data(plan, paper)), "chart": day_svg(plan)},
        )
    return float(json.loads(found))


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


def sheet_data(plan: DayPlan, paper: str) -> dict[str, Any]:
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
    numbered = _cautions(plan)
    pieces = blocks(plan)
    rows = (
        [_step_row(step, numbered) for step in plan.steps]
        if single
        else [_block_row(block) for block in pieces]
    )
    notes = (*plan.warnings, answer.clock_change(plan))
    return {
        "paper": paper,
        "sizes": SIZES,
        "title": f"Day sheet, {plan.studio}, {plan.date:%Y-%m-%d}",
        "made": {"year": plan.date.year, "month": plan.date.month, "day": plan.date.day},
        "studio": plan.studio,
        "place": plan.place,
        "date": f"{plan.date:%A} {plan.date.day} {plan.date:%B %Y}",
        "zone": str(plan.date.tzinfo),
        "sun": answer.sun_line(plan),
        "invented": plan.invented,
        "headline": answer.headline(plan),
        "odds": [{"words": words, "figure": figure} for words, figure in _figures(plan)],
        "holds": answer.holds(plan),
        "warnings": [note for note in notes if note],
        "alt": "Light over the day and the plates below it, as told in the table.",
        "single": single,
        "halves": len(rows) > HALVES_ABOVE,
        "rows": rows,
        "card": [] if single else _card(plan, numbered),
        "hours": [_hour(hour, plan.days_simulated) for hour in shown_hours(plan)],
        "cautions": [{"mark": f"!{mark}", "text": text} for text, mark in numbered.items()],
        "coat": answer.coat_words(plan),
        "swatch": answer.swatch(plan),
        "materials": ", ".join(f"{name} {amount}" for name, amount in plan.materials),
        "assumptions": answer.assumptions(plan),
    }


def shown_hours(plan: DayPlan) -> tuple[HourLight, ...]:
    """Return the hours worth a column: those with light, every second one when there are many."""
    lit = [hour for hour in plan.hours if hour.exposure_w_m2.high > 0 or hour.exposure_suffices > 0]
    return tuple(lit if len(lit) <= HOURS_AT_MOST else lit[::2])


def _figures(plan: DayPlan) -> Iterable[tuple[str, str]]:
    """Return the odds with the short form of their base, to stand in one line."""
    for words, figure in answer.odds_lines(plan):
        value, _, base = figure.partition(", ")
        yield (f"{words}, {base}" if base else words), value


def _cautions(plan: DayPlan) -> dict[str, int]:
    """Return every caution of the day once, numbered in order: those of steps, then the general."""
    texts = [text for step in plan.steps for text in step.cautions] + list(plan.cautions)
    return {text: number for number, text in enumerate(dict.fromkeys(texts), start=1)}


def _marks(cautions: Iterable[str], numbered: dict[str, int]) -> str:
    return " ".join(f"!{number}" for number in sorted({numbered[text] for text in cautions}))


def _float(minutes: float) -> str:
    return f"+{length(minutes)}" if minutes >= 1 else "now"


def _step_row(step: PlannedStep, numbered: dict[str, int]) -> dict[str, Any]:
    return {
        "latest": clock(step.latest_start),
        "float": _float(step.float_minutes),
        "range": clock_range(step.start_low, step.start_high),
        "minutes": length_range(step.minutes),
        "what": step.title if step.attended else f"{step.title} (no hands)",
        "marks": _marks(step.cautions, numbered),
        "look": _sentence(step.look_for),
        "check": step.check,
    }


def _block_row(block: Block) -> dict[str, Any]:
    return {
        "latest": clock(block.latest_start),
        "float": _float(block.float_minutes),
        "range": clock_range(block.start_low, block.start_high),
        "plate": str(block.plate) if block.plate else "all",
        "hands": block.attended,
        "what": block.name if block.attended else f"{block.name} (no hands)",
        "minutes": length_range(block.minutes),
    }


def _card(plan: DayPlan, numbered: dict[str, int]) -> list[dict[str, Any]]:
    """Return each kind of step once, with its length over all plates of the day."""
    kinds: dict[str, list[PlannedStep]] = {}
    for step in sorted(plan.steps, key=lambda one: (one.plate, one.start.timestamp())):
        kinds.setdefault(step.step, []).append(step)
    card = []
    for steps in kinds.values():
        spans = [step.minutes for step in steps]
        middles = sorted(span.middle for span in spans)
        whole = Range(
            min(span.low for span in spans),
            middles[len(middles) // 2],
            max(span.high for span in spans),
        )
        first = steps[0]
        card.append(
            {
                "what": short_name(first).capitalize(),
                "minutes": length_range(whole),
                "marks": _marks((text for step in steps for text in step.cautions), numbered),
                "look": _sentence(f"{first.title}: {first.look_for}"),
                "check": first.check,
            }
        )
    return card


def _sentence(words: str) -> str:
    words = words.strip()
    return words if not words or words[-1] in ".!?" else f"{words}."


def _hour(hour: HourLight, days: int) -> dict[str, Any]:
    span = hour.exposure_minutes
    middle = length(span.middle).removesuffix(" min")
    return {
        "time": f"{hour.time:%H}",
        "exposure": {
            "text": percent(hour.exposure_suffices, days).replace(" %", ""),
            "share": hour.exposure_suffices,
        },
        "minutes": middle,
        "development": {
            "text": percent(hour.development_suffices, days).replace(" %", ""),
            "share": hour.development_suffices,
        },
        "ripe": clock(hour.development_end),
    }
