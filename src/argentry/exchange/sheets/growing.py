"""A CSV table that grows row by row and survives a kill: what was cut short is taken off."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Self

from argentry.errors import BadInput
from argentry.exchange.sheets.tame import csv_line, untame
from argentry.files import MEGABYTE, read_file

MOST_BYTES = 256 * MEGABYTE
ANOTHER, NAME_ANOTHER = "it is a table of another form", "name a new file"
NOT_TEXT = "it is not a table in UTF-8"
IN_USE, WAIT = "another program is adding rows to it", "wait for it, or name a new file"
CANNOT_WRITE, FREE_SPACE = "it cannot be written ({why})", "name another place"


class GrowingTable:
    """A table of one form, held by this program alone while it is open.

    Each row is on the disk before `add` returns. A last line without its end, left by a kill, is
    taken off when the table is opened again; all others stay as they are.

    Parameters
    ----------
    path : Path
        The file; made when it is not there.
    head : sequence of str
        Its columns.

    Raises
    ------
    BadInput
        If it is a table of another form, is in use, or cannot be written.
    """

    def __init__(self, path: Path, head: Sequence[str]) -> None:
        self.path = path
        try:
            self._handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o666)
        except OSError as error:
            raise self._refused(error) from None
        try:
            self._hold()
            self.rows = self._read(head)
        except BaseException:
            os.close(self._handle)
            raise

    def add(self, values: Iterable[Any]) -> None:
        """Add a row; it is on the disk when this returns.

        Raises
        ------
        BadInput
            If it cannot be written.
        """
        try:
            self._write(csv_line(values).encode())
        except OSError as error:
            raise self._refused(error) from None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        os.close(self._handle)

    def _read(self, head: Sequence[str]) -> tuple[dict[str, str], ...]:
        """Return the rows that are whole, and take off what is not."""
        first, name = csv_line(head), self.path.name
        content = read_file(self.path, MOST_BYTES, NAME_ANOTHER)
        whole = content[: content.rfind(b"\n") + 1]
        try:
            text = whole.decode()
            rows = list(csv.reader(io.StringIO(text, newline="")))[1:]
        except (UnicodeDecodeError, csv.Error):
            raise BadInput(name, NOT_TEXT, NAME_ANOTHER) from None
        begun = text.startswith(first) if whole else first.encode().startswith(content)
        if not begun or any(len(row) != len(head) for row in rows):
            raise BadInput(name, ANOTHER, NAME_ANOTHER)
        try:
            os.ftruncate(self._handle, len(whole))
            if not whole:
                self._write(first.encode())
        except OSError as error:
            raise self._refused(error) from None
        return tuple(dict(zip(head, map(untame, row), strict=True)) for row in rows)

    def _write(self, line: bytes) -> None:
        while line:
            line = line[os.write(self._handle, line) :]
        os.fsync(self._handle)

    def _hold(self) -> None:
        try:
            import fcntl
        except ModuleNotFoundError:
            return
        try:
            fcntl.flock(self._handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise BadInput(self.path.name, IN_USE, WAIT) from None

    def _refused(self, error: OSError) -> BadInput:
        why = error.strerror or str(error)
        return BadInput(str(self.path), CANNOT_WRITE, FREE_SPACE, why=why)
