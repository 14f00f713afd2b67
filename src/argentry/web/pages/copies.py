"""The page of copies: which backups there are, one more, the whole book to take away."""

from __future__ import annotations

import shutil
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, RedirectResponse, Response

from argentry.desk.pages import copies as desk_page
from argentry.web.pages.desk import page

router = APIRouter(include_in_schema=False)


@router.get("/copies")
async def copies(request: Request, made: Annotated[str, Query(max_length=60)] = "") -> Response:
    """Show the backups. Only the host itself may see them: they hold the whole book."""
    found = await run_in_threadpool(desk_page.copies_page, request.app.state.house)
    new = next((one for one in found.backups if one.name == made), None)
    return page(request, "copies.html", {"copies": found, "new": new})


@router.post("/copies/backup")
async def back_up(request: Request) -> Response:
    """Make a backup now; nothing is deleted for it."""
    name = await run_in_threadpool(desk_page.back_up_now, request.app.state.house)
    return RedirectResponse(f"/copies?made={name}", status_code=303)


@router.post("/copies/archive")
async def archive(request: Request) -> Response:
    """Send the whole book as one ZIP file, and keep nothing of it here."""
    file = await run_in_threadpool(desk_page.archive_zip, request.app.state.house)
    gone = BackgroundTask(shutil.rmtree, file.parent, ignore_errors=True)
    return FileResponse(file, media_type="application/zip", filename=file.name, background=gone)
