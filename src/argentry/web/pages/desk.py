"""The pages for people. Every form is a real one: they work without any script."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import cache
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import parse_qsl, quote, urlencode

from fastapi import APIRouter, Query, Request
from markupsafe import Markup, escape
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, RedirectResponse, Response

from argentry.bench.questions import catalogue
from argentry.desk import runs
from argentry.desk.house import book_address, near_date
from argentry.desk.pages.run_plan import answer_offer, close_run, run_plan
from argentry.desk.runs import has_run
from argentry.desk.wishes import OPTIONS
from argentry.errors import BadInput, did_you_mean
from argentry.keeping.house_clock import compare
from argentry.out.numbers import numbers_line
from argentry.records.day import MOST_PLATES
from argentry.records.units import Units, told
from argentry.web.api.models import UUID_FORM
from argentry.web.api.runs import caller_of, no_run
from argentry.web.limits import Refused
from argentry.web.pages.once import FORM, new_word, with_word
from argentry.web.sheet import sheet_of

router = APIRouter(include_in_schema=False)
STATIC = Path(__file__).parents[1] / "static"
NOT_A_NUMBER, A_NUMBER = "{given} is not a number of plates", "give 1 to {most}"
NOT_ASKED = "{name!r} is not something that can be asked here"
LEAVE_OUT, ASKED_TWICE = "leave it out", "something is asked twice"
RUN_FORM = re.compile(UUID_FORM)
DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b")
MOST_FIELDS = 40
NO_WORDS = re.compile(r"(<(?:textarea|script)\b.*?</(?:textarea|script)>|<[^>]*>)", re.DOTALL)
LONGEST_LABELS = 400
LONGEST_WISH = 400
LOOK, LOOK_SECONDS = "argentry_look", 400 * 86400
LOOKS = {"auto": "as this device", "light": "light", "dark": "dark", "red": "red"}
NOT_A_LOOK, A_LOOK = "{given} is not a look", "give auto, light, dark or red"


def page(request: Request, name: str, values: dict[str, Any], status: int = 200) -> Response:
    """Return a page of a template, its quantities in the studio's units."""
    house = request.app.state.house
    clocks = compare(house.clock, house.zone)
    shared = {
        "studio": house.studio,
        "caller": caller_of(request),
        "here": request.url.path,
        "back": request.url.path + (f"?{request.url.query}" if request.url.query else ""),
        "look": look_of(request),
        "clock_words": clocks.words,
        "trouble": request.app.state.keeper.trouble,
        "once": new_word(),
    }
    answer: Response = request.app.state.templates.TemplateResponse(
        request, name, {**shared, **values}, status_code=status
    )
    text = with_word(bytes(answer.body).decode(), shared["once"])
    if not house.studio.units.as_written:
        text = _in_units(text, house.studio.units)
    answer.body = text.encode()
    answer.headers["content-length"] = str(len(answer.body))
    return answer


def whole_days(words: str) -> Markup:
    """Return words whose dates are not broken over two lines."""
    safe = str(escape(words))
    return Markup(DATE.sub(r'<span class="figure">\g<0></span>', safe))  # noqa: S704 - escaped


def look_of(request: Request) -> str:
    """Return the look that was chosen on this device: one of `LOOKS`."""
    look = request.cookies.get(LOOK, "auto")
    return look if look in LOOKS else "auto"


@router.post("/look")
async def choose_look(request: Request) -> Response:
    """Keep on this device how pages look, and go back to the page where it was chosen."""
    form = await form_of(request)
    look, back = form.get("look", ""), form.get("back", "")
    if look not in LOOKS:
        raise BadInput("look", NOT_A_LOOK, A_LOOK, given=repr(look[:20]))
    inside = back.startswith("/") and not back.startswith(("//", "/\\"))
    answer = RedirectResponse(back if inside else "/", status_code=303)
    answer.set_cookie(LOOK, look, max_age=LOOK_SECONDS, httponly=True, samesite="strict")
    return answer


def _in_units(page: str, units: Units) -> str:
    """Return a page whose words stand in the studio's units; what a form sends back stays."""
    parts = NO_WORDS.split(page)  # words and what is none of them take turns
    parts[::2] = [told(words, units) for words in parts[::2]]
    return "".join(parts)


