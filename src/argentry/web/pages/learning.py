"""The pages of what the plates teach: the studio with its charts, and one plate."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from argentry.out.learning import charts as learn_chart
from argentry.out.learning import tables as learn_tables
from argentry.out.learning import words as learn_words
from argentry.out.numbers import before
from argentry.web.drawn import drawn, drawn_ranges
from argentry.web.pages.desk import page

if TYPE_CHECKING:
    from argentry.desk.pages.learning import StudioPage

router = APIRouter(include_in_schema=False)
SHARES = ((0.0, "0"), (0.25, "25"), (0.5, "50"), (0.75, "75"), (1.0, "100 %"))
# what a stage that is sound on 70 % of the plates becomes: the normal distribution at 0.5244 more
FROM_70 = ((-2.0, "7 %"), (-1.0, "32 %"), (0.0, "70 %"), (1.0, "94 %"), (2.0, "99 %"))
ALL = {"taught": True}
MOST_CAUSES = 8
BEFORE = "grey band: the trade's assumption before any plate"


@router.get("/learned")
async def learned(request: Request, fresh: Annotated[str, Query(max_length=1)] = "") -> Response:
    """Show what the plates have taught: odds, causes, effects, exposure, drift.

    What was worked out before is shown at once; where plates have come since, or nothing is kept,
    the page's script asks again for the fresh one.
    """
    taught = request.app.state.taught
    told, holds = await taught.shown(ALL, request.is_disconnected, fresh=bool(fresh))
    shown = {} if told is None else {**vars(told), **_studio_charts(told), **_words()}
    since = "" if holds else taught.since(ALL)
    shown |= {"told": told, "old": not holds, "since": since}
    return page(request, "learn_studio.html", shown)


def _words() -> dict[str, Any]:
    return {
        "share": learn_words.share,
        "behind": learn_words.behind,
        "span": learn_words.span,
        "before": before,
        "name_of": learn_tables.name_of,
        "next_lines": learn_tables.next_lines,
        "becomes": learn_words.becomes,
    }


def _studio_charts(told: StudioPage) -> dict[str, Any]:
    known, trend, exposure = told.learned, told.trend, told.exposure
    causes = told.why.causes[:MOST_CAUSES]
    return {
        "causes": causes,
        "all_effects": [row for row in known.effects if row.plates],
        "stage_chart": drawn_ranges(
            "Stages that come out sound", known.stages, (0.0, 1.0), SHARES,
            "plates on which the stage is sound; {before}".format(before=BEFORE),
        ),
        "effect_chart": drawn_ranges(
            "Effects of conditions", learn_tables.telling(known.effects), (-2.2, 2.2), FROM_70,
            ("where a typical change in it takes a stage that is sound on 70 %; "
"{before}").format(before=BEFORE),
            ("low", "effect", "high"),
        ),
        "cause_chart": drawn_ranges(
            "Causes of failures", causes, (0.0, 0.5), SHARES[:3],
            "share of the failed plates that each explains, %",
            ("share_low", "share", "share_high"),
        ),
        "came_out": learn_tables.came_out,
        "trend_chart": drawn(partial(learn_chart.trend_chart, trend)) if trend else "",
        "exposure_chart": drawn(
            partial(learn_chart.exposure_chart, exposure.curve, exposure.plates)
        ) if exposure else "",
        "drifts": [
            {**vars(row), "svg": drawn(partial(learn_chart.drift_chart, row))}
            for row in told.why.charts
            if len(row.values) > 1
        ],
    }  # fmt: skip
