"""What pictures say, asked and confirmed from a plate's page."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.keeping.seeing.picture import EDGES
from argentry.web.api.runs import caller_of
from argentry.web.pages.desk import form_of, page
from argentry.web.pages.pictures import Hash
from argentry.web.pages.plates import address_of

router = APIRouter(include_in_schema=False)
Label = Annotated[str, Query(max_length=100)]


@router.get("/seen/{sha256}/wedge")
async def ask_wedge(request: Request, sha256: Hash, plate: Label) -> Response:
    """Show a picture in which the ends of a wedge and of a grey scale are marked."""
    from argentry.desk.pages.seen import picture_of
    from argentry.keeping.seeing.wedge import AskedWedge

    house = request.app.state.house
    own = await run_in_threadpool(picture_of, house, plate, sha256)
    values = {"label": plate, "picture": own, "usual": AskedWedge()}
    return page(request, "wedge.html", values)


@router.get("/seen/{sha256}/coat")
async def ask_coat(request: Request, sha256: Hash, plate: Label) -> Response:
    """Show a picture of a coat in which a white card is marked for want of a bare strip."""
    from argentry.desk.pages.seen import picture_of
    from argentry.keeping.seeing.coat import LIGHTS, RED

    own = await run_in_threadpool(picture_of, request.app.state.house, plate, sha256)
    values = {"label": plate, "picture": own, "lights": (*LIGHTS, RED), "sides": EDGES}
    return page(request, "coat.html", values)


@router.get("/seen/{sha256}/scale")
async def ask_scale(request: Request, sha256: Hash, plate: Label) -> Response:
    """Show a picture in which the bands of a scale of coats are marked."""
    from argentry.desk.pages.seen import picture_of
    from argentry.keeping.seeing.coat import LIGHTS

    own = await run_in_threadpool(picture_of, request.app.state.house, plate, sha256)
    values = {"label": plate, "picture": own, "lights": LIGHTS, "sides": EDGES}
    return page(request, "scale.html", values)


@router.get("/seen/{sha256}/plate")
async def ask_plate(request: Request, sha256: Hash, plate: Label) -> Response:
    """Show a picture in which a grey scale and straight edges are marked."""
    from argentry.desk.pages.seen import picture_of

    own = await run_in_threadpool(picture_of, request.app.state.house, plate, sha256)
    return page(request, "edges.html", {"label": plate, "picture": own})


@router.post("/seen/change")
async def compare(request: Request) -> Response:
    """Compare two pictures of a plate, and go back to its page."""
    from argentry.desk.pages.seen import read_change

    form = await form_of(request)
    label = form.get("plate", "")
    before = await run_in_threadpool(read_change, request.app.state.house, label, form)
    return _back(request, label, "change", before)


@router.post("/seen/{sha256}/{kind}")
async def read(
    request: Request, sha256: Hash, kind: Literal["coat", "scale", "wedge", "plate"]
) -> Response:
    """Read a coat, a scale or a wedge, or look for defects, and go back to the plate's page."""
    from argentry.desk.pages import seen as desk_page

    form = await form_of(request)
    label = form.get("plate", "")
    looks = {
        "coat": desk_page.read_coat, "scale": desk_page.read_scale,
        "wedge": desk_page.read_wedge, "plate": desk_page.read_plate,
    }  # fmt: skip
    await run_in_threadpool(looks[kind], request.app.state.house, label, sha256, form)
    return _back(request, label, kind, sha256)


@router.post("/seen/{sha256}/{kind}/word")
async def word(
    request: Request, sha256: Hash, kind: Literal["scale", "wedge", "plate"]
) -> Response:
    """Take the maker's word on what was read."""
    from argentry.desk.pages.plate_page import HOST
    from argentry.desk.pages.seen import say

    form = await form_of(request)
    label = form.get("plate", "")
    told = partial(say, by=caller_of(request).name or HOST)
    await run_in_threadpool(told, request.app.state.house, label, sha256, kind, form)
    return _back(request, label, kind, sha256)


def _back(request: Request, label: str, kind: str, sha256: str) -> Response:
    request.app.state.broadcast.ring()
    return RedirectResponse(f"{address_of(label)}#{kind}-{sha256[:12]}", status_code=303)
