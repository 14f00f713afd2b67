"""The API of readings and of devices."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response
from starlette.concurrency import run_in_threadpool

from argentry.desk.readings import at_house
from argentry.desk.readings.at_house import (
    KeptReading,
    latest_readings,
)
from argentry.errors import BadInput
from argentry.feed.readings import read_stamp
from argentry.keeping.sensors import devices
from argentry.keeping.sensors.devices import (
    Devices,
    revoke_device,
)
from argentry.keeping.sensors.intake import ReadingNow
from argentry.web.api.models import UUID_FORM, ReadingIn
from argentry.web.api.runs import PROBLEMS, caller_of
from argentry.web.limits import Refused

router = APIRouter(prefix="/api", responses=PROBLEMS)


@router.post("/readings", tags=["readings"], status_code=201)
async def add_reading(request: Request, given: ReadingIn) -> KeptReading:
    """Keep one measured value; a doubtful one is kept, marked and not used."""
    if given.at is not None and given.age_s is not None:
        raise Refused(422, "at and age_s are both given; give one of them.")
    state = request.app.state
    values = {**given.model_dump(), "at": read_stamp(given.at)}
    found = await run_in_threadpool(
        at_house.add_reading, state.house, values, caller_of(request).name
    )
    state.broadcast.ring()
    return found


@router.get("/readings/latest", tags=["readings"])
async def latest(request: Request) -> dict[str, dict[str, ReadingNow]]:
    """Return the latest reading of each quantity and whether it may be used."""
    return {"readings": await run_in_threadpool(latest_readings, request.app.state.house)}


@router.get("/devices", tags=["devices"])
async def list_devices(request: Request) -> Devices:
    """List the devices that were let in. Only the host itself may ask."""
    return await run_in_threadpool(devices.list_devices, request.app.state.house.book)


@router.delete("/devices/{device}", tags=["devices"], status_code=204)
async def revoke(request: Request, device: Annotated[str, Path(pattern=UUID_FORM)]) -> Response:
    """Shut a device out. Only the host itself may do it."""
    try:
        await run_in_threadpool(revoke_device, request.app.state.house.book, device)
    except BadInput as error:
        raise Refused(404, str(error)) from None
    request.app.state.devices.forget()
    request.app.state.broadcast.revoked()
    return Response(status_code=204)
