"""``argentry demo``: write an invented studio with an invented year of plates."""

from __future__ import annotations

from pathlib import Path

import click

from argentry.cli.common import emit_json, json_option


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--replace", is_flag=True, help="Write it again over an earlier demo.")
@json_option
def demo(folder: Path, replace: bool, as_json: bool) -> None:
    """Write an invented studio, its year of plates and the truth behind them into DIR."""
    from argentry.demo.write import write_demo

    made = write_demo(folder, replace=replace)
    if as_json:
        emit_json(made)
        return
    grades = made["grades"]
    click.echo(
        f"Wrote an invented studio into {made['folder']}: {made['plates']} plates on "
        f"{made['sessions']} days, {grades['good'] + grades['fine']} of them good or fine."
    )
    click.echo("Place, people and plates are invented; truth.json says why each plate failed.")
    click.echo("Next:")
    for line in made["next"]:
        click.echo(f"  {line}")
