"""Files that a maker names, read when plain and of a sane size; files written whole or not."""

from __future__ import annotations

import json
import os
import re
import stat
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import get_ident
from typing import Any

from argentry.errors import BadInput

MEGABYTE = 1 << 20
TOML_BYTES = MEGABYTE
NOT_WRITTEN = "it cannot be written ({why})"
DEEPEST = 32  # levels of a TOML file, and parts of a key; a studio file has three
_STRINGS = re.compile(
    r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_LONG_KEY = re.compile(rf"(?:[A-Za-z0-9_-]+\s*\.\s*){{{DEEPEST}}}")
_AT_LINE = re.compile(r"\(at line ([0-9]{1,7}), column [0-9]+\)")
LINE_SHOWN = 80  # letters of a line that cannot be read
_BRACKET = re.compile(r"[\[\]{}]")


def read_file(path: Path, most: int, right: str) -> bytes:
    """Return a file's content when it is no longer than `most`.

    A device or a pipe is not opened: it might never end, or never begin.

    Parameters
    ----------
    path : Path
        The file.
    most : int
        Longest content. [bytes]
    right : str
        What would be right, for the sentence.

    Raises
    ------
    BadInput
        If it is not a plain file, cannot be read, or is longer.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise BadInput(str(path), "this is not a plain file", right)
        with path.open("rb") as stream:
            data = stream.read(most + 1)
    except FileNotFoundError:
        raise BadInput(str(path), "there is no such file", right) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise BadInput(str(path), "it cannot be read ({why})", right, why=why) from None
    if len(data) > most:
        raise BadInput(
            path.name,
            "it is larger than {most} MB",
            "split it into several files",
            most=most // MEGABYTE,
        )
    return data


def write_whole(path: Path, text: str) -> None:
    """Put a text in the place of a file, whole or not at all; an OSError leaves what was there."""
    part = path.with_name(f".{path.name}.{os.getpid()}-{get_ident()}.part")
    try:
        part.write_text(text, encoding="utf-8", newline="\n")
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


@contextmanager
def refused_by_disk(where: Path, right: str, what: str = NOT_WRITTEN) -> Iterator[None]:
    """Tell the maker in one sentence what the disk refuses within.

    Parameters
    ----------
    where : Path
        The file or folder.
    right : str
        What would be right, for the sentence.
    what : str
        What is wrong; its place ``{why}`` takes the disk's reason.

    Raises
    ------
    BadInput
        In place of an OSError.
    """
    try:
        yield
    except OSError as error:
        raise BadInput(str(where), what, right, why=error.strerror or error) from None


def toml_of(where: str, data: bytes) -> Any:
    """Return the tables of a TOML file's content, in bounded time whatever it holds.

    Parameters
    ----------
    where : str
        Name of the file, for the sentence.
    data : bytes
        Its content.

    Raises
    ------
    BadInput
        If it is not UTF-8, not TOML, or nested deeper than any file of argentry's.
    """
    try:
        text = data.decode("utf-8-sig")
        if _too_deep(text):
            raise BadInput(
                where,
                "it is nested deeper than {deepest} levels",
                "write it as in the documentation",
                deepest=DEEPEST,
            )
        return tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise BadInput(
            where,
            "byte {number} is not UTF-8 text",
            "save it as UTF-8 in your editor",
            number=error.start + 1,
        ) from None
    except (ValueError, RecursionError) as error:  # a number may have too many digits
        line = _line_of(str(error), text)
        right = "correct the line: {line}" if line else "correct it there"
        raise BadInput(where, "this is not TOML: {error}", right, error=error, line=line) from None


def _line_of(error: str, text: str) -> str:
    """Return the line that an error of TOML names: on a phone no window numbers its lines."""
    at = _AT_LINE.search(error)
    lines = text.split("\n")
    return lines[int(at[1]) - 1].strip()[:LINE_SHOWN] if at and int(at[1]) <= len(lines) else ""


def toml_value(value: Any) -> str:
    """Return a text, a number, a yes or no, or a list of them as TOML writes it.

    Examples
    --------
    >>> toml_value("Größe"), toml_value(("a", 2)), toml_value(True)
    ('"Größe"', '["a", 2]', 'true')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):  # a JSON string is a TOML basic string, but for one sign
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, (list, tuple)):
        return "[{items}]".format(items=", ".join(map(toml_value, value)))
    return repr(value)


def read_toml(path: Path) -> Any:
    """Return the tables of a TOML file; see `read_file` and `toml_of`."""
    return toml_of(path.name, read_file(path, TOML_BYTES, "name a TOML file"))


def _too_deep(text: str) -> bool:
    bare = _STRINGS.sub('""', text)
    depth = deepest = 0
    for sign in _BRACKET.findall(bare):
        depth += 1 if sign in "[{" else -1
        deepest = max(deepest, depth)
    return deepest > DEEPEST or _LONG_KEY.search(bare) is not None
