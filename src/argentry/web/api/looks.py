"""A look at a plate: the bench sends a picture as it is and is answered in one line."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from argentry.desk.runs import has_run
from argentry.records.plain import plain
from argentry.web.api.runs import RunId, no_run
from argentry.web.uploads import body_into, one_at_a_time

# its body is a picture and no JSON: the description of the API leaves it out
router = APIRouter(prefix="/api", include_in_schema=False)


@router.post("/runs/{run}/looks")
async def look(
    request: Request,
    run: RunId,
    plate: Annotated[str, Query(max_length=60)],
    name: Annotated[str, Query(max_length=300)] = "",
    light: Annotated[str | None, Query(max_length=20)] = None,
    bare: Annotated[str | None, Query(max_length=20)] = None,
    phone: Annotated[str | None, Query(max_length=120)] = None,
    of: Literal["coat", "ripening"] = "coat",
    age_s: Annotated[float, Query(ge=0, le=2_592_000)] = 0.0,
) -> Response:
    """Keep the picture that is sent and say what it shows of a plate's coat or ripening."""
    from argentry.desk.bench.looks import look_at_coat, look_at_ripening
    from argentry.keeping.plates.pictures import FROM_BENCH_BYTES, place_for

    house = request.app.state.house
    if not await run_in_threadpool(has_run, house, run):
        raise no_run(run)
    async with one_at_a_time(request):
        came = await run_in_threadpool(place_for, house.book, FROM_BENCH_BYTES)
        try:
            await body_into(request, came.write)
            see: Any = partial(look_at_coat, named=name, light=light, bare=bare, phone=phone)
            if of == "ripening":
                see = partial(look_at_ripening, named=name, bare=bare, age_s=age_s)
            found = await run_in_threadpool(
                see, house.book, house.live.now, run, plate, came, house.clock.now()
            )
        finally:
            await run_in_threadpool(came.drop)
    return JSONResponse(plain(found))
