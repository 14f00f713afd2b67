"""The page of materials, its forms, and the labels and sheets printed from it."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Query, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.desk.house import book_address
from argentry.desk.pages import materials as desk_page
from argentry.errors import unknown
from argentry.needs.materials.bath_life import days_told
from argentry.out.drawing.pictograms import pictogram
from argentry.out.materials.paper import PAPER_WORDS, PAPERS, SHEETS
from argentry.out.materials.printing import KINDS
from argentry.out.stock_words import (
    NOT_PRICED_HERE,
    amount,
    bath_lasts,
    cost_head,
    cost_lines,
    for_tomorrow,
    grade_rows,
    lot_line,
    material_notes,
    money,
    part_rows,
    there,
    waste_silver,
    will_do,
)
from argentry.web.api.runs import caller_of
from argentry.web.pages.desk import form_of, page
from argentry.web.sheet import material_sheet
from argentry.web.uploads import file_of

router = APIRouter(include_in_schema=False)
PICTOGRAM_PX = 44.0
SHEET_WORDS = (
    ("mixing", "Mixing sheet for tonight"),
    ("bottle", "Labels of the bottles"),
    ("room", "Safety card for the room"),
    ("waste", "Waste sheet"),
)
Name = Annotated[str, Query(max_length=200)]
Paper = Annotated[str, Query(max_length=20)]


@router.get("/materials")
async def materials(request: Request) -> Response:
    """Show what will not last this week, stock, baths, safety, waste and costs."""
    house = request.app.state.house
    shown = await run_in_threadpool(desk_page.materials_page, house)
    return page(
        request,
        "materials.html",
        {
            "shown": shown,
            "lasting": material_notes(shown),
            "sheets": SHEET_WORDS,
            "papers": PAPERS,
            "plain_papers": SHEETS,
            "paper_words": PAPER_WORDS,
            "tomorrow": for_tomorrow(shown.needs),
            "amount": amount,
            "money": partial(money, currency=shown.needs.currency),
            "there": there,
            "will_do": will_do,
            "lasts": bath_lasts,
            "days_told": days_told,
            "waste_silver": waste_silver,
            "cost_head": cost_head(shown.cost),
            "part_rows": part_rows(shown.cost),
            "grade_rows": grade_rows(shown.cost),
            "cost_lines": cost_lines(shown.cost, NOT_PRICED_HERE),
            "pictogram": _pictogram,
        },
    )


def _pictogram(key: str) -> Markup:
    return Markup(pictogram(key, PICTOGRAM_PX))  # noqa: S704 - a drawing of our own


@router.get("/materials/bath/{bath}")
async def bath(bath: str) -> Response:
    """Lead from the code on a bottle to its bath."""
    return RedirectResponse(f"/materials#b-{quote(bath[:60], safe='')}", status_code=303)


@router.get("/materials/{kind}.pdf")
async def printed(
    request: Request, kind: str, paper: Paper = "a4", name: Name = "", title: Name = ""
) -> Response:
    """Return a label or sheet as PDF; without a name, of every bath in use."""
    house = request.app.state.house
    if kind not in KINDS:
        raise unknown("address", "sheet", kind[:20], KINDS)
    base = str(request.base_url).rstrip("/")
    names = (name,) if name else ()
    asked: Any = (house.studio_dir, kind, names, paper, base, book_address(house), title)
    # what stands on it changes with every bath and weighing: it is never shared with one before
    data = await request.app.state.sheets.get(
        ("materials", *asked), lambda: material_sheet(*asked), request.is_disconnected
    )
    return Response(data, media_type="application/pdf")


@router.post("/materials/weigh")
async def weigh(request: Request) -> Response:
    """Note what a weighing says is left of a lot."""
    return await _noted(request, desk_page.weigh)


@router.post("/materials/lot")
async def lot(request: Request) -> Response:
    """Note a lot that came in."""
    return await _noted(request, desk_page.add_lot)


@router.post("/materials/note")
async def noted(request: Request) -> Response:
    """Note what is known of a lot besides its amount, such as its price."""
    return await _noted(request, desk_page.note_more)


@router.post("/materials/list")
async def listed(request: Request) -> Response:
    """Note all lots of a list, or show the rows to mend."""
    name, content = await file_of(request)
    house = request.app.state.house
    found = await run_in_threadpool(
        desk_page.take_list, house, name, content, caller_of(request).name
    )
    code = 422 if found.problems else 200
    return page(request, "materials_list.html", {"found": found, "lot_line": lot_line}, code)


@router.post("/materials/bath")
async def mixed(request: Request) -> Response:
    """Note a bath that was mixed."""
    return await _noted(request, desk_page.add_bath, "baths")


@router.post("/materials/discard")
async def discarded(request: Request) -> Response:
    """Note that a bath was disposed of."""
    return await _noted(request, desk_page.discard_bath, "baths")


@router.post("/materials/collected")
async def collected(request: Request) -> Response:
    """Note that the waste that was kept was collected."""
    return await _noted(request, desk_page.collected, "waste")


async def _noted(request: Request, note: Any, part: str = "stock") -> Response:
    form = await form_of(request)
    await run_in_threadpool(note, request.app.state.house, form, caller_of(request).name)
    return RedirectResponse(f"/materials#{part}", status_code=303)
