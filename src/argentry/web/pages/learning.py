"""The pages of what the plates teach: the studio with its charts, and one plate."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response  # noqa: TC002 - FastAPI reads it

from argentry.out.learning import charts as learn_chart
from argentry.out.learning import tables as learn_tables
from argentry.out.learning import words as learn_words
from argentry.web.pages.desk import page

if TYPE_CHECKING:
    from collections.abc import Mapping

router = APIRouter(include_in_schema=False)
SHARES = ((0.0, "0"), (0.25, "25"), (0.5, "50"), (0.75, "75"), (1.0, "100 %"))
PROBITS = ((-2.0, "−2"), (-1.0, "−1"), (0.0, "0"), (1.0, "+1"), (2.0, "+2"))
MOST_CAUSES = 8


def _drawn(svg: str) -> Markup:
    return Markup(svg)  # noqa: S704 - made by learn_chart, which escapes every word


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


def _studio_charts(told: Mapping[str, Any]) -> dict[str, Any]:
    known = told["learned"]
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
    ranges = learn_chart.range_chart
    before = "grey band: believed before any plate"
    return {
        "causes": causes,
        "stage_chart": _drawn(
            ranges("Stages that come out sound", stages, (0.0, 1.0), SHARES,
                   f"a usual plate comes out sound; {before}")
        ),
        "effect_chart": _drawn(
            ranges("Effects of conditions", effects, (-2.2, 2.2), PROBITS,
                   f"spoils the stage, or helps it, in probit; {before}")
        ) if effects else "",
        "cause_chart": _drawn(
            ranges("Causes of failures", shares, (0.0, 0.5), SHARES[:3],
                   "share of the failed plates that each explains, %")
        ) if shares else "",
        "trend_chart": _drawn(learn_chart.trend_chart(told["trend"])) if told["trend"] else "",
        "exposure_chart": _drawn(
            learn_chart.exposure_chart(told["exposure"]["curve"], told["exposure"]["plates"])
        ) if told["exposure"] else "",
        "drifts": [
            {**row, "svg": _drawn(learn_chart.drift_chart(row))}
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
    ranges = learn_chart.range_chart
    causes = [
        learn_chart.RangeRow(
            row["title"], row["low"], row["probability"], row["high"], _plates(row["plates"])
        )
        for row in (why["causes"] if why else ())
    ]
    return {
        "odds_chart": _drawn(
            ranges("Odds of this plate", [whole, *stages], (0.0, 1.0), SHARES,
                   "that each stage is, or comes out, sound")
        ),
        "cause_chart": _drawn(
            ranges("Causes of this failure", causes, (0.0, 1.0), SHARES,
                   "that this cause was there")
        ) if causes else "",
        "do": learn_words.DO[odds["advice"]],
    }  # fmt: skip
