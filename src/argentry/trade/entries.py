"""Entries of the trade's data as records: complete, of known fields and words, or refused."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, fields
from math import isfinite
from typing import Any

from argentry.errors import ArgentryError, BadInput


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _is(kind: type) -> Callable[[object], bool]:
    return lambda value: isinstance(value, kind)


_FORMS: dict[str, tuple[Callable[[object], bool], str]] = {
    "str": (_is(str), "words"),
    "bool": (_is(bool), "true or false"),
    "float": (_number, "a number"),
    "tuple": (_is(tuple), "a list"),
}


LACKS = "it lacks {names}"
UNKNOWN = "it has the unknown {names}"


def wrong(where: str, what: str, right: str, **values: object) -> ArgentryError:
    """Return the refusal of an entry in one sentence: where, what is wrong, what is right."""
    return ArgentryError(str(BadInput(where, what, right, **values)))


def one_of(where: str, field: str, value: object, known: Iterable[str]) -> None:
    """Refuse a word that is not one of those known."""
    words = list(known)
    if value not in words:
        raise wrong(
            where,
            "{field} {value!r} is not known",
            "use one of {names}",
            field=field,
            value=value,
            names=", ".join(word or "nothing" for word in words),
        )


def made(kind: Any, where: str, entry: Mapping[str, Any], empty: Iterable[str] = ()) -> Any:
    """Return the record of an entry.

    Parameters
    ----------
    kind : type
        A dataclass; lists become tuples.
    where : str
        File and entry, for the sentence.
    entry : Mapping[str, Any]
        As the file holds it.
    empty : iterable of str
        Needed fields that may be empty words.

    Raises
    ------
    ArgentryError
        If a field is unknown, missing, empty, or not of its type.
    """
    known = {field.name: field for field in fields(kind)}
    if unknown := sorted(set(entry) - set(known)):
        right = "use {known}".format(known=", ".join(known))
        raise wrong(where, UNKNOWN, right, names=", ".join(unknown))
    needed = {n for n, f in known.items() if f.default is MISSING and f.default_factory is MISSING}
    if missing := sorted(needed - set(entry)):
        raise wrong(where, LACKS, "give each of them", names=", ".join(missing))
    values: dict[str, Any] = {}
    for name, given in entry.items():
        value = tuple(given) if isinstance(given, list) else given
        fits, right = _FORMS[str(known[name].type).split("[")[0].split(" ")[0]]
        if not fits(value) or (value == "" and name in needed - set(empty)):
            raise wrong(where, "{name} is {given!r}", "give " + right, name=name, given=given)
        values[name] = value
    return kind(**values)
