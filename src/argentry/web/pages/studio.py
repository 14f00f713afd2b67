"""The page of the studio: its file, checked as it is typed, and its old versions."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.desk.pages import studio_file as desk
from argentry.web.api.runs import caller_of
from argentry.web.pages.desk import form_of, page

router = APIRouter(include_in_schema=False)
WRONG = 422


@router.get("/studio")
async def studio(request: Request, version: str = "", saved: str = "") -> Response:
    """Show the studio file, or an old version of it to be looked at and saved again."""
    house = request.app.state.house
    if caller_of(request).scope != "host":  # it reads the file as it is
        version = saved = ""
    old = await run_in_threadpool(desk.version_text, house, version) if version else None
    shown = await run_in_threadpool(desk.studio_file, house, old)
    return page(request, "studio.html", {"file": shown, "version": version, "saved": bool(saved)})


@router.post("/studio/check")
async def check(request: Request) -> Response:
    """Show the mistakes in a text, one sentence each."""
    form, house = await form_of(request), request.app.state.house
    found = await run_in_threadpool(desk.mistakes_in, house.studio_dir, _text(form))
    return page(request, "studio_mistakes.html", {"mistakes": found})


@router.post("/studio")
async def save(request: Request) -> Response:
    """Save the studio file whole; with a mistake nothing is saved and the text comes back."""
    form, house = await form_of(request), request.app.state.house
    text = _text(form)
    mistakes = await run_in_threadpool(desk.save, house, text, form.get("was", ""))
    if not mistakes:
        request.app.state.broadcast.ring()
        return RedirectResponse("/studio?saved=1", status_code=303)
    shown = await run_in_threadpool(desk.studio_file, house, text)
    return page(request, "studio.html", {"file": shown, "version": "", "saved": False}, WRONG)


def _text(form: Mapping[str, str]) -> str:
    """Return what was typed, its lines ended as in a file; a browser sends CR LF."""
    return form.get("text", "").replace("\r\n", "\n").replace("\r", "\n")
