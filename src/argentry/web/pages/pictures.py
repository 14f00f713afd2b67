"""Pictures of plates: sent from the plate's page, shown there as thumbnails."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.web.pages.plates import address_of
from argentry.web.uploads import one_at_a_time, picture_into

router = APIRouter(include_in_schema=False)
Hash = Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
KEPT = {"cache-control": "private, max-age=31536000, immutable"}  # named by its content


@router.get("/pictures/{sha256}/{size}.jpg")
async def show(request: Request, sha256: Hash, size: int) -> Response:
    """Show a picture, made again from its original without anything else that stands in it."""
    from argentry.keeping.plates.pictures import shown_picture

    house = request.app.state.house
    content = await run_in_threadpool(shown_picture, house.book, house.studio_dir, sha256, size)
    return Response(content, media_type="image/jpeg", headers=KEPT)


@router.post("/pictures/{label:path}")
async def send(request: Request, label: str) -> Response:
    """Keep a picture that the form of a plate's page sends."""
    from argentry.keeping.plates.pictures import keep_picture, place_for

    house = request.app.state.house
    async with one_at_a_time(request):
        came = await run_in_threadpool(
            place_for, house.book, request.app.state.settings.picture_bytes
        )
        try:
            named, fields = await picture_into(request, came.write)
            kind = fields.get("kind", "plate")
            keep = partial(keep_picture, kind=kind, named=named)
            made = await run_in_threadpool(keep, house.book, came, label, house.clock.now())
        finally:
            await run_in_threadpool(came.drop)
    request.app.state.broadcast.ring()
    return RedirectResponse(address_of(made.label) + "#pictures", status_code=303)
