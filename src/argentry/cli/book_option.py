"""The option that names a book outside the studio folder."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Callable

book_option: Callable[[Any], Any] = click.option(
    "--book",
    "address",
    metavar="ADDRESS",
    envvar="ARGENTRY_BOOK",
    help="A PostgreSQL book shared by several benches, as postgresql+psycopg://user@host/name "
    "(default: book.sqlite in the studio folder).",
)
