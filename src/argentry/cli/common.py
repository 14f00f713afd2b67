"""What every command shares: the studio and JSON options, time reading, printing."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from argentry.errors import BadInput
from argentry.records.plain import plain

if TYPE_CHECKING:
    from collections.abc import Callable

    from rich.console import Console

json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of a table.")


def _remember_studio(ctx: click.Context, _param: click.Parameter, value: str | None) -> None:
    if value is not None:
        ctx.ensure_object(dict)["studio_dir"] = value


studio_option: Callable[[Any], Any] = click.option(
    "--studio",
    metavar="DIR",
    expose_value=False,
    callback=_remember_studio,
    help="The studio folder (default: the current folder, when it holds a studio.toml).",
)


def studio_path(ctx: click.Context) -> Path | None:
    """Return the studio folder named on the command line, else the current one, else None."""
    named = (ctx.obj or {}).get("studio_dir")
    if named:
        from argentry.desk.studio import studio_folder

        return studio_folder(Path(named))
    return Path() if Path("studio.toml").is_file() else None


def emit_json(answer: object) -> None:
    """Print an answer as one JSON object; numbers that are not finite become null."""
    click.echo(json.dumps(plain(answer), ensure_ascii=False, indent=2, allow_nan=False))


def console(*, stderr: bool = False) -> Console:
    """Return the terminal to print on (rich is imported here, not at start)."""
    from rich.console import Console

    return Console(highlight=False, stderr=stderr)


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
    """Read an ISO 8601 date; None when there is none.

    Raises
    ------
    BadInput
        If the text is not an ISO 8601 date.
    """
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            where, "{text!r} is not a date", "write it as 2026-06-21", text=text[:40]
        ) from None


def read_date(where: str, text: str, time_zone: str) -> date:
    """Read an ISO 8601 date, or the words today and tomorrow in a time zone.

    Raises
    ------
    BadInput
        If the text is not an ISO 8601 date.
    """
    if text in ("today", "tomorrow"):
        today = datetime.now(ZoneInfo(time_zone)).date()
        return today if text == "today" else date.fromordinal(today.toordinal() + 1)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(
            where, "{text!r} is not a date", "write it as 2026-06-21", text=text
        ) from None
