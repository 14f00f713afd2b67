"""The one client, against a server on this machine."""

from __future__ import annotations

import gzip

import pytest
from tests.weather_stub import Stub, running

from argentry.errors import BadInput
from argentry.exchange.services import client


@pytest.fixture
def stub():
    with running(Stub()) as made:
        yield made


@pytest.fixture(autouse=True)
def _no_waiting(monkeypatch):
    monkeypatch.setattr(client.time, "sleep", lambda _: None)


def test_an_answer_is_unpacked_whatever_its_status(stub):
    stub.says(404, gzip.compress(b'{"a": 1}'), Content_Encoding="gzip", ETag='"x"')
    reply = client.get("Service", stub.address, {"User-Agent": "argentry/0"})
    assert (reply.status, reply.body, reply.headers["etag"]) == (404, b'{"a": 1}', '"x"')
    assert stub.asked[0][1]["user-agent"] == "argentry/0"
    assert len(stub.asked) == 1


def test_a_server_in_trouble_is_asked_once_more(stub):
    stub.says(503)
    assert client.get("Service", stub.address, {}).status == 503
    assert len(stub.asked) == 2


def test_a_silent_server_is_given_up(stub):
    stub.silent_s = 5.0
    with pytest.raises(BadInput, match=r"did not answer in full within 0\.2 s"):
        client.get("Service", stub.address, {}, seconds=0.2)


def test_an_answer_that_ends_early_is_told(stub):
    stub.body, stub.cut = b'{"half":', 100
    with pytest.raises(BadInput, match="was cut short"):
        client.get("Service", stub.address, {})


def test_an_endless_answer_is_cut_off(stub, monkeypatch):
    monkeypatch.setattr(client, "LARGEST_BYTES", 100)
    stub.body = b"x" * 1000
    with pytest.raises(BadInput, match="larger than"):
        client.get("Service", stub.address, {})


def test_nobody_there():
    with pytest.raises(BadInput, match="cannot be reached"):
        client.get("Service", "http://127.0.0.1:9", {})


def test_the_place_is_sent_in_the_open_only_to_this_machine(stub):
    with pytest.raises(BadInput, match="not an https address"):
        client.get("Service", "http://weather.example.org/v1", {})
    stub.says(302, Location="http://weather.example.org/v1")
    with pytest.raises(BadInput, match="not an https address"):
        client.get("Service", stub.address, {})
    stub.says(302, Location="/again")
    with pytest.raises(BadInput, match="in a circle"):
        client.get("Service", stub.address, {})
