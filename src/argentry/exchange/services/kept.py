"""Answers of weather services as they are kept in the studio folder, one file for each service."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from argentry.errors import BadInput
from argentry.exchange.services.asking import AGAIN, Ask
from argentry.exchange.services.known import SERVICES
from argentry.files import write_whole
from argentry.records.plain import from_plain, plain
from argentry.records.weather import Weather

FOLDER = "weather"
FORM = "argentry kept answer 1"
UNTOLD = timedelta(hours=1)  # an answer that does not say how long it holds
LONGEST = timedelta(hours=12)  # one that says too much
BROKEN = "this kept answer cannot be read ({why})"
ODD = "its answer holds something that a forecast does not ({why})"
# what a value of any other kind ends in, anywhere in what a stranger sent
STRANGE = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
DELETE_IT = "delete it and run: argentry weather fetch"


@dataclass(frozen=True)
class Kept:
    """An answer as it was received.

    Attributes
    ----------
    service : str
        Key of the service.
    latitude_deg, longitude_deg : float
        As they were sent. [deg]
    elevation_m : float or None
        Of the place, not sent. [m]
    url : str
        What was asked.
    fetched, expires : datetime
        When it came, or was confirmed; until when nothing newer is to be asked for.
    etag, last_modified : str
        For the next question; empty where not given.
    note : str
        What the service said besides, one sentence; usually empty.
    body : str
        The answer.
    """

    service: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    url: str
    fetched: datetime
    expires: datetime
    etag: str
    last_modified: str
    note: str
    body: str

    def weather(self) -> Weather:
        """Return what it says.

        Raises
        ------
        BadInput
            If it cannot be read.
        """
        ask = Ask(self.latitude_deg, self.longitude_deg, self.fetched, elevation_m=self.elevation_m)
        service = SERVICES[self.service]
        try:
            return service.parse(self.body.encode(), ask)
        except STRANGE as error:
            raise BadInput(service.title, ODD, AGAIN, why=type(error).__name__) from None

    def is_for(self, latitude_deg: float, longitude_deg: float) -> bool:
        """Return whether it was asked for this place."""
        return (self.latitude_deg, self.longitude_deg) == (latitude_deg, longitude_deg)


@dataclass(frozen=True)
class Trouble:
    """Why the last question had no good answer.

    Attributes
    ----------
    sentence : str
        For the maker.
    at, not_before : datetime
        When; until when the service is not asked again by itself.
    """

    sentence: str
    at: datetime
    not_before: datetime


def kept_file(folder: Path, service: str) -> Path:
    """Return where the answer of a service is kept."""
    return folder / FOLDER / f"{service}.json"


def _trouble_file(folder: Path, service: str) -> Path:
    return folder / FOLDER / f"{service}.trouble.json"


def keep(folder: Path, kept: Kept) -> Path:
    """Keep an answer in the place of the one before; what troubled is over."""
    file, before = kept_file(folder, kept.service), kept_answer(folder, kept.service)
    was = file.stat() if before is not None and before.body == kept.body else None
    _write(file, {"form": FORM, **plain(kept)})
    if was is not None:  # a bench looks at the file's time to see whether the forecast changed
        os.utime(file, ns=(was.st_atime_ns, was.st_mtime_ns))
    _trouble_file(folder, kept.service).unlink(missing_ok=True)
    return file


def keep_trouble(folder: Path, service: str, trouble: Trouble) -> None:
    """Keep why there was no answer."""
    _write(_trouble_file(folder, service), plain(trouble))


def kept_answer(folder: Path, service: str) -> Kept | None:
    """Return the kept answer of a service; None where there is none that can be read."""
    file = kept_file(folder, service)
    try:
        return kept_from(str(file), file.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, BadInput):
        return None


def kept_from(where: str, text: str) -> Kept:
    """Return the answer that the text of a file holds.

    Raises
    ------
    BadInput
        If it is not one.
    """
    try:
        data = json.loads(text)
        kept: Kept = from_plain(Kept, {**data, "service": SERVICES[data["service"]].key})
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise BadInput(where, BROKEN, DELETE_IT, why=type(error).__name__) from None
    return kept


def trouble_with(folder: Path, service: str) -> Trouble | None:
    """Return why the last question had no good answer; None where it had."""
    try:
        data = json.loads(_trouble_file(folder, service).read_text(encoding="utf-8"))
        trouble: Trouble = from_plain(Trouble, data)
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return trouble


def expiry(headers: Mapping[str, str], now: datetime) -> datetime:
    """Return until when nothing newer is to be asked for: Cache-Control, else Expires, else 1 h.

    Parameters
    ----------
    headers : Mapping[str, str]
        Of the answer, names in lower case.
    now : datetime
        When it came.
    """
    for part in headers.get("cache-control", "").split(","):
        name, _, value = part.strip().partition("=")
        length = _length(value) if name.lower() == "max-age" else None
        if length is not None:
            return now + (min(length, LONGEST) or UNTOLD)
    until = _http_time(headers.get("expires", ""))
    if until is None or until <= now:
        return now + UNTOLD
    return min(until, now + LONGEST)


def retry_after(headers: Mapping[str, str], now: datetime, otherwise: timedelta) -> datetime:
    """Return from when on a service may be asked again."""
    told = headers.get("retry-after", "")
    length = _length(told)
    if length is not None:
        return now + min(length, timedelta(days=7))
    return _http_time(told) or now + otherwise


def _length(text: str) -> timedelta | None:
    """Return a length of time as a header has it: a whole number of seconds."""
    return timedelta(seconds=int(text[:9])) if text.isascii() and text.isdigit() else None


def _http_time(text: str) -> datetime | None:
    from email.utils import parsedate_to_datetime

    try:
        when = parsedate_to_datetime(text)
    except (ValueError, TypeError):
        return None
    return when.replace(tzinfo=UTC) if when.tzinfo is None else when.astimezone(UTC)


def _write(file: Path, data: Mapping[str, Any]) -> None:
    file.parent.mkdir(exist_ok=True)
    write_whole(file, json.dumps(data, ensure_ascii=False))
