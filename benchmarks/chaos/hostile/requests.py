"""Requests made to do harm, sent to the real server over the network.

The cases are those of tests/web/test_hostile.py, and bytes that no client would send.
"""

from __future__ import annotations

import http.client
import json
import re
import socket
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.power.bench_client import Device
from tests.web.test_hostile import HOSTILE, filled

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.keeping.sensors.devices import new_device
from benchmarks.chaos.ground import serving, studio_in, workplace
from benchmarks.chaos.hostile.raw import RAW
from benchmarks.chaos.hostile.verdict import LONGEST_S, Verdict

if TYPE_CHECKING:
    from benchmarks.chaos.ground import Ask, Figures, Served

NAME = "studio.test"
NO_ANSWER = 0, "no answer"  # in twice the time after which something hangs


def run(ask: Ask) -> Figures:
    verdict = Verdict()
    with workplace() as folder:
        studio = studio_in(folder)
        said = folder / "said"
        with serving(studio, "--name", NAME, said=said) as server:
            world = World(server, studio, said)
            for name, case in list(HOSTILE.items())[: ask.count]:
                if ask.go_on():
                    world.judge(verdict, name, lambda case=case: world.ask(*case[:4]))
            for name, content in RAW.items():
                if ask.go_on():
                    world.judge(verdict, name, lambda content=content: world.raw(content))
            status, _ = world.host.insist("GET", f"/api/runs/{world.run}", lambda: None)
            assert status == 200, "the server no longer answers"
    return verdict.figures()


class World:
    """A server with an open run, and those who ask: the host, a tablet, a sensor, a stranger."""

    def __init__(self, server: Served, studio: Path, said: Path) -> None:
        self.server, self.log, self.said = server, studio / "server.log", said
        self.host = Device(server.port, "host", None)
        wanted = {"plates": ["Q-1", "Q-2"]}
        _, opened = self.host.insist("POST", "/api/runs", lambda: wanted)
        self.run = opened["run"]
        _, whole = self.host.insist("GET", f"/api/runs/{self.run}", lambda: None)
        self.plate = whole["state"]["plates"][0]["id"]
        book = open_book(studio)
        _, token = new_device(book, "thermometer", "readings")
        close_book(book)
        self.shown = {"sensor": {"Authorization": f"Bearer {token}"}, "tablet": self._pair()}

    def _pair(self) -> dict[str, str]:
        form = {"Content-Type": "application/x-www-form-urlencoded"}
        lan = f"{NAME}:{self.server.port}"
        sent = {**form, "Origin": f"http://{lan}"}
        self._send("POST", "/pair/code", [("Host", lan), *sent.items()], b"")
        codes: list[str] = []
        while not codes:
            codes = re.findall(r"\b(\d{4} \d{4})\b", self.said.read_text("utf-8", "replace"))
            time.sleep(0.05)
        content = f"code={codes[-1].replace(' ', '')}&name=tablet".encode()
        answer = self._send("POST", "/pair", [("Host", lan), *sent.items()], content)
        cookie = str(answer.headers["set-cookie"]).split(";")[0]
        return {"Cookie": cookie}

    def ask(self, who: str, method: str, path: str, how: dict[str, Any]) -> tuple[int, str]:
        """Send one of the cases of tests/web/test_hostile.py; return status and answer."""
        how = filled(how, self.run, self.plate)
        name = "localhost" if who == "host" else NAME
        base = f"{name}:{self.server.port}"
        headers = {"Host": base, **self.shown.get(who, {}), **how.get("headers", {})}
        origin = how.get("origin", "same" if who != "sensor" else None)
        if origin == "same" and method not in {"GET", "HEAD"}:
            headers.setdefault("Origin", f"http://{base}")
        elif origin not in {None, "same"}:
            headers["Origin"] = origin
        content = how.get("content", b"")
        if "json" in how:
            content = json.dumps(how["json"])
            headers.setdefault("Content-Type", "application/json")
        pairs = list(headers.items())
        if "twice" in how:
            pairs += [how["twice"], (how["twice"][0], "http://evil.example")]
        content = content.encode() if isinstance(content, str) else content
        try:
            answer = self._send(method, path.replace("{run}", self.run), pairs, content)
            return answer.status, answer.read(100_000).decode("utf-8", "replace")
        except TimeoutError:
            return NO_ANSWER

    def _send(
        self, method: str, path: str, pairs: list[tuple[str, str]], content: bytes
    ) -> http.client.HTTPResponse:
        wire = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=2 * LONGEST_S)
        wire.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for key, value in pairs:
            wire.putheader(key, value)
        if method not in {"GET", "HEAD"} and "Content-Length" not in dict(pairs):
            wire.putheader("Content-Length", str(len(content)))
        wire.endheaders(content)
        return wire.getresponse()

    def raw(self, content: bytes) -> tuple[int, str]:
        """Send bytes; return the status of what is answered, 400 when the line is just closed."""
        content = content.replace(b"{port}", str(self.server.port).encode())
        with socket.create_connection(("127.0.0.1", self.server.port), 2 * LONGEST_S) as wire:
            try:
                wire.sendall(content)
                wire.shutdown(socket.SHUT_WR)
                answer = b"".join(iter(lambda: wire.recv(65_536), b""))
            except (ConnectionError, OSError) as error:
                if isinstance(error, TimeoutError):
                    return NO_ANSWER
                answer = b""
        status = re.match(rb"HTTP/1.1 (\d{3})", answer)
        return int(status[1]) if status else 400, answer.decode("utf-8", "replace")

    def judge(self, verdict: Verdict, name: str, send: Any) -> None:
        """Send one input and look at the answer, at what the server said, and at its memory."""
        Path(f"/proc/{self.server.process.pid}/clear_refs").write_text("5", encoding="ascii")
        before = self._all_said()
        began = time.monotonic()
        status, answer = send()
        seconds = time.monotonic() - began
        said = answer + self._all_said()[len(before) :]
        refused = 400 <= status < 500 or not status  # what hangs is counted as that
        verdict.add(name, said, seconds, self.server.peak_mb(), refused=refused)

    def _all_said(self) -> str:
        files = (one for one in (self.said, self.log) if one.exists())
        return "".join(one.read_text("utf-8", "replace") for one in files)
