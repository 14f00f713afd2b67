"""``argentry demo``: write an invented studio with an invented year of plates."""

from __future__ import annotations

from pathlib import Path

import click

from argentry.cli.common import emitted, json_option

WROTE = """Wrote an invented studio into {d.folder}: {d.plates} plates on {d.sessions} days, \
{good} of them good or fine.
Place, people and plates are invented; truth.json says why each plate failed.
Next:"""


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--replace", is_flag=True, help="Replace an earlier demo.")
@json_option
def demo(folder: Path, replace: bool, as_json: bool) -> None:
    """Write an invented studio into DIR, with a year of plates and the truth behind them."""
    from argentry.demo.write import write_demo

    made = write_demo(folder, replace=replace)
    if emitted(made, as_json):
        return
    click.echo(WROTE.format(d=made, good=made.grades["good"] + made.grades["fine"]))
    for line in made.next:
        click.echo(f"  {line}")
