"""Connections that say nothing end after seconds, and cannot keep the others out."""

from __future__ import annotations

import contextlib
import socket
import time
from threading import Thread

import httpx
import pytest
import uvicorn

from argentry.web.patience import Patient


class Hasty(Patient):
    silent_seconds = 1.0  # a busy machine may be as long between connecting and asking


@pytest.fixture
def hasty(app):
    listening = socket.socket()
    listening.bind(("127.0.0.1", 0))
    config = uvicorn.Config(
        app, log_config=None, access_log=False, ws="none", http=Hasty, limit_concurrency=20
    )

    class Quiet(uvicorn.Server):
        @contextlib.contextmanager
        def capture_signals(self):
            yield

    server = Quiet(config)
    thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield listening.getsockname()
    app.state.broadcast.close_soon()
    server.should_exit = True
    thread.join(90)
    assert not thread.is_alive()


def ended(wire):
    """Return True when the server has closed a connection."""
    wire.settimeout(90.0)
    try:
        return wire.recv(1) == b""
    except ConnectionResetError:
        return True


@pytest.mark.parametrize("said", [b"", b"GET /api/he", b"GET / HTTP/1.1\r\nHost: localhost\r\n"])
def test_a_connection_that_says_nothing_or_half_is_closed(hasty, said):
    with socket.create_connection(hasty) as wire:
        wire.sendall(said)
        assert ended(wire)


def test_silent_connections_do_not_keep_the_others_out(hasty):
    silent = [socket.create_connection(hasty) for _ in range(30)]
    assert all(ended(wire) for wire in silent)
    address = f"http://localhost:{hasty[1]}"
    assert httpx.get(f"{address}/api/health", timeout=90).status_code == 200
    for wire in silent:
        wire.close()


def test_a_request_and_a_stream_are_not_cut(hasty, run):
    address = f"http://localhost:{hasty[1]}"
    with (
        httpx.Client(base_url=address, timeout=90) as client,
        client.stream("GET", f"/api/runs/{run}/stream") as answer,
    ):
        lines = answer.iter_lines()
        next(lines)
        time.sleep(1.5)  # longer than a silent connection may last
        assert client.get("/api/health").status_code == 200
        assert next(lines)


def test_one_address_holds_no_more_than_its_share():
    class Wire:
        aborted = False

        def abort(self):
            self.aborted = True

        def get_extra_info(self, name):
            return {"peername": ("192.168.1.9", 5), "sockname": ("192.168.1.2", 80)}.get(name)

    class Loop:
        def call_later(self, *_):
            return self

        def cancel(self):
            pass

    from uvicorn.server import ServerState

    state = ServerState()
    config = uvicorn.Config(lambda: None, log_config=None)
    config.load()
    wires = [Wire() for _ in range(Patient.most_from_one + 5)]
    for wire in wires:
        Patient(config, state, {}, Loop()).connection_made(wire)
    assert [wire.aborted for wire in wires].count(True) == 5
