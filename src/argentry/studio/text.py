"""Write ``studio.toml`` with a comment to every key, and the page that lists the keys."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, datetime
from pathlib import Path
from textwrap import wrap
from typing import Any

from argentry.errors import BadInput
from argentry.files import refused_by_disk, toml_value, write_whole
from argentry.records.instruments import Spectrum
from argentry.records.studio import Studio
from argentry.studio.file import FILE, MANY
from argentry.studio.keys import Key, Section, section, sections

WIDTH = 96
VERSIONS = "studio-versions"
VERSION_NAME = "{time:%Y%m%dT%H%M%S%f}.toml"  # when it was written, UTC
MARK = "  # change me"
INTRO = """\
# A studio of argentry. Edit the values, then: argentry studio check DIR
# A line that begins with # is a note, or a value left out; take the # away to use it.
# Text stands in quotes, numbers do not; the decimal sign is a point.
"""


def studio_text(studio: Studio, change_me: Collection[str] = ()) -> str:
    """Return `studio` as a commented ``studio.toml``.

    Values that equal the record's default are written out like any other; values not said (None)
    stand as a comment with an example, so that every key is there to be seen.

    Parameters
    ----------
    studio : Studio
        What to write.
    change_me : collection of str
        Keys as ``"section.key"`` whose value is only an example; marked so.

    Returns
    -------
    str
        The file's text. Read back it gives the same studio.
    """
    parts = [INTRO]
    for part in sections():
        if part.name == "frame.lamp":
            continue
        record: Any = studio
        if part.name != "studio":
            record = getattr(studio, MANY.get(part.name, part.name))
        for number, row in enumerate(record if part.many else (record,)):
            parts.append(_section(part, row, change_me, explained=number == 0))
            if part.name == "frame":
                parts.append(_lamp(row.lamp, change_me, explained=number == 0))
    return "\n".join(part for part in parts if part)


def write_studio(folder: Path, text: str) -> Path:
    """Write ``studio.toml`` into `folder`, making the folder; never over an existing one.

    Raises
    ------
    BadInput
        If there is one already, or the folder cannot be made.
    """
    file = folder / FILE
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with file.open("x", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
    except FileExistsError:
        if file.exists():
            raise BadInput(
                str(folder),
                "there is a {file} here already",
                "edit it, or name another folder",
                file=FILE,
            ) from None
        raise BadInput(str(folder), "this is a file, not a folder", "name a folder") from None
    except OSError as error:
        raise BadInput(
            str(folder),
            "the folder cannot be written ({strerror})",
            "name another folder",
            strerror=error.strerror,
        ) from None
    return file


def with_section(text: str, name: str, record: Any) -> str:
    """Return a ``studio.toml`` in which one section says what `record` holds.

    Whatever else the maker wrote stays, comments and all.

    Parameters
    ----------
    text : str
        The file's text.
    name : str
        Of a section that is written once.
    record : Any
        What it is to hold.
    """
    part = section(name)
    lines = text.splitlines()
    heads = [at for at, line in enumerate(lines) if line.split("#")[0].strip() == part.head]
    if not heads:
        return text.rstrip() + "\n" + _section(part, record, (), explained=True)
    begin = heads[0] + 1
    after = (at for at in range(begin, len(lines)) if lines[at].lstrip().startswith("["))
    end = next(after, len(lines))
    said = {key.name: _line(key, getattr(record, key.name)) for key in part.keys}
    inside = []
    for line in lines[begin:end]:
        name = line.lstrip("# ").partition("=")[0].strip()
        inside.append(said.pop(name) if name in said and "=" in line else line)
    return "\n".join([*lines[:begin], *said.values(), *inside, *lines[end:]]) + "\n"


def _line(key: Key, value: Any) -> str:
    """Return the line of a key; one that is not said stands as a comment with an example."""
    if value is None or (value == () and key.default == ()):
        return f"# {key.name} = {toml_value(key.example)}"
    said = value.name if isinstance(value, Spectrum) else value
    return f"{key.name} = {toml_value(said)}"


def versions(folder: Path) -> list[Path]:
    """Return the old versions of a studio's file, the newest first."""
    return sorted((folder / VERSIONS).glob("*.toml"), reverse=True)


def rewrite_studio(file: Path, text: str) -> None:
    """Put a changed text in the place of a studio's file, whole or not at all; the old one is kept.

    Raises
    ------
    BadInput
        If the file cannot be written.
    """
    with refused_by_disk(file, "check its permissions"):
        old = file.read_text(encoding="utf-8-sig")
        if old == text:
            return
        folder = file.parent / VERSIONS
        folder.mkdir(exist_ok=True)
        taken = datetime.fromtimestamp(file.stat().st_mtime, UTC)
        write_whole(folder / VERSION_NAME.format(time=taken), old)
        write_whole(file, text)


def _section(part: Section, row: Any, change_me: Collection[str], *, explained: bool) -> str:
    lines: list[str] = []
    if explained:
        lines += ["", f"# ---- {part.title}", *_comment(part.about)]
    if part.head:
        lines.append(part.head)
    for key in part.keys:
        lines += _key(part, key, getattr(row, key.name), change_me, explained=explained)
    return "\n".join(lines) + "\n"


def _key(
    part: Section, key: Key, value: Any, change_me: Collection[str], *, explained: bool
) -> list[str]:
    lines: list[str] = []
    if explained:
        lines += _comment(f"{key.about} {_sentence(key)}")
    mark = MARK if f"{part.name}.{key.name}" in change_me else ""
    line = _line(key, value)
    return [*lines, line if line.startswith("#") else line + mark]


def _lamp(lamp: Any, change_me: Collection[str], *, explained: bool) -> str:
    part = section("frame.lamp")
    if lamp is not None:
        return _section(part, lamp, change_me, explained=explained)
    if not explained:
        return ""
    lines = ["", f"# ---- {part.title}", *_comment(part.about), f"# {part.head}"]
    for key in part.keys:
        lines += _comment(f"{key.about} {_sentence(key)}")
        lines.append(f"# {key.name} = {toml_value(key.example)}")
    return "\n".join(lines) + "\n"


def _sentence(key: Key) -> str:
    allowed = key.allowed()
    absent = " Left out: {absent}.".format(absent=key.absent) if key.absent else ""
    return f"{allowed[0].upper()}{allowed[1:]}.{absent}"


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, WIDTH - 2, break_long_words=False)]
