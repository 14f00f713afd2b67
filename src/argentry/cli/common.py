"""What every command shares: the studio and JSON options, time reading, printing."""

from __future__ import annotations

import json
import sys
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from argentry.cli.narrow import in_lines
from argentry.errors import BadInput, of_unicode
from argentry.records.plain import plain
from argentry.records.units import Units, changes, read, told

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator, Mapping

    from rich.console import Console, ConsoleOptions, RenderableType
    from rich.segment import Segment
    from rich.table import Table
    from rich.text import Text

    from argentry.keeping.house_clock import ClockCheck

BASIS_SAID = {"seed": "starting value", "recalled": "from memory"}  # else as the data name it

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of a table.")


def as_one_paper(_ctx: click.Context, _param: click.Parameter, paper: str) -> str:
    """Return the name that sheets know a paper by; ``letter`` is ``us-letter``."""
    return "us-letter" if paper == "letter" else paper


paper_option = click.option(
    "--paper",
    type=click.Choice(["a4", "letter", "us-letter"]),
    default="a4",
    show_default=True,
    callback=as_one_paper,
    help="Paper.",
)


def _remember_studio(ctx: click.Context, _param: click.Parameter, value: str | None) -> None:
    if value is not None:
        ctx.ensure_object(dict)["studio_dir"] = value


studio_option: Callable[[Any], Any] = click.option(
    "--studio",
    metavar="DIR",
    expose_value=False,
    is_eager=True,  # it says in which unit a bare number of the others is meant
    callback=_remember_studio,
    help="The studio folder (default: the current folder, when it holds a studio.toml).",
)


book_option: Callable[[Any], Any] = click.option(
    "--book",
    "address",
    metavar="ADDRESS",
    envvar="ARGENTRY_BOOK",
    help="A PostgreSQL book shared by several benches, as postgresql+psycopg://user@host/name "
    "(default: book.sqlite in the studio folder).",
)


@dataclass(frozen=True)
class BookCall:
    """Where a command was told to look, and how to print.

    Attributes
    ----------
    folder : Path or None
        The studio folder.
    address : str or None
        Address of a book outside it.
    as_json : bool
        True when the answer is printed as JSON.
    """

    folder: Path | None
    address: str | None
    as_json: bool

    def emitted(self, answer: object) -> bool:
        """Print an answer as JSON if that was asked for; return whether it was."""
        return emitted(answer, self.as_json)