async def form_of(request: Request, most: int = MOST_FIELDS) -> dict[str, str]:
    """Return the fields of a posted form, `most` at the most; the guard has bounded its length.

    Raises
    ------
    Refused
        415 when it is not a form, 400 when it is not UTF-8, holds too many fields or one twice.
    """
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != FORM:
        raise Refused(415, "This address takes a form; send it from argentry's own page.")
    try:
        pairs = parse_qsl(
            (await request.body()).decode("utf-8"),
            keep_blank_values=True,
            max_num_fields=most,
            errors="strict",
        )
    except ValueError:
        raise Refused(400, "The form cannot be read; send it from argentry's own page.") from None
    fields = dict(pairs)
    if len(fields) != len(pairs) or any("\x00" in value for value in fields.values()):
        raise Refused(400, "A field of the form stands twice or cannot be read; send it once.")
    return fields


@cache
def assets_version() -> str:
    """Return a hash of the bench page's own files: a change of one empties the tablets' caches."""
    digest = hashlib.sha256()
    for file in sorted((STATIC / "bench").glob("*")):
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()[:12]


@router.get("/runs")
async def runs_page(request: Request) -> Response:
    """Show the runs, the form that opens one, the latest readings and plates."""
    from argentry.desk.pages import first as desk_page

    values = await run_in_threadpool(desk_page.runs_page, request.app.state.house)
    used = numbers_line(values.numbers, as_written=False)
    return page(request, "runs.html", {**vars(values), "numbers": used})


@router.post("/runs")
async def open_run(request: Request) -> Response:
    """Open a run by the form of a page and go to its bench."""
    form = await form_of(request)
    home, device = request.app.state.house, caller_of(request).name
    title = form.get("title", "").strip()[:200] or None
    if form.get("from") == "plan":
        labels, count = _labels(form.get("own_labels", "")), count_of(form)
        async with request.app.state.planning:
            run = await run_in_threadpool(
                runs.open_planned_run,
                home,
                form.get("date", "tomorrow"),
                count,
                labels or None,
                title,
                device,
                wished_of(form),
            )
    else:
        labels = _labels(form.get("labels", ""))
        if not labels:
            raise BadInput("plates", "no plate is named", "give labels, separated by commas")
        run = await run_in_threadpool(runs.open_plain_run, home, labels, title, device)
    request.app.state.broadcast.ring()
    return RedirectResponse(f"/bench/{run}", status_code=303)


def count_of(form: Mapping[str, str]) -> int | None:
    """Return how many plates a form asks for; None leaves it to the plan.

    Raises
    ------
    BadInput
        If it is not a number of plates.
    """
    labels = _labels(form.get("own_labels", ""))
    count = str(len(labels)) if labels else form.get("count", "").strip()
    if not count:
        return None
    if not (
        count.isascii() and count.isdigit() and len(count) < 3 and 0 < int(count) <= MOST_PLATES
    ):
        raise BadInput("plates", NOT_A_NUMBER, A_NUMBER, given=repr(count[:20]), most=MOST_PLATES)
    return int(count)


def wished_of(form: Mapping[str, str]) -> dict[str, str]:
    """Return what a form asks of one day alone."""
    return {name: form[name][:LONGEST_WISH] for name in OPTIONS if form.get(name)}


def known_only(request: Request, names: frozenset[str]) -> None:
    """Refuse a question that an address does not answer, rather than answer another one.

    Raises
    ------
    BadInput
        For the first that is not known, or stands twice.
    """
    asked = request.query_params.multi_items()
    known = names | OPTIONS.keys() if names else names
    for name, _ in asked:
        if name not in known:
            right = did_you_mean(name, sorted(known), LEAVE_OUT, 0.5)
            raise BadInput("address", NOT_ASKED, right, name=name[:40])
    if len(asked) != len(dict(asked)):
        raise BadInput("address", ASKED_TWICE, "ask each once")


def _labels(text: str) -> list[str]:
    """Return labels separated by commas or lines."""
    parts = text[:LONGEST_LABELS].replace("\n", ",").split(",")
    return [label.strip() for label in parts if label.strip()]


async def noted(
    request: Request, note: Callable[..., Any], *names: str
) -> tuple[dict[str, str], Any]:
    """Note what some fields of a form say, and who sent it; return the form and what came of it."""
    form = await form_of(request)
    said = [form.get(name, "") for name in names]
    by = caller_of(request).name
    found = await run_in_threadpool(note, request.app.state.house, *said, by)
    request.app.state.broadcast.ring()
    return form, found


