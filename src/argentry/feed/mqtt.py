"""Readings from an MQTT broker: connect, listen, pass on; never stop the server.

The broker may be away at the start or go away later: the library tries again by itself, with waits
that double up to a minute, and the bench works on without the feed.
"""

from __future__ import annotations

import logging
import os
from dataclasses import dataclass, field
from threading import Lock
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, unquote, urlsplit

from argentry.errors import ArgentryError, BadInput, harmless
from argentry.feed.readings import read_payload, topic_filter, what_of_topic

if TYPE_CHECKING:
    from collections.abc import Callable

    from argentry.keeping.sensors.intake import Measurement

    # Stores one measurement. The token is that of the payload; None when the broker vouches for
    # its clients. Raises an ArgentryError when it is refused.
    Sink = Callable[[Measurement, str | None], object]

PASSWORD_VARIABLE = "ARGENTRY_MQTT_PASSWORD"  # noqa: S105 - the name of a variable
PORTS = {"mqtt": 1883, "mqtts": 8883}  # registered with IANA as mqtt and secure-mqtt
FORMS = "give mqtt://[user@]host[:port][/studio] or mqtts://..."
LISTENING = "Sensors: listening"
FIRST_WAIT_S, LONGEST_WAIT_S = 1, 60

log = logging.getLogger("argentry.feed")


@dataclass(frozen=True)
class FeedStatus:
    """How the feed stands.

    Attributes
    ----------
    state : str
        One sentence.
    connected : bool
        True while the broker answers.
    stored, refused : int
        Readings kept and refused.
    last_refusal : str
        Why the last one was refused.
    """

    state: str
    connected: bool
    stored: int
    refused: int
    last_refusal: str


@dataclass(frozen=True)
class Broker:
    """Where the broker is and who we are to it.

    Attributes
    ----------
    host, port : str, int
        Where it listens.
    tls : bool
        True for ``mqtts``.
    user, password : str
        Empty when the broker asks for none. The password is never shown.
    studio : str
        Second part of the topics.
    ca : str or None
        File of the authority that signed the broker's certificate; None for the system's.
    """

    host: str
    port: int
    tls: bool
    user: str = ""
    password: str = field(default="", repr=False)
    studio: str = "studio"
    ca: str | None = None

    @property
    def name(self) -> str:
        """Host and port, as shown; no user and no password."""
        return f"{self.host}:{self.port}"


def broker_of(url: str) -> Broker:
    """Read a broker's URL: ``mqtt[s]://[user[:password]@]host[:port][/studio][?ca=FILE]``.

    The password is better given in the variable ``ARGENTRY_MQTT_PASSWORD``: a command line can be
    read by everybody on the machine.

    Raises
    ------
    BadInput
        If the URL is of another form.
    """
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise BadInput("--mqtt", "this is not an address of a broker", FORMS) from None
    if parts.scheme not in PORTS or not parts.hostname or port == 0:
        raise BadInput("--mqtt", "this is not an address of a broker", FORMS)
    studio = unquote(parts.path.strip("/")) or "studio"
    if not studio.isprintable() or any(letter in studio for letter in "/+#"):
        raise BadInput("--mqtt", "the studio's name contains /, + or #", "give a plain word")
    asked = parse_qs(parts.query)
    if set(asked) - {"ca"}:
        raise BadInput("--mqtt", "it holds unknown options", "only ?ca=FILE is known")
    return Broker(
        host=parts.hostname,
        port=port or PORTS[parts.scheme],
        tls=parts.scheme == "mqtts",
        user=unquote(parts.username or ""),
        password=unquote(parts.password or "") or os.environ.get(PASSWORD_VARIABLE, ""),
        studio=studio,
        ca=asked.get("ca", [None])[0],
    )


