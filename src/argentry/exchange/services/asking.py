"""What every weather service has: what it is asked, what it answers, on what terms."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from argentry.errors import BadInput
from argentry.records.weather import Weather
from argentry.version import VERSION

KM_PER_DEGREE = 111.2  # of latitude: 40,000 km over 360 degrees
FARTHEST_KM = 50.0  # a grid's cell or a station farther off is another sky (judgement)
FARTHEST_M = 300.0  # of height likewise
DECIMALS = 2  # of the place that leaves the house: about a kilometre

NOT_JSON = "its answer is cut short or is not JSON ({error})"
AGAIN = "ask again later: argentry weather fetch"
OTHER_PLACE = "its answer is for a place {km:.0f} km away"
CHECK_PLACE = "check latitude and longitude in studio.toml"
OTHER_UNIT = "it gives {name} in {unit!r} where {wanted!r} is expected"
READ_ELSEWHERE = "use another [weather] source until argentry reads it"
REASON = "it refuses the question: {reason}"
CHANGED = "check [weather] and [site] in studio.toml"


@dataclass(frozen=True)
class Ask:
    """What is wanted of a service.

    Attributes
    ----------
    latitude_deg, longitude_deg : float
        The place as it leaves the house. [deg]
    now : datetime
        The moment of asking.
    contact : str
        How whoever runs the service may reach the one who asks; empty when not given.
    host : str
        Address of one's own instance; empty for the public one.
    elevation_m : float or None
        Of the place, to judge a station by; it does not leave the house. [m]
    """

    latitude_deg: float
    longitude_deg: float
    now: datetime
    contact: str = ""
    host: str = ""
    elevation_m: float | None = None


@dataclass(frozen=True)
class Request:
    """What is sent: nothing else leaves the house.

    Attributes
    ----------
    url : str
        With the place in it.
    headers : Mapping[str, str]
        With the name of this program, and the contact where the service demands one.
    """

    url: str
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Service:
    """One weather service.

    Attributes
    ----------
    key, title : str
        As the studio file names it; as sheets do.
    host : str
        Address of the public instance.
    credit : str
        Attribution and licence, for every sheet.
    terms : str
        What a maker must know before agreeing, whole sentences.
    contact_needed : bool
        True when it must know whom to write to.
    request, parse : callable
        The question; the weather of an answer.
    """

    key: str
    title: str
    host: str
    credit: str
    terms: str
    contact_needed: bool
    request: Callable[[Ask], Request]
    parse: Callable[[bytes, Ask], Weather]


def asked(
    ask: Ask, host: str, path: str, query: Mapping[str, object], *, contact: bool = False
) -> Request:
    """Return a question by its address and what it names."""
    base = (ask.host or host).rstrip("/")
    agent = f"argentry/{VERSION}"
    if contact and ask.contact:  # a header is plain letters
        agent += " " + ask.contact.encode("ascii", "ignore").decode()
    headers = {"User-Agent": agent, "Accept": "application/json", "Accept-Encoding": "gzip"}
    return Request(f"{base}{path}?{urlencode(query, safe=',:')}", headers)


def read_answer(title: str, body: bytes) -> Any:
    """Return the JSON of an answer.

    Raises
    ------
    BadInput
        If it is cut short, or something else.
    """
    try:
        return json.loads(body.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        what = str(error).partition(":")[0]
        raise BadInput(title, NOT_JSON, AGAIN, error=what) from None


def near(title: str, ask: Ask, latitude: Any, longitude: Any) -> None:
    """Refuse an answer for another place.

    Raises
    ------
    BadInput
        If it lies farther off than `FARTHEST_KM`, or nowhere.
    """
    try:
        north = float(latitude) - ask.latitude_deg
        east = (float(longitude) - ask.longitude_deg + 180.0) % 360.0 - 180.0
    except (TypeError, ValueError):
        north = east = math.inf
    km = KM_PER_DEGREE * math.hypot(north, east * math.cos(math.radians(ask.latitude_deg)))
    if not km <= FARTHEST_KM:
        raise BadInput(title, OTHER_PLACE, CHECK_PLACE, km=km)


def units_as(title: str, found: Any, wanted: Mapping[str, tuple[str, ...]]) -> None:
    """Refuse an answer in other units than are read; a unit that is not named passes.

    Raises
    ------
    BadInput
        If a unit is named that is none of those wanted.
    """
    for name, units in wanted.items():
        unit = found.get(name) if isinstance(found, dict) else None
        if unit is not None and unit not in units:
            raise BadInput(
                title, OTHER_UNIT, READ_ELSEWHERE, name=name, unit=str(unit)[:20], wanted=units[0]
            )
