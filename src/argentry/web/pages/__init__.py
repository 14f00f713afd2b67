"""The pages for people: what the application serves, and what every page links to at its top."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.web.pages import (
    clock,
    copies,
    desk,
    devices,
    learning,
    materials,
    meter,
    notebook,
    pictures,
    plates,
    search,
    season,
    seen,
    studio,
    today,
    weather,
)

__all__ = ["LINKS", "MORE_LINKS", "ROUTERS", "Link"]


@dataclass(frozen=True)
class Link:
    """One link of the navigation.

    Attributes
    ----------
    address, words : str
        Where it leads, and what it says.
    about : str
        What is there, in a few words; for the search.
    host_only : bool
        True when a paired device may not go there; `guard.HOST_ONLY` keeps it out.
    """

    address: str
    words: str
    about: str = ""
    host_only: bool = False


ROUTERS = (
    clock.router,
    copies.router,
    desk.router,
    devices.router,
    learning.router,
    materials.router,
    meter.router,
    notebook.router,
    pictures.router,
    plates.router,
    search.router,
    season.router,
    seen.router,
    studio.router,
    today.router,
    weather.router,
)
LINKS = (
    Link("/", "Today", "the plan of the day, what waits, the days ahead"),
    Link("/runs", "Runs", "open and closed runs, latest readings"),
    Link("/plates", "Plates", "each plate's record, grading, an old notebook"),
    Link("/learned", "Learned", "odds, causes, speed, the next trial"),
    Link("/season", "Season", "the year's light, weeks for sittings, workshops"),
    Link("/studio", "Studio", "place, lenses, boxes, frames, hours, habits"),
    Link("/devices", "Devices", "pair a tablet, revoke one", host_only=True),
)
MORE_LINKS = (
    Link("/materials", "Materials", "stock, baths, orders, safety, waste, costs, labels to print"),
    Link("/meter", "Meter", "a light meter against the two lights, a card for its back"),
    Link("/weather", "Weather", "forecasts and what is sent for them", host_only=True),
    Link("/clock", "Clock", "the house's clock and the machine's", host_only=True),
    Link("/copies", "Copies", "backups, the whole book as an archive to download", host_only=True),
    Link("/terms", "Words and keys", "meanings of words, keys of the pages"),
)