class Feed:
    """A running feed: what state it is in, how much came in, and how to stop it.

    It is a class because the library calls back from its own thread and the state must live
    somewhere.

    Parameters
    ----------
    broker : Broker
        Where to listen.
    sink : callable
        Takes each measurement and its token.
    say : callable
        Is told each change of state in one sentence.
    """

    def __init__(self, broker: Broker, sink: Sink, say: Callable[[str], object]) -> None:
        self._broker, self._sink, self._say = broker, sink, say
        self._lock = Lock()
        self._state = ""
        self.stored = 0
        self.refused = 0
        self.last_refusal = ""
        self._client = _client(broker)
        self._client.on_connect = self._connected
        self._client.on_subscribe = self._subscribed
        self._client.on_connect_fail = self._failed
        self._client.on_disconnect = self._dropped
        self._client.on_message = self._arrived

    def start(self) -> None:
        """Begin to connect, in a thread of its own; returns at once."""
        self._client.connect_async(self._broker.host, self._broker.port, keepalive=30)
        self._client.loop_start()

    def stop(self) -> None:
        """Say goodbye to the broker and end the thread."""
        self._client.disconnect()
        self._client.loop_stop()

    def status(self) -> FeedStatus:
        """Return how the feed stands."""
        looking = "Sensors: looking for the broker at {name}.".format(name=self._broker.name)
        return FeedStatus(
            state=self._state or looking,
            connected=bool(self._client.is_connected()),
            stored=self.stored,
            refused=self.refused,
            last_refusal=self.last_refusal,
        )

    def _tell(self, sentence: str) -> None:
        with self._lock:
            if sentence == self._state:
                return  # each failed try would say the same again
            self._state = sentence
        log.info("%s", sentence)
        self._say(sentence)

    def _connected(self, client: Any, _data: Any, _flags: Any, reason: Any, _more: Any) -> None:
        if reason.is_failure:
            self._tell(
                "Sensors: the broker at {name} refused us ({reason}); "
                "retrying automatically; the bench works without it.".format(
                    name=self._broker.name, reason=reason
                )
            )
            return
        client.subscribe(topic_filter(self._broker.studio), qos=1)

    def _subscribed(self, _client: Any, _data: Any, _mid: Any, reasons: Any, _more: Any) -> None:
        topics = topic_filter(self._broker.studio)
        if any(reason.is_failure for reason in reasons):
            self._tell(
                "Sensors: the broker at {name} does not let us listen to {topics}; "
                "the bench works without it.".format(name=self._broker.name, topics=topics)
            )
            return
        self._tell(
            "{listening} to {topics} at {name}.".format(
                listening=LISTENING, topics=topics, name=self._broker.name
            )
        )

    def _failed(self, _client: Any, _data: Any) -> None:
        self._tell(
            "Sensors: no broker answers at {name}; retrying automatically; "
            "the bench works without it.".format(name=self._broker.name)
        )

    def _dropped(self, _client: Any, _data: Any, _flags: Any, reason: Any, _more: Any) -> None:
        if reason.is_failure and self._state.startswith(LISTENING):
            self._tell(
                "Sensors: the broker at {name} went away; retrying automatically; "
                "the bench works without it.".format(name=self._broker.name)
            )

    def _arrived(self, _client: Any, _data: Any, message: Any) -> None:
        """Take one message; whatever is wrong with it, the thread goes on."""
        try:
            self._take(message.topic, bytes(message.payload), retained=bool(message.retain))
        except ArgentryError as wrong:
            self._refuse(message.topic, str(wrong))
        except Exception:
            log.exception("a reading could not be stored")
            self._refuse(message.topic, "It could not be stored.")

    def _take(self, topic: str, payload: bytes, *, retained: bool) -> None:
        what = what_of_topic(topic, self._broker.studio)
        measurement, token = read_payload(payload, what, source="broker")
        if token is None and not self._broker.user:
            raise BadInput(
                "token",
                "the broker does not identify senders and the reading carries no token",
                'send "token", or use a broker with user names and give ours in the address',
            )
        if retained and measurement.at is None:
            raise BadInput(
                "at",
                "the broker had retained this reading, so its age is unknown",
                'send "at", or do not set retain',
            )
        self._sink(measurement, token)
        self.stored += 1

    def _refuse(self, topic: str, sentence: str) -> None:
        self.refused += 1
        if sentence != self.last_refusal:  # a broken sensor repeats itself for days
            log.warning("%s: %s", harmless(topic[:80]), harmless(sentence))
        self.last_refusal = sentence


def _client(broker: Broker) -> Any:
    try:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion
    except ImportError:
        raise BadInput(
            "--mqtt", "its library is not installed", 'install "argentry[mqtt]"'
        ) from None
    # A clean session: the broker keeps nothing for us while we are away, so that a reading
    # without a stamp is always one of now.
    client = Client(CallbackAPIVersion.VERSION2, client_id=f"argentry-{os.urandom(4).hex()}")
    client.reconnect_delay_set(FIRST_WAIT_S, LONGEST_WAIT_S)
    if broker.user:
        client.username_pw_set(broker.user, broker.password)
    if broker.tls:
        try:
            client.tls_set(ca_certs=broker.ca)
        except OSError as wrong:
            raise BadInput(
                "--mqtt",
                "the file of ?ca= cannot be used ({strerror})",
                "give a PEM file",
                strerror=wrong.strerror,
            ) from None
    return client


def start_mqtt(
    url: str, sink: Sink, *, say: Callable[[str], object] = lambda _sentence: None
) -> Feed:
    """Start to listen to a broker; returns at once, whether or not the broker is there.

    Parameters
    ----------
    url : str
        See `broker_of`.
    sink : callable
        ``sink(measurement, token)`` stores one measurement and raises an ArgentryError to refuse
        it. It is called from the feed's thread. ``token`` is None when the broker vouches for its
        clients (the URL holds a user name); else it must be checked.
    say : callable
        Told each change of state in one sentence.

    Returns
    -------
    Feed
        Call its ``stop()`` at the end.

    Raises
    ------
    BadInput
        If the URL cannot be read, or the library is not installed.
    """
    feed = Feed(broker_of(url), sink, say)
    feed.start()
    return feed
