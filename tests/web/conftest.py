"""A studio, its book, the application on it, and a caller that needs no network."""

from __future__ import annotations

import asyncio
import contextlib
import json as json_of
import socket
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import UTC, datetime
from threading import Thread

import httpx
import pytest
import uvicorn
from tests.bench_studio import Table

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.exchange.plates.into_book import import_plates
from argentry.keeping.studio import new_studio
from argentry.records.ids import new_id
from argentry.web.app import create_app
from argentry.web.settings import Settings

HERE = "http://localhost:8440"
LAN = "http://studio.test:8440"


@dataclass
class Ask:
    """Asks the application as a browser at an address would."""

    app: object
    base: str = HERE
    peer: str = "127.0.0.1"
    cookies: dict = field(default_factory=dict)

    def __call__(
        self, method, path, *, origin="same", headers=None, json=None, content=None, **more
    ):
        sent = dict(headers or {})
        if origin == "same" and method not in {"GET", "HEAD"}:
            sent.setdefault("Origin", self.base)
        elif origin not in {None, "same"}:
            sent["Origin"] = origin
        if json is not None:
            content = json_of.dumps(json)
            sent.setdefault("Content-Type", "application/json")

        async def go():
            transport = httpx.ASGITransport(self.app, client=(self.peer, 50000))
            async with httpx.AsyncClient(
                transport=transport, base_url=self.base, cookies=self.cookies
            ) as client:
                return await client.request(method, path, headers=sent, content=content, **more)

        # a thread of its own: a browser test keeps a loop running in this one
        with ThreadPoolExecutor(1) as apart:
            return apart.submit(lambda: asyncio.run(go())).result()

    def form(self, path, **fields):
        return self("POST", path, headers={"Content-Type": "application/x-www-form-urlencoded"},
                    content=httpx.QueryParams(fields).__str__())  # fmt: skip

    def get(self, path, **more):
        return self("GET", path, **more)

    def post(self, path, json=None, **more):
        return self("POST", path, json=json, **more)


@pytest.fixture
def studio_dir(tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    return folder


@pytest.fixture
def book(studio_dir):
    opened = open_book(studio_dir)
    yield opened
    close_book(opened)


@pytest.fixture
def full(book, year):
    """The book with the plates of the invented year in it."""
    import_plates(book, year, at=datetime(2026, 1, 2, tzinfo=UTC))


@pytest.fixture
def codes():
    return []


@pytest.fixture
def app(studio_dir, book, codes):
    return create_app(
        studio_dir, book, settings=Settings(names=("studio.test",)), show_code=codes.append
    )


@pytest.fixture
def host(app):
    """The browser on the server's own machine."""
    return Ask(app)


@pytest.fixture
def stranger(app):
    """A device on the studio's network that was not paired."""
    return Ask(app, LAN, "192.168.1.77")


@pytest.fixture
def tablet(app, stranger, codes):
    """A paired device."""
    stranger.form("/pair/code")
    answer = stranger.form("/pair", code=codes[-1], name="tablet one")
    assert answer.status_code == 303
    return Ask(app, LAN, "192.168.1.77", dict(answer.cookies))


@pytest.fixture(scope="session")
def ask():
    """Makes callers of an application."""
    return Ask


@pytest.fixture
def remark():
    """Makes the simplest event."""

    def make(words="hello", **more):
        event = {"id": new_id(), "kind": "remark_made", "body": {"words": words}, "age_s": 0.0}
        return {**event, **more}

    return make


@pytest.fixture
def run(host):
    return host.post("/api/runs", {"plates": ["Q-1", "Q-2"]}).json()["run"]


@pytest.fixture
def finished(book, app):
    """A run of one plate, done and closed, exposed for 240 s at noon."""
    table = Table(book, app.state.house.studio)
    table.open("Q-1", title="Noon plate")
    table.cautions()
    table.up_to("expose")
    plate = table.plate().id
    table.say("step_begun", plate, "expose")
    table.wait(240.0)
    table.say("step_ended", plate, "expose")
    table.up_to("")
    table.say("run_closed")
    return table


@pytest.fixture
def live(app):
    """The application behind a real server on a free port; gives its address."""
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    config = uvicorn.Config(app, log_config=None, access_log=False, ws="none")
    server = Quiet(config)
    thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://localhost:{listening.getsockname()[1]}"
    app.state.broadcast.close_soon()
    server.should_exit = True
    thread.join(90)
    assert not thread.is_alive()


class Quiet(uvicorn.Server):
    """A server in a thread: signals are the test runner's."""

    @contextlib.contextmanager
    def capture_signals(self):
        yield
