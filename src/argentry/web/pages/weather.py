"""The page of weather services: what each is sent, the yes, what is kept and how old it is."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.errors import BadInput
from argentry.keeping.studio import load_studio
from argentry.records.studio import NO_SERVICE
from argentry.web.pages.desk import form_of, page

router = APIRouter(include_in_schema=False)
TICK = "tick the box under what is sent"
NOT_TICKED = "the box that says yes is not ticked"


@router.get("/weather")
async def weather(request: Request) -> Response:
    """Show each service and how this studio stands with it. Only the host itself may see it."""
    from argentry.keeping.forecast.states import service_states

    folder = request.app.state.house.studio_dir
    studio = await run_in_threadpool(load_studio, folder)
    found = await run_in_threadpool(service_states, folder, studio)
    return page(request, "weather.html", {"weather": found, "contact": studio.weather.contact})


@router.post("/weather/agree")
async def agree(request: Request) -> Response:
    """Write into the studio file that a service may be asked, or that none may."""
    from argentry.keeping.forecast import consent

    form, folder = await form_of(request), request.app.state.house.studio_dir
    service, contact = form.get("service", ""), form.get("contact", "").strip()
    if service != NO_SERVICE and form.get("yes") != "yes":
        raise BadInput("service", NOT_TICKED, TICK)
    await run_in_threadpool(consent.agree, folder, service, contact or None)
    return RedirectResponse("/weather", status_code=303)


@router.post("/weather/fetch")
async def fetch(request: Request) -> Response:
    """Fetch from a service that was agreed to; a failure is kept and shown on the page."""
    from argentry.keeping.forecast.states import fetch_now

    form, folder = await form_of(request), request.app.state.house.studio_dir
    studio = await run_in_threadpool(load_studio, folder)
    await run_in_threadpool(fetch_now, folder, studio, form.get("service", ""))
    return RedirectResponse("/weather", status_code=303)
