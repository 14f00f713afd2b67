"""The file in which one studio tells others what its plates taught: plain TOML, one form.

A file may come from anybody: what is missing, misspelt, out of order or beyond sense is refused in
one sentence, and nothing of it is believed.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from typing import Any

from argentry.errors import BadInput, did_you_mean
from argentry.files import MEGABYTE, read_file, toml_of, toml_value
from argentry.records.learned import (
    FIGURE_KINDS,
    FILE_VERSION,
    OLD_VERSION,
    SharedFigure,
    SharedStudio,
)

FORM = "argentry learned"
HEAD = (
    "# What the plates of one studio taught, for other studios to begin with.\n"
    "# It holds no plate, no person and no place. The form is in docs/learning-shared.md.\n"
)
NAME_SELF = "name a file written by: argentry learn share FILE"
MOST_FIGURES = 2000
MOST_PLATES = 1e6
KEYS = ("format", "version", "plates", "materials", "figure")
OLD_FIGURE = ("kind", "of", "stage", "value", "low", "high", "plates")
OF_FIGURE = (*OLD_FIGURE, "believed", "believed_low", "believed_high")
WORDS = 40  # longest word of a file


def shared_text(shared: SharedStudio) -> str:
    """Return the file of what a studio shares; numbers to four digits."""
    lines = [HEAD, f"format = {toml_value(FORM)}", f"version = {shared.version}"]
    lines += [f"plates = {shared.plates}", "", "[materials]"]
    lines += [f"{key} = {toml_value(word)}" for key, word in shared.materials]
    keys = _keys(shared.version)
    for one in shared.figures:
        lines += ["", "[[figure]]"]
        lines += [
            f"{key} = {toml_value(_short(getattr(one, key)))}"
            for key in keys
            if getattr(one, key) != ""
        ]
    return "\n".join(lines) + "\n"


def _keys(version: int) -> tuple[str, ...]:
    return OLD_FIGURE if version == OLD_VERSION else OF_FIGURE


def _short(value: str | float) -> str | float:
    return value if isinstance(value, str) else float(f"{value:.4g}")


def read_shared(path: Path) -> SharedStudio:
    """Return what another studio shares.

    Raises
    ------
    BadInput
        If it is not such a file, or says what cannot be.
    """
    name = path.name
    tables = toml_of(name, read_file(path, MEGABYTE, NAME_SELF))
    if tables.get("format") != FORM:
        raise BadInput(name, "this is not a file of what a studio learned", NAME_SELF)
    version = tables.get("version")
    if isinstance(version, bool) or version not in (OLD_VERSION, FILE_VERSION):
        raise BadInput(
            name,
            "its version is {version!r} and this program reads versions {old} and {ours}",
            "ask for a file of version {ours}, or update argentry",
            version=str(version)[:WORDS],
            old=OLD_VERSION,
            ours=FILE_VERSION,
        )
    _known_keys(name, tables, KEYS)
    figures = tables.get("figure", [])
    if not isinstance(figures, list) or len(figures) > MOST_FIGURES:
        raise BadInput(name, "its figures cannot be read", "give at most {most} [[figure]] tables",
                       most=MOST_FIGURES)  # fmt: skip
    read = [
        _figure("{name}, figure {n}".format(name=name, n=n), one, _keys(version))
        for n, one in enumerate(figures, 1)
    ]
    if not read:
        raise BadInput(name, "it holds no figure", NAME_SELF)
    keys = [one.key for one in read]
    twice = next((one for one in read if keys.count(one.key) > 1), None)
    if twice is not None:
        raise BadInput(
            name,
            "{kind} {of} stands in it twice",
            "give each figure once",
            kind=twice.kind,
            of=twice.of,
        )
    return SharedStudio(
        name=name,
        plates=int(
            _number("{name}, plates".format(name=name), tables.get("plates"), 0.0, MOST_PLATES)
        ),
        materials=_materials(name, tables.get("materials", {})),
        figures=tuple(read),
        version=int(version),
    )


def _known_keys(where: str, table: dict[str, Any], known: tuple[str, ...]) -> None:
    for key in table:
        if key not in known:
            right = did_you_mean(str(key), known, "use {known}".format(known=", ".join(known)))
            raise BadInput(
                where, "{key!r} is not a key of such a file", right, key=str(key)[:WORDS]
            )


def _materials(name: str, table: Any) -> tuple[tuple[str, str], ...]:
    if not isinstance(table, dict) or not all(isinstance(word, str) for word in table.values()):
        raise BadInput(
            "{name}, materials".format(name=name), "they are not words", "give words in quotes"
        )
    return tuple((str(key)[:WORDS], word[:WORDS]) for key, word in table.items())


def _figure(where: str, table: Any, known: tuple[str, ...]) -> SharedFigure:
    if not isinstance(table, dict):
        raise BadInput(where, "it is not a table", "write it as [[figure]]")
    _known_keys(where, table, known)
    words = {key: table.get(key, "") for key in ("kind", "of", "stage")}
    for key, word in words.items():
        if not isinstance(word, str):
            place, short = "{where}, {key}".format(where=where, key=key), str(word)[:WORDS]
            raise BadInput(place, "{word!r} is not a word", "give a word in quotes", word=short)
    if words["kind"] not in FIGURE_KINDS:
        right = did_you_mean(
            words["kind"], FIGURE_KINDS, "use {kinds}".format(kinds=", ".join(FIGURE_KINDS))
        )
        place, short = "{where}, kind".format(where=where), words["kind"][:WORDS]
        raise BadInput(place, "{kind!r} is not a kind of figure", right, kind=short)
    value, low, high = _range(where, table, ("value", "low", "high"))
    plates = _number("{where}, plates".format(where=where), table.get("plates"), 0.0, MOST_PLATES)
    before: tuple[float, ...] = ()
    if known == OF_FIGURE:
        before = _range(where, table, ("believed", "believed_low", "believed_high"))
    return SharedFigure(
        words["kind"], words["of"], words["stage"], value, low, high, plates, *before
    )


def _range(where: str, table: dict[str, Any], keys: Sequence[str]) -> tuple[float, float, float]:
    """Return middle, low and high."""
    value, low, high = (
        _number("{where}, {key}".format(where=where, key=key), table.get(key), -1e9, 1e9)
        for key in keys
    )
    if not (low <= value <= high and low < high):
        what = "its range {low:g} to {high:g} does not hold its value {value:g}"
        right = "give {keys} in order"
        order = ", ".join((keys[1], keys[0], keys[2]))
        raise BadInput(where, what, right, low=low, high=high, value=value, keys=order)
    return value, low, high


def _number(where: str, value: Any, low: float, high: float) -> float:
    good = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not good or not isfinite(value) or not low <= value <= high:
        what, short = "{value!r} is not a number from {low:g} to {high:g}", str(value)[:WORDS]
        raise BadInput(where, what, "give such a number", value=short, low=low, high=high)
    return float(value)