@router.get("/runs/{run}")
async def run_page(request: Request, run: str) -> Response:
    """Show a run with its plates, and what corrects its name or takes it back."""
    from argentry.desk.pages import first as desk_page

    shown = await run_in_threadpool(desk_page.run_page, request.app.state.house, run)
    if shown is None:
        raise no_run(run[:40])
    plan = await run_in_threadpool(run_plan, request.app.state.house, run)
    return page(request, "run.html", {"run": shown, "plan": plan})


@router.post("/runs/plan")
async def answer_plan(request: Request) -> Response:
    """Take the new plan of a run, or turn it down."""
    form, _ = await noted(request, answer_offer, "run", "offer", "answer")
    request.app.state.replanner.heard()
    return _to_run(form)


@router.post("/runs/close")
async def close(request: Request) -> Response:
    """Close a run."""
    form, _ = await noted(request, close_run, "run")
    request.app.state.replanner.heard()
    return _to_run(form)


@router.post("/runs/rename")
async def rename_run(request: Request) -> Response:
    """Give a run another name."""
    from argentry.desk.pages import first as desk_page

    form, _ = await noted(request, desk_page.rename, "run", "title")
    return _to_run(form)


def _to_run(form: Mapping[str, str]) -> Response:
    return RedirectResponse(f"/runs/{quote(form.get('run', ''), safe='')}", status_code=303)


@router.post("/runs/withdraw")
async def withdraw_run(request: Request) -> Response:
    """Say that a run was opened by mistake."""
    from argentry.desk.pages import first as desk_page

    await noted(request, desk_page.withdraw, "run", "why")
    return RedirectResponse("/", status_code=303)


@router.get("/bench/{run}")
async def bench(request: Request, run: str) -> Response:
    """Show the bench of a run, with the words it asks with."""
    from argentry.keeping.seeing.own_scale import stated_phones

    house = request.app.state.house
    if not RUN_FORM.match(run) or not await run_in_threadpool(has_run, house, run):
        raise no_run(run[:40])
    phones = await run_in_threadpool(stated_phones, house.book)
    values = {
        "run": run, "assets": assets_version(),
        "trade": json.dumps(asdict(catalogue(house.studio.units)), ensure_ascii=False),
        "phones": json.dumps(phones, ensure_ascii=False),
    }  # fmt: skip
    return page(request, "bench.html", values)


@router.get("/day")
async def day_of_form(request: Request) -> Response:
    """Lead from the form of a planned day to its sheet."""
    form = dict(request.query_params)
    count = count_of(form)
    asked = urlencode({**({} if count is None else {"plates": str(count)}), **wished_of(form)})
    day = quote(form.get("date", "tomorrow")[:20], safe="")
    return RedirectResponse(f"/day/{day}.pdf" + (f"?{asked}" if asked else ""), status_code=303)


@router.get("/day/{day}.pdf")
async def day_sheet(
    request: Request, day: str, plates: Annotated[int | None, Query(ge=1, le=MOST_PLATES)] = None
) -> Response:
    """Return the day sheet of a date as PDF."""
    house = request.app.state.house
    known_only(request, frozenset({"plates"}))
    date, wished = near_date(house, day), wished_of(request.query_params)
    address = book_address(house)
    data = await request.app.state.sheets.get(
        (date, plates, json.dumps(wished, sort_keys=True)),
        lambda: sheet_of(house.studio_dir, date, plates, wished, address),
        request.is_disconnected,
    )
    return Response(data, media_type="application/pdf")


@router.get("/manifest.webmanifest")
async def manifest() -> Response:
    """Return what a tablet needs to put the bench on its first screen."""
    return FileResponse(STATIC / "manifest.webmanifest", media_type="application/manifest+json")


@router.get("/sw.js")
async def service_worker() -> Response:
    """Return the script that lets the bench page be opened while the server is down."""
    return FileResponse(
        STATIC / "sw.js", media_type="text/javascript", headers={"Cache-Control": "no-cache"}
    )


@router.get("/favicon.ico")
async def icon() -> Response:
    """Return the mark of the pages."""
    return FileResponse(STATIC / "bench" / "icon.svg", media_type="image/svg+xml")
