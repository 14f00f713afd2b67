"""The pages of what the plates teach: the studio with its charts, and one plate."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response  # noqa: TC002 - FastAPI reads it

from argentry.out.learning import charts as learn_chart
from argentry.out.learning import tables as learn_tables
from argentry.out.learning import words as learn_words
from argentry.web.drawn import drawn
from argentry.web.pages.desk import page

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from markupsafe import Markup

router = APIRouter(include_in_schema=False)
SHARES = ((0.0, "0"), (0.25, "25"), (0.5, "50"), (0.75, "75"), (1.0, "100 %"))
# what a stage that is sound on 70 % of the plates becomes: the normal distribution at 0.5244 more
FROM_70 = ((-2.0, "7 %"), (-1.0, "32 %"), (0.0, "70 %"), (1.0, "94 %"), (2.0, "99 %"))
MOST_CAUSES = 8
BEFORE = "grey band: the trade's assumption before any plate"


@router.get("/learned")
async def learned(request: Request) -> Response:
    """Show what the plates have taught: odds, causes, effects, exposure, drift."""
    from argentry.desk.pages.learning import studio_page

    told = await run_in_threadpool(studio_page, request.app.state.house)
    return page(request, "learn_studio.html", {**told, **_studio_charts(told), **_words()})


def _words() -> dict[str, Any]:
    return {
        "share": learn_words.share,
        "behind": learn_words.behind,
        "span": learn_words.span,
        "name_of": learn_tables.name_of,
        "next_lines": learn_tables.next_lines,
    }


def _plates(count: float) -> str:
    return f"{count:.0f} plate{'' if round(count) == 1 else 's'}"


def _ranges(
    title: str,
    rows: Sequence[learn_chart.RangeRow],
    ends: tuple[float, float],
    ticks: Sequence[tuple[float, str]],
    foot: str,
) -> Markup | str:
    """Return ranges drawn; nothing when there is none."""
    if not rows:
        return ""
    return drawn(lambda width: learn_chart.range_chart(title, rows, ends, ticks, foot, width))


def _studio_charts(told: Mapping[str, Any]) -> dict[str, Any]:
    known, trend, exposure = told["learned"], told["trend"], told["exposure"]
    stages = [
        learn_chart.RangeRow(
            row["stage"], row["low"], row["probability"], row["high"], _plates(row["plates"]),
            (row["believed_low"], row["believed_high"]),
        )
        for row in known["stages"]
    ]  # fmt: skip
    effects = [
        learn_chart.RangeRow(
            row["title"], row["low"], row["effect"], row["high"], _plates(row["plates"]),
            (row["believed_low"], row["believed_high"]),
        )
        for row in learn_tables.telling(known["effects"])
    ]  # fmt: skip
    causes = told["why"]["causes"][:MOST_CAUSES]
    shares = [
        learn_chart.RangeRow(
            row["title"], row["share_low"], row["share"], row["share_high"], _plates(row["plates"])
        )
        for row in causes
    ]
    return {
        "causes": causes,
        "stage_chart": _ranges(
            "Stages that come out sound", stages, (0.0, 1.0), SHARES,
            f"plates on which the stage is sound; {BEFORE}",
        ),
        "effect_chart": _ranges(
            "Effects of conditions", effects, (-2.2, 2.2), FROM_70,
            f"where a typical change in it takes a stage that is sound on 70 %; {BEFORE}",
        ),
        "cause_chart": _ranges(
            "Causes of failures", shares, (0.0, 0.5), SHARES[:3],
            "share of the failed plates that each explains, %",
        ),
        "trend_chart": drawn(partial(learn_chart.trend_chart, trend)) if trend else "",
        "exposure_chart": drawn(
            partial(learn_chart.exposure_chart, exposure["curve"], exposure["plates"])
        ) if exposure else "",
        "drifts": [
            {**row, "svg": drawn(partial(learn_chart.drift_chart, row))}
            for row in told["why"]["charts"]
            if len(row["values"]) > 1
        ],
    }  # fmt: skip


@router.get("/learned/plate")
async def plate(request: Request, label: Annotated[str, Query(max_length=60)]) -> Response:
    """Show the odds of one plate, and what most likely went wrong with it."""
    from argentry.desk.pages.learning import plate_page

    told = await run_in_threadpool(
        plate_page, request.app.state.house, label.replace("\x00", "").strip()
    )
    return page(request, "learn_plate.html", {**told, **_plate_charts(told), **_words()})


def _plate_charts(told: Mapping[str, Any]) -> dict[str, Any]:
    odds, why = told["odds"], told["why"]
    stages = [
        learn_chart.RangeRow(
            f"{row['stage']}{', done' if row['done'] else ''}", row["low"], row["probability"],
            row["high"], _plates(row["plates"]),
        )
        for row in odds["stages"]
    ]  # fmt: skip
    whole = learn_chart.RangeRow(
        "good plate", odds["low"], odds["probability"], odds["high"], _plates(odds["plates"])
    )
    causes = [
        learn_chart.RangeRow(
            row["title"], row["low"], row["probability"], row["high"], _plates(row["plates"])
        )
        for row in (why["causes"] if why else ())
    ]
    return {
        "odds_chart": _ranges("Odds of this plate", [whole, *stages], (0.0, 1.0), SHARES,
                   "that each stage is, or comes out, sound"),
        "cause_chart": _ranges("Causes of this failure", causes, (0.0, 1.0), SHARES,
                   "that this cause was there"),
        "do": learn_words.DO[odds["advice"]],
    }  # fmt: skip
