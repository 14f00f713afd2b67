from __future__ import annotations

import hashlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.errors import BadInput
from argentry.keeping.sensors.devices import (
    device_name,
    device_of_token,
    list_devices,
    new_device,
    note_seen,
    revoke_device,
    token_hash,
)


@pytest.fixture
def book(tmp_path):
    opened = open_book(tmp_path)
    yield opened
    close_book(opened)


def test_a_token_opens_what_it_was_made_for(book):
    device, token = new_device(book, "tablet", "bench")
    found = device_of_token(book, token)
    assert (found.id, found.name, found.scope) == (device.id, "tablet", "bench")
    assert device_of_token(book, token[:-1] + ("a" if token[-1] != "a" else "b")) is None
    assert device_of_token(book, token_hash(token)) is None  # the hash itself opens nothing


def test_tokens_are_256_bits_and_never_stored(book, tmp_path):
    tokens = [new_device(book, f"t{i}", "readings")[1] for i in range(5)]
    assert len(set(tokens)) == 5
    assert all(len(token) == 43 for token in tokens)  # 32 bytes in base 64
    kept = (tmp_path / "book.sqlite").read_bytes()
    for token in tokens:
        assert token.encode() not in kept
        assert hashlib.sha256(token.encode()).hexdigest().encode() in kept


def test_a_device_shut_out_stays_in_the_list(book):
    device, token = new_device(book, "tablet", "bench")
    revoke_device(book, "tablet")
    assert device_of_token(book, token) is None
    [row] = list_devices(book).devices
    assert row.id == device.id
    assert row.revoked
    with pytest.raises(BadInput, match="no such device"):
        revoke_device(book, "tablet")


def test_two_of_one_name_are_told_apart_by_id(book):
    first, token = new_device(book, "tablet", "bench")
    new_device(book, "tablet", "bench")
    with pytest.raises(BadInput, match="several devices"):
        revoke_device(book, "tablet")
    revoke_device(book, first.id)
    assert device_of_token(book, token) is None
    revoke_device(book, "tablet")


def test_when_it_was_seen(book):
    device, _ = new_device(book, "tablet", "bench")
    assert list_devices(book).devices[0].seen is None
    note_seen(book, device.id)
    assert list_devices(book).devices[0].seen.utcoffset() is not None


@pytest.mark.parametrize("name", ["", "  ", "x" * 61, "tab\x1blet", "a\x00b"])
def test_a_name_that_cannot_be_shown(book, name):
    with pytest.raises(BadInput):
        new_device(book, name, "bench")


def test_a_scope_that_is_none(book):
    with pytest.raises(BadInput, match="scope"):
        new_device(book, "tablet", "host")


@settings(deadline=None)
@given(st.text(max_size=80))
def test_a_name_is_shown_as_one_line_or_refused(given_name):
    try:
        name = device_name("name", given_name)
    except BadInput:
        return
    assert name.isprintable()
    assert 0 < len(name) <= 60
    assert device_name("name", name) == name
