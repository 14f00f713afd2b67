"""The page on which the host sets the house's clock."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from argentry.keeping.house_clock import compare, set_clock
from argentry.web.api.runs import caller_of
from argentry.web.pages.desk import page

router = APIRouter(include_in_schema=False)


def _page(request: Request, moved: int | None = None) -> Response:
    house = request.app.state.house
    values = {"clock": compare(house.clock, house.zone), "zone": house.zone, "moved": moved}
    return page(request, "clock.html", values)


@router.get("/clock")
async def clock(request: Request) -> Response:
    """Show the house's clock next to the machine's. Only the host itself may see it."""
    return _page(request)


@router.post("/clock")
async def set_by_machine(request: Request) -> Response:
    """Set the house's clock by the machine's. Only the host itself may do it."""
    state = request.app.state
    house, by = state.house, caller_of(request).name
    moved = await run_in_threadpool(set_clock, house.book, house.clock, by)
    state.broadcast.ring()
    return _page(request, moved)
