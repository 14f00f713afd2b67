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
Kind = Literal["coat", "scale", "wedge", "plate"]
Label = Annotated[str, Query(max_length=100)]


@router.get("/seen/{sha256}/{kind}")
async def ask(request: Request, sha256: Hash, kind: Kind, plate: Label) -> Response:
    """Show a picture in which places are marked: bands, ends of a wedge, a card, straight edges."""
    from argentry.desk.pages.seen import picture_of
    from argentry.keeping.seeing.coat import LIGHTS, RED
    from argentry.keeping.seeing.wedge import AskedWedge

    own = await run_in_threadpool(picture_of, request.app.state.house, plate, sha256)
    sheets: dict[str, tuple[str, dict[str, object]]] = {
        "wedge": ("wedge.html", {"usual": AskedWedge()}),
        "coat": ("coat.html", {"lights": (*LIGHTS, RED), "sides": EDGES}),
        "scale": ("scale.html", {"lights": LIGHTS, "sides": EDGES}),
        "plate": ("edges.html", {}),
    }
    sheet, more = sheets[kind]
    return page(request, sheet, {"label": plate, "picture": own, **more})


@router.post("/seen/change")
async def compare(request: Request) -> Response:
    """Compare two pictures of a plate, and go back to its page."""
    from argentry.desk.pages.seen import read_change

    form = await form_of(request)
    label = form.get("plate", "")
    before = await run_in_threadpool(read_change, request.app.state.house, label, form)
    return _back(request, label, "change", before)


@router.post("/seen/{sha256}/{kind}")
async def read(request: Request, sha256: Hash, kind: Kind) -> Response:
    """Read a coat, a scale or a wedge, or look for defects, and go back to the plate's page."""
    from argentry.desk.pages.seen import read_picture

    form = await form_of(request)
    label = form.get("plate", "")
    await run_in_threadpool(read_picture, request.app.state.house, label, sha256, kind, form)
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
