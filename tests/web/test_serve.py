"""The real command in a process of its own: plain, and with the studio's own authority."""

from __future__ import annotations

import asyncio
import contextlib
import re
import signal
import socket
import ssl
import subprocess
import sys
import threading
from types import SimpleNamespace

import httpx
import pytest

from argentry.book.engine import CONNECTIONS, MORE
from argentry.book.log import events
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.web.app import AT_ONCE
from argentry.web.run import bind

PATIENT = 60.0  # seconds: cores are shared with other tests
PROGRAM = "from argentry.cli.main import main; main()"


def get(address, **more):
    return httpx.get(address, timeout=PATIENT, **more)


def post(address, **more):
    return httpx.post(address, timeout=PATIENT, **more)


@contextlib.contextmanager
def serving(studio_dir, *options):
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, "serve", "--studio", studio_dir, "--port", "0", *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    said = []
    try:
        for line in process.stdout:
            said.append(line)
            if line.startswith("Stop with"):
                break
        addresses = re.findall(r"https?://\S+:\d+", "".join(said))
        # lines that come later are read along, so that the pipe never fills
        reader = threading.Thread(target=lambda: said.extend(process.stdout), daemon=True)
        reader.start()
        yield SimpleNamespace(process=process, said=said, address=addresses[0], reader=reader)
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        process.stdout.close()


def stop(server, how=signal.SIGTERM):
    server.process.send_signal(how)
    code = server.process.wait(PATIENT)
    server.reader.join(PATIENT)
    return code, "".join(server.said)


def test_it_says_where_serves_and_stops_in_order(studio_dir, book):
    with serving(studio_dir) as server:
        assert server.address.startswith("http://localhost:")
        assert "Pairing code" not in "".join(server.said)  # this machine only: nobody to pair
        host = {"Origin": server.address}
        run = post(f"{server.address}/api/runs", json={"plates": ["Q-1"]}, headers=host).json()[
            "run"
        ]
        one = {"id": new_id(), "kind": "remark_made", "body": {"words": "x"}, "age_s": 0}
        answer = post(
            f"{server.address}/api/runs/{run}/events", json={"events": [one]}, headers=host
        )
        assert answer.json()["stored"][0]["id"] == one["id"]
        with httpx.stream(
            "GET", f"{server.address}/api/runs/{run}/stream", timeout=PATIENT
        ) as stream:
            lines = stream.iter_lines()
            next(lines)
            code, said = stop(server)  # with a tablet still listening
            list(lines)
    assert code == 0, said
    assert "Stopped. Every acknowledged event is in the book." in said
    assert "Traceback" not in said
    assert one["id"] in {e.id for e in events(book, run)}


def test_another_name_on_this_machine_must_pair_and_control_c_stops_in_order(studio_dir):
    with serving(studio_dir, "--name", "studio.test") as server:
        code = re.search(r"Pairing code (\d{4} \d{4})", "".join(server.said)).group(1)
        named = {"Host": "studio.test:" + server.address.rsplit(":", 1)[1]}
        origin = "http://" + named["Host"]
        assert get(f"{server.address}/api/runs", headers=named).status_code == 401
        answer = post(
            f"{server.address}/pair",
            data={"code": code, "name": "tablet"},
            headers={**named, "Origin": origin},
        )
        assert answer.status_code == 303
        token = answer.cookies["argentry_device"]
        shown = {**named, "Cookie": f"argentry_device={token}"}
        assert get(f"{server.address}/api/runs", headers=shown).status_code == 200
        code, said = stop(server, signal.SIGINT)
    assert code == 0, said
    assert "Stopped. Every acknowledged event is in the book." in said
    assert "Traceback" not in said


def test_tls_with_the_studios_own_authority(studio_dir):
    pytest.importorskip("cryptography")
    with serving(studio_dir, "--tls") as server:
        said = "".join(server.said)
        assert server.address.startswith("https://localhost:")
        assert re.search(r"([0-9A-F]{2}:){31}[0-9A-F]{2}", said)
        trusting = ssl.create_default_context(cafile=studio_dir / "tls" / "ca.crt")
        answer = get(f"{server.address}/api/health", verify=trusting)
        assert answer.status_code == 200
        fetched = get(f"{server.address}/ca.crt", verify=trusting)
        assert fetched.content == (studio_dir / "tls" / "ca.crt").read_bytes()
        with pytest.raises(httpx.ConnectError):
            get(f"{server.address}/api/health", verify=ssl.create_default_context())


def test_a_port_that_is_taken_is_told_in_one_sentence(studio_dir):
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = str(other.getsockname()[1])
        second = subprocess.run(
            [sys.executable, "-c", PROGRAM, "serve", "--studio", studio_dir, "--port", port],
            capture_output=True,
            text=True,
            check=False,
        )
    assert second.returncode == 2
    assert f"127.0.0.1:{port} cannot be used" in second.stderr
    assert len(second.stderr.strip().splitlines()) == 1


def test_a_host_that_no_machine_can_have_is_told_in_one_sentence():
    """RFC 1035, 2.3.4: a part of a name has 63 letters at most; more ended in a traceback."""
    with pytest.raises(BadInput, match="is not an address of this machine"):
        bind(SimpleNamespace(host="x" * 64, port=0))


def test_nothing_heavy_is_loaded_before_it_is_needed():
    """Planning's libraries would cost a bench half its memory and a second at every start."""
    code = (
        "import sys, argentry.web.app, argentry.web.run; "
        "print(*sorted({n.split('.')[0] for n in sys.modules}))"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    heavy = {"ortools", "pvlib", "pandas", "scipy", "typst", "alembic"}
    assert heavy.isdisjoint(loaded)


def test_no_more_is_worked_on_at_once_than_there_may_be_connections(app):
    """A thread more would wait for one, and hold memory meanwhile."""
    from anyio.to_thread import current_default_thread_limiter

    async def threads():
        async with app.router.lifespan_context(app):
            return current_default_thread_limiter().total_tokens

    assert asyncio.run(threads()) == AT_ONCE <= CONNECTIONS + MORE


def test_the_log_holds_no_word_of_what_was_sent():
    import logging

    from argentry.web.run import Wordless

    sent = {"words": "of the maker"}
    told = ""
    try:
        try:
            sent["DETAIL: Failing row contains (of the maker)"]
        except KeyError as error:
            int(sent["words"] + str(error))
    except ValueError:
        record = logging.LogRecord("x", 40, __file__, 1, "mistake at %s", ("/api",), sys.exc_info())
        told = Wordless("%(message)s").format(record)
    assert told.startswith("mistake at /api")
    assert "builtins.ValueError" in told
    assert "builtins.KeyError" in told
    assert "test_serve.py" in told
    assert "invalid literal" not in told  # what Python would say of it, with the words


def test_a_log_that_cannot_be_written_prints_no_traceback(tmp_path, capsys):
    import logging

    from argentry.web.run import log_of

    handler = log_of(tmp_path / "gone" / "server.log")
    handler.handle(logging.LogRecord("argentry", logging.WARNING, "", 0, "no answer", (), None))
    assert capsys.readouterr().err == ""
