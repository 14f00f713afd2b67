"""May a weather service be asked: what leaves the house, on whose terms, and the maker's yes."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from argentry.errors import BadInput, unknown
from argentry.exchange.services.asking import DECIMALS, Ask, Service
from argentry.exchange.services.known import SERVICES
from argentry.records.studio import NO_SERVICE, Studio, WeatherSource

SENDS = (
    "{title} ({host}) would be sent the place to two decimals, {place}{contact}, and nothing else "
    "of yours; like every server it also sees your internet address. {terms}"
)
AND_CONTACT = ", and your contact {contact}"
AND_ASKED_CONTACT = ", and the contact you give"
PLACE = "latitude {latitude}, longitude {longitude}"
NOT_AGREED = "you have not agreed that the place is sent to {title}"
AGREE = "read what is sent and agree: argentry weather agree {key}"
NO_SOURCE = "no service is named"
NAME_ONE = "agree to one: argentry weather agree SERVICE, SERVICE being one of {known}"
NO_CONTACT = "it must be told a contact"
GIVE_CONTACT = "give an e-mail or web address: --contact me@example.org"
NOT_KEPT = "the section [weather] cannot be written into it as it stands"
WRITE_IT = "write it by hand: source = {key!r}, agreed = [{key!r}]"


@dataclass(frozen=True)
class WeatherTerms:
    """What a maker reads before agreeing.

    Attributes
    ----------
    service, title : str
        Key and name.
    sends : str
        What leaves the house, to whom, on which terms.
    agreed : bool
        True when the maker agreed before.
    contact_needed : bool
        True when it must be told a contact.
    """

    service: str
    title: str
    sends: str
    agreed: bool
    contact_needed: bool


def known() -> tuple[str, ...]:
    """Return the keys of the services."""
    return tuple(SERVICES)


def service_of(where: str, key: str) -> Service:
    """Return a service by its key."""
    if key not in SERVICES:
        raise unknown(where, "weather service", key[:40], tuple(SERVICES))
    return SERVICES[key]


def ask_of(studio: Studio, service: str, now: datetime) -> Ask:
    """Return what a service is asked for a studio: the place is rounded here, before it leaves."""
    own = studio.weather
    return Ask(
        latitude_deg=round(studio.site.latitude_deg, DECIMALS),
        longitude_deg=round(studio.site.longitude_deg, DECIMALS),
        now=now,
        contact=own.contact or "",
        host=own.host or "" if service == own.source else "",
        elevation_m=studio.site.elevation_m,
    )


def terms_of(studio: Studio, key: str) -> WeatherTerms:
    """Return what a maker reads before agreeing to a service."""
    service, own = service_of("SERVICE", key), studio.weather
    site = studio.site
    contact = ""
    if service.contact_needed:
        contact = AND_CONTACT.format(contact=own.contact) if own.contact else AND_ASKED_CONTACT
    sends = SENDS.format(
        title=service.title,
        host=(own.host or service.host) if key == own.source else service.host,
        place=PLACE.format(
            latitude=f"{site.latitude_deg:.{DECIMALS}f}",
            longitude=f"{site.longitude_deg:.{DECIMALS}f}",
        ),
        contact=contact,
        terms=service.terms,
    )
    agreed = key in own.agreed and not (service.contact_needed and not own.contact)
    return WeatherTerms(key, service.title, sends, agreed, service.contact_needed)


def need_consent(studio: Studio, key: str) -> Service:
    """Return a service that may be asked.

    Raises
    ------
    BadInput
        If the maker has not agreed to it, or it needs a contact and has none.
    """
    where = "argentry weather"
    if key == NO_SERVICE:
        raise BadInput(where, NO_SOURCE, NAME_ONE, known=", ".join(SERVICES))
    service = service_of(where, key)
    if key not in studio.weather.agreed:
        raise BadInput(where, NOT_AGREED, AGREE, title=service.title, key=key)
    if service.contact_needed and not studio.weather.contact:
        raise BadInput(service.title, NO_CONTACT, GIVE_CONTACT)
    return service


def agree(folder: Path, key: str, contact: str | None = None) -> Studio:
    """Write into the studio file that a service may be asked, or with ``none`` that none may.

    Parameters
    ----------
    folder : Path
        The studio folder.
    key : str
        Of a service, or ``none``.
    contact : str or None
        E-mail or web address; None: as the file has it.

    Raises
    ------
    BadInput
        If there is no such service, it needs a contact, or the file cannot be written.
    """
    from argentry.studio.check import read_value
    from argentry.studio.file import FILE, read_studio, studio_from_tables
    from argentry.studio.keys import section
    from argentry.studio.text import rewrite_studio, with_section

    own = read_studio(folder).weather
    if contact:
        key_of = next(one for one in section("weather").keys if one.name == "contact")
        own = replace(own, contact=read_value("contact", key_of, contact))
    if key == NO_SERVICE:
        own = WeatherSource(contact=own.contact)
    else:
        service = service_of("SERVICE", key)
        if service.contact_needed and not own.contact:
            raise BadInput(service.title, NO_CONTACT, GIVE_CONTACT)
        # another service's own instance is not this one's
        host = own.host if own.source in (NO_SERVICE, key) else None
        agreed = (*(one for one in own.agreed if one != key), key)
        own = replace(own, source=key, agreed=agreed, host=host)
    file = folder / FILE
    text = with_section(file.read_text(encoding="utf-8-sig"), "weather", own)
    try:
        studio, _ = studio_from_tables(tomllib.loads(text))
    except tomllib.TOMLDecodeError:
        studio = None
    if studio is None or studio.weather != own:
        raise BadInput(str(file), NOT_KEPT, WRITE_IT, key=key)
    rewrite_studio(file, text)
    return studio
