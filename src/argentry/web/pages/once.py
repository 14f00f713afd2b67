"""A form that is sent twice is noted once: a second tap on a slow network, a page sent again.

Every form of a page carries a word drawn for that showing of it. The same fields with the same word
get the answer that the first got, and nothing is noted again; other fields, or the page shown
again, are noted as they come. What was refused may be sent again.
"""

from __future__ import annotations

import asyncio
import re
import secrets
from collections import OrderedDict
from hashlib import sha256
from typing import TYPE_CHECKING

from argentry.web.limits import replay

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

FORM = "application/x-www-form-urlencoded"
WORD = re.compile(rb"(?:^|(?<=&))once=[0-9a-f]{32}(?:&|$)")
POST_FORM = re.compile(r'<form method="post" action="[^"]*"(?: class="[^"]*")?>')
FIELD = '{form}<input type="hidden" name="once" value="{word}" autocomplete="off">'
MOST = 200  # answers that are remembered
NOTED = 303


def new_word() -> str:
    """Return the word for one showing of a page."""
    return secrets.token_hex(16)


def with_word(page: str, word: str) -> str:
    """Return a page whose forms carry its word; those that send a file know it by its content."""
    return POST_FORM.sub(lambda form: FIELD.format(form=form[0], word=word), page)


class _Answer:
    """What a form was answered with, once it is."""

    def __init__(self) -> None:
        self.there = asyncio.Event()
        self.start: Message | None = None  # None: it was refused, and may be sent again


class Once:
    """ASGI middleware, behind the guard, that hands on each form once.

    Parameters
    ----------
    app : ASGIApp
        What is behind it. It never sees the word.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self.answers: OrderedDict[bytes, _Answer] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand on a form, or answer it as it was answered before."""
        if scope["type"] != "http" or scope["method"] != "POST" or not _is_form(scope):
            await self.app(scope, receive, send)
            return
        message = await receive()  # the guard has read it, and hands it out whole
        body = message.get("body", b"")
        if WORD.search(body) is None:
            await self.app(scope, replay(body, receive), send)
            return
        key = sha256(scope["path"].encode() + b"\0" + body).digest()
        while (before := self.answers.get(key)) is not None:
            await before.there.wait()
            if before.start is not None:
                await send(before.start)
                await send({"type": "http.response.body", "body": b""})
                return
        await self._note(key, scope, replay(WORD.sub(b"", body).rstrip(b"&"), receive), send)

    async def _note(self, key: bytes, scope: Scope, receive: Receive, send: Send) -> None:
        answer = self.answers[key] = _Answer()

        async def heard(message: Message) -> None:
            if message["type"] == "http.response.start" and message["status"] == NOTED:
                answer.start = message
            await send(message)

        try:
            await self.app(scope, receive, heard)
        finally:
            if answer.start is None:
                self.answers.pop(key, None)
            answer.there.set()
            while len(self.answers) > MOST:
                self.answers.popitem(last=False)


def _is_form(scope: Scope) -> bool:
    kinds = [value for name, value in scope["headers"] if name.lower() == b"content-type"]
    return bool(kinds) and kinds[0].split(b";")[0].strip().lower() == FORM.encode()
