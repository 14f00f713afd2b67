"""Frozen dataclasses whose functions are made when they are first asked for.

The standard decorator compiles six functions for every class as its module is loaded: 0.1 s of
every command that plans, and most are never called. Here ``__init__`` is compiled as the first
instance is made, and the others are the same for all classes. All else is the standard library's:
fields, `dataclasses.replace`, what is refused, and any other kind of dataclass.
"""

from __future__ import annotations

import dataclasses
from functools import cache
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["dataclass"]

INIT = "def __init__(self{given}):\n {lines}\n"
GIVEN, DEFAULT, NAMED = ", {name}", ", {name}=default_{name}", ", *"
PUT, AFTER = "put(self, '{name}', {value})", "self.__post_init__()"
NEW, MADE = "make_{name}()", "make_{name}() if {name} is default_{name} else {name}"
SHOWN, VALUE = "{cls}({values})", "{name}={value!r}"
REFUSED = "cannot {what} field '{name}'"


def _dataclass(
    cls: type | None = None, /, *, frozen: bool = False, kw_only: bool = False, **others: Any
) -> Any:
    """Return a class as `dataclasses.dataclass` does.

    One with any of `others`, or that follows from another dataclass, is made there.
    """

    def make(cls: type) -> type:
        beneath = any(dataclasses.is_dataclass(base) for base in cls.__bases__)
        if not frozen or others or beneath:
            how = {"frozen": frozen, "kw_only": kw_only, **others}
            return dataclasses.dataclass(**how)(cls)
        if cls.__doc__ is None:  # else it would be the signature, which costs as much again
            cls.__doc__ = cls.__name__
        made: Any = dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=kw_only)(cls)
        own = vars(made)
        if "__init__" not in own:
            made.__init__ = _Later(made)
        if own.get("__hash__") is None:
            made.__hash__ = _hash
        for name, shared in (("__repr__", _shown), ("__eq__", _same)):
            if name not in own:
                setattr(made, name, shared)
        made.__setattr__, made.__delattr__ = _set, _delete
        made.__dataclass_params__.frozen = True  # so that others may follow from it
        return cls

    return make if cls is None else make(cls)


class _Later:
    """Stands for `__init__` of a class until it is asked for."""

    def __init__(self, cls: Any) -> None:
        self.cls = cls

    def __get__(self, one: object, owner: type | None = None) -> Any:
        self.cls.__init__ = made = _init_of(self.cls)
        return made.__get__(one, owner)


class _Factory:
    """What stands in a signature for a value that is made each time."""

    def __repr__(self) -> str:
        return "<factory>"


def _init_of(cls: type) -> Any:
    """Return the function that makes instances, as the standard library would write it."""
    every: tuple[dataclasses.Field[Any], ...] = dataclasses.fields(cls)
    scope: dict[str, Any] = {"put": object.__setattr__}
    given: list[str] = []
    named: list[str] = []
    lines: list[str] = []
    for one in every:
        name, default = one.name, one.default
        factory = one.default_factory is not dataclasses.MISSING
        if factory:
            scope[f"make_{name}"], default = one.default_factory, _Factory()
        if default is not dataclasses.MISSING:
            scope[f"default_{name}"] = default
        if one.init:
            text = GIVEN if default is dataclasses.MISSING else DEFAULT
            (named if one.kw_only else given).append(text.format(name=name))
        elif not factory:  # the class has its value
            continue
        value = (MADE if one.init else NEW).format(name=name) if factory else name
        lines.append(PUT.format(name=name, value=value))
    if hasattr(cls, "__post_init__"):
        lines.append(AFTER)
    parts = [*given, *([NAMED, *named] if named else [])]
    # of names of fields alone, as the standard library does
    exec(INIT.format(given="".join(parts), lines="\n ".join(lines or ["pass"])), scope)  # noqa: S102
    made = scope["__init__"]
    made.__qualname__, made.__module__ = f"{cls.__qualname__}.__init__", cls.__module__
    made.__annotations__ = {one.name: one.type for one in every if one.init} | {"return": None}
    return made


@cache
def _compared(cls: Any) -> Callable[[object], tuple[Any, ...]]:
    """Return what gives the values by which instances are compared."""
    names = [one.name for one in dataclasses.fields(cls) if one.compare]
    if len(names) > 1:
        return attrgetter(*names)
    return lambda one: tuple(getattr(one, name) for name in names)


def _same(self: Any, other: object) -> Any:
    if other.__class__ is not self.__class__:
        return NotImplemented
    cls: Any = self.__class__
    values = _compared(cls)
    return values(self) == values(other)


def _hash(self: Any) -> int:
    cls: Any = self.__class__
    return hash(_compared(cls)(self))


@recursive_repr()
def _shown(self: Any) -> str:
    values = [
        VALUE.format(name=one.name, value=getattr(self, one.name))
        for one in dataclasses.fields(self)
        if one.repr
    ]
    return SHOWN.format(cls=self.__class__.__qualname__, values=", ".join(values))


def _may_not(self: Any, name: str) -> bool:
    """Say whether an attribute is frozen: any, but one that a plain class beneath has besides."""
    cls = self.__class__
    return "__dataclass_fields__" in vars(cls) or name in cls.__dataclass_fields__


def _set(self: object, name: str, value: object) -> None:
    if _may_not(self, name):
        raise dataclasses.FrozenInstanceError(REFUSED.format(what="assign to", name=name))
    object.__setattr__(self, name, value)


def _delete(self: object, name: str) -> None:
    if _may_not(self, name):
        raise dataclasses.FrozenInstanceError(REFUSED.format(what="delete", name=name))
    object.__delattr__(self, name)


if TYPE_CHECKING:
    from dataclasses import dataclass  # what checkers of types know
else:
    dataclass = _dataclass
