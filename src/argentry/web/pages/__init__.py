"""The pages for people: what the application serves, and what every page links to at its top."""

from __future__ import annotations

from dataclasses import dataclass

from argentry.web.pages import (
    clock,
    desk,
    devices,
    learning,
    meter,
    notebook,
    plates,
    season,
    studio,
    today,
    weather,
)

__all__ = ["LINKS", "ROUTERS", "Link"]


@dataclass(frozen=True)
class Link:
    """One link of the navigation.

    Attributes
    ----------
    address, words : str
        Where it leads, and what it says.
    host_only : bool
        True when a paired device may not go there; `guard.HOST_ONLY` keeps it out.
    """

    address: str
    words: str
    host_only: bool = False


ROUTERS = (
    clock.router,
    desk.router,
    devices.router,
    learning.router,
    meter.router,
    notebook.router,
    plates.router,
    season.router,
    studio.router,
    today.router,
    weather.router,
)
LINKS = (
    Link("/", "Today"),
    Link("/runs", "Runs"),
    Link("/plates", "Plates"),
    Link("/learned", "Learned"),
    Link("/season", "Season"),
    Link("/studio", "Studio", host_only=True),
    Link("/meter", "Meter"),
    Link("/weather", "Weather", host_only=True),
    Link("/devices", "Devices", host_only=True),
    Link("/clock", "Clock", host_only=True),
)
