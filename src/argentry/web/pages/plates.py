"""The plates: their list, and the page of each with its record, its grading and its corrections."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from argentry.out.learning import words as learn_words
from argentry.out.plates import words as plate_words
from argentry.out.plates.band import dose_chart, making_band
from argentry.out.wording import clock, shown_unit, step_length
from argentry.records.decision import ADVICE
from argentry.web.api.runs import caller_of
from argentry.web.drawn import drawn, drawn_ranges, drawn_reading, range_row
from argentry.web.pages.desk import form_of, noted, page

if TYPE_CHECKING:
    from argentry.desk.pages.plate_page import PlatePage
    from argentry.records.plate_record import MakingRecord

router = APIRouter(include_in_schema=False)
SHARES = ((0.0, "0"), (0.25, "25"), (0.5, "50"), (0.75, "75"), (1.0, "100 %"))


def address_of(label: str) -> str:
    """Return the address of a plate's page."""
    return f"/plates/{quote(label, safe='')}"


@router.get("/plates")
async def plates(
    request: Request,
    find: Annotated[str, Query(max_length=60)] = "",
    start: Annotated[int, Query(ge=0, le=10**7)] = 0,
) -> Response:
    """Show the plates with their last making."""
    from argentry.desk.pages import first as desk_page

    values = await run_in_threadpool(
        desk_page.plates_page, request.app.state.house, find.replace("\x00", ""), start
    )
    return page(request, "plates.html", vars(values))


@router.post("/plates/grade")
async def grade(request: Request) -> Response:
    """Grade a making by the form of its plate's page and come back to it."""
    from argentry.desk.pages import plate_page

    form = await form_of(request)
    making = form.get("making", "")
    await run_in_threadpool(
        plate_page.grade, request.app.state.house, making, form, caller_of(request).name
    )
    request.app.state.broadcast.ring()
    place = f"{address_of(form.get('label', ''))}#m-{making}"
    return RedirectResponse(place, status_code=303)


@router.post("/plates/rename")
async def rename(request: Request) -> Response:
    """Give a plate another label."""
    from argentry.desk.pages import plate_page

    _, label = await noted(request, plate_page.rename, "label", "new")
    return RedirectResponse(address_of(label), status_code=303)


@router.post("/plates/polished-back")
async def polished_back(request: Request) -> Response:
    """Note that a plate was polished back."""
    from argentry.desk.pages import plate_page

    form, _ = await noted(request, plate_page.polished_back, "label")
    return RedirectResponse(address_of(form.get("label", "")), status_code=303)


@router.post("/plates/withdraw")
async def withdraw(request: Request) -> Response:
    """Say that a plate was in a run by mistake."""
    from argentry.desk.pages import plate_page

    form, _ = await noted(request, plate_page.withdraw, "making", "why")
    return RedirectResponse(address_of(form.get("label", "")), status_code=303)


@router.get("/learned/plate")
async def by_label(label: Annotated[str, Query(max_length=100)]) -> Response:
    """Lead from a label typed in to its page."""
    return RedirectResponse(address_of(label.replace("\x00", "").strip()), status_code=303)


@router.get("/plates/{label:path}")
async def plate(request: Request, label: str) -> Response:
    """Show the record of one plate."""
    from argentry.desk.pages import plate_page

    shown = await run_in_threadpool(plate_page.plate_page, request.app.state.house, label)
    if not shown.fresh:
        request.app.state.advisor.want_plate(label)
    record = shown.record
    makings = [_making(one, record.label) for one in record.outcomes[::-1]]
    return page(
        request,
        "plate.html",
        {
            "plate": record,
            "makings": makings,
            "shown": shown,
            "readings": [drawn_reading(one) for one in shown.seen],
            **_learned(shown),
            **_words(),
        },
    )


def _making(one: MakingRecord, label: str) -> dict[str, Any]:
    band = drawn(partial(making_band, one))
    return {
        "of": one,
        "band": band if "<svg" in band else "",
        "doses": drawn(partial(dose_chart, one.doses)) if one.doses else "",
        "next": _next(one, label),
    }


def _next(one: MakingRecord, label: str) -> str:
    """Return the label of the plate after this one in its run; nothing after the last."""
    after = one.run_plates[one.run_plates.index(label) + 1 :] if label in one.run_plates else ()
    return after[0] if after else ""


def _learned(shown: PlatePage) -> dict[str, Any]:
    odds, why = shown.odds, shown.why
    stages: list[Any] = []
    if odds is not None:
        open_ = [one for one in odds.stages if one.came is None]
        stages = [range_row(odds, name="good plate"), *open_]
    return {
        "odds": odds,
        "seen": {one.stage: learn_words.HAPPENED[one.came] for one in odds.stages if one.came}
        if odds
        else {},
        "why": why,
        "accident": learn_words.accident(why) if why else "",
        "odds_chart": drawn_ranges(
            "Odds of this plate", stages, (0.0, 1.0), SHARES,
            "chance that each stage is, or comes out, sound",
        ),
        "cause_chart": drawn_ranges(
            "Causes of this failure", why.causes if why else (), (0.0, 1.0), SHARES,
            "chance that this cause was there",
        ),
    }  # fmt: skip


def _words() -> dict[str, Any]:
    return {
        "share": learn_words.share,
        "behind": learn_words.behind,
        "do": ADVICE,
        "did": plate_words.DID,
        "states": plate_words.STATES,
        "known": plate_words.known_value,
        "clock": clock,
        "step_length": step_length,
        "planned_length": plate_words.planned_length,
        "unit": shown_unit,
        "tells": plate_words.PICTURE_TELLS,
        "steps_done": plate_words.steps_done,
    }
