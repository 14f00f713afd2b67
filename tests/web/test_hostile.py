"""Bad inputs and hostile requests: each refused with one sentence and a right status, never 5xx."""

# ruff: noqa: E501 - one case stands on one line where it can

from __future__ import annotations

import json

import pytest
from tests.every import every

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.keeping.sensors.devices import new_device
from argentry.keeping.studio import new_studio
from argentry.records.ids import new_id
from argentry.web.app import create_app
from argentry.web.settings import Settings

LAN = "http://studio.test:8440"
UNKNOWN = "01a211d5-9de1-76de-bfa7-133d2a2c6d8b"
JSON = {"Content-Type": "application/json"}
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


def event(**more):
    return {"id": new_id(), "kind": "remark_made", "body": {"words": "x"}, "age_s": 0, **more}


def posted(**more):
    return {"json": {"events": [event(**more)]}}


def body_of(text):
    return {"content": text, "headers": JSON}


# name: (who, method, path, how, status). {run} is an open run of two plates.
EVENTS = "/api/runs/{run}/events"
HOSTILE = {
    # who may come in
    "no token, a read": ("stranger", "GET", "/api/runs", {}, 401),
    "no token, a write": ("stranger", "POST", EVENTS, posted(), 401),
    "no token, the stream": ("stranger", "GET", "/api/runs/{run}/stream", {}, 401),
    "no token, a reading": ("stranger", "POST", "/api/readings", {"json": {}}, 401),
    "no token, the devices": ("stranger", "GET", "/api/devices", {}, 401),
    "no token, the API's own description": ("stranger", "GET", "/api/openapi.json", {}, 401),
    "no token, a form": ("stranger", "POST", "/runs", {"content": "a=1", "headers": FORM}, 401),
    "a token nobody has": (
        "stranger", "GET", "/api/runs", {"headers": {"Authorization": "Bearer " + "a" * 43}}, 401),
    "a token of another kind": (
        "host", "GET", "/api/runs", {"headers": {"Authorization": "Basic YTpi"}}, 401),
    "an empty token": ("host", "GET", "/api/runs", {"headers": {"Authorization": "Bearer "}}, 401),
    "a very long token": (
        "stranger", "GET", "/api/runs", {"headers": {"Authorization": "Bearer " + "a" * 4000}}, 401),
    "a cookie nobody gave": (
        "stranger", "GET", "/api/runs", {"headers": {"Cookie": "argentry_device=" + "b" * 43}}, 401),
    "a broken cookie": (
        "stranger", "GET", "/api/runs", {"headers": {"Cookie": 'argentry_device="; ;=,'}}, 401),
    "a tablet at the devices": ("tablet", "GET", "/api/devices", {}, 403),
    "a tablet that shuts another out": ("tablet", "DELETE", f"/api/devices/{UNKNOWN}", {}, 403),
    "a tablet at the devices' page": ("tablet", "GET", "/devices", {}, 403),
    "a sensor that reads runs": ("sensor", "GET", "/api/runs", {}, 403),
    "a sensor that opens a run": ("sensor", "POST", "/api/runs", {"json": {"plates": ["A"]}}, 403),
    "a sensor that adds an event": ("sensor", "POST", EVENTS, posted(), 403),
    "a sensor that looks at readings": ("sensor", "GET", "/api/readings/latest", {}, 403),
    # where it comes from
    "another origin": ("host", "POST", EVENTS, posted() | {"origin": "http://evil.example"}, 403),
    "an origin that begins alike": (
        "host", "POST", EVENTS, posted() | {"origin": "http://localhost:8440.evil.example"}, 403),
    "the same host, another port": (
        "host", "POST", EVENTS, posted() | {"origin": "http://localhost:3000"}, 403),
    "the same host, another scheme": (
        "host", "POST", EVENTS, posted() | {"origin": "https://localhost:8440"}, 403),
    "the null origin": ("tablet", "POST", EVENTS, posted() | {"origin": "null"}, 403),
    "no origin with a cookie": ("tablet", "POST", EVENTS, posted() | {"origin": None}, 403),
    "no origin on this machine": ("host", "POST", EVENTS, posted() | {"origin": None}, 403),
    "a foreign page's form": (
        "host", "POST", "/runs",
        {"content": "from=plates&labels=A", "headers": FORM, "origin": "http://evil.example"}, 403),
    "a foreign page that asks for a code": (
        "stranger", "POST", "/pair/code", {"content": "", "headers": FORM, "origin": "http://e.example"}, 403),
    "a foreign page's request by its own mark": (
        "host", "POST", EVENTS, posted() | {"headers": {"Sec-Fetch-Site": "cross-site"}}, 403),
    "a neighbour site's request": (
        "host", "POST", EVENTS, posted() | {"headers": {"Sec-Fetch-Site": "same-site"}}, 403),
    "a foreign page that reads": (
        "host", "GET", "/api/runs", {"headers": {"Sec-Fetch-Site": "cross-site"}}, 403),
    "a foreign page that shows one of ours as a picture": (
        "host", "GET", "/plates", {"headers": {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors", "Sec-Fetch-Dest": "image"}}, 403),
    "a foreign page that frames one of ours": (
        "host", "GET", "/plates", {"headers": {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "iframe"}}, 403),
    "a foreign page that has a day planned": (
        "host", "GET", "/day/today.pdf", {"headers": {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}}, 403),
    "a question before a foreign request": (
        "host", "OPTIONS", "/api/runs", {"origin": "http://evil.example"}, 403),
    "a name pointed here (rebinding)": (
        "host", "GET", "/api/runs", {"headers": {"Host": "evil.example"}}, 400),
    "a name that ends alike": (
        "host", "GET", "/api/runs", {"headers": {"Host": "localhost.evil.example"}}, 400),
    "an address that is not ours": (
        "host", "GET", "/api/runs", {"headers": {"Host": "203.0.113.7"}}, 400),
    "a name with a user before it": (
        "host", "GET", "/api/runs", {"headers": {"Host": "localhost@evil.example"}}, 400),
    "an empty name": ("host", "GET", "/api/runs", {"headers": {"Host": ""}}, 400),
    "two origins": (
        "host", "POST", EVENTS,
        {"content": "{}", "headers": JSON, "twice": ("Origin", "http://localhost:8440")}, 400),
    # how much and in what form
    "a body above the limit": ("host", "POST", "/api/readings", body_of(b" " * 70_000), 413),
    "events above the limit": ("host", "POST", EVENTS, body_of(b" " * 1_100_000), 413),
    "a form above the limit": ("host", "POST", "/runs", {"content": "a" * 70_000, "headers": FORM}, 413),
    "a length that is not a number": (
        "host", "POST", EVENTS, {"content": "{}", "headers": JSON | {"Content-Length": "-5"}}, 400),
    "no JSON": ("host", "POST", EVENTS, body_of("{"), 400),
    "no body": ("host", "POST", EVENTS, body_of(""), 422),
    "NaN": ("host", "POST", EVENTS, body_of('{"events": [{"age_s": NaN}]}'), 400),
    "infinity": ("host", "POST", "/api/readings", body_of('{"what": "room_c", "value": 1e999}'), 400),
    "a huge integer": ("host", "POST", "/api/readings", body_of('{"value": ' + "9" * 4000 + "}"), 400),
    "an integer beyond 2^53": ("host", "POST", "/api/readings", body_of('{"value": 9007199254740993}'), 400),
    "a key twice": ("host", "POST", EVENTS, body_of('{"events": [], "events": []}'), 400),
    "JSON nested deep": ("host", "POST", EVENTS, body_of("[" * 50_000), 400),
    "a body of an event nested deep": (
        "host", "POST", EVENTS, body_of(json.dumps({"events": json.loads("[" * 20 + "]" * 20)})), 400),
    "half a letter": ("host", "POST", EVENTS, body_of('{"events": ["\\ud800"]}'), 400),
    "a zero in a text": ("host", "POST", EVENTS, body_of('{"events": ["\\u0000"]}'), 400),
    "no UTF-8": ("host", "POST", EVENTS, body_of(b'{"events": "\xff"}'), 400),
    "JSON called text": (
        "host", "POST", EVENTS, {"content": "{}", "headers": {"Content-Type": "text/plain"}}, 415),
    "a form sent to the API": ("host", "POST", "/api/runs", {"content": "a=1", "headers": FORM}, 415),
    "JSON sent to a form": ("host", "POST", "/runs", {"json": {"plates": "A"}}, 415),
    "a form with a field twice": (
        "host", "POST", "/runs", {"content": "labels=A&labels=B", "headers": FORM}, 400),
    "a form of a hundred fields": (
        "host", "POST", "/runs", {"content": "&".join(f"a{i}=1" for i in range(99)), "headers": FORM}, 400),
    "a form that is not UTF-8": (
        "host", "POST", "/runs", {"content": b"labels=%ff", "headers": FORM}, 400),
    # what it says
    "an unknown key": ("host", "POST", EVENTS, {"json": {"events": [event()], "admin": True}}, 422),
    "no events": ("host", "POST", EVENTS, {"json": {"events": []}}, 422),
    "events that are not a list": ("host", "POST", EVENTS, {"json": {"events": {"0": event()}}}, 422),
    "too many events": ("host", "POST", EVENTS, {"json": {"events": [event()] * 501}}, 422),
    "a number for a word": ("host", "POST", EVENTS, posted(kind=7), 422),
    "a word for a number": ("host", "POST", EVENTS, posted(age_s="0"), 422),
    "true for a number": ("host", "POST", EVENTS, posted(age_s=True), 422),
    "a list for a body": ("host", "POST", EVENTS, posted(body=[1]), 422),
    "an event of the future": ("host", "POST", EVENTS, posted(age_s=-60), 422),
    "an event of last year": ("host", "POST", EVENTS, posted(age_s=4e7), 422),
    "an id that is none": ("host", "POST", EVENTS, posted(id="1; DROP TABLE event"), 422),
    "an id of another version": (
        "host", "POST", EVENTS, posted(id="6ba7b810-9dad-41d1-80b4-00c04fd430c8"), 422),
    "an id in capitals": ("host", "POST", EVENTS, posted(id=new_id().upper()), 422),
    "an unknown kind": ("host", "POST", EVENTS, posted(kind="plate_eaten"), 422),
    "a kind only the house says": (
        "host", "POST", EVENTS, posted(kind="run_opened", body={"plates": [], "steps": []}), 422),
    "an unknown plate": (
        "host", "POST", EVENTS, posted(kind="step_begun", plate=UNKNOWN, step="scour", body={}), 422),
    "an unknown step": ("host", "POST", EVENTS, posted(kind="step_ended", plate="{plate}", step="nap", body={}), 422),
    "a step before its turn": (
        "host", "POST", EVENTS, posted(kind="step_begun", plate="{plate}", step="seal", body={}), 422),
    "a step without its plate": ("host", "POST", EVENTS, posted(kind="step_begun", step="scour", body={}), 422),
    "a correction of nothing": (
        "host", "POST", EVENTS, posted(kind="corrected", body={"event": UNKNOWN, "withdrawn": True}), 422),
    "a remark without words": ("host", "POST", EVENTS, posted(body={}), 422),
    "a remark of a book's length": ("host", "POST", EVENTS, posted(body={"words": "x" * 50_000}), 422),
    "a control letter in a kind": ("host", "POST", EVENTS, posted(kind="remark\x1bmade"), 422),
    "a run that is not in the book": ("host", "POST", f"/api/runs/{UNKNOWN}/events", posted(), 404),
    "the stream of no run": ("host", "GET", f"/api/runs/{UNKNOWN}/stream", {}, 404),
    "the bench of no run": ("host", "GET", f"/bench/{UNKNOWN}", {}, 404),
    "a run that is not an id": ("host", "GET", "/api/runs/..%2f..%2fetc", {}, (404, 422)),
    "a run with a zero": ("host", "GET", "/api/runs/%00", {}, 422),
    "a run without plates": ("host", "POST", "/api/runs", {"json": {}}, 422),
    "a run of no plates": ("host", "POST", "/api/runs", {"json": {"plates": []}}, 422),
    "a run of a plate twice": ("host", "POST", "/api/runs", {"json": {"plates": ["A", "A"]}}, 422),
    "a run of blank plates": ("host", "POST", "/api/runs", {"json": {"plates": [" "]}}, 422),
    "a run of thirteen plates": (
        "host", "POST", "/api/runs", {"json": {"plates": [f"P{i}" for i in range(13)]}}, 422),
    "a run both ways": (
        "host", "POST", "/api/runs",
        {"json": {"plates": ["A"], "from_plan": {"date": "today", "plates": 1}}}, 422),
    "a plan of a day that is none": (
        "host", "POST", "/api/runs", {"json": {"from_plan": {"date": "2026-02-30", "plates": 1}}}, 422),
    "a plan of the year 9999": (
        "host", "POST", "/api/runs", {"json": {"from_plan": {"date": "9999-12-31", "plates": 1}}}, 422),
    "a sheet of a day that is none": ("host", "GET", "/day/yesterday.pdf", {}, 422),
    "a sheet of a thousand plates": ("host", "GET", "/day/today.pdf?plates=1000", {}, 422),
    "a sheet with a sitter at midnight": ("host", "GET", "/day/today.pdf?sitters=00:05", {}, 422),
    "an unknown quantity": ("host", "POST", "/api/readings", {"json": {"what": "mood", "value": 1}}, 422),
    "an unknown unit": (
        "host", "POST", "/api/readings", {"json": {"what": "room_c", "value": 1, "unit": "furlong"}}, 422),
    "a reading without its value": ("host", "POST", "/api/readings", {"json": {"what": "room_c"}}, 422),
    "a reading at no time": (
        "host", "POST", "/api/readings", {"json": {"what": "room_c", "value": 20, "at": "noon"}}, 422),
    "a reading at two times": (
        "host", "POST", "/api/readings",
        {"json": {"what": "room_c", "value": 20, "at": "2026-01-01T00:00:00Z", "age_s": 3}}, 422),
    "a reading before all sensors": (
        "host", "POST", "/api/readings", {"json": {"what": "room_c", "value": 20, "at": "0001-01-01T00:00:00Z"}}, 422),
    "a device that is not there": ("host", "DELETE", f"/api/devices/{UNKNOWN}", {}, 404),
    "a grade that is none": (
        "host", "POST", "/plates/grade", {"content": "making=x&grade=best", "headers": FORM}, 422),
    "a grade of nothing": (
        "host", "POST", "/plates/grade", {"content": "making=x&grade=fine", "headers": FORM}, 422),
    # paths
    "a path out of the static folder": ("host", "GET", "/static/%2e%2e/%2e%2e/errors.py", {}, 404),
    "a path with back strokes": ("host", "GET", "/static/..%5c..%5cerrors.py", {}, 404),
    "a path from the root": ("host", "GET", "/static//etc/passwd", {}, 404),
    "a path with a zero": ("host", "GET", "/static/desk.css%00.png", {}, 404),
    "a folder of the static files": ("host", "GET", "/static/bench", {}, 404),
    "the book by its name": ("host", "GET", "/book.sqlite", {}, 404),
    "the studio by its name": ("host", "GET", "/studio.toml", {}, 404),
    "the documentation pages of the framework": ("host", "GET", "/docs", {}, 404),
    "a method nobody knows": ("host", "BREW", "/api/runs", {}, 405),
    "a put on a run": ("host", "PUT", "/api/runs/{run}", {"json": {}}, 405),
    "a delete of an event": ("host", "DELETE", EVENTS, {}, 405),
}  # fmt: skip


def sensor_of(app, ask, book):
    _, token = new_device(book, "thermometer", "readings")

    def call(method, path, *, headers=None, **more):
        shown = {"Authorization": f"Bearer {token}", **(headers or {})}
        return ask(app, LAN, "192.168.1.50")(method, path, headers=shown, origin=None, **more)

    return call


@pytest.fixture
def sensor(app, ask, book):
    return sensor_of(app, ask, book)


@pytest.fixture(scope="module")
def standing(tmp_path_factory, ask):
    """All who ask, and an open run: one server for all that changes nothing."""
    folder, codes = tmp_path_factory.mktemp("hostile") / "studio", []
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    app = create_app(
        folder, book, settings=Settings(names=("studio.test",)), show_code=codes.append
    )
    host, stranger = ask(app), ask(app, LAN, "192.168.1.77")
    stranger.form("/pair/code")
    cookies = dict(stranger.form("/pair", code=codes[-1], name="tablet one").cookies)
    tablet = ask(app, LAN, "192.168.1.77", cookies)
    sensor = sensor_of(app, ask, book)
    run = host.post("/api/runs", {"plates": ["Q-1", "Q-2"]}).json()["run"]
    yield {"host": host, "stranger": stranger, "tablet": tablet, "sensor": sensor}, run
    close_book(book)


def filled(value, run, plate):
    if isinstance(value, str):
        return value.replace("{run}", run).replace("{plate}", plate)
    if isinstance(value, dict):
        return {key: filled(inner, run, plate) for key, inner in value.items()}
    return [filled(i, run, plate) for i in value] if isinstance(value, list) else value


@every("name", HOSTILE)
def test_refused_with_one_sentence(name, standing):
    who, method, path, how, status = HOSTILE[name]
    callers, run = standing
    caller, host = callers[who], callers["host"]
    before = host.get(f"/api/runs/{run}").json()
    how = filled(how, run, before["state"]["plates"][0]["id"])
    twice = how.pop("twice", None)
    if twice:
        key, value = twice
        pairs = [*how.pop("headers").items(), (key, value), (key, "http://evil.example")]
        answer = _raw(caller, method, path.replace("{run}", run), pairs, how["content"])
    else:
        answer = caller(method, path.replace("{run}", run), **how)
    assert answer.status_code in (status if isinstance(status, tuple) else (status,)), answer.text
    if answer.headers["content-type"].startswith("application/json"):
        sentence = answer.json()["error"]
        assert "\n" not in sentence
        assert 10 < len(sentence) < 420
        assert "Traceback" not in answer.text
    else:
        assert 'role="alert"' in answer.text
        said = answer.text.split('role="alert"')[1].split("</p>")[0]
        assert " --" not in said  # nobody types options on a page
        assert ">--" not in said
    after = host.get(f"/api/runs/{run}").json()
    assert after["events"] == before["events"]  # nothing of it is in the book


def _raw(caller, method, path, pairs, content):
    import asyncio

    import httpx

    async def go():
        transport = httpx.ASGITransport(caller.app, client=(caller.peer, 50000))
        async with httpx.AsyncClient(transport=transport, base_url=caller.base) as client:
            return await client.request(method, path, headers=pairs, content=content)

    return asyncio.run(go())


def test_there_are_more_than_sixty():
    assert len(HOSTILE) >= 100


def test_an_event_for_a_closed_run_is_refused(host, run):
    def send(**more):
        return host.post(f"/api/runs/{run}/events", {"events": [event(**more)]})

    plate = host.get(f"/api/runs/{run}").json()["state"]["plates"][0]["id"]
    assert send(kind="run_closed", body={}).status_code == 200
    answer = send(kind="step_skipped", plate=plate, step="scour", body={"why": "x"})
    assert answer.status_code == 422
    assert "over" in answer.json()["error"]


def test_an_id_used_again_with_other_content_is_refused(host, run):
    first = event()
    assert host.post(f"/api/runs/{run}/events", {"events": [first]}).status_code == 200
    other = {**first, "body": {"words": "something else"}}
    answer = host.post(f"/api/runs/{run}/events", {"events": [other]})
    assert answer.status_code == 422
    assert "another" in answer.json()["error"]


def test_an_id_of_another_run_is_refused(host, run):
    first = event()
    assert host.post(f"/api/runs/{run}/events", {"events": [first]}).status_code == 200
    second = host.post("/api/runs", {"plates": ["Z"]}).json()["run"]
    answer = host.post(f"/api/runs/{second}/events", {"events": [first]})
    assert answer.status_code == 422
    assert "another run" in answer.json()["error"]


def test_words_of_a_maker_are_never_markup(host):
    label = "<img src=x onerror=alert(1)>"
    run = host.post("/api/runs", {"plates": [label], "title": "<script>alert(1)</script>"}).json()
    for path in ("/", "/plates", f"/bench/{run['run']}"):
        text = host.get(path).text
        assert "<img" not in text
        assert "<script>alert" not in text


def test_the_sensor_may_send_readings(sensor):
    answer = sensor("POST", "/api/readings", json={"what": "room_c", "value": 20.5})
    assert answer.status_code == 201
    assert answer.json()["used"] is True
    assert sensor("POST", "/readings", json={"what": "room_c", "value": 20.6}).status_code == 201
