"""The two doors of the studio: its commands and its server; and the clock of the test."""

from __future__ import annotations

import asyncio
import contextlib
import io
import json
from datetime import timedelta

import httpx

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.cli.main import main
from argentry.web.app import create_app

HERE = "http://localhost:8440"


class Commands:
    """Calls argentry as typed."""

    def __init__(self, folder):
        self.folder = folder

    def __call__(self, *words):
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                main([str(word) for word in words])
                code = 0
            except SystemExit as stop:
                code = stop.code
        assert code == 0, (words, err.getvalue())
        return out.getvalue()

    def json(self, *words):
        return json.loads(self(*words, "--studio", self.folder, "--json"))


class Server:
    """The application on the studio's book, asked as the browser on its own machine would."""

    def __init__(self, folder, start):
        self.book = open_book(folder)
        self.app = create_app(folder, self.book)
        # advice is worked out in a process of its own and has its own tests
        self.app.state.advisor.heard = lambda *_: None
        self.clock, self.passed = self.app.state.house.clock, 0.0
        self.clock.start, self.clock.origin = start, 0.0
        self.clock.passed = lambda: self.passed
        self.clock.wall = self.now  # the machine is in the test's year as well
        self._loop = asyncio.new_event_loop()
        transport = httpx.ASGITransport(self.app, client=("127.0.0.1", 50000))
        self._client = httpx.AsyncClient(
            transport=transport, base_url=HERE, headers={"Origin": HERE}, timeout=300.0
        )

    def now(self):
        return self.clock.start + timedelta(seconds=self.passed)

    def wait(self, seconds):
        assert seconds >= 0.0, seconds
        self.passed += seconds

    def wait_until(self, moment):
        self.wait((moment - self.now()).total_seconds())

    def ask(self, method, path, **more):
        answer = self._loop.run_until_complete(self._client.request(method, path, **more))
        assert answer.status_code < 300, (path, answer.status_code, answer.text[:500])
        return answer

    def get(self, path):
        return self.ask("GET", path).json()

    def post(self, path, **body):
        return self.ask("POST", path, json=body).json()

    def page(self, path):
        return self.ask("GET", path, headers={"Accept": "text/html"}).text

    def catch_up(self):
        """Let the server do what it does by itself every half minute: follow its book."""
        self._loop.run_until_complete(self.app.state.advisor.freshen())

    def close(self):
        self._loop.run_until_complete(self.app.state.advisor.close())
        self._loop.run_until_complete(self.app.state.days.close())
        self._loop.run_until_complete(self._client.aclose())
        self._loop.close()
        close_book(self.book)
