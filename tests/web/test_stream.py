from __future__ import annotations

import contextlib
import json
from threading import Thread

import httpx
import pytest

from argentry.book.log import append, events
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.web.stream import message

PATIENT = 90.0  # seconds: cores are shared with other tests


def _messages(lines):
    """Read a stream by the rules of WHATWG HTML, section 9.2.6 (the part of them it uses)."""
    found = {}
    for line in lines:
        if line == "":
            if found:
                yield found
            found = {}
        else:
            key, _, value = line.partition(":")
            found[key or "comment"] = value.removeprefix(" ")


@contextlib.contextmanager
def listening(live, run, **headers):
    with (
        httpx.Client(timeout=PATIENT) as client,
        client.stream("GET", f"{live}/api/runs/{run}/stream", headers=headers) as answer,
    ):
        assert answer.status_code == 200
        assert answer.headers["content-type"].startswith("text/event-stream")
        yield _messages(answer.iter_lines())


def _take(messages, count):
    return [json.loads(m["data"]) for m in _events(messages, count)]


def _events(messages, count):
    found = []
    while len(found) < count:
        one = next(messages)
        if one.get("event") == "event":
            found.append(one)
    return found


def test_a_message_is_one_event_with_its_place_as_id():
    text = message({"seq": 7, "body": {"words": "one\ntwo"}})
    assert text.startswith("id: 7\nevent: event\ndata: {")
    assert text.endswith("}\n\n")
    assert text.count("\n") == 4  # a line end within the words must not end the message


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_message_never_holds_what_json_has_not(bad):
    with pytest.raises(ValueError, match="JSON compliant"):
        message({"seq": 1, "body": {"value": bad}})


def test_the_first_message_tells_the_time(live, run):
    with listening(live, run) as messages:
        first = next(messages)
        assert first["event"] == "clock"
        assert first["retry"] == "1000"
        assert json.loads(first["data"]).endswith("Z")


def test_what_was_there_comes_first_and_then_what_happens(live, run, book, remark):
    there = events(book, run)
    with listening(live, run) as messages:
        assert [e["seq"] for e in _take(messages, len(there))] == [e.seq for e in there]
        sent = remark("now")
        answer = httpx.post(
            f"{live}/api/runs/{run}/events",
            json={"events": [sent]},
            headers={"Origin": live},
            timeout=PATIENT,
        )
        [new] = _take(messages, 1)
        assert new["id"] == sent["id"]
        assert new["at"] == answer.json()["stored"][0]["at"]
        assert new["body"] == {"words": "now"}


def test_a_listener_that_comes_back_gets_what_it_missed_and_no_more(live, run, book, remark):
    last = events(book, run)[-1].seq
    sent = [remark(str(i)) for i in range(3)]
    for one in sent:
        httpx.post(
            f"{live}/api/runs/{run}/events",
            json={"events": [one]},
            headers={"Origin": live},
            timeout=PATIENT,
        )
    with listening(live, run, **{"Last-Event-ID": str(last + 1)}) as messages:
        assert [e["id"] for e in _take(messages, 2)] == [sent[1]["id"], sent[2]["id"]]


def test_an_odd_last_event_id_is_as_none(live, run, book):
    first = events(book, run)[0]
    for odd in ("x", "-1", "1e3", "٣"):
        with listening(live, run, **{"Last-Event-ID": odd.encode()}) as messages:
            assert _take(messages, 1)[0]["id"] == first.id


def test_what_another_program_wrote_is_heard_too(live, run, book, app):
    last = events(book, run)[-1].seq
    with listening(live, run, **{"Last-Event-ID": str(last)}) as messages:
        now = app.state.house.clock.now()
        made = Event(new_id(), run, "remark_made", now, body={"words": "x"}, device="terminal")
        append(book, [made])  # past the server: as a bench in a terminal does
        assert _take(messages, 1)[0]["device"] == "terminal"


