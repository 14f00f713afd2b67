"""Fetch a forecast: ask once, keep the answer or the reason why there is none."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from argentry.errors import BadInput
from argentry.exchange.services import client, kept
from argentry.exchange.services.asking import Ask, Request, Service
from argentry.exchange.services.client import Reply
from argentry.exchange.services.kept import Kept, Trouble
from argentry.keeping.forecast.consent import ask_of, need_consent
from argentry.keeping.forecast.said import note_said
from argentry.records.studio import Studio

SOON, AN_HOUR, A_DAY = timedelta(minutes=5), timedelta(hours=1), timedelta(days=1)
OUTDATED = "{title} says that this way of asking will end soon; look for a newer argentry."
REFUSED = "it refuses the question ({status}{reason})"
NO_ONE_NEAR = "it has no station near this place"
NOT_ALLOWED = "it refuses to answer this program or this contact (403)"
TOO_OFTEN = "it was asked too often and answers no more for now (429)"
OUT_OF_ORDER = "it is out of order (status {status})"
ODD = "it answers with status {status}, which is not expected"
OTHER_SOURCE = "use another: argentry weather agree SERVICE"
AFTER = "ask again after {time} UTC"
CONTACT = "check [weather] contact in studio.toml"
NOT_YET = "it may not be asked again before {time} UTC: {why}"
UNTIL_THEN = "wait until then"


def fetch(
    folder: Path,
    studio: Studio,
    key: str | None = None,
    *,
    now: datetime | None = None,
    seconds: float = client.SECONDS,
) -> tuple[Kept, bool]:
    """Return the newest answer of a service, asked for only when the kept one may be outdated.

    Parameters
    ----------
    folder : Path
        The studio folder, where answers are kept.
    studio : Studio
        With the maker's consent.
    key : str or None
        Of the service; None: the studio's own.
    now : datetime or None
        The moment; None: now.
    seconds : float
        For the whole answer. [s]

    Returns
    -------
    kept : Kept
        The answer.
    asked : bool
        False when the kept one still holds and nothing was sent.

    Raises
    ------
    BadInput
        Without the maker's consent, or when there is no good answer: one sentence, kept too.
    """
    service = need_consent(studio, key or studio.weather.source)
    now = now or datetime.now(UTC)
    ask = ask_of(studio, service.key, now)
    before = kept.kept_answer(folder, service.key)
    if before is not None and not before.is_for(ask.latitude_deg, ask.longitude_deg):
        before = None
    if before is not None and now < before.expires:
        return before, False
    trouble = kept.trouble_with(folder, service.key)
    if trouble is not None and now < trouble.not_before:
        time = f"{trouble.not_before:%Y-%m-%d %H:%M}"
        why = trouble.sentence.rstrip(".")
        raise BadInput(service.title, NOT_YET, UNTIL_THEN, time=time, why=why)
    request = service.request(ask)
    try:
        reply = client.get(service.title, request.url, _headers(request, before), seconds=seconds)
        answer = _answer(service, ask, request, reply, before)
        weather = answer.weather()
    except _Refusal as refusal:
        kept.keep_trouble(folder, service.key, Trouble(str(refusal.said), now, refusal.not_before))
        raise refusal.said from None
    except BadInput as error:
        kept.keep_trouble(folder, service.key, Trouble(str(error), now, now + SOON))
        raise
    kept.keep(folder, answer)
    note_said(folder, studio, service.key, weather, now)
    return answer, True


class _Refusal(Exception):  # noqa: N818 - carries what is said, and until when it holds
    def __init__(self, said: BadInput, not_before: datetime) -> None:
        super().__init__(str(said))
        self.said, self.not_before = said, not_before


def _headers(request: Request, before: Kept | None) -> dict[str, str]:
    """Return the headers of a question, with what asks only for something newer."""
    headers = dict(request.headers)
    if before is not None and before.url == request.url:
        if before.etag:
            headers["If-None-Match"] = before.etag
        if before.last_modified:
            headers["If-Modified-Since"] = before.last_modified
    return headers


def _answer(
    service: Service, ask: Ask, request: Request, reply: Reply, before: Kept | None
) -> Kept:
    """Return what a reply gives to be kept, or refuse it with what it means."""
    title, now, status = service.title, ask.now, reply.status
    until = kept.expiry(reply.headers, now)
    if status == 304 and before is not None:
        return replace(before, fetched=now, expires=until)
    if status in (200, 203):
        return Kept(
            service=service.key,
            latitude_deg=ask.latitude_deg,
            longitude_deg=ask.longitude_deg,
            elevation_m=ask.elevation_m,
            url=request.url,
            fetched=now,
            expires=until,
            etag=reply.headers.get("etag", ""),
            last_modified=reply.headers.get("last-modified", ""),
            note=OUTDATED.format(title=title) if status == 203 else "",
            body=reply.body.decode("utf-8", "replace"),
        )
    wait = {403: A_DAY, 404: A_DAY, 400: A_DAY, 429: AN_HOUR}.get(status, SOON)
    again = kept.retry_after(reply.headers, now, wait)
    after = AFTER.format(time=f"{again:%Y-%m-%d %H:%M}")
    if status == 400:
        said = BadInput(title, REFUSED, OTHER_SOURCE, status=status, reason=_reason(reply))
    elif status == 403:
        said = BadInput(title, NOT_ALLOWED, CONTACT)
    elif status == 404:
        said = BadInput(title, NO_ONE_NEAR, OTHER_SOURCE)
    elif status == 429:
        said = BadInput(title, TOO_OFTEN, after)
    elif status >= 500:
        said = BadInput(title, OUT_OF_ORDER, after, status=status)
    else:
        said = BadInput(title, ODD, OTHER_SOURCE, status=status)
    raise _Refusal(said, again)


def _reason(reply: Reply) -> str:
    """Return the reason that an error of JSON gives, on one line."""
    import json

    try:
        data = json.loads(reply.body)
    except ValueError:
        return ""
    told = data.get("reason") or data.get("detail") if isinstance(data, dict) else None
    return ": " + " ".join(told.split())[:200].rstrip(".") if isinstance(told, str) else ""
