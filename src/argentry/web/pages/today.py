"""The first page: what the hands do next, the day's plan, what waits, the days ahead."""

from __future__ import annotations

from datetime import date, tzinfo
from typing import Any

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from argentry.desk.house import House, near_date
from argentry.desk.pages.today import GoingRun, day_to_plan, going_runs, local_now, today_in_book
from argentry.desk.wishes import past_note
from argentry.out.day.ahead import good_bar, hour_words, hours_of, strip
from argentry.out.day.page import DRAWN
from argentry.out.plates.run_band import run_band
from argentry.out.stock_words import stock_notes, tired_bath
from argentry.records.day import weekday_and_date
from argentry.web.answers import plain_words
from argentry.web.days import Answer, Asked
from argentry.web.drawn import drawn
from argentry.web.pages.desk import count_of, known_only, page, wished_of

router = APIRouter(include_in_schema=False)
FIRST = "first"
OF_DAY = frozenset({"date", "count", "from", "own_labels", "title", FIRST})
MORE = ("end", "breaks", "pose_under", "workers", "frames", "boxes", "cameras", "polished")
TODAY, TOMORROW = "Today, ", "Tomorrow, "
WIDTHS = ("phone", "tablet", "desk")


@router.get("/")
async def today(request: Request) -> Response:
    """Show the day: the plan that is kept, at once; the page's script asks for what is not."""
    asked = await _asked(request)
    days = request.app.state.days
    days.looked_at()
    answer, state = await days.kept(asked), "whole"
    if answer is None:
        answer, state = _state(days.last(asked), "old")
    values = {
        **await _book(request),
        **_plan(request, asked, answer, state),
        **_days(request),
        "more": any(asked.wished.get(name) for name in MORE),
    }
    return page(request, "today.html", values)


@router.get("/today/plan")
async def plan(request: Request) -> Response:
    """Show the plan of a day, a first one by rules when that is asked for."""
    asked = await _asked(request)
    days = request.app.state.days
    by_rule = FIRST in request.query_params
    answer = await days.get(asked, request.is_disconnected, by_rule=by_rule)
    answer, state = _state(answer, "whole")
    going = await run_in_threadpool(going_runs, request.app.state.house)
    values = {**_plan(request, asked, answer, state), "going": bool(going)}
    return page(request, "today_parts.html", values)


def _state(answer: Answer | None, whole: str) -> tuple[Answer | None, str]:
    """Return what is shown and how far it is: a first plan, else `whole`; or that it is wanted."""
    if answer is None or answer.view is None or not answer.view.by_rule:
        return answer, "wanted" if answer is None else whole
    if not answer.view.plates:  # rules found none; the whole search may
        return None, "wanted"
    return answer, "first"


@router.get("/today/book")
async def book(request: Request) -> Response:
    """Show what the book knows of the day."""
    known_only(request, frozenset())
    return page(request, "today_book.html", await _book(request))


@router.get("/today/days")
async def days(request: Request) -> Response:
    """Show the days ahead as far as they are worked out."""
    known_only(request, frozenset())
    request.app.state.days.looked_at()
    return page(request, "today_days.html", _days(request))


async def _asked(request: Request) -> Asked:
    house, form = request.app.state.house, dict(request.query_params)
    known_only(request, OF_DAY)
    day = form.get("date", "").strip()
    date = near_date(house, day) if day else await run_in_threadpool(day_to_plan, house)
    return Asked(date, count_of(form), wished_of(form))


async def _book(request: Request) -> dict[str, Any]:
    house = request.app.state.house
    found = await run_in_threadpool(today_in_book, house)
    lasting = [*map(tired_bath, found.tired), *stock_notes(found.stock)]
    bands = {one.run: _run_band(one, house.zone) for one in found.runs}
    return {"book": found, "lasting": lasting, "going": bool(found.runs), "bands": bands}


def _plan(request: Request, asked: Asked, answer: Answer | None, state: str) -> dict[str, Any]:
    house = request.app.state.house
    view = None if answer is None else answer.view
    return {
        "asked": asked,
        "state": state,
        "view": view,
        "refused": "" if answer is None else plain_words(answer.refused),
        "notes": () if view is None else tuple(map(plain_words, view.notes)),
        "band": "" if view is None else _band(view.drawings),
        "when": _when(house, asked.day),
        "past": past_note(asked.day, local_now(house)),
        "now": local_now(house).isoformat(timespec="seconds"),
    }


def _run_band(going: GoingRun, zone: tzinfo) -> Markup | str:
    """Return the band of an open run; nothing while it has neither plan nor work."""
    drawings = tuple(run_band(going.state, zone, width, size) for width, size in DRAWN)
    return _band(drawings) if all(drawings) else ""


def _band(drawings: tuple[str, ...]) -> Markup:
    """Return the same band for a phone, a tablet and a desk; one of them is shown."""
    each = zip(WIDTHS, drawings, strict=True)
    parts = "".join(f'<div class="at-{name}">{svg}</div>' for name, svg in each)
    return Markup(parts)  # noqa: S704 - the drawing escapes every word


def _when(house: House, day: date) -> str:
    ahead = (day - local_now(house).date()).days
    return {0: TODAY, 1: TOMORROW}.get(ahead, f"{weekday_and_date(day, year=False)}, ")


def _days(request: Request) -> dict[str, Any]:
    there, left = request.app.state.days.ahead()
    hours = hours_of(there)
    most = max((hour[3] for one in there for hour in one.light), default=1.0)
    plates = max((one.good[2] for one in there), default=1.0)
    usual = [one for one in there if one.usual]
    return {
        "left": left,
        "usual": len(usual),
        "usual_from": usual[0].day if usual else "",
        "axis": drawn(lambda width: hour_words(hours, width * 0.6)),
        "rows": [
            {
                "one": one,
                "strip": Markup(strip(one, hours, most, 300.0)),  # noqa: S704
                "bar": Markup(good_bar(one, plates)),  # noqa: S704
            }
            for one in there
        ],
    }
