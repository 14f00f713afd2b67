"""The page of the season: the map of days by hours, the best weeks, and other places beside it."""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from argentry.desk.house import near_date
from argentry.desk.season import coming_year, read_place, season_dates
from argentry.errors import BadInput
from argentry.out.season.chart import season_map
from argentry.out.season.words import (
    best_lines,
    compared,
    month_rows,
    notes_of,
    place_head,
    week_rows,
)
from argentry.records.answers.season import Season
from argentry.records.plain import from_plain
from argentry.web.drawn import drawn
from argentry.web.pages.desk import page
from argentry.web.sheet import season_sheet

if TYPE_CHECKING:
    from datetime import date

router = APIRouter(include_in_schema=False)
Day = Annotated[str, Query(alias="from", max_length=10)]
Last = Annotated[str, Query(alias="to", max_length=10)]
Place = Annotated[str, Query(max_length=200)]
NO_FILE = "a page reads no files"
LEAVE_OUT = "leave climate out, or name the file with: argentry season --at"


def _asked(request: Request, first: str, last: str, at: str) -> tuple[date, date]:
    house = request.app.state.house
    begins, ends = coming_year(
        house.studio, house.clock.now(), near_date(house, first) if first else None
    )
    ends = near_date(house, last) if last else ends
    season_dates(begins, ends)  # what cannot be is refused before any work
    if at and read_place(at).climate is not None:
        raise BadInput("at", NO_FILE, LEAVE_OUT)
    return begins, ends


async def _made(request: Request, first: date, last: date, at: str, form: str) -> bytes:
    from argentry.desk.house import book_address

    house = request.app.state.house
    made: bytes = await request.app.state.sheets.get(
        ("season", first, last, at, form),
        lambda: season_sheet(house.studio_dir, first, last, at, form, book_address(house)),
        request.is_disconnected,
    )
    return made


@router.get("/season")
async def season(request: Request, first: Day = "", last: Last = "", at: Place = "") -> Response:
    """Show a season at the studio and, when one is named, at another place."""
    begins, ends = _asked(request, first, last, at)
    found = from_plain(Season, json.loads(await _made(request, begins, ends, at, "json")))
    places: list[dict[str, Any]] = [
        {
            "head": place_head(found, place),
            "map": drawn(partial(season_map, place)),
            "best": best_lines(place),
            "months": month_rows(place),
            "weeks": week_rows(place),
            "notes": notes_of(place),
        }
        for place in found.places
    ]
    return page(
        request,
        "season.html",
        {
            "places": places,
            "compared": compared(found) if len(places) > 1 else None,
            "notes": found.notes,
            "first": begins,
            "last": ends,
            "at": at,
            "asked": urlencode({"from": begins, "to": ends, "at": at}),
        },
    )


@router.get("/season.pdf")
async def season_paper(
    request: Request, first: Day = "", last: Last = "", at: Place = ""
) -> Response:
    """Return the season as PDF."""
    begins, ends = _asked(request, first, last, at)
    data = await _made(request, begins, ends, at, "pdf")
    return Response(data, media_type="application/pdf")
