"""A kept answer is read as it was written, or refused in one sentence: whatever stands in it."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest
from tests.weather_stub import sample

from argentry.errors import BadInput
from argentry.exchange.services.kept import FORM, Kept, kept_from
from argentry.records.plain import plain

AT = datetime(2026, 6, 20, 12, 20, tzinfo=UTC)
WRONG = (None, True, 7, 1.5, 10**400, "x", "\ud800", [], [1], ["x"], [[1]], {}, {"a": 1}, 1e999)
TEXTS = {"url", "etag", "last_modified", "note"}
NUMBERS = {"latitude_deg", "longitude_deg", "elevation_m"}


def kept(service):
    body = sample(service, "clear").decode()
    return Kept(service, 48.14, 11.58, 520.0, "https://x.invalid", AT, AT, "", "", "", body)


def one_sentence(error):
    told = str(error.value)
    assert "\n" not in told
    assert told.endswith(".")


def test_a_kept_answer_comes_back_as_it_was():
    whole = kept("open-meteo")
    assert kept_from("f", json.dumps({"form": FORM, **plain(whole)})) == whole
    assert whole.weather().source == "Open-Meteo"


@pytest.mark.parametrize("key", [*plain(kept("open-meteo"))])
def test_a_value_of_another_kind_is_refused(key):
    whole = {"form": FORM, **plain(kept("open-meteo"))}
    for wrong in WRONG:
        if (key in TEXTS and wrong == "x") or (key in NUMBERS and wrong in (7, 1.5)):
            continue
        if key == "elevation_m" and wrong is None:
            continue
        with pytest.raises(BadInput) as error:
            kept_from("f", json.dumps({**whole, key: wrong})).weather()
        one_sentence(error)
    with pytest.raises(BadInput):
        kept_from("f", json.dumps({k: v for k, v in whole.items() if k != key}))


def test_a_time_without_a_zone_is_refused():
    whole = {"form": FORM, **plain(kept("open-meteo")), "fetched": "2026-06-20T12:20:00"}
    with pytest.raises(BadInput) as error:
        kept_from("f", json.dumps(whole))
    one_sentence(error)


def places(value, way=()):
    """Yield the way to each value of a JSON document; of long lists to the first two."""
    yield way
    if isinstance(value, dict):
        for key in value:
            yield from places(value[key], (*way, key))
    elif isinstance(value, list):
        for number in range(min(2, len(value))):
            yield from places(value[number], (*way, number))


@pytest.mark.parametrize("service", ["open-meteo", "met-norway", "bright-sky"])
def test_an_answer_with_anything_anywhere_is_read_or_refused(service):
    whole = kept(service)
    text = whole.body
    refused = 0
    for way in places(json.loads(text)):
        for wrong in WRONG:
            body = json.loads(text)
            if way:
                holds = body
                for key in way[:-1]:
                    holds = holds[key]
                holds[way[-1]] = wrong
            else:
                body = wrong
            told = json.dumps({"form": FORM, **plain(whole), "body": json.dumps(body)})
            try:
                kept_from("f", told).weather()
            except BadInput:
                refused += 1
    assert refused > 50
