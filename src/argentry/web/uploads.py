"""A file sent by a form: one part of a multipart body (RFC 7578); the guard bounds its length.

A notebook comes whole into memory; a picture goes to the disk as it comes.
"""

from __future__ import annotations

import re
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from argentry.web.api.runs import caller_of
from argentry.web.limits import Refused

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from starlette.requests import Request

MOST_PARTS = 8
LONGEST_NAME = 120
NO_FORM = "This address takes a file; send it from argentry's own page."
UNREADABLE = "The file did not arrive whole; send it again from argentry's own page."
NO_FILE = "No file was chosen. Choose a CSV, ODS or XLSX file."
NO_PICTURE = "No picture was chosen. Choose a JPEG, PNG, TIFF, HEIC or DNG file."
BUSY = "This device is still sending a picture. Wait until it has arrived."
AT_ONCE = 1 << 20  # bytes that go to the disk together
MOST_HEAD = 8192  # bytes of fields before the file
_BOUNDARY = re.compile(r'boundary="?([\w\'()+,./:=? -]{1,70}?)"?(?:;|$)')
_FIELD = re.compile(rb'[; ]name="([a-z_]{1,20})"')
_NAME = re.compile(rb'filename="((?:[^"\\]|\\.)*)"')


async def file_of(request: Request) -> tuple[str, bytes]:
    """Return name and content of the file that a form sent.

    Raises
    ------
    Refused
        415 when it is not such a form, 400 when it cannot be read, 422 when no file was chosen.
    """
    return file_in(await request.body(), _boundary(request))


def _boundary(request: Request) -> bytes:
    kind = request.headers.get("content-type", "")
    match = _BOUNDARY.search(kind)
    if not kind.lower().startswith("multipart/form-data") or match is None:
        raise Refused(415, NO_FORM)
    return match[1].encode()


def file_in(body: bytes, boundary: bytes) -> tuple[str, bytes]:
    """Return name and content of the file within a multipart body; see `file_of`."""
    parts = (b"\r\n" + body).split(b"\r\n--" + boundary, MOST_PARTS)
    if len(parts) < 3 or not parts[-1].startswith(b"--"):
        raise Refused(400, UNREADABLE)
    for part in parts[1:-1]:
        head, found, content = part.partition(b"\r\n\r\n")
        name = _NAME.search(head)
        if not found:
            raise Refused(400, UNREADABLE)
        if name is not None and name[1]:
            return _shown(name[1]), content
    raise Refused(422, NO_FILE)


def _shown(name: bytes) -> str:
    """Return a file's name; some browsers send a whole path."""
    plain = name.decode("utf-8", "replace").replace("\\", "/").rpartition("/")[2]
    return plain[-LONGEST_NAME:]


@asynccontextmanager
async def one_at_a_time(request: Request) -> AsyncIterator[None]:
    """Let each device send one picture at a time.

    Raises
    ------
    Refused
        429 while another is on its way.
    """
    sending: set[str] = request.app.state.sending
    who = caller_of(request).device or caller_of(request).name
    if who in sending:
        raise Refused(429, BUSY)
    sending.add(who)
    try:
        yield
    finally:
        sending.discard(who)


async def body_into(request: Request, write: Callable[[bytes], None]) -> None:
    """Hand the whole body to `write` as it comes, in a thread of its own."""
    held = bytearray()
    async for part in request.stream():
        held += part
        if len(held) >= AT_ONCE:
            await run_in_threadpool(write, bytes(held))
            held.clear()
    if held:
        await run_in_threadpool(write, bytes(held))


async def picture_into(
    request: Request, write: Callable[[bytes], None]
) -> tuple[str, dict[str, str]]:
    """Hand the file of a form to `write` as it comes; return its name and the fields before it.

    Raises
    ------
    Refused
        415 when it is not such a form, 400 when it did not arrive whole, 422 without a file.
    """
    end = b"\r\n--" + _boundary(request)
    held, fields = b"\r\n", dict[str, str]()
    name: str | None = None
    whole = False
    async for part in request.stream():
        if whole:
            continue
        held += part
        if name is None:
            name, held = _to_the_file(held, end, fields)
            if name is None:
                continue
        at = held.find(end)
        whole = at >= 0
        # what may be the beginning of the end stays here
        ready = at if whole else len(held) - len(end)
        if whole or ready >= AT_ONCE:
            await run_in_threadpool(write, held[:ready])
            held = held[ready:]
    if not whole:
        raise Refused(*((400, UNREADABLE) if name is not None else (422, NO_PICTURE)))
    return name or "", fields


def _to_the_file(held: bytes, end: bytes, fields: dict[str, str]) -> tuple[str | None, bytes]:
    """Return the file's name and what has come of it; no name while it has not begun."""
    while True:
        head, found, rest = held.removeprefix(end).partition(b"\r\n\r\n")
        if not held.startswith(end) or not found:
            if len(held) > MOST_HEAD:
                raise Refused(400, UNREADABLE)
            return None, held
        file = _NAME.search(head)
        if file is not None and file[1]:
            return _shown(file[1]), rest
        field = _FIELD.search(head)
        content, closed, after = rest.partition(end)
        if not closed:
            if len(held) > MOST_HEAD:
                raise Refused(400, UNREADABLE)
            return None, held
        if field is not None and len(fields) < MOST_PARTS:
            fields[field[1].decode("utf-8", "replace")] = content.decode("utf-8", "replace")
        held = end + after
