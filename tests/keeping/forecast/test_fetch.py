"""Asking a service and keeping what it says, against a service on this machine."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.weather_stub import sample

from argentry.errors import BadInput
from argentry.exchange.services import kept
from argentry.keeping.forecast.fetch import fetch
from argentry.keeping.studio import load_studio

NOW = datetime(2026, 6, 20, 12, 20, tzinfo=UTC)
CHANGED = "Sat, 20 Jun 2026 11:00:00 GMT"


def ask(folder, minutes=0.0, **more):
    return fetch(folder, load_studio(folder), now=NOW + timedelta(minutes=minutes), **more)


def test_the_place_goes_out_to_two_decimals_and_nothing_else(willing, stub):
    ask(willing)
    ((path, headers),) = stub.asked
    assert "latitude=48.14&longitude=11.58&" in path
    assert headers["user-agent"].startswith("argentry/")
    assert "example.org" not in str(stub.asked)  # its contact is for those who demand one
    assert set(headers) <= {"host", "accept", "accept-encoding", "connection", "user-agent"}


def test_a_kept_answer_is_not_asked_for_again_until_it_is_old(willing, stub):
    stub.says(body=sample("open-meteo", "clear"), Cache_Control="max-age=1800")
    first, asked = ask(willing)
    assert asked
    again, asked = ask(willing, 29.0)
    assert (again, asked) == (first, False)
    _, asked = ask(willing, 31.0)
    assert asked
    assert len(stub.asked) == 2


@pytest.mark.parametrize("said", ["", "max-age=0", "max-age=\u00b2", "no-store, max-age=soon"])
def test_an_answer_that_does_not_say_how_long_it_holds_is_good_for_an_hour(willing, stub, said):
    stub.says(body=sample("open-meteo", "clear"), **({"Cache_Control": said} if said else {}))
    ask(willing)
    assert not ask(willing, 59.0)[1]
    assert ask(willing, 61.0)[1]
    assert len(stub.asked) == 2


def test_only_something_newer_is_asked_for(willing, stub):
    """RFC 9110: the very ETag and Last-Modified that were received; 304 keeps the answer."""
    stub.says(body=sample("open-meteo", "clear"), ETag='"a1"', Last_Modified=CHANGED)
    first, _ = ask(willing)
    stub.says(304, Expires="Sat, 20 Jun 2026 16:00:00 GMT")
    again, asked = ask(willing, 90.0)
    assert asked
    sent = stub.asked[1][1]
    assert (sent["if-none-match"], sent["if-modified-since"]) == ('"a1"', CHANGED)
    assert again.body == first.body
    assert again.fetched == NOW + timedelta(minutes=90)
    assert again.expires == datetime(2026, 6, 20, 16, tzinfo=UTC)
    assert kept.kept_answer(willing, "open-meteo") == again


def test_a_way_that_will_end_is_used_and_told(willing, stub):
    stub.says(203, sample("open-meteo", "clear"))
    assert "will end soon" in ask(willing)[0].note


@pytest.mark.parametrize(
    ("status", "body", "says", "hours"),
    [
        (400, b'{"error": true, "reason": "Bad place."}', "400: Bad place", 24.0),
        (400, b"<html>", r"refuses the question \(400\)", 24.0),
        (403, b"", "refuses to answer this program or this contact", 24.0),
        (404, b'{"detail": "no sources"}', "no station near", 24.0),
        (429, b"", "asked too often .* after 2026-06-20 13:20 UTC", 1.0),
        (500, b"", "out of order", 5.0 / 60.0),
        (418, b"", "status 418", 5.0 / 60.0),
        (304, b"", "status 304", 5.0 / 60.0),
        (200, sample("open-meteo", "clear")[:500], "cut short", 5.0 / 60.0),
        (200, sample("open-meteo", "polar-night"), "km away", 5.0 / 60.0),
    ],
)
def test_a_bad_answer_is_a_sentence_and_a_wait(willing, stub, status, body, says, hours):
    stub.says(status, body)
    with pytest.raises(BadInput, match=says):
        ask(willing)
    trouble = kept.trouble_with(willing, "open-meteo")
    assert trouble.not_before == NOW + timedelta(hours=hours)
    count = len(stub.asked)
    with pytest.raises(BadInput, match="may not be asked again before"):
        ask(willing, 60.0 * hours - 1.0)
    assert len(stub.asked) == count
    stub.says(body=sample("open-meteo", "clear"))
    ask(willing, 60.0 * hours + 1.0)
    assert kept.trouble_with(willing, "open-meteo") is None


def test_a_service_says_itself_how_long_to_wait(willing, stub):
    stub.says(429, Retry_After="7200")
    with pytest.raises(BadInput, match="after 2026-06-20 14:20 UTC"):
        ask(willing)
    assert kept.trouble_with(willing, "open-meteo").not_before == NOW + timedelta(hours=2)


def test_a_bad_answer_leaves_the_kept_one(willing, stub):
    first, _ = ask(willing)
    stub.says(500)
    with pytest.raises(BadInput):
        ask(willing, 90.0)
    assert kept.kept_answer(willing, "open-meteo") == first


def test_a_slow_service_is_given_up(willing, stub):
    stub.silent_s = 5.0
    with pytest.raises(BadInput, match="did not answer in full"):
        ask(willing, seconds=0.2)
    assert kept.trouble_with(willing, "open-meteo") is not None


def test_a_studio_that_moved_asks_anew(willing):
    ask(willing)
    file = willing / "studio.toml"
    text = file.read_text(encoding="utf-8").replace("48.1371", "48.301")
    file.write_text(text, encoding="utf-8")
    assert ask(willing, 5.0)[1]


@pytest.mark.parametrize("held", ["{}", "[]", '{"service": "no such"}', "[" * 100_000, "\udcff"])
def test_a_damaged_kept_answer_is_fetched_again(willing, held):
    ask(willing)
    file = kept.kept_file(willing, "open-meteo")
    file.write_bytes(held.encode("utf-8", "surrogateescape"))
    assert ask(willing, 5.0)[1]
