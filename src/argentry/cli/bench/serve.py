"""`argentry serve`: the pages and the API of one studio, until it is stopped."""

from __future__ import annotations

import sys
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click

from argentry.cli.common import book_option, studio_needed, studio_option, studio_path


@click.command()
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Use 0.0.0.0 to serve the studio's network.",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8440,
    show_default=True,
    help="Where to listen; 0 takes a free one.",
)
@click.option("--tls", is_flag=True, help="HTTPS with the studio's own authority.")
@click.option("--name", "names", multiple=True, metavar="NAME", help="Also answer to this name.")
@click.option("--pair-all", is_flag=True, help="Require pairing on this machine too.")
@click.option("--mqtt", "mqtt_url", metavar="URL", help="Take readings from an MQTT broker.")
@click.option("--qr/--no-qr", default=None, help="Show the address as a QR code.")
@book_option
@studio_option
@click.pass_context
def serve(
    ctx: click.Context,
    host: str,
    port: int,
    tls: bool,
    names: tuple[str, ...],
    pair_all: bool,
    mqtt_url: str | None,
    qr: bool | None,
    address: str | None,
) -> None:
    """Serve the bench and the desk, on this machine only unless --host says otherwise."""
    from argentry.desk.house import book_of_studio
    from argentry.web import run
    from argentry.web.app import create_app
    from argentry.web.settings import Settings, check_names, with_port

    settings = Settings(
        host=host,
        port=port,
        tls=tls,
        names=tuple(name.strip().lower() for name in names),
        trust_this_machine=not pair_all,
        plan_ahead=True,
    )
    check_names(settings)
    studio_dir = studio_needed("argentry serve", studio_path(ctx))
    book = book_of_studio(studio_dir, address)
    with ExitStack() as at_end:
        at_end.callback(book.engine.dispose)
        listening = at_end.enter_context(run.bind(settings))
        settings = with_port(settings, listening.getsockname()[1])
        keys = _keys(studio_dir, settings)
        app = create_app(
            studio_dir,
            book,
            settings=settings,
            show_code=lambda code: click.echo(
                "Pairing code {code}, valid for ten minutes.".format(code=code)
            ),
            say=click.echo,
        )
        if mqtt_url is not None:
            at_end.callback(_feed(mqtt_url, app).stop)
        _say_where(app, settings, keys, qr)
        run.serve(app, listening, keys, studio_dir / "server.log")
    click.echo("Stopped. Every acknowledged event is in the book.")


def _keys(studio_dir: Path, settings: Any) -> Any:
    if not settings.tls:
        return None
    from argentry.web.settings import certified_names
    from argentry.web.tls.authority import certificates

    names, today = certified_names(settings)
    return certificates(studio_dir, names, today)


def _feed(url: str, app: Any) -> Any:
    from argentry.desk.readings.at_house import sensor_sink
    from argentry.feed.mqtt import start_mqtt

    sink = sensor_sink(app.state.house, app.state.broadcast.ring_soon)
    return start_mqtt(url, sink, say=click.echo)


def _say_where(app: Any, settings: Any, keys: Any, qr: bool | None) -> None:
    """Say the addresses, what to do on a tablet, and the first pairing code."""
    from argentry.web.settings import addresses as addresses_of
    from argentry.web.settings import is_loopback

    addresses = addresses_of(settings)
    click.echo(
        "argentry serves {name} at {addresses}".format(
            name=app.state.house.studio.name, addresses=addresses[0]
        )
    )
    for address in addresses[1:]:
        click.echo("  also at {address}".format(address=address))
    if keys is not None:
        new = "Made" if keys.made_authority else "Using"
        click.echo("{new} the studio's own authority. Once on each tablet:".format(new=new))
        click.echo(f"  1. open {addresses[-1]}/ca.crt, accept the warning this one time;")
        click.echo("  2. install the file as a trusted certificate (authority) in its settings;")
        click.echo("  3. compare its SHA-256 fingerprint:")
        click.echo(f"     {keys.fingerprint}")
    on_network = not is_loopback(settings.host)
    if on_network or settings.names or not settings.trust_this_machine:
        click.echo("Each device is paired once, with the code shown here:")
        app.state.pairing.new_code(by_host=True)
        if on_network and not settings.tls:
            click.echo(
                "Over plain HTTP anyone on the same network can read the traffic: see "
                "docs/security.md"
            )
        if qr or (qr is None and sys.stdout.isatty()):
            import segno

            segno.make(f"{addresses[-1]}/pair", micro=False).terminal(compact=True)
    keeper = app.state.keeper
    for words in (keeper.compare_clocks(), keeper.look_at_disk()):
        if words:
            click.secho(words, fg="red")
    click.echo("Stop with Ctrl-C.")