def test_events_of_another_run_are_not_heard(live, run, host, remark):
    other = host.post("/api/runs", {"plates": ["Z"]}).json()["run"]
    with listening(live, run, **{"Last-Event-ID": str(2**53)}) as messages:
        next(messages)
        host.post(f"/api/runs/{other}/events", {"events": [remark()]})
    with listening(live, other) as messages:
        assert all(e["run"] == other for e in _take(messages, 2))


def test_a_silent_stream_says_that_it_lives(studio_dir, book, app, run, live):
    app.state.settings.__dict__["comment_seconds"] = 0.05
    with listening(live, run, **{"Last-Event-ID": str(2**53)}) as messages:
        next(messages)
        assert next(messages)["comment"].startswith("alive")


def test_the_end_of_the_server_ends_the_stream(live, run, app):
    with listening(live, run) as messages:
        next(messages)
        app.state.broadcast.close_soon()
        for _ in messages:  # ends: nothing waits for ever
            pass


def test_many_listeners_hear_one_event(live, run, book, remark):
    last = events(book, run)[-1].seq
    heard = []

    def listen(ready):
        with listening(live, run, **{"Last-Event-ID": str(last)}) as messages:
            next(messages)
            ready.append(1)
            heard.append(_take(messages, 1)[0]["id"])

    ready = []
    threads = [Thread(target=listen, args=(ready,)) for _ in range(8)]
    for thread in threads:
        thread.start()
    sent = remark()
    httpx.post(
        f"{live}/api/runs/{run}/events",
        json={"events": [sent]},
        headers={"Origin": live},
        timeout=PATIENT,
    )
    for thread in threads:
        thread.join(PATIENT)
    assert heard == [sent["id"]] * 8


def test_a_revoked_device_hears_no_more_at_once(live, run, host, codes, remark):
    host.form("/pair/code")
    with httpx.Client(base_url=live, timeout=PATIENT) as tablet:
        form = {"code": codes[-1], "name": "tablet one"}
        tablet.post("/pair", data=form, headers={"Origin": live})
        token = tablet.cookies["argentry_device"]
    shown = {"Authorization": f"Bearer {token}"}
    with listening(live, run, **shown) as messages:
        _take(messages, 1)
        [row] = host.get("/api/devices").json()["devices"]
        answer = httpx.delete(
            f"{live}/api/devices/{row['id']}", headers={"Origin": live}, timeout=PATIENT
        )
        assert answer.status_code == 204
        host.post(f"/api/runs/{run}/events", {"events": [remark("secret")]})
        assert "secret" not in str(list(messages))  # the stream ends, and without it


def test_a_device_revoked_by_another_program_hears_no_more(live, run, host, codes, book):
    from datetime import UTC, datetime

    from argentry.book.devices import devices, revoke_device

    host.form("/pair/code")
    with httpx.Client(base_url=live, timeout=PATIENT) as tablet:
        tablet.post("/pair", data={"code": codes[-1], "name": "t"}, headers={"Origin": live})
        token = tablet.cookies["argentry_device"]
    with listening(live, run, Authorization=f"Bearer {token}") as messages:
        _take(messages, 1)
        revoke_device(book, devices(book)[0].id, datetime.now(UTC))
        list(messages)  # ends by itself


def test_one_reader_feeds_all_streams(live, run, book, remark, monkeypatch):
    from argentry.desk import runs

    last = events(book, run)[-1].seq
    asked = []
    real = runs.events_since

    def counted(own, seq):
        asked.append(seq)
        return real(own, seq)

    monkeypatch.setattr(runs, "events_since", counted)
    with contextlib.ExitStack() as all_of_them:
        streams = [
            all_of_them.enter_context(listening(live, run, **{"Last-Event-ID": str(last)}))
            for _ in range(8)
        ]
        for one in streams:
            next(one)
        for words in ("one", "two", "three"):
            sent = {"events": [remark(words)]}
            httpx.post(
                f"{live}/api/runs/{run}/events",
                json=sent,
                headers={"Origin": live},
                timeout=PATIENT,
            )
            heard = [_take(one, 1)[0]["body"]["words"] for one in streams]
            assert heard == [words] * 8
    assert len(asked) == 3  # not 24
