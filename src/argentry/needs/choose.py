"""Find one of a studio's things by its name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol, TypeVar

from argentry.errors import BadInput


class Named(Protocol):
    """Anything that has a name: a lens, a frame, a box."""

    @property
    def name(self) -> str:
        """What the maker calls it."""


Thing = TypeVar("Thing", bound=Named)


def choose(option: str, name: str | None, things: Sequence[Thing], otherwise: str) -> Thing | None:
    """Return the thing of that name, the first one when no name is given, None when there is none.

    Parameters
    ----------
    option : str
        The option that named it, for the sentence: ``"--lens"``.
    name : str or None
        The name.
    things : sequence
        What the studio has.
    otherwise : str
        What to do when the studio has none, for the sentence.

    Raises
    ------
    BadInput
        If nothing has that name.
    """
    if name is None:
        return things[0] if things else None
    for thing in things:
        if thing.name.casefold() == name.casefold():
            return thing
    known = ", ".join(repr(thing.name) for thing in things)
    right = "use one of {known}".format(known=known) if known else otherwise
    kind = option.removeprefix("--")
    raise BadInput(option, "there is no {kind} {name!r}".format(kind=kind, name=name), right)