def of_book(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add --studio, --book and --json, handed to the command as a `BookCall`."""

    @wraps(command)
    def run(address: str | None, *, as_json: bool, **given: Any) -> None:
        command(BookCall(studio_path(click.get_current_context()), address, as_json), **given)

    made: Callable[..., Any] = studio_option(book_option(json_option(run)))
    return made


def studio_path(ctx: click.Context) -> Path | None:
    """Return the studio folder named on the command line, else the current one, else None."""
    named = (ctx.obj or {}).get("studio_dir")
    if named:
        from argentry.keeping.studio import studio_folder

        return studio_folder(Path(named))
    return Path() if Path("studio.toml").is_file() else None


ALONE, WITH_ANOTHER = "it changes nothing by itself", "add {others}, or leave it out"


def used_with(needed: Mapping[str, Collection[str]]) -> None:
    """Refuse an option that was given without any of those with which it changes something.

    Parameters
    ----------
    needed : Mapping[str, Collection[str]]
        Name of an option of this command, to the names of the others.
    """
    ctx = click.get_current_context()
    spelt = {one.name or "": max(one.opts, key=len) for one in ctx.command.params}
    given = given_options(ctx)
    for name, others in needed.items():
        if name in given and given.isdisjoint(others):
            right = " or ".join(spelt[other] for other in others)
            raise BadInput(spelt[name], ALONE, WITH_ANOTHER, others=right)


def given_options(ctx: click.Context) -> set[str]:
    """Return the names of a command's options that were given, and not left to their defaults."""
    return {
        name
        for name in ctx.params
        if ctx.get_parameter_source(name) is not click.core.ParameterSource.DEFAULT
    }


def studio_needed(where: str, folder: Path | None) -> Path:
    """Return the studio folder."""
    if folder is None:
        raise BadInput(
            where,
            "there is no studio here",
            "name one with --studio DIR, or make one with: argentry studio new DIR",
        )
    return folder


def emit_json(answer: object) -> None:
    """Print an answer as one JSON object; numbers that are not finite become null."""
    as_ascii = not of_unicode(sys.stdout)  # JSON has a form of its own for every sign
    click.echo(json.dumps(plain(answer), ensure_ascii=as_ascii, indent=2, allow_nan=False))


def emitted(answer: object, as_json: bool) -> bool:
    """Print an answer as JSON if that was asked for; return whether it was."""
    if as_json:
        emit_json(answer)
    return as_json


def console(*, stderr: bool = False) -> Console:
    """Return the terminal to print on: what is printed stands in the studio's units.

    Rich is imported here, not at start.
    """
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    units = units_here()

    class Fitting(Console):
        def render(
            self, renderable: RenderableType, options: ConsoleOptions | None = None
        ) -> Iterable[Segment]:
            if isinstance(renderable, Table):
                renderable = in_lines(renderable, self, (options or self.options).max_width)
            return super().render(renderable, options)

    class InUnits(Fitting):
        def render_str(self, text: str, **more: Any) -> Text:
            return super().render_str(told(text, units), **more)

        def render(
            self, renderable: RenderableType, options: ConsoleOptions | None = None
        ) -> Iterable[Segment]:
            if isinstance(renderable, Text):
                end, said = 0, renderable[:0]
                for start, stop, new in changes(renderable.plain, units):
                    said += renderable[end:start]
                    said += Text(new, renderable.get_style_at_offset(self, start))
                    end = stop
                renderable = said + renderable[end:] if end else renderable
            return super().render(renderable, options)

    return (Fitting if units.as_written else InUnits)(highlight=False, stderr=stderr)


@contextmanager
def working(words: str) -> Iterator[Callable[[str], None]]:
    """Say at the foot of the screen what is being worked on; yields what says something else.

    Nobody sees it where standard error is no terminal: then Rich is not even loaded.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    with console(stderr=True).status(words) as status:
        yield status.update


def table(*heads: str, right: Collection[str] = (), tight: bool = False) -> Table:
    """Return an empty table with these heads; without any its rows are what, and how much.

    Parameters
    ----------
    *heads : str
        Of its columns.
    right : collection of str
        Heads of columns of numbers.
    tight : bool
        True for little room between columns.
    """
    from rich import box
    from rich.table import Column, Table

    columns = [Column(one, justify="right" if one in right else "left") for one in heads]
    return Table(
        *columns, box=box.SIMPLE, show_header=bool(heads), pad_edge=False, collapse_padding=tight
    )


def said_basis(basis: str) -> str:
    """Return how a value is known, in the words of a screen."""
    return BASIS_SAID.get(basis, basis)


def say(words: str) -> None:
    """Print a line, its quantities in the studio's units."""
    click.echo(told(words, units_here()))


def say_clock(found: ClockCheck) -> None:
    """Say in red when the book's newest event lies minutes ahead of this machine's clock."""
    if found.words:
        click.secho(found.words, fg="red", err=True)


def units_here() -> Units:
    """Return how the studio of this call likes its units; the usual ones without a studio."""
    ctx = click.get_current_context(silent=True)
    path = None if ctx is None else studio_path(ctx)
    if path is None:
        return Units()
    from argentry.keeping.studio import load_studio

    try:
        return load_studio(path).units
    except BadInput:  # the command itself says what is wrong with the studio
        return Units()


class Typed(click.ParamType[float]):
    """A temperature or length as the maker types it: in the studio's unit, or with its own."""

    def __init__(self, unit: str, *, named: bool = False) -> None:
        self.unit, self.named = unit, named
        self.name = "number" if named else "temperature"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number in the unit that the command takes."""
        del ctx
        where = max(param.opts, key=len) if param is not None else "the value"
        return read(where, str(value), self.unit, units_here(), named=self.named)


CELSIUS, MM, METRES = Typed("°C"), Typed("mm", named=True), Typed("m", named=True)


def read_time(where: str, text: str) -> datetime:
    """Read an ISO 8601 time; without an offset it is returned naive, for the studio's own zone.

    Raises
    ------
    BadInput
        If the text is not an ISO 8601 time.
    """
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(
            where,
            "{text!r} is not a time",
            "write it as 2026-06-21T13:20 or 2026-06-21T13:20+02:00",
            text=text,
        ) from None


def read_day(where: str, text: str | None) -> date | None:
    """Read an ISO 8601 date; None when there is none."""
    return None if text is None else _iso_date(where, text)


def _iso_date(where: str, text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        right = "write it as 2026-06-21"
        raise BadInput(where, "{text!r} is not a date", right, text=text) from None


def read_date(where: str, text: str, time_zone: str) -> date:
    """Read an ISO 8601 date, or the words today and tomorrow in a time zone."""
    if text in ("today", "tomorrow"):
        today = datetime.now(ZoneInfo(time_zone)).date()
        return today if text == "today" else date.fromordinal(today.toordinal() + 1)
    return _iso_date(where, text)


# What a file that argentry wrote has in it, by its option; another is not written over.
OWN_MARKS = {"--pdf": b"/Keywords(argentry)", "--ics": b"PRODID:-//argentry//"}
LARGEST_OWN_BYTES = 64 * 2**20


def writable(option: str, name: str | None, mark: bytes = b"") -> Path | None:
    """Return the file an option names, refused where it may not be written; None without one.

    Parameters
    ----------
    option : str
        Its name.
    name : str or None
        The file.
    mark : bytes
        What a file of that kind has in it; empty: that of `OWN_MARKS`.

    Raises
    ------
    BadInput
        If it is a folder, lies in none, or is there already and was not written by argentry.
    """
    if name is None:
        return None
    target = Path(name)
    if target.is_dir():
        raise BadInput(option, "{name} is a folder", "name a file in it", name=name)
    if target.exists() and not target.is_file():
        raise BadInput(option, "{name} is not a plain file", "name another", name=name)
    if not target.absolute().parent.is_dir():
        raise BadInput(option, "there is no folder {parent}", "make it first", parent=target.parent)
    own = mark or OWN_MARKS.get(option, b"")
    if own and target.exists() and not _is_own(target, own):
        raise BadInput(
            option,
            "{name} is there already and was not written by argentry",
            "name another file, or move it away",
            name=name,
        )
    return target


def _is_own(file: Path, mark: bytes) -> bool:
    """Tell whether a file is empty or has what argentry writes into one of its kind."""
    size = file.stat().st_size
    return not size or (size <= LARGEST_OWN_BYTES and mark in file.read_bytes())
