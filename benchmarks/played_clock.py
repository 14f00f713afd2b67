"""A clock on which a year passes in seconds, read by argentry's rooms in place of the machine's."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from contextlib import contextmanager
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING

import argentry

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOMS = ("argentry.book", "argentry.keeping", "argentry.desk", "argentry.bench")


class Clock:
    """The time that is played."""

    def __init__(self, start: datetime) -> None:
        self.now = start


@contextmanager
def played(start: datetime) -> Iterator[Clock]:
    """Give a clock, and let ``datetime.now`` of argentry's rooms say its time until the end."""
    clock = Clock(start)

    class _Kind(type):
        def __instancecheck__(cls, one: object) -> bool:
            return isinstance(one, datetime)

    class Played(datetime, metaclass=_Kind):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
            return clock.now.astimezone(tz)

    for name in ROOMS:  # what is imported later would read the real clock
        package = importlib.import_module(name)
        for found in pkgutil.walk_packages(package.__path__, f"{name}."):
            if ".migrations." not in found.name:
                importlib.import_module(found.name)
    own = argentry.__name__ + "."
    rooms = [one for name, one in sys.modules.items() if name.startswith(own)]
    told = [one for one in rooms if vars(one).get("datetime") is datetime]
    try:
        for one in told:
            one.datetime = Played  # type: ignore[attr-defined]
        yield clock
    finally:
        for one in told:
            one.datetime = datetime  # type: ignore[attr-defined]
