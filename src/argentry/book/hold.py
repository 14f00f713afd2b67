"""Say that a book file is open, so that nobody puts another in its place meanwhile."""

from __future__ import annotations

import contextlib
import os
import weakref
from typing import TYPE_CHECKING

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sqlalchemy import Engine

FILE = "book.sqlite"  # in the studio's folder
NAME = ".book-open"
_held: weakref.WeakKeyDictionary[Engine, weakref.finalize[..., Engine]] = (
    weakref.WeakKeyDictionary()
)


def hold(engine: Engine, folder: Path) -> None:
    """Keep a shared mark on a folder's book as long as `engine` is in use.

    The system takes the mark away when the program ends, however it ends. Where it knows no such
    marks, or the folder may only be read, there is none.
    """
    handle = _mark(folder, alone=False)
    if handle is not None:
        _held[engine] = weakref.finalize(engine, os.close, handle)


def let_go(engine: Engine) -> None:
    """Take the mark of `engine` away."""
    finalizer = _held.pop(engine, None)
    if finalizer is not None:
        finalizer()


def hold_alone(folder: Path) -> Callable[[], None]:
    """Take a folder's book for this program alone and return what gives it back.

    Raises
    ------
    ArgentryError
        If another program has it open.
    """
    handle = _mark(folder, alone=True)
    return (lambda: None) if handle is None else (lambda: os.close(handle))


def _mark(folder: Path, *, alone: bool) -> int | None:
    try:
        import fcntl
    except ModuleNotFoundError:
        return None
    handle = None
    with contextlib.suppress(OSError):
        handle = os.open(folder / NAME, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
    if handle is None:
        return None
    try:
        fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        if not alone:
            raise ArgentryError(
                "{folder}: the book is just being restored; try again in a moment.".format(
                    folder=folder
                )
            ) from None
        raise ArgentryError(
            "{folder}: another program has the book open; stop it (argentry serve, argentry "
            "bench) and try again.".format(folder=folder)
        ) from None
    return handle
