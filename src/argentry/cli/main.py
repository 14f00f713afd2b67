"""The command line: names every command, imports one only when it is called."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Sequence
from typing import Any

import click

from argentry.errors import UNSAFE, ArgentryError, BadInput, harmless, of_unicode, unsafe_sign
from argentry.version import VERSION

ARGUMENT, LONGEST_SHOWN = "argument {number}", 100
# what a shell leaves of a variable that is not set: without this it would count as not given
EMPTY, NOT_EMPTY = "it is empty", "give a value, or leave it out"
# what click says of a value, and what a maker is told
VALUES = (
    (r"is not a valid float", "is not a number; give one such as 25 or 2.5"),
    (r"is not a valid integer( range)?", "is not a whole number; give one such as 2"),
    (r"is not in the range (\d+)<=x<=(\d+)", r"is out of range; give a number from \1 to \2"),
)
# Kept here so that --help imports no command.
NOBODY_ANSWERS = (
    "argentry: a question was asked and nobody answered; add --yes, or ask on a terminal."
)
COMMANDS = {
    "day": "Plan a day: steps, latest safe starts, odds, sheet.",
    "season": "A season: odds by day and hour, best weeks, places compared.",
    "weather": "Weather by itself: agree to a service, fetch, show.",
    "light": "Exposure and development light at a place and time.",
    "coat": "Colour of a coat from its thickness, and back.",
    "judge": "What a photograph of a coat, a step wedge or a plate says.",
    "fume": "Seconds over iodine for a wanted thickness.",
    "expose": "Minutes before the camera, and how still to sit.",
    "develop": "When a plate is ripe under the red filter.",
    "air": "Dew point, and whether the plate must be warmed.",
    "recipe": "Amounts of a bath, and what must never be mixed.",
    "mix": "Solutions for your plates, dilutions, grains and pints.",
    "plating": "Silver by current and weighing; what is left on each plate.",
    "water": "What a reading of water means for each use.",
    "studio": "Make or check a studio folder.",
    "bench": "Run plates at the bench, in this terminal.",
    "plate": "Plates: new, list, show, work, grade, defect, picture.",
    "reading": "Note a reading by hand.",
    "bath": "Baths: new, use, list, discard.",
    "stock": "Stock: new, use, weigh, note, list, and what to order.",
    "safety": "Safety of materials: show, room, day.",
    "waste": "Waste: what was made, what it holds, its collection.",
    "cost": "What a plate costs, and what one failure less would save.",
    "label": "Labels and sheets to print: bottles, plates, the wall, condition.",
    "book": "The book: check, backup, restore, export, import.",
    "odds": "Odds of a plate: continue, redo, stop or check.",
    "why": "What most likely went wrong, and the check to make first.",
    "next": "What to change on the next plate, and what it teaches.",
    "need": "How many plates to start so that enough are good by a date.",
    "learn": "What your plates have taught, next to the starting values.",
    "serve": "Serve the bench and the desk to tablets and browsers.",
    "device": "Paired devices: list, revoke, make a token for a sensor.",
    "demo": "Write an invented studio with an invented year of plates.",
}


def _command(name: str) -> click.Command:  # noqa: PLR0911
    """Import one command, and nothing else."""
    match name:
        case "day":
            from argentry.cli.planning.day import day

            return day
        case "season":
            from argentry.cli.planning.season import season

            return season
        case "weather":
            from argentry.cli.planning.weather import weather

            return weather
        case "light":
            from argentry.cli.planning.light import light

            return light
        case "coat":
            from argentry.cli.work.coat import coat

            return coat
        case "judge":
            from argentry.cli.seeing.judge import judge

            return judge
        case "fume":
            from argentry.cli.work.fume import fume

            return fume
        case "expose":
            from argentry.cli.work.expose import expose

            return expose
        case "develop":
            from argentry.cli.work.develop import develop

            return develop
        case "air":
            from argentry.cli.work.air import air

            return air
        case "recipe":
            from argentry.cli.materials.recipe import recipe

            return recipe
        case "mix":
            from argentry.cli.materials.mix import mix

            return mix
        case "plating":
            from argentry.cli.work.plating import plating

            return plating
        case "water":
            from argentry.cli.materials.water import water

            return water
        case "studio":
            from argentry.cli.studio.studio import studio

            return studio
        case "bench":
            from argentry.cli.bench.bench import bench

            return bench
        case "plate":
            from argentry.cli.plates.plate import plate

            return plate
        case "reading":
            from argentry.cli.plates.reading import reading

            return reading
        case "bath":
            from argentry.cli.materials.bath import bath

            return bath
        case "stock":
            from argentry.cli.materials.stock import stock

            return stock
        case "safety":
            from argentry.cli.materials.safety import safety

            return safety
        case "waste":
            from argentry.cli.materials.waste import waste

            return waste
        case "cost":
            from argentry.cli.materials.cost import cost

            return cost
        case "label":
            from argentry.cli.plates.label import label

            return label
        case "book":
            from argentry.cli.plates.book import book

            return book
        case "odds":
            from argentry.cli.learning.odds import odds

            return odds
        case "why":
            from argentry.cli.learning.why import why

            return why
        case "next":
            from argentry.cli.learning.next_ import next_

            return next_
        case "need":
            from argentry.cli.planning.need import need

            return need
        case "learn":
            from argentry.cli.learning.learn import learn

            return learn
        case "serve":
            from argentry.cli.bench.serve import serve

            return serve
        case "device":
            from argentry.cli.bench.device import device

            return device
        case "demo":
            from argentry.cli.studio.demo import demo

            return demo
    raise KeyError(name)


class LazyGroup(click.Group):
    """A group whose commands are imported when called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Return the command names in the order of a maker's day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import and return one command, or None when there is no such command."""
        return _command(cmd_name) if cmd_name in COMMANDS else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        """Write the list of commands without importing any of them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


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
    """Refuse an argument that is empty or that a terminal could not show as it is.

    Raises
    ------
    BadInput
        With its place and the sign.
    """
    for number, given in enumerate(arguments, 1):
        sign = unsafe_sign(given)
        name, is_set, value = given.partition("=")
        if not given or (name.startswith("--") and is_set and not value):
            raise BadInput(name or ARGUMENT.format(number=number), EMPTY, NOT_EMPTY)
        if sign is not None:
            what, right = UNSAFE
            raise BadInput(ARGUMENT.format(number=number), what, right, sign=sign)


def _of_the_machine(error: OSError | MemoryError) -> BadInput:
    if isinstance(error, MemoryError):
        return BadInput("this machine", "its memory is not enough for this", "give it less at once")
    name = str(error.filename or "a file")[:LONGEST_SHOWN]
    right = "name a file that can be used, or make room"
    return BadInput(name, "it cannot be used ({why})", right, why=error.strerror or error)


def _written_as_can_be(*streams: Any) -> None:
    """Have a sign that a terminal or file of another encoding lacks written as "?"."""
    for stream in streams:
        if hasattr(stream, "reconfigure") and not of_unicode(stream):
            stream.reconfigure(errors="replace")


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; bad input ends in one sentence and exit code 2."""
    # read when numpy is first loaded: threads wait for each other longer than small matrices take
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    _written_as_can_be(sys.stdout, sys.stderr)
    try:
        _check_arguments(sys.argv[1:] if arguments is None else arguments)
        code = cli.main(args=arguments, prog_name="argentry", standalone_mode=False)
    except click.exceptions.Abort as stop:
        if isinstance(stop.__context__, KeyboardInterrupt):
            sys.exit(130)
        if sys.stdin is None or sys.stdin.closed or not sys.stdin.isatty():
            click.echo(NOBODY_ANSWERS, err=True)  # a question met the end of its input
            sys.exit(2)
        sys.exit(130)
    except click.exceptions.NoArgsIsHelpError as error:  # a group alone: its commands, as lines
        click.echo(error.format_message(), err=True)
        sys.exit(2)
    except click.ClickException as error:
        message = harmless(" ".join(error.format_message().split()))
        for by_click, ours in VALUES:
            message = re.sub(by_click, ours, message)
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
