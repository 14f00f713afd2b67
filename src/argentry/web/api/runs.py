"""The API of runs: list, open, read, add events, listen."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response, StreamingResponse

from argentry.bench.state_json import event_dict
from argentry.desk import runs
from argentry.desk.runs import RunEvents, has_run, run_answer, run_heads, time_text
from argentry.desk.runs import add_events as add
from argentry.keeping.house_clock import compare
from argentry.records.event import RunHead
from argentry.web.api.models import (
    UUID_FORM,
    EventsIn,
    EventsOut,
    Refusal,
    RunIn,
    RunOut,
)
from argentry.web.guard import NOBODY, Caller
from argentry.web.limits import Refused
from argentry.web.stream import run_stream

PROBLEMS: dict[int | str, dict[str, Any]] = {
    status: {"model": Refusal, "description": words}
    for status, words in (
        (400, "No valid JSON, or a name this server is not known by"),
        (401, "Not paired, or a token that is not known"),
        (403, "Another origin, or not allowed for this device"),
        (404, "No such run"),
        (409, "It contradicts what the book holds"),
        (413, "Too long"),
        (415, "Not sent as JSON"),
        (422, "A value that cannot be used"),
        (503, "The book cannot be written or read now"),
    )
}
router = APIRouter(prefix="/api", tags=["runs"], responses=PROBLEMS)
RunId = Annotated[str, Path(pattern=UUID_FORM)]


def caller_of(request: Request) -> Caller:
    """Return who sent the request, as the guard found."""
    caller: Caller = getattr(request.state, "caller", NOBODY)
    return caller


def no_run(run: str) -> Refused:
    """Return the refusal for a run that the book does not hold."""
    return Refused(
        404, "There is no run {run}; the first page lists the runs of this book.".format(run=run)
    )


@router.get("/health")
async def health(request: Request) -> dict[str, str]:
    """Say that the server is there, its steady time, and whether that is minutes off."""
    house = request.app.state.house
    return {
        "state": "ready",
        "server_now": time_text(house),
        "clock": compare(house.clock, house.zone).words,
    }


@router.get("/runs")
async def list_runs(request: Request) -> dict[str, list[RunHead]]:
    """List the runs of the book, the newest first."""
    return {"runs": await run_in_threadpool(run_heads, request.app.state.house)}


@router.post("/runs", status_code=201)
async def open_run(request: Request, given: RunIn) -> RunOut:
    """Open a run with plates of the book, or with a day's plan."""
    home, device = request.app.state.house, caller_of(request).name
    if given.from_plan is not None:
        if given.plates is not None:
            raise Refused(422, "plates and from_plan are both given; give one of them.")
        wanted = given.from_plan.plates
        labels = wanted if isinstance(wanted, list) else None
        count = len(wanted) if isinstance(wanted, list) else wanted
        wishes = given.from_plan.wishes
        async with request.app.state.planning:  # one plan at a time: it takes all the cores
            run = await run_in_threadpool(
                runs.open_planned_run,
                home,
                given.from_plan.date,
                count,
                labels,
                given.title,
                device,
                None if wishes is None else wishes.model_dump(exclude_none=True),
            )
    elif given.plates:
        run = await run_in_threadpool(runs.open_plain_run, home, given.plates, given.title, device)
    else:
        raise Refused(422, "No plates are named; give plates or from_plan.")
    request.app.state.broadcast.ring()
    return RunOut(run=run)


@router.get("/runs/{run}", response_model=RunEvents)
async def read_run(request: Request, run: RunId) -> Response:
    """Return a run's events and the state they leave."""
    found = await run_in_threadpool(run_answer, request.app.state.house, run)
    if found is None:
        raise no_run(run)
    # our own: checked by tests, not at every reading
    return JSONResponse({**vars(found), "events": [event_dict(one) for one in found.events]})


@router.post("/runs/{run}/events", response_model=EventsOut)
async def add_events(request: Request, run: RunId, given: EventsIn) -> Response:
    """Add events; the answer comes after they are safe in the book.

    A resend of an event already stored is answered as stored, with `duplicate` true. An event that
    cannot be taken is named in `refused`; the others are stored. When none was taken the status is
    422 and `error` is the first reason.
    """
    incoming = [event.model_dump() for event in given.events]
    found = await run_in_threadpool(
        add, request.app.state.house, run, incoming, caller_of(request).name
    )
    if found is None:
        raise no_run(run)
    if found["stored"]:
        request.app.state.broadcast.ring()
        request.app.state.advisor.heard(run, incoming)
        request.app.state.replanner.heard()
    elif found["refused"]:
        return JSONResponse({"error": found["refused"][0]["why"], **found}, status_code=422)
    return JSONResponse(found)


@router.get(
    "/runs/{run}/stream",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}, "description": "Events as they happen"}},
)
async def listen(
    request: Request,
    run: RunId,
    last_event_id: Annotated[str | None, Header(max_length=20)] = None,
    after: Annotated[int, Query(ge=0, le=2**53)] = 0,
) -> StreamingResponse:
    """Send the events of a run after Last-Event-ID (or `after`), then each new one."""
    state = request.app.state
    if not await run_in_threadpool(has_run, state.house, run):
        raise no_run(run)
    seen = after
    if last_event_id and last_event_id.isascii() and last_event_id.isdigit():
        seen = min(int(last_event_id), 2**53)
    return StreamingResponse(
        run_stream(
            state.house,
            state.broadcast,
            run,
            seen,
            state.settings.comment_seconds,
            caller_of(request).device,
        ),
        media_type="text/event-stream",
        headers={"X-Accel-Buffering": "no"},
    )
