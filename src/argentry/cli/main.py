"""The command line: names every command, imports one only when it is called."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module

import click

from argentry.errors import UNSAFE, ArgentryError, BadInput, harmless, unsafe_sign
from argentry.version import VERSION

ARGUMENT, LONGEST_SHOWN = "argument {number}", 100
# Where each command stands, and its line of help: kept here so that --help imports no command.
COMMANDS = {
    "day": ("planning.day", "Plan a day: steps, latest safe starts, odds, sheet."),
    "season": ("planning.season", "A season: odds by day and hour, best weeks, places compared."),
    "weather": ("planning.weather", "Weather by itself: agree to a service, fetch, show."),
    "light": ("planning.light", "Exposure and development light at a place and time."),
    "coat": ("work.coat", "Colour of a coat from its thickness, and back."),
    "judge": ("seeing.judge", "What a photograph of a coat, a step wedge or a plate says."),
    "fume": ("work.fume", "Seconds over iodine for a wanted thickness."),
    "expose": ("work.expose", "Minutes before the camera, and how still to sit."),
    "develop": ("work.develop", "When a plate is ripe under the red filter."),
    "air": ("work.air", "Dew point, and whether the plate must be warmed."),
    "recipe": ("materials.recipe", "Amounts of a bath, and what must never be mixed."),
    "mix": ("materials.mix", "Solutions for your plates, dilutions, grains and pints."),
    "plating": ("work.plating", "Silver by current and weighing; what is left on each plate."),
    "water": ("materials.water", "What a reading of water means for each use."),
    "studio": ("studio.studio", "Make or check a studio folder."),
    "bench": ("bench.bench", "Run plates at the bench, in this terminal."),
    "plate": ("plates.plate", "Plates: new, list, show, work, grade, defect, picture."),
    "reading": ("plates.reading", "Note a reading by hand."),
    "bath": ("materials.bath", "Baths: new, use, list, discard."),
    "stock": ("materials.stock", "Stock: new, use, weigh, note, list, and what to order."),
    "safety": ("materials.safety", "Safety of materials: show, room, day."),
    "waste": ("materials.waste", "Waste: what was made, what it holds, its collection."),
    "cost": ("materials.cost", "What a plate costs, and what one failure less would save."),
    "label": ("plates.label", "Labels and sheets to print: bottles, plates, sleeves, condition."),
    "book": ("plates.book", "The book: check, backup, restore, export, import."),
    "odds": ("learning.odds", "Odds of a plate: continue, redo, stop or check."),
    "why": ("learning.why", "What most likely went wrong, and the check to make first."),
    "next": ("learning.next_", "What to change on the next plate, and what it teaches."),
    "need": ("planning.need", "How many plates to start so that enough are good by a date."),
    "learn": ("learning.learn", "What your plates have taught, next to the starting values."),
    "serve": ("bench.serve", "Serve the bench and the desk to tablets and browsers."),
    "device": ("bench.device", "Paired devices: list, revoke, make a token for a sensor."),
    "demo": ("studio.demo", "Write an invented studio with an invented year of plates."),
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
        place = COMMANDS[cmd_name][0]
        made: click.Command = getattr(import_module(f"argentry.cli.{place}"), place.split(".")[-1])
        return made

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the list of commands without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, words) in COMMANDS.items()])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(VERSION, prog_name="argentry")
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


def _check_arguments(arguments: Sequence[str]) -> None:
    """Refuse an argument that a terminal could not show as it is.

    Raises
    ------
    BadInput
        With its place and the sign.
    """
    for number, given in enumerate(arguments, 1):
        sign = unsafe_sign(given)
        if sign is not None:
            what, right = UNSAFE
            raise BadInput(ARGUMENT.format(number=number), what, right, sign=sign)


def _of_the_machine(error: OSError | MemoryError) -> BadInput:
    if isinstance(error, MemoryError):
        return BadInput("this machine", "its memory is not enough for this", "give it less at once")
    name = str(error.filename or "a file")[:LONGEST_SHOWN]
    right = "name a file that can be used, or make room"
    return BadInput(name, "it cannot be used ({why})", right, why=error.strerror or error)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; bad input ends in one sentence and exit code 2."""
    # read when numpy is first loaded: threads wait for each other longer than small matrices take
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        _check_arguments(sys.argv[1:] if arguments is None else arguments)
        code = cli.main(args=arguments, prog_name="argentry", standalone_mode=False)
    except click.exceptions.Abort:
        sys.exit(130)
    except click.exceptions.NoArgsIsHelpError as error:  # a group alone: its commands, as lines
        click.echo(error.format_message(), err=True)
        sys.exit(2)
    except click.ClickException as error:
        message = harmless(" ".join(error.format_message().split()))
        where = getattr(getattr(error, "ctx", None), "command_path", "argentry")
        click.echo(
            "{where}: {message} (see {where} --help).".format(
                where=where, message=message.rstrip(".")
            ),
            err=True,
        )
        sys.exit(2)
    except ArgentryError as error:
        click.echo(f"argentry: {harmless(str(error))}", err=True)
        sys.exit(2)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(1)
    except (OSError, MemoryError) as error:  # a file or the machine, not a mistake of ours
        click.echo(f"argentry: {_of_the_machine(error)}", err=True)
        sys.exit(2)
    sys.exit(code if isinstance(code, int) else 0)
