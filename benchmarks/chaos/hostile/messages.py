"""MQTT messages made to do harm, sent through a real broker to the real server.

After each of them a good reading must come in: the feed goes on.
"""

from __future__ import annotations

import contextlib
import json
import time
from typing import TYPE_CHECKING, Any

from tests.outside.test_mqtt_broker import MOSQUITTO, broker, sensor
from tests.ports import free_port
from tests.power.bench_client import Device

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.keeping.sensors.devices import new_device
from benchmarks.chaos.ground import LeftOut, serving, studio_in, workplace
from benchmarks.chaos.hostile.verdict import LONGEST_S, Verdict

if TYPE_CHECKING:
    from benchmarks.chaos.ground import Ask, Figures

ROOM = "argentry/studio/readings/room_c"
# Bodies of messages to the topic of a room; TOKEN stands for a good one.
BODIES: dict[str, bytes | dict[str, Any] | list[Any]] = {
    "nothing": b"",
    "a zero": b"\x00",
    "every byte": bytes(range(256)) * 200,
    "no UTF-8": b'{"value": "\xff"}',
    "a byte order mark": b"\xef\xbb\xbf{}",
    "half a letter": b'{"value": 20, "token": "TOKEN", "sensor": "\\ud800"}',
    "a megabyte of digits": b"9" * 2**20,
    "ten megabytes": b"x" * (10 * 2**20),
    "nested deep": b"[" * 200_000,
    "objects nested deep": b'{"a":' * 60_000,
    "no JSON": b'{"value": 20',
    "a list": [20],
    "a text": b'"20"',
    "true": b"true",
    "null": b"null",
    "a key twice": b'{"value": 20, "value": 21, "token": "TOKEN"}',
    "no value": {"token": "TOKEN"},
    "no token": {"value": 20},
    "a token nobody has": {"value": 20, "token": "a" * 43},
    "a token of a megabyte": {"value": 20, "token": "a" * 2**20},
    "a number as token": {"value": 20, "token": 7},
    "a list as token": {"value": 20, "token": ["TOKEN"]},
    "an empty token": {"value": 20, "token": ""},
    "an unknown key": {"value": 20, "token": "TOKEN", "admin": True},
    "NaN": b'{"value": NaN, "token": "TOKEN"}',
    "infinity": b'{"value": 1e999, "token": "TOKEN"}',
    "minus infinity": b'{"value": -Infinity, "token": "TOKEN"}',
    "an integer of 5,000 digits": b'{"value": ' + b"9" * 5000 + b', "token": "TOKEN"}',
    "a text for a number": {"value": "20", "token": "TOKEN"},
    "true for a number": {"value": True, "token": "TOKEN"},
    "a list for a number": {"value": [20], "token": "TOKEN"},
    "an object for a number": {"value": {"$gt": 0}, "token": "TOKEN"},
    "an unknown unit": {"value": 20, "unit": "furlong", "token": "TOKEN"},
    "a number as unit": {"value": 20, "unit": 7, "token": "TOKEN"},
    "a unit of a megabyte": {"value": 20, "unit": "x" * 2**20, "token": "TOKEN"},
    "at no time": {"value": 20, "at": "noon", "token": "TOKEN"},
    "at a number": {"value": 20, "at": 1e30, "token": "TOKEN"},
    "in the year 1": {"value": 20, "at": "0001-01-01T00:00:00Z", "token": "TOKEN"},
    "in the year 9999": {"value": 20, "at": "9999-12-31T23:59:59Z", "token": "TOKEN"},
    "without a zone": {"value": 20, "at": "2026-06-21T12:00:00", "token": "TOKEN"},
    "at two times": {"value": 20, "at": "2026-06-21T12:00:00Z", "age_s": 3, "token": "TOKEN"},
    "an age below nothing": {"value": 20, "age_s": -1e9, "token": "TOKEN"},
    "an age of a universe": {"value": 20, "age_s": 1e300, "token": "TOKEN"},
    "an age that is a text": {"value": 20, "age_s": "3", "token": "TOKEN"},
    "a sensor with an escape": {"value": 20, "sensor": "\x1b[2J", "token": "TOKEN"},
    "a sensor that turns the writing": {"value": 20, "sensor": "\u202egnp", "token": "TOKEN"},
    "a sensor with a zero": {"value": 20, "sensor": "a\u0000b", "token": "TOKEN"},
    "a sensor of a megabyte": {"value": 20, "sensor": "x" * 2**20, "token": "TOKEN"},
    "a sensor that is a list": {"value": 20, "sensor": ["x"], "token": "TOKEN"},
    "a sensor that asks the book": {
        "value": 20, "sensor": "'; DROP TABLE reading; --", "token": "NOBODY"},
    "another quantity in the body": {"what": "mood", "value": 20, "token": "TOKEN"},
    "an id that is none": {"value": 20, "id": "1; DROP TABLE", "token": "TOKEN"},
    "a million keys": b"{" + b",".join(b'"k%d":1' % n for n in range(60_000)) + b"}",
    "ten thousand spaces": b" " * 10_000 + b"20",
}  # fmt: skip
TOPICS = (
    "argentry/studio/readings/mood", "argentry/studio/readings/..", "argentry/studio/readings/",
    "argentry/studio/readings/\x1b[2J", "argentry/studio/readings/" + "x" * 60_000,
    "argentry/studio/readings/room_c ", "argentry/studio/readings/ROOM_C",
    "argentry/studio/readings/\u202eroom_c", "argentry/studio/readings/'; DROP TABLE reading",
    "argentry/studio/readings/room_c%00",
)  # fmt: skip


