"""The application: pages and API behind the guard, on one open book."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from contextlib import asynccontextmanager
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from anyio.to_thread import current_default_thread_limiter
from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.requests import Request
from starlette.routing import Mount
from starlette.templating import Jinja2Templates

from argentry.desk.house import open_house
from argentry.desk.pages.find import all_terms
from argentry.needs.doubt.percent import percent
from argentry.out.wording import counted, looks
from argentry.records.answers.seen import not_told_words
from argentry.version import VERSION
from argentry.web.advisor import Advisor
from argentry.web.answers import add_handlers, refusal_answer
from argentry.web.api import looks as api_looks
from argentry.web.api import readings as api_readings
from argentry.web.api import runs as api_runs
from argentry.web.days import Days
from argentry.web.devices import DeviceBook
from argentry.web.guard import Guard
from argentry.web.helper import PressFirst
from argentry.web.keeper import Keeper
from argentry.web.kept import SEASON, Kept
from argentry.web.pages import LINKS, MORE_LINKS, ROUTERS
from argentry.web.pages.desk import LOOKS, whole_days
from argentry.web.pages.once import Once
from argentry.web.pages.plates import address_of
from argentry.web.pairing import Pairing
from argentry.web.replanner import Replanner
from argentry.web.settings import Settings
from argentry.web.sheet import Sheets
from argentry.web.stream import Broadcast

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from starlette.routing import BaseRoute
    from starlette.types import Receive, Scope, Send

    from argentry.keeping.book import Book
    from argentry.web.guard import Caller
    from argentry.web.limits import Refused

# what a page is painted with before its style is there
GROUNDS = {"auto": "#f6f1e6", "light": "#f6f1e6", "dark": "#14120f", "red": "#000000"}
SCHEMES = {"auto": "light dark", "light": "light", "dark": "dark", "red": "dark"}
BEING_REDONE = "From before the latest change; it is being worked out again."
AT_ONCE = 12  # requests that are worked on; a thread and a connection each, which cost memory
WEB = Path(str(files("argentry.web")))


@cache
def _templates() -> Jinja2Templates:
    """Return the templates of every page, compiled once a process."""
    templates = Jinja2Templates(directory=WEB / "templates")
    templates.env.filters |= {
        "plate_address": address_of, "whole_days": whole_days, "counted": counted,
        "percent": percent, "looks": looks, "not_told_words": not_told_words,
    }  # fmt: skip
    templates.env.globals |= {
        "links": LINKS,
        "more_links": MORE_LINKS,
        "terms": all_terms(),
        "looks": LOOKS,
        "grounds": GROUNDS,
        "schemes": SCHEMES,
        "being_redone": BEING_REDONE,
    }
    return templates


@cache
def _routes() -> tuple[BaseRoute, ...]:
    """Return the routes of every studio's application, worked out once a process."""
    app = FastAPI(openapi_url=None)
    app.include_router(api_runs.router)
    app.include_router(api_looks.router)
    app.include_router(api_readings.router)
    # the address sensors were told of first; the same endpoint
    app.add_api_route(
        "/readings",
        api_readings.add_reading,
        methods=["POST"],
        status_code=201,
        include_in_schema=False,
    )
    for router in ROUTERS:
        app.include_router(router)
    fonts = Path(str(files("argentry.out"))) / "fonts"
    app.router.routes.append(Mount("/static/fonts", StaticFiles(directory=fonts)))
    app.router.routes.append(Mount("/static", StaticFiles(directory=WEB / "static")))
    return tuple(app.router.routes)


def create_app(
    studio_dir: Path,
    book: Book,
    *,
    settings: Settings | None = None,
    show_code: Callable[[str], None] = lambda _: None,
    say: Callable[[str], None] = lambda _: None,
) -> FastAPI:
    """Return the application that serves one studio's book.

    Parameters
    ----------
    studio_dir : Path
        The studio folder.
    book : Book
        Its open book.
    settings : Settings, optional
        Where it listens, names, limits.
    show_code : callable
        Shows a pairing code on the host's own screen.
    say : callable
        Says a sentence there.

    Returns
    -------
    FastAPI
        An ASGI application. Its state holds `house`, `broadcast`, `pairing`, `devices`.

    Raises
    ------
    BadInput
        If the studio cannot be read.
    """
    settings = settings or Settings()
    house = open_house(studio_dir, book)
    templates = _templates()
    broadcast = Broadcast(house, settings.poll_seconds)
    devices = DeviceBook(house)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        state = app.state
        current_default_thread_limiter().total_tokens = AT_ONCE
        if settings.plan_ahead:
            state.days.looked_at()
        beside = (
            state.advisor.keep_fresh(), state.replanner.keep_planned(), state.keeper.keep(),
            state.days.keep_ahead(),
        )  # fmt: skip
        tasks = [asyncio.create_task(task) for task in beside]
        yield
        for task in tasks:
            task.cancel()
        await asyncio.wait(tasks)
        broadcast.close()
        await app.state.advisor.close()
        await app.state.days.close()
        await app.state.replanner.helper.close()

    app = FastAPI(
        title="argentry",
        summary="Runs, events and readings of one studio's plate book.",
        version=VERSION,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        redirect_slashes=False,
        lifespan=lifespan,
    )
    state = app.state
    state.settings, state.house, state.broadcast = settings, house, broadcast
    state.devices, state.templates = devices, templates
    state.pairing = Pairing(show_code, say=say, folder=studio_dir)
    state.planning = asyncio.Lock()
    state.sheets = Sheets(state.planning)
    state.advisor = Advisor(house, broadcast)
    state.taught = state.advisor.taught
    state.replanner = Replanner(house, broadcast)
    state.days = Days(house, state.replanner.helper)
    state.seasons = Kept(house, state.replanner.helper, SEASON)
    state.keeper = Keeper(house, say)
    state.notebooks = OrderedDict()
    state.sending = set()
    app.router.routes.extend(_routes())
    add_handlers(app, templates)

    async def find(token: str) -> Caller | None:
        return await devices.find(token)

    async def refuse(refusal: Refused, scope: Scope, receive: Receive, send: Send) -> None:
        scope.setdefault("app", app)
        response = refusal_answer(templates, Request(scope, receive), refusal)
        await response(scope, receive, send)

    once: Any = Once
    app.add_middleware(once)
    first: Any = PressFirst
    app.add_middleware(first, helpers=lambda: (state.advisor.helper, state.replanner.helper))
    guarded: Any = Guard
    app.add_middleware(guarded, settings=settings, find_device=find, refuse=refuse)
    return app
