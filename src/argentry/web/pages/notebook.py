"""The pages that take in an old notebook: choose the file, put the columns right, take it in."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.desk.notebook import (
    Opened,
    choice_look,
    draft_answer,
    fields_by_group,
    open_notebook,
    units_by_field,
)
from argentry.desk.notebook_taken import back_out, rest_of_kept, take_into
from argentry.web.limits import Refused
from argentry.web.pages.desk import form_of, page
from argentry.web.uploads import file_of

router = APIRouter(include_in_schema=False)
MOST_WAITING = 4  # notebooks that were sent and not yet taken in
MOST_FIELDS = 1500  # of the form: two to a column, one to a word and to a cell to mend
MOST_CELLS = 60  # cells to mend that are shown with their fields
KINDS = ("column:", "unit:", "word:", "hour:", "need:", "cell:", "dates", "decimal")
OWN_FIELDS = ("column:", "unit:", "cell:")
TYPED = "typed-here.csv"
GONE = "This notebook is not waiting any more. Choose the file again."


def waiting(request: Request) -> OrderedDict[str, tuple[str, bytes]]:
    """Return the notebooks that were sent and not yet taken in, by their hashes."""
    held: OrderedDict[str, tuple[str, bytes]] = request.app.state.notebooks
    return held


@router.get("/notebook")
async def choose(request: Request) -> Response:
    """Ask for the file."""
    return page(request, "notebook.html", {})


@router.post("/notebook")
async def send(request: Request) -> Response:
    """Keep a file until its columns are put right."""
    return await _keep(request, *await file_of(request))


@router.post("/notebook/typed")
async def typed(request: Request) -> Response:
    """Take what was typed from a paper notebook as the table that it is."""
    form = await form_of(request)
    return await _keep(request, TYPED, form.get("typed", "").strip().encode())


async def _keep(request: Request, name: str, content: bytes) -> Response:
    house = request.app.state.house
    opened = await run_in_threadpool(partial(open_notebook, house.studio_dir, name, content))
    held = waiting(request)
    held[opened.sha256] = (name, content)
    held.move_to_end(opened.sha256)
    while len(held) > MOST_WAITING:
        held.popitem(last=False)
    return RedirectResponse(f"/notebook/{opened.sha256}", status_code=303)


@router.get("/notebook/{sha256}")
async def columns(request: Request, sha256: str) -> Response:
    """Show what the columns were taken for."""
    sheet = request.query_params.get("sheet", "")
    return await _columns(request, await _opened(request, sha256, {}, sheet))


@router.post("/notebook/{sha256}")
async def answer(request: Request, sha256: str) -> Response:
    """Look again with what was put right, or take the clear plates in."""
    form = await form_of(request, MOST_FIELDS)
    answers = {
        key: value
        for key, value in form.items()
        if key.startswith(KINDS) and value != "?" and not (key[:5] == "unit:" and not value)
    }
    opened = await _opened(request, sha256, answers, form.get("sheet", ""))
    if form.get("do") != "take":
        return await _columns(request, opened, instead=form.get("instead") == "yes")
    house = request.app.state.house
    take = partial(take_into, instead=form.get("instead") == "yes")
    made, _ = await run_in_threadpool(take, house.book, house.studio_dir, opened)
    request.app.state.broadcast.ring()
    return page(request, "notebook_done.html", {"made": made})


@router.get("/notebook/{sha256}/to-mend.csv")
async def to_mend(request: Request, sha256: str) -> Response:
    """Hand out the rows that wait to be mended, as a table to edit and send again."""
    house = request.app.state.house
    sheet = request.query_params.get("sheet", "")
    text = await run_in_threadpool(rest_of_kept, house.book, house.studio_dir, sha256, sheet)
    named = {"content-disposition": 'attachment; filename="to-mend.csv"'}
    return Response(text.encode("utf-8-sig"), media_type="text/csv; charset=utf-8", headers=named)


@router.post("/notebook/{sha256}/back")
async def take_back(request: Request, sha256: str) -> Response:
    """Take back what a notebook, or one of its sheets, brought into the book."""
    form = await form_of(request)
    house = request.app.state.house
    sheet = form.get("sheet", "")
    sheet, count = await run_in_threadpool(back_out, house.book, house.studio_dir, sha256, sheet)
    request.app.state.broadcast.ring()
    return page(request, "notebook_back.html", {"sheet": sheet, "count": count})


async def _opened(request: Request, sha256: str, answers: Mapping[str, str], sheet: str) -> Opened:
    if sha256 not in waiting(request):
        raise Refused(404, GONE)
    name, content = waiting(request)[sha256]
    folder = request.app.state.house.studio_dir
    return await run_in_threadpool(
        partial(open_notebook, folder, name, content, answers=answers, ask_always=True, sheet=sheet)
    )


async def _columns(request: Request, opened: Opened, *, instead: bool = False) -> Response:
    draft = draft_answer(opened)
    cells = [one for one in opened.table.problems if one.cell][:MOST_CELLS]
    # columns and units have fields of their own; what was answered must be sent again
    given = [
        (key, value) for key, value in opened.answers.items() if not key.startswith(OWN_FIELDS)
    ]
    shown: dict[str, Any] = {
        "draft": draft,
        "choice_words": choice_look,
        "asked": {one.key: one for one in draft.questions},
        "answers": opened.answers,
        "groups": fields_by_group(),
        "units": units_by_field(),
        "cells": cells,
        "cell_keys": {f"cell:{one.cell}" for one in cells},
        "column_keys": {one.key for one in draft.questions if one.key.startswith(OWN_FIELDS)},
        "given": given,
        "instead": instead,
        "written": opened.written,
        "mended": [key for key in opened.answers if key.startswith("cell:")],
    }
    return page(request, "notebook_columns.html", shown)
