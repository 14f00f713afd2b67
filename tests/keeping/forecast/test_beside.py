"""Fetching in a process of its own, against a service on this machine."""

from __future__ import annotations

import importlib

import pytest

from argentry.exchange.services import kept
from argentry.keeping.forecast import beside, consent


@pytest.fixture(autouse=True)
def _the_real_start():
    importlib.reload(beside)


def test_what_is_fetched_beside_is_kept(willing, stub):
    beside.start(willing, "open-meteo")
    (process,) = beside._started
    assert process.wait(60) == 0
    assert len(stub.asked) == 1
    assert kept.kept_answer(willing, "open-meteo") is not None


def test_a_failure_beside_is_kept_as_a_sentence(willing, stub):
    stub.says(429)
    assert beside.main(str(willing), "open-meteo") == 1
    assert "asked too often" in kept.trouble_with(willing, "open-meteo").sentence
    assert beside.main(str(willing.parent), "open-meteo") == 1  # no studio there


def test_a_run_looks_now_and_then_and_only_where_it_may(willing, monkeypatch):
    begun = []
    monkeypatch.setattr(beside, "start", lambda folder, key: begun.append(key))
    moments = iter([0.0, 60.0, 2000.0, 4000.0])
    monkeypatch.setattr(beside.time, "monotonic", lambda: next(moments))
    for _ in range(3):
        beside.refresh(willing)
    assert begun == ["open-meteo", "open-meteo"]
    consent.agree(willing, "none")
    beside.refresh(willing)
    assert len(begun) == 2
