"""Who may do what: every request passes here before any page or endpoint sees it.

In this order: the name it calls the server by, the length of its body, who it is, where it comes
from, and whether that one may do this. `docs/security.md` says against whom each rule stands.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from argentry.web import limits
from argentry.web.limits import Refused
from argentry.web.settings import Settings, allowed_names, bracketed, is_loopback

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOG = logging.getLogger("argentry.web")
COOKIE = "argentry_device"
CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; media-src 'self'; manifest-src 'self'; "
    "worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", CSP.encode()),
    (b"x-content-type-options", b"nosniff"),
    # not no-referrer: with it browsers send "Origin: null" with every form of our own pages
    (b"referrer-policy", b"same-origin"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
SAFE_METHODS = frozenset({"GET", "HEAD"})
OPEN_PATHS = frozenset(
    {"/api/health", "/pair", "/pair/code", "/ca.crt", "/manifest.webmanifest", "/favicon.ico"}
)
OPEN_FOLDERS = ("/static/",)
HOST_ONLY = ("/api/devices", "/devices", "/clock", "/weather", "/studio", "/copies")
MAY_READ = "/studio"  # by a tablet that runs the bench; it changes nothing there
READING_PATHS = frozenset({"/api/readings", "/readings"})
FORWARDED = (b"forwarded", b"x-forwarded-for", b"x-real-ip", b"via")


@dataclass(frozen=True)
class Caller:
    """Who sent a request.

    Attributes
    ----------
    name : str
        What is written into the events it sends.
    scope : str
        ``"host"``, ``"bench"``, ``"readings"`` or ``"nobody"``.
    device : str or None
        Id of the paired device.
    bearer : bool
        True when it showed its token itself, which no foreign page can do for it.
    """

    name: str
    scope: str
    device: str | None = None
    bearer: bool = False


OUR_MISTAKE = Refused(
    500, "The server failed. Send the request again; sending it twice does no harm."
)
NOBODY = Caller("", "nobody")
HOST = Caller("host", "host")


def host_name(host: str) -> str:
    """Return the name in a Host header, lower case, without its port; empty when it is none."""
    text = host.strip().lower()
    if any(letter in text for letter in "/\\@?# \t,"):
        return ""
    if text.startswith("["):
        end = text.find("]")
        return text[: end + 1] if end > 0 and _port_ok(text[end + 1 :]) else ""
    name, colon, port = text.partition(":")
    return name if not colon or _port_ok(f":{port}") else ""


def _port_ok(tail: str) -> bool:
    return tail == "" or (tail[0] == ":" and tail[1:].isdigit() and len(tail) <= 6)


def origin_matches(origin: str, host: str, scheme: str) -> bool:
    """Return True when an Origin is this server as the request called it.

    Parameters
    ----------
    origin, host : str
        The headers.
    scheme : str
        ``"http"`` or ``"https"``, as the server speaks.
    """
    try:
        parts = urlsplit(origin)
        port = parts.port
    except ValueError:
        return False
    if parts.scheme != scheme or parts.path or parts.query or parts.fragment or "@" in parts.netloc:
        return False
    default = 443 if scheme == "https" else 80
    name = host_name(host)
    port_text = host.strip().lower()[len(name) :].lstrip(":")
    ours = int(port_text) if port_text else default
    theirs = bracketed(parts.hostname or "")
    return bool(name) and theirs == name and (port or default) == ours


def may(caller: Caller, method: str, path: str) -> Refused | None:
    """Return why `caller` may not do this, or None when it may."""
    if path in OPEN_PATHS or path == "/sw.js" or path.startswith(OPEN_FOLDERS):
        return None
    if caller.scope == "nobody":
        return Refused(
            401, "This device is not paired. Open /pair and enter the code shown on the host."
        )
    if any(path == root or path.startswith(f"{root}/") for root in HOST_ONLY):
        if caller.scope == "host" or (
            caller.scope == "bench" and path == MAY_READ and method in ("GET", "HEAD")
        ):
            return None
        return Refused(
            403,
            "Only the host can change the studio, devices or the clock, and copy the book. "
            "Use the host's own screen.",
        )
    if caller.scope == "readings" and not (method == "POST" and path in READING_PATHS):
        return Refused(
            403, "This token can only send readings. Use a paired device for anything else."
        )
    return None


def _one(headers: list[tuple[bytes, bytes]], name: bytes) -> str | None:
    """Return the one value of a header, None without it; refuse two that could disagree."""
    values = [value for key, value in headers if key.lower() == name]
    if len(values) > 1:
        raise Refused(
            400, "The header {header} is sent twice. Send it once.".format(header=name.decode())
        )
    return values[0].decode("latin-1") if values else None


def _cookie_token(text: str | None) -> str:
    if not text:
        return ""
    try:
        jar = SimpleCookie(text)
    except CookieError:
        return ""
    return jar[COOKIE].value if COOKIE in jar else ""


def _is_link(headers: list[tuple[bytes, bytes]], path: str) -> bool:
    """Return True for a link to a page that somebody followed; a sheet to be made is no page."""
    mode, kind = _one(headers, b"sec-fetch-mode"), _one(headers, b"sec-fetch-dest")
    made = path.startswith(("/api/", "/day")) or path.endswith(".pdf")
    return mode == "navigate" and kind == "document" and not made


def check_source(headers: list[tuple[bytes, bytes]], scope: Scope, caller: Caller) -> None:
    """Refuse a request that changes something and does not come from this server's own pages.

    Over plain HTTP on a studio's network browsers send no Sec-Fetch-Site, so Origin is compared
    with Host; Sec-Fetch-Site, where it is sent, must agree. A sender without Origin is not a
    browser and must show a token itself.

    Raises
    ------
    Refused
        403.
    """
    origin, site = _one(headers, b"origin"), _one(headers, b"sec-fetch-site")
    safe = scope["method"] in SAFE_METHODS
    if site in {"cross-site", "same-site"} and not (safe and _is_link(headers, scope["path"])):
        raise Refused(403, "The request comes from another site's page. Use argentry's own pages.")
    if safe:
        return
    if origin is None:
        if not caller.bearer:
            raise Refused(
                403, "The request has no Origin header. Send one, or a device's bearer token."
            )
    elif not origin_matches(origin, _one(headers, b"host") or "", scope["scheme"]):
        raise Refused(
            403, "The request comes from another origin. Open argentry at its own address."
        )


class Guard:
    """ASGI middleware that lets a request pass or answers it with one sentence.

    Parameters
    ----------
    app : ASGIApp
        What is behind it.
    settings : Settings
        Names, limits, whom to trust.
    find_device : callable
        Token to `Caller`, or None when no device has it.
    refuse : callable
        Writes the answer to a refused request.
    """

    def __init__(
        self,
        app: ASGIApp,
        settings: Settings,
        find_device: Callable[[str], Awaitable[Caller | None]],
        refuse: Callable[[Refused, Scope, Receive, Send], Awaitable[None]],
    ) -> None:
        self.app, self.settings = app, settings
        self.find_device, self.refuse = find_device, refuse
        self.names = allowed_names(settings)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check one request and hand it on, or refuse it."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        cache = b"no-store"
        if scope["path"].startswith("/static/"):
            cache = b"no-cache"  # kept, but asked for again: pages must never mix two versions

        begun = False

        async def dressed(message: Message) -> None:
            nonlocal begun
            begun = True
            if message["type"] == "http.response.start":
                there = {key.lower() for key, _ in message["headers"]}
                extra = (*HEADERS, (b"cache-control", cache))
                message["headers"] = [
                    *message["headers"],
                    *(pair for pair in extra if pair[0] not in there),
                ]
            await send(message)

        try:
            receive = await self._check(scope, receive)
        except Refused as refusal:
            await self.refuse(refusal, scope, receive, dressed)
            return
        try:
            await self.app(scope, receive, dressed)
        except Exception:  # a mistake of ours, told in one sentence; the log has the rest
            LOG.exception("unforeseen mistake at %s", scope["path"])
            if begun:
                raise
            await self.refuse(OUR_MISTAKE, scope, receive, dressed)

    async def _check(self, scope: Scope, receive: Receive) -> Receive:
        headers = list(scope["headers"])
        host = _one(headers, b"host")
        self._check_host(host, scope)
        caller = await self._caller(headers, scope, host or "")
        check_source(headers, scope, caller)
        why = may(caller, scope["method"], scope["path"])
        if why is not None:
            raise why
        scope.setdefault("state", {})["caller"] = caller
        if scope["method"] in SAFE_METHODS:
            return receive
        most, as_it_comes = self._longest(scope["path"])
        limits.announced_length({key.lower(): value for key, value in headers}, most)
        if as_it_comes:
            return limits.bounded(receive, most, self.settings.picture_seconds)
        body = await limits.read_body(receive, most, self.settings.body_seconds)
        kind = (_one(headers, b"content-type") or "").split(";")[0].strip().lower()
        if body and (kind == "application/json" or kind.endswith("+json")):
            limits.strict_json(body)
        return limits.replay(body, receive)

    def _longest(self, path: str) -> tuple[int, bool]:
        """Return how long a body sent to an address may be, and whether it is taken as it comes."""
        if path.startswith("/pictures/"):
            return self.settings.picture_bytes, True
        if path.startswith("/api/runs/") and path.endswith("/looks"):
            return self.settings.look_bytes, True
        if path.startswith(("/notebook", "/studio", "/materials/list")):
            return self.settings.notebook_bytes, False
        is_events = path.endswith("/events")
        return (self.settings.events_bytes if is_events else self.settings.body_bytes), False

    def _check_host(self, host: str | None, scope: Scope) -> None:
        name = host_name(host or "")
        server = scope.get("server")
        reached = bracketed(str(server[0])).lower() if server else ""
        # an address literal that is the one this connection came in by is not a foreign name
        if not name or (name not in self.names and (name != reached or not _is_address(name))):
            raise Refused(
                400,
                "This server does not answer to that name. "
                "Use its own address, or start it with --name.",
            )

    async def _caller(self, headers: list[tuple[bytes, bytes]], scope: Scope, host: str) -> Caller:
        shown = _one(headers, b"authorization")
        if shown is not None:
            kind, _, token = shown.partition(" ")
            found = await self.find_device(token.strip()) if kind.lower() == "bearer" else None
            if found is None:
                raise Refused(401, "The token is unknown or was revoked. Pair the device again.")
            return Caller(found.name, found.scope, found.device, bearer=True)
        token = _cookie_token(_one(headers, b"cookie"))
        if token:
            found = await self.find_device(token)
            if found is not None:
                return found
        if self.settings.trust_this_machine and self._is_this_machine(headers, scope, host):
            return HOST
        return NOBODY

    def _is_this_machine(self, headers: list[tuple[bytes, bytes]], scope: Scope, host: str) -> bool:
        """Return True for a browser on the server's own machine, calling it by a loopback name."""
        client = scope.get("client")
        forwarded = any(key.lower() in FORWARDED for key, _ in headers)
        return (
            client is not None
            and is_loopback(str(client[0]))
            and is_loopback(host_name(host))
            and not forwarded
        )


def _is_address(name: str) -> bool:
    return name.startswith("[") or name.replace(".", "").isdigit()
