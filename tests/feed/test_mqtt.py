from types import SimpleNamespace

import pytest
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.reasoncodes import ReasonCode

from argentry.feed.mqtt import Feed, broker_of


@pytest.fixture
def feed():
    """A feed that never connects, the sentences it said and the readings it handed on."""
    said, rows = [], []
    made = Feed(broker_of("mqtt://broker.test"), lambda *row: rows.append(row), said.append)
    return made, said, rows


def arrive(feed, topic, payload, *, retain=False):
    message = SimpleNamespace(topic=topic, payload=payload, retain=retain)
    feed._arrived(None, None, message)


def test_a_broker_that_forbids_listening_is_told(feed):
    made, said, _ = feed
    forbidden = ReasonCode(PacketTypes.SUBACK, identifier=0x80)
    made._subscribed(None, None, 1, [forbidden], None)
    (sentence,) = said
    assert "broker.test:1883 does not let us listen to argentry/studio/readings/+" in sentence


def test_the_same_state_is_said_once(feed):
    made, said, _ = feed
    for _ in range(5):
        made._failed(None, None)
    assert len(said) == 1


def test_a_reading_without_token_is_refused_where_the_broker_knows_nobody(feed):
    made, _, rows = feed
    arrive(made, "argentry/studio/readings/room_c", b"21.4")
    assert rows == []
    assert "token" in made.status().last_refusal


def test_a_broken_sensor_fills_the_log_once(feed, caplog):
    made, _, _ = feed
    for _ in range(100):
        arrive(made, "argentry/studio/readings/room_c", b"warm")
    assert made.refused == 100
    assert len(caplog.records) == 1


def test_tokens_never_reach_the_log(feed, caplog):
    made, _, _ = feed
    arrive(made, "argentry/studio/readings/room_c", b'{"value": "x", "token": "hush-hush"}')
    assert "hush-hush" not in caplog.text + str(made.status())
