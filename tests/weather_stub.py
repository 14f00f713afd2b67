"""A weather service on this machine: says what a test tells it to, and notes what it was asked."""

from __future__ import annotations

import re
import threading
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

SAMPLES = Path(__file__).parent / "fixtures" / "weather"


def sample(service: str, name: str) -> bytes:
    """Return a sample answer."""
    return (SAMPLES / service / f"{name}.json").read_bytes()


@dataclass
class Stub:
    """What it says next, and what it was asked."""

    status: int = 200
    body: bytes = b"{}"
    headers: dict[str, str] = field(default_factory=dict)
    cut: int = 0  # bytes that the length promises and that never come
    silent_s: float = 0.0
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    address: str = ""

    def says(self, status: int = 200, body: bytes = b"{}", **headers: str) -> None:
        """Set the next answers; names of headers with underscores for dashes."""
        self.status, self.body = status, body
        self.headers = {name.replace("_", "-"): value for name, value in headers.items()}


@contextmanager
def running(stub: Stub) -> Iterator[Stub]:
    """Serve what a stub says; its address is put into it."""
    gone = threading.Event()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            stub.asked.append((self.path, {k.lower(): v for k, v in self.headers.items()}))
            if stub.silent_s:
                gone.wait(stub.silent_s)
            self.send_response(stub.status)
            for name, value in stub.headers.items():
                self.send_header(name, value)
            if stub.status != 304:
                self.send_header("Content-Length", str(len(stub.body) + stub.cut))
            with suppress(BrokenPipeError, ConnectionResetError):
                self.end_headers()
            with suppress(BrokenPipeError, ConnectionResetError):  # the client gave up
                if stub.status != 304:
                    self.wfile.write(stub.body)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    stub.address = f"http://127.0.0.1:{server.server_address[1]}"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield stub
    server.shutdown()
    server.server_close()


def point_to(stub: Stub, folder: Path, *more: tuple[str, str]) -> None:
    """Write into a studio's file that the stub is its service, and what else is to be changed."""
    file = folder / "studio.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in (('# host = "https://weather.example.org"', f'host = "{stub.address}"'), *more):
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")


def moved(service: str, name: str, first: date) -> bytes:
    """Return a sample whose days begin on `first`: for what has only cloud, any day will do."""
    text = sample(service, name).decode()
    found = sorted(set(re.findall(r"20\d\d-\d\d-\d\d(?=T)", text)))
    for number, day in enumerate(found):
        text = text.replace(f"{day}T", f"{first + timedelta(days=number)}t")
    return re.sub(r"(\d\d)t(\d\d:)", r"\1T\2", text).encode()
