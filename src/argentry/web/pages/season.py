"""The page of the season: the map of days by hours, the best weeks, and other places beside it."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from argentry.desk.house import book_address, near_date
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
from argentry.web.drawn import drawn
from argentry.web.pages.desk import page
from argentry.web.sheet import season_sheet

router = APIRouter(include_in_schema=False)
Day = Annotated[str, Query(alias="from", max_length=10)]
Last = Annotated[str, Query(alias="to", max_length=10)]
Place = Annotated[str, Query(max_length=200)]
Fresh = Annotated[str, Query(max_length=1)]
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


@router.get("/season")
async def season(
    request: Request, first: Day = "", last: Last = "", at: Place = "", fresh: Fresh = ""
) -> Response:
    """Show a season at the studio and, when one is named, at another place.

    What was worked out before is shown at once; where something has changed since, or nothing is
    kept, the page's script asks again for the fresh one.
    """
    begins, ends = _asked(request, first, last, at)
    seasons = request.app.state.seasons
    question = {"season": [begins.isoformat(), ends.isoformat(), at]}
    found, holds = await seasons.shown(question, request.is_disconnected, fresh=bool(fresh))
    places: list[dict[str, Any]] = [
        {
            "head": place_head(found, place),
            "map": drawn(partial(season_map, place)),
            "best": best_lines(place),
            "months": month_rows(place),
            "weeks": week_rows(place),
            "notes": notes_of(place),
        }
        for place in (found.places if found else ())
    ]
    return page(
        request,
        "season.html",
        {
            "places": places,
            "compared": compared(found) if found and len(places) > 1 else None,
            "notes": found.notes if found else (),
            "old": not holds,
            "since": "" if holds else seasons.since(question),
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
    house = request.app.state.house
    data = await request.app.state.sheets.get(
        ("season", begins, ends, at),
        lambda: season_sheet(house.studio_dir, begins, ends, at, book_address(house)),
        request.is_disconnected,
    )
    return Response(data, media_type="application/pdf")
