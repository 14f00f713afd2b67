"""The options that name a place, shared by every command that needs light."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable

_OPTIONS = (
    click.option("--lat", type=float, help="Latitude in degrees, north positive."),
    click.option("--lon", type=float, help="Longitude in degrees, east positive."),
    click.option("--elevation-m", type=float, help="Height above sea level in metres."),
    click.option("--tz", help="Time zone of times without an offset, for example Europe/Madrid."),
    click.option(
        "--haze", type=float, help="Aerosol optical depth at 500 nm (0.05 clear, 0.4 hazy)."
    ),
)


def place_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --lat, --lon, --elevation-m, --tz and --haze; the studio's site is used without them."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command
