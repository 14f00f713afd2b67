"""The page of the search over everything, and the list of words and keys."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from argentry.desk.pages.find import all_terms, find
from argentry.web.api.runs import caller_of
from argentry.web.pages.desk import page

router = APIRouter(include_in_schema=False)


@router.get("/search")
async def search(request: Request, q: Annotated[str, Query(max_length=100)] = "") -> Response:
    """Show plates, runs, pages and words that hold what was typed."""
    found = await run_in_threadpool(find, request.app.state.house, q)
    key, host = found.wanted.casefold(), caller_of(request).scope == "host"
    env = request.app.state.templates.env.globals
    pages = [
        one
        for one in (*env["links"], *env["more_links"])
        if key and (host or not one.host_only) and key in f"{one.words} {one.about}".casefold()
    ]
    return page(request, "search.html", {"found": found, "pages": pages, "q": found.wanted})


@router.get("/terms")
async def words(request: Request) -> Response:
    """Show every word with its meaning, and the keys of the pages."""
    return page(request, "terms.html", {"terms": all_terms()})
