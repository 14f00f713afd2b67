"""`argentry device`: list paired devices, revoke one, make a token for a sensor."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import BookCall, console, of_book, studio_needed

if TYPE_CHECKING:
    from argentry.keeping.book import Book

NO_DEVICE = (
    "No device is paired yet: start with argentry serve --host 0.0.0.0, or make a sensor's token "
    "with argentry device new-sensor NAME."
)
SHUT_OUT = "{name} is revoked; a running server stops accepting it within a second."
OUT_SINCE = "revoked {day}"
TOKEN = "Token for {name}. It is shown only once and is not kept anywhere:"  # noqa: S105 - words
POST = "Let it POST to /api/readings with the header Authorization: Bearer TOKEN; docs/sensors.md"


@click.group()
def device() -> None:
    """Paired tablets and sensors."""


@device.command(name="list")
@of_book
def list_(call: BookCall) -> None:
    """List the paired devices, and those revoked."""
    from argentry.keeping.sensors.devices import list_devices

    found = list_devices(_open(call))
    if call.emitted(found):
        return
    screen = console()
    if not found.devices:
        screen.print(NO_DEVICE)
        return
    from rich import box
    from rich.table import Table

    table = Table("Device", "May", "Since", "Last seen", "Id", box=box.SIMPLE)
    for row in found.devices:
        may = "send readings" if row.scope == "readings" else "run the bench"
        seen = f"{row.seen:%Y-%m-%d %H:%M}" if row.seen else "never"
        out = OUT_SINCE.format(day=row.revoked.date()) if row.revoked else may
        table.add_row(row.name, out, str(row.created.date()), seen, row.id)
    screen.print(table)


@device.command()
@click.argument("name_or_id", metavar="DEVICE")
@of_book
def revoke(call: BookCall, name_or_id: str) -> None:
    """Revoke DEVICE: give its name, or its id when several share the name."""
    from argentry.keeping.sensors.devices import ShutOut, revoke_device

    gone = revoke_device(_open(call), name_or_id)
    if not call.emitted(ShutOut(gone.id, gone.name)):
        click.echo(SHUT_OUT.format(name=gone.name))


@device.command(name="new-sensor")
@click.argument("name")
@of_book
def new_sensor(call: BookCall, name: str) -> None:
    """Make a token for the sensor NAME; it can send readings and nothing else."""
    from argentry.keeping.sensors.devices import NewSensor, new_device

    made, token = new_device(_open(call), name, "readings")
    if call.emitted(NewSensor(made.id, made.name, made.scope, token)):
        return
    click.echo(TOKEN.format(name=made.name), err=True)
    click.echo(token)
    click.echo(POST, err=True)


def _open(call: BookCall) -> Book:
    from argentry.desk.house import book_of_studio

    return book_of_studio(studio_needed("argentry device", call.folder), call.address)
