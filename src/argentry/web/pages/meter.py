"""The page of the light meter: its corrections over the day, and the card to cut out."""

from __future__ import annotations

from functools import partial
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from argentry.desk.house import near_date
from argentry.desk.pages.meter import generic_meters, meter_of_studio
from argentry.out.meter_card import card_foot, card_heads, card_lead, card_rows, meter_name
from argentry.out.meter_chart import meter_chart
from argentry.web.drawn import drawn
from argentry.web.pages.desk import page
from argentry.web.sheet import meter_card_of

router = APIRouter(include_in_schema=False)
Name = Annotated[str, Query(max_length=80)]
Day = Annotated[str, Query(max_length=10)]


@router.get("/meter")
async def meter(request: Request, meter: Name = "", date: Day = "") -> Response:
    """Show a light meter against the two lights over a day, and what to write on its back."""
    house = request.app.state.house
    day = near_date(house, date or "today")
    story = await run_in_threadpool(meter_of_studio, house.studio_dir, day, meter)
    return page(
        request,
        "meter.html",
        {
            "story": story,
            "name": meter_name(story),
            "chosen": meter,
            "meters": generic_meters(),
            "chart": drawn(partial(meter_chart, story)) if story.hours else "",
            "heads": card_heads(story),
            "rows": card_rows(story),
            "lead": card_lead(story),
            "foot": card_foot(story),
            "asked": urlencode({"meter": meter, "date": day.isoformat()}),
        },
    )


@router.get("/meter.pdf")
async def meter_card(request: Request, meter: Name = "", date: Day = "") -> Response:
    """Return the card as PDF."""
    house = request.app.state.house
    day = near_date(house, date or "today")
    data = await request.app.state.sheets.get(
        (day, meter),
        lambda: meter_card_of(house.studio_dir, day, meter),
        request.is_disconnected,
    )
    return Response(data, media_type="application/pdf")
