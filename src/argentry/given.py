"""What a notebook gives a public function: looked at there, so that a slip is one clear sentence.

A command's options are read from text and refused by their readers; in a notebook anything can be
given anywhere, and what is wrong would otherwise show as an error of Python far below. The floors
below name a value by its option; a notebook reads the name of its own argument.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from functools import wraps
from numbers import Integral, Real
from typing import Any, ParamSpec, TypeVar

from argentry.errors import BadInput, not_a_number, with_options

P = ParamSpec("P")
R = TypeVar("R")

# what an argument of a kind is called; a kind that is not here is not looked at
KINDS: Mapping[str, str] = {
    "float": "a number",
    "int": "a whole number",
    "bool": "True or False",
    "str": "text",
    "date": "a date, such as date(2026, 6, 21)",
    "datetime": "a date with a time, such as datetime(2026, 6, 21, 13)",
    "tuple[float, float]": "two numbers",
    "tuple[float, float, float]": "three numbers",
    "Path": "a path",
    "Studio": "a studio, from load_studio",
    "Gathered": "plates, from load_plates",
    "Weather": "weather, from read_weather",
    "Wishes": "Wishes",
    "Sitter": "a Sitter",
    "Asked": "what is asked, an Asked",
    "Collection[str]": "a list of words",
    "Sequence[str]": "a list of words",
    "View": "a View",
    "None": "None",
}
OWN_READERS = ("date | str", "datetime | str")  # which say what text they take
NUMBERS: Mapping[str, type] = {"float": Real, "int": Integral}
IS_NOT, GIVE = "{given} is not {kinds}", "give {kinds}"
SEE = "help(argentry.{name}) lists what it takes"
OR, QUOTED = " or ", 40
# arguments whose names neither begin nor end as their options do
ARGUMENTS: Mapping[str, tuple[str, ...]] = {
    "at": ("when",),
    "climate": ("weather",),
    "compare": ("key",),
    "from": ("start", "first"),
    "lamp": ("lamp_kind",),
    "plate-mm": ("plate_thickness_mm",),
    "plates": ("table",),
    "rh": ("relative_humidity_pct",),
    "set": ("known",),
    "to": ("end",),
    "until": ("end",),
}
LOADED = ("Gathered", "Studio", "Weather")  # hold the maker's own words


def checked(name: str, *records: Any) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Return what makes a function look at its arguments' kinds before it begins.

    Its sentences, of refusals and of its answer, name its arguments where they named options.

    Parameters
    ----------
    name : str
        By which a notebook knows the function.
    *records
        Classes and functions whose fields and arguments are given with it.

    Examples
    --------
    >>> @checked("half")
    ... def half(of: float) -> float:
    ...     return of / 2
    >>> half(5)
    2.5
    >>> half([5])
    Traceback (most recent call last):
    argentry.errors.BadInput: of: [5] is not a number; give a number.
    """

    def made(function: Callable[P, R]) -> Callable[P, R]:
        signature = inspect.signature(function)
        given_by_name = inspect.Parameter.VAR_KEYWORD
        taken = (signature, *map(inspect.signature, records))
        names = tuple(
            one.name
            for each in taken
            for one in each.parameters.values()
            if one.kind is not given_by_name
        )

        def own_words(sentence: str) -> str:
            return with_options(
                sentence,
                lambda option, value: argument(option, names) + ("=" if value == " " else ""),
            )

        @wraps(function)
        def looked_at(*args: P.args, **kwargs: P.kwargs) -> R:
            try:
                given = signature.bind(*args, **kwargs).arguments
            except TypeError as error:
                raise BadInput(name, str(error), SEE, name=name) from None
            for where, value in given.items():
                look(where, value, str(signature.parameters[where].annotation))
            try:
                found = function(*args, **kwargs)
            except BadInput as no:
                raise BadInput(*map(own_words, (no.where, no.what, no.right))) from None
            return found if type(found).__name__ in LOADED else _said(found, own_words)

        looked_at.__name__ = looked_at.__qualname__ = name
        return looked_at

    return made


def argument(option: str, names: Sequence[str]) -> str:
    """Return the argument that an option stands for; its own words where there is none.

    Parameters
    ----------
    option : str
        Without its dashes.
    names : sequence of str
        Of the arguments there are.

    Examples
    --------
    >>> argument("box-temp", ["gap_mm", "box_temperature_c"]), argument("nm", ["thickness_nm"])
    ('box_temperature_c', 'thickness_nm')
    >>> argument("until", ["start", "end"]), argument("book", ["studio"])
    ('end', 'book')
    """
    words = option.replace("-", "_")
    fits = (
        lambda name: name == words,
        lambda name: name in ARGUMENTS.get(option, ()),
        lambda name: name.startswith(words),
        lambda name: name.endswith(words),
    )
    return next((name for fit in fits for name in names if fit(name)), words)


def _said(found: Any, own_words: Callable[[str], str]) -> Any:
    """Return an answer with its sentences in a notebook's words; itself where none changes."""
    if isinstance(found, str):
        return own_words(found) if "--" in found else found
    if isinstance(found, tuple) and not hasattr(found, "_fields"):
        parts = tuple(_said(part, own_words) for part in found)
        return parts if any(a is not b for a, b in zip(found, parts, strict=True)) else found
    if not is_dataclass(found) or isinstance(found, type):
        return found
    old = {one.name: getattr(found, one.name) for one in fields(found) if one.init}
    new = {name: _said(value, own_words) for name, value in old.items()}
    changed = {name: value for name, value in new.items() if value is not old[name]}
    return replace(found, **changed) if changed else found


def look(where: str, value: Any, annotation: str) -> None:
    """Refuse a value that is of none of its argument's kinds.

    Parameters
    ----------
    where : str
        Name of the argument.
    value : object
        What was given.
    annotation : str
        Its kinds, as the argument is annotated.

    Raises
    ------
    BadInput
        If all its kinds are known and the value is of none of them.
    """
    kinds = annotation.split(" | ")
    known = annotation not in OWN_READERS and all(kind in KINDS for kind in kinds)
    if not known or any(_is(value, kind) for kind in kinds):
        return
    if isinstance(value, str) and not {"float", "int"}.isdisjoint(kinds):
        raise not_a_number(where, value)
    says = OR.join(KINDS[kind] for kind in kinds)
    raise BadInput(where, IS_NOT, GIVE, given=repr(value)[:QUOTED], kinds=says)


def _is(value: Any, kind: str) -> bool:
    if kind in NUMBERS:
        return isinstance(value, NUMBERS[kind]) and not isinstance(value, bool)
    if kind.endswith("[str]"):  # a word alone is a sequence of letters, and never meant as that
        return not isinstance(value, str) and isinstance(value, Iterable)
    if kind.startswith("tuple"):
        try:
            parts = tuple(value)
        except TypeError:  # also of an array of no dimension
            return False
        return len(parts) == kind.count("float") and all(_is(part, "float") for part in parts)
    name = "NoneType" if kind == "None" else kind
    return any(one.__name__ == name for one in type(value).__mro__)
