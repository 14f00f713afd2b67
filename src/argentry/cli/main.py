"""The command line: names every command, imports one only when it is called."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING

import click

from argentry import __version__
from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Sequence

# name: (module:attribute, one line for --help). Kept here so that --help imports nothing heavy.
COMMANDS: dict[str, tuple[str, str]] = {
    "day": ("argentry.cli.day:day", "Plan a day: steps, latest safe starts, odds, sheet."),
    "light": ("argentry.cli.light:light", "Exposure and development light at a place and time."),
    "coat": ("argentry.cli.coat:coat", "Colour of a coat from its thickness, and back."),
    "fume": ("argentry.cli.fume:fume", "Seconds over iodine to a wanted thickness."),
    "expose": ("argentry.cli.expose:expose", "Minutes before the camera, and how still to sit."),
    "develop": ("argentry.cli.develop:develop", "When a plate is ripe under the red filter."),
    "air": ("argentry.cli.air:air", "Dew point and whether the plate must be warmed."),
    "recipe": (
        "argentry.cli.recipe:recipe",
        "Amounts of a bath, and what must never be mixed.",
    ),
    "studio": ("argentry.cli.studio:studio", "Make or check a studio folder."),
    "bench": ("argentry.cli.bench:bench", "Run plates at the bench, in this terminal."),
    "plate": ("argentry.cli.plate:plate", "Plates: new, list, show, work, grade, defect."),
    "reading": ("argentry.cli.reading:reading", "Note a reading by hand."),
    "bath": ("argentry.cli.bath:bath", "Baths: new, use, list, discard."),
    "stock": ("argentry.cli.stock:stock", "Stock: new, use, list; for how many plates it will do."),
    "book": ("argentry.cli.book:book", "The book: check, backup, restore, export, import."),
    "odds": ("argentry.cli.odds:odds", "Odds of a plate: continue, redo, stop or check."),
    "why": ("argentry.cli.why:why", "What most likely went wrong, and the check to make first."),
    "next": ("argentry.cli.next_:next_", "What to change on the next plate, and what it teaches."),
    "need": ("argentry.cli.need:need", "Plates to begin for so many good ones by a day."),
    "learn": ("argentry.cli.learn:learn", "What the plates have taught, beside what was believed."),
    "serve": ("argentry.cli.serve:serve", "Serve the bench and the desk to tablets and browsers."),
    "device": ("argentry.cli.device:device", "Who was let in: list, shut out, a sensor's token."),
    "demo": ("argentry.cli.demo:demo", "Write an invented studio with an invented year of plates."),
}


class LazyGroup(click.Group):
    """A group whose commands are imported when called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the command names in the order of a maker's day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import and return one command, or None when there is no such command."""
        if cmd_name not in COMMANDS:
            return None
        module, attribute = COMMANDS[cmd_name][0].split(":")
        command: click.Command = getattr(import_module(module), attribute)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the list of commands without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="argentry")
@click.option(
    "--studio",
    "studio_dir",
    metavar="DIR",
    envvar="ARGENTRY_STUDIO",
    help="The studio folder (default: the current folder, when it holds a studio.toml).",
)
@click.pass_context
def cli(ctx: click.Context, studio_dir: str | None) -> None:
    """Plan, time and judge iodine-only daguerreotypes."""
    ctx.obj = {"studio_dir": studio_dir}


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; bad input ends in one sentence and exit code 2."""
    try:
        code = cli.main(args=arguments, prog_name="argentry", standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(130)
    except click.ClickException as error:
        message = " ".join(error.format_message().split())
        where = getattr(getattr(error, "ctx", None), "command_path", "argentry")
        click.echo(f"{where}: {message.rstrip('.')} (see {where} --help).", err=True)
        sys.exit(2)
    except ArgentryError as error:
        click.echo(f"argentry: {error}", err=True)
        sys.exit(2)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    sys.exit(code if isinstance(code, int) else 0)
