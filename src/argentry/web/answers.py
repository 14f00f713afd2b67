"""Refusals and failures in one sentence: as JSON for programs, as a page for people."""

from __future__ import annotations

import logging
import re
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse, Response

from argentry.errors import ArgentryError, BadInput, with_options
from argentry.web.limits import Refused

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.requests import Request
    from starlette.templating import Jinja2Templates

LOG = logging.getLogger("argentry.web")
WORDS = {
    404: "There is nothing at this address. Go back to the first page.",
    405: "This address does not take that kind of request.",
    406: "This address cannot answer in that form.",
    415: "Send the body as application/json.",
}
HEADS = {401: "Not allowed", 403: "Not allowed", 404: "Not found"}
SERVER = 500  # a status from here on is argentry's own failure
IN_BRACKETS = re.compile(r" \(--[a-z][^)]*\)")  # beside its words: " (--workers 2)"
REFUSED, BROKEN = "This cannot be done", "Something went wrong"


def wants_page(scope: Any) -> bool:
    """Return True when the answer is read by a person: no path of the API."""
    path: str = scope["path"]
    return not path.startswith(("/api/", "/static/", "/readings", "/sw.js"))


def sentence_of(error: RequestValidationError) -> str:
    """Return the first mistake of a body or address as one sentence."""
    first = error.errors()[0]
    inner = [str(part) for part in first["loc"] if part not in {"body", "path", "query", "header"}]
    place = ".".join(inner) or "the body"
    more = len(error.errors()) - 1
    tail = " (and {more} more)".format(more=more) if more else ""
    words = str(first["msg"]).rstrip(".")
    if first["type"] == "string_pattern_mismatch":  # a maker reads no patterns
        words = "it does not have the required form"
    said = f"{words[:1].lower()}{words[1:]}{tail}"
    return " ".join("{place}: {said}; correct it.".format(place=place, said=said).split())[:400]


def plain_words(sentence: str) -> str:
    """Return a sentence without the dashes of its options, but for those of a whole command."""
    return with_options(IN_BRACKETS.sub("", sentence), lambda name, value: name + value)


def answer(
    templates: Jinja2Templates, request: Request, status: int, sentence: str, **headers: str
) -> Response:
    """Return one sentence in the form the caller reads."""
    sentence = plain_words(sentence)
    if wants_page(request.scope):
        return templates.TemplateResponse(
            request,
            "error.html",
            {
                "head": HEADS.get(status, REFUSED if status < SERVER else BROKEN),
                "sentence": sentence,
                "back": _page_of_form(request),
            },
            status_code=status,
            headers=headers,
        )
    return JSONResponse({"error": sentence}, status_code=status, headers=headers)


def _page_of_form(request: Request) -> str:
    """Return the address of the page whose form was sent; nothing for a page of another place."""
    page = urlsplit(request.headers.get("referer", ""))
    own = request.method == "POST" and page.netloc == request.headers.get("host")
    path = page.path + ("?" + page.query if page.query else "")
    return path if own and path.startswith("/") and not path.startswith("//") else ""


def refusal_answer(templates: Jinja2Templates, request: Request, refusal: Refused) -> Response:
    """Return the answer to a refused request; a person without pairing is led to it."""
    if refusal.status == 401 and wants_page(request.scope) and request.method == "GET":
        return RedirectResponse("/pair", status_code=303)
    if refusal.status == 401:
        return answer(templates, request, 401, refusal.sentence, **{"WWW-Authenticate": "Bearer"})
    return answer(templates, request, refusal.status, refusal.sentence)


def add_handlers(app: FastAPI, templates: Jinja2Templates) -> None:
    """Tell every error of the pages and the API in one sentence; never a traceback."""

    async def refused(request: Request, error: Exception) -> Response:
        assert isinstance(error, Refused)
        return refusal_answer(templates, request, error)

    async def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        words = WORDS.get(error.status_code, f"{str(error.detail).rstrip('.')}.")
        extra = dict(error.headers or {})
        return answer(templates, request, error.status_code, words, **extra)

    async def invalid(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
        json_asked = request.url.path.startswith("/api/") and request.method == "POST"
        if json_asked and kind != "application/json" and not kind.endswith("+json"):
            return answer(templates, request, 415, WORDS[415])
        return answer(templates, request, 422, sentence_of(error))

    async def bad_input(request: Request, error: Exception) -> Response:
        return answer(templates, request, 422, str(error))

    async def trouble(request: Request, error: Exception) -> Response:
        LOG.error("%s", error)
        return answer(templates, request, 503, str(error))

    app.add_exception_handler(Refused, refused)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(BadInput, bad_input)
    app.add_exception_handler(ArgentryError, trouble)