def run(ask: Ask) -> Figures:
    if MOSQUITTO is None:
        raise LeftOut("mosquitto is not installed")
    verdict = Verdict()
    with workplace() as folder:
        studio = studio_in(folder)
        book = open_book(studio)
        _, token = new_device(book, "shelf", "readings")
        close_book(book)
        port, said = free_port(), folder / "said"
        url = f"mqtt://127.0.0.1:{port}"
        with (
            broker(folder, port),
            serving(studio, "--mqtt", url, said=said) as server,
            sensor(port) as publish,
        ):
            desk = Device(server.port, "desk", None)
            assert _comes_in(desk, publish, token, 1, again=True), "the feed does not listen"
            cases = [(name, ROOM, _body(body, token)) for name, body in BODIES.items()]
            good = json.dumps({"value": 20.0, "token": token}).encode()
            cases += [(f"the topic {one[:60]!r}", one, good) for one in TOPICS]
            for place, (name, topic, content) in enumerate(cases[: ask.count]):
                if not ask.go_on():
                    break
                words = [one for one in (said, studio / "server.log") if one.exists()]
                before = sum(one.stat().st_size for one in words)
                with contextlib.suppress(RuntimeError), sensor(port) as harm:  # broker may refuse
                    harm(topic, content)
                began = time.monotonic()
                alive = _comes_in(desk, publish, token, place + 2)
                seconds = time.monotonic() - began if alive else 2 * LONGEST_S
                told = b"".join(one.read_bytes() for one in words)[before:].decode(
                    "utf-8", "replace"
                )
                # keys that a sensor adds are passed over by design: nothing more is asked here
                verdict.add(name, told, seconds, server.peak_mb(), refused=True)
    return verdict.figures()


def _body(body: Any, token: str) -> bytes:
    content = body if isinstance(body, bytes) else json.dumps(body).encode()
    return content.replace(b"TOKEN", token.encode())


def _latest(desk: Device) -> list[float]:
    _, answer = desk.ask("GET", "/api/readings/latest")
    return [one["value"] for one in answer["readings"].values()]


def _comes_in(desk: Device, publish: Any, token: str, number: int, *, again: bool = False) -> bool:
    """Send a good reading and wait until the server has it; `again` sends it until then."""
    value = round(15.0 + number / 100, 2)
    end = time.monotonic() + (60.0 if again else LONGEST_S)
    content = json.dumps({"value": value, "token": token})
    publish(ROOM.replace("room_c", "outside_c"), content)
    while time.monotonic() < end:
        if value in _latest(desk):
            return True
        time.sleep(0.02)
        if again:
            publish(ROOM.replace("room_c", "outside_c"), content)
            time.sleep(0.2)
    return False
