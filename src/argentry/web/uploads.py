"""A file sent by a form: one part of a multipart body (RFC 7578); the guard bounds its length."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from argentry.web.limits import Refused

if TYPE_CHECKING:
    from starlette.requests import Request

MOST_PARTS = 8
LONGEST_NAME = 120
NO_FORM = "This address takes a file; send it from argentry's own page."
UNREADABLE = "The file did not arrive whole; send it again from argentry's own page."
NO_FILE = "No file was chosen. Choose a CSV, ODS or XLSX file."
_BOUNDARY = re.compile(r'boundary="?([\w\'()+,./:=? -]{1,70}?)"?(?:;|$)')
_NAME = re.compile(rb'filename="((?:[^"\\]|\\.)*)"')


async def file_of(request: Request) -> tuple[str, bytes]:
    """Return name and content of the file that a form sent.

    Raises
    ------
    Refused
        415 when it is not such a form, 400 when it cannot be read, 422 when no file was chosen.
    """
    kind = request.headers.get("content-type", "")
    match = _BOUNDARY.search(kind)
    if not kind.lower().startswith("multipart/form-data") or match is None:
        raise Refused(415, NO_FORM)
    return file_in(await request.body(), match[1].encode())


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
            # some browsers send a whole path
            shown = name[1].decode("utf-8", "replace").replace("\\", "/").rpartition("/")[2]
            return shown[-LONGEST_NAME:], content
    raise Refused(422, NO_FILE)
