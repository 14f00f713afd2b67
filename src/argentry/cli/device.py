"""`argentry device`: list paired devices, revoke one, make a token for a sensor."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from argentry.cli.common import console, emit_json, json_option, studio_option, studio_path
from argentry.errors import BadInput

if TYPE_CHECKING:
    from argentry.desk.book import Book

book_option = click.option(
    "--book",
    "book_url",
    metavar="URL",
    envvar="ARGENTRY_BOOK",
    help="A book on PostgreSQL (default: book.sqlite in the studio folder).",
)


def open_named_book(ctx: click.Context, book_url: str | None) -> Book:
    """Return the open book of the studio, or of the address given.

    Raises
    ------
    BadInput
        If there is no studio.
    """
    from argentry.desk.house import book_of_studio

    path = studio_path(ctx)
    if path is None:
        raise BadInput(
            ctx.command_path,
            "there is no studio here",
            "name one with --studio DIR, or make one with: argentry studio new DIR",
        )
    return book_of_studio(path, book_url)


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
@book_option
@studio_option
@json_option
@click.pass_context
def list_(ctx: click.Context, book_url: str | None, as_json: bool) -> None:
    """List the paired devices, and those revoked."""
    from argentry.desk.sensors.devices import list_devices

    found = list_devices(open_named_book(ctx, book_url))
    if as_json:
        emit_json(found)
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
        seen = (row.seen or "never").replace("T", " ")[:16]
        out = OUT_SINCE.format(day=row.revoked[:10]) if row.revoked else may
        table.add_row(row.name, out, row.created[:10], seen, row.id)
    screen.print(table)


@device.command()
@click.argument("name_or_id", metavar="DEVICE")
@book_option
@studio_option
@json_option
@click.pass_context
def revoke(ctx: click.Context, name_or_id: str, book_url: str | None, as_json: bool) -> None:
    """Revoke DEVICE: give its name, or its id when several share the name."""
    from argentry.desk.sensors.devices import ShutOut, revoke_device

    gone = revoke_device(open_named_book(ctx, book_url), name_or_id)
    if as_json:
        emit_json(ShutOut(gone.id, gone.name))
    else:
        click.echo(SHUT_OUT.format(name=gone.name))


@device.command(name="new-sensor")
@click.argument("name")
@book_option
@studio_option
@json_option
@click.pass_context
def new_sensor(ctx: click.Context, name: str, book_url: str | None, as_json: bool) -> None:
    """Make a token for the sensor NAME; it can send readings and nothing else."""
    from argentry.desk.sensors.devices import NewSensor, new_device

    made, token = new_device(open_named_book(ctx, book_url), name, "readings")
    if as_json:
        emit_json(NewSensor(made.id, made.name, made.scope, token))
        return
    click.echo(TOKEN.format(name=made.name), err=True)
    click.echo(token)
    click.echo(POST, err=True)
