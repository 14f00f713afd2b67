"""Run the server until it is stopped."""

from __future__ import annotations

import contextlib
import ctypes
import logging
import signal
import socket
import traceback
from typing import TYPE_CHECKING, Any

import uvicorn

from argentry.errors import BadInput
from argentry.web.patience import Patient

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi import FastAPI

    from argentry.web.settings import Settings
    from argentry.web.tls.authority import Certificates

MOST_AT_ONCE = 200  # connections; each tablet holds one stream and a few more
KEEP_ALIVE_S = 20
GRACE_S = 2
MOST_LINES = 10  # exceptions behind one another that the log tells
M_ARENA_MAX = -8  # <malloc.h> of the GNU C library; mallopt(3)
ARENAS = 2


class Wordless(logging.Formatter):
    """Writes where a mistake came from and of what kind it is, and nothing of what was sent.

    The words of an exception may hold a request's body or a row of the book.
    """

    def formatException(self, ei: Any) -> str:  # noqa: N802 - the library's name
        """Return the frames and kinds of an exception and of those behind it."""
        lines: list[str] = []
        error = ei[1]
        while error is not None and len(lines) < MOST_LINES:
            kind = type(error)
            frames = "".join(traceback.format_tb(error.__traceback__))
            lines = [f"{frames}{kind.__module__}.{kind.__qualname__}", *lines]
            error = error.__cause__ or error.__context__
        return "\n".join(lines)


def log_of(log_file: Path) -> logging.Handler:
    """Return what writes the server's log, without a word where it cannot be written.

    The server says by itself that its folder is full or read-only. The library would print a
    traceback on the maker's terminal for each line.
    """
    from logging.handlers import RotatingFileHandler

    class Log(RotatingFileHandler):
        def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 - the library's name
            del record

    handler = Log(log_file, maxBytes=1_000_000, backupCount=2, delay=True)
    handler.setFormatter(Wordless("%(asctime)s %(levelname)s %(message)s"))
    return handler


def keep_few_arenas() -> None:
    """Let glibc's allocator make no more arenas than two, so that a server's memory stays flat.

    It gives each thread one of its own, up to eight a core; what a thread frees there serves no
    other, and a server whose requests wander over its threads grows for minutes for nothing
    (measured: `make chaos`, load). Python allocates under its lock: more bring nothing.
    """
    with contextlib.suppress(OSError, AttributeError):  # another C library
        ctypes.CDLL(None).mallopt(M_ARENA_MAX, ARENAS)


def bind(settings: Settings) -> socket.socket:
    """Return a socket that listens where the settings say.

    Raises
    ------
    BadInput
        If the address is not this machine's, or the port is taken.
    """
    try:
        rows = socket.getaddrinfo(
            settings.host.strip("[]"),
            settings.port,
            type=socket.SOCK_STREAM,
            flags=socket.AI_PASSIVE,
        )
    except (OSError, UnicodeError):  # a part of more than 63 letters cannot be asked for
        raise BadInput(
            "--host",
            "{host} is not an address of this machine",
            "give 127.0.0.1 or 0.0.0.0",
            host=settings.host,
        ) from None
    family, kind, protocol, _, address = rows[0]
    listening = socket.socket(family, kind, protocol)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(address)
        listening.listen(MOST_AT_ONCE)  # whoever comes before the first answer waits for it
    except OSError as error:
        listening.close()
        raise BadInput(
            "--port",
            "{host}:{port} cannot be used ({strerror})",
            "stop the other server, or give another --port",
            host=settings.host,
            port=settings.port,
            strerror=error.strerror,
        ) from None
    listening.set_inheritable(False)
    return listening


class Server(uvicorn.Server):  # type: ignore[misc]
    """The server; told to stop, it ends the open streams first so that nothing hangs."""

    def handle_exit(self, sig: int, frame: Any) -> None:
        """Stop at SIGINT or SIGTERM."""
        app: Any = self.config.app
        app.state.broadcast.close_soon()
        super().handle_exit(sig, frame)


def serve(
    app: FastAPI,
    listening: socket.socket,
    keys: Certificates | None,
    log_file: Path | None,
) -> None:
    """Serve until SIGINT or SIGTERM.

    Parameters
    ----------
    app : FastAPI
        The application.
    listening : socket
        From `bind`.
    keys : Certificates or None
        Certificates under TLS.
    log_file : Path or None
        Where mistakes of the server are written; it holds no token and no body.
    """
    keep_few_arenas()
    if log_file is not None:
        handler = log_of(log_file)
        for name in ("argentry", "uvicorn.error"):
            logging.getLogger(name).addHandler(handler)
    config = uvicorn.Config(
        app,
        log_config=None,
        log_level="warning",
        access_log=False,
        proxy_headers=False,  # who is behind a proxy is never believed
        server_header=False,
        ws="none",
        http=Patient,
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=KEEP_ALIVE_S,
        timeout_graceful_shutdown=GRACE_S,
        h11_max_incomplete_event_size=16 * 1024,
        ssl_certfile=None if keys is None else str(keys.server),
        ssl_keyfile=None if keys is None else str(keys.key),
    )
    # the library raises the signal again when it is done; the stop is orderly, so nothing is left
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: None)
    Server(config).run(sockets=[listening])
