"""A studio in a valley, and a weather service on this machine that it may ask."""

from __future__ import annotations

import pytest
from tests.weather_stub import Stub, point_to, running, sample

from argentry.exchange.services import client
from argentry.keeping.forecast import beside, consent
from argentry.keeping.studio import new_studio

VALLEY = {"--lat": 48.1371, "--lon": 11.5849, "--elevation-m": 520.0, "--tz": "Europe/Berlin"}


@pytest.fixture
def folder(tmp_path):
    new_studio(tmp_path / "studio", VALLEY)
    return tmp_path / "studio"


@pytest.fixture
def stub():
    with running(Stub(body=sample("open-meteo", "clear"))) as made:
        yield made


@pytest.fixture
def willing(folder, stub):
    """The studio's folder, once the maker agreed to Open-Meteo; the stub is its own instance."""
    consent.agree(folder, "open-meteo", "me@example.org")
    point_to(stub, folder)
    return folder


@pytest.fixture(autouse=True)
def started(monkeypatch):
    """What would have been fetched in the background."""
    found = []
    monkeypatch.setattr(beside, "start", lambda folder, key: found.append(key))
    monkeypatch.setattr(client.time, "sleep", lambda _: None)
    return found
