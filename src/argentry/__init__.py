"""argentry: plans, times, records and explains the making of iodine-only daguerreotypes.

For a notebook: the functions of `argentry.api` are here as well, loaded when one is first used.

>>> import argentry
>>> argentry.coat(25).colour
'gold'
"""

from typing import TYPE_CHECKING, Any

from argentry.version import VERSION

if TYPE_CHECKING:
    from argentry.api import *  # noqa: F403

__version__ = VERSION
# the names of argentry.api, so that asking for one is the first to load it
PUBLIC = frozenset(
    {
        *("BadInput", "Sitter", "Wishes", "plain", "load_studio", "load_plates", "read_weather"),
        *("light", "air"),
        *("coat", "coat_of_word", "coats_of_colour", "fume", "expose", "develop", "plan_day"),
        *("odds", "why", "why_studio", "next_plate", "compare", "plates_needed", "learned"),
    }
)


def __getattr__(name: str) -> Any:
    """Return a public function: importing argentry alone loads none of it."""
    if name not in PUBLIC:  # also asked about rooms that are not imported yet
        raise AttributeError(f"module 'argentry' has no attribute {name!r}")
    from argentry import api

    return getattr(api, name)


def __dir__() -> list[str]:
    """Return what a notebook offers to complete: the public functions, loaded or not."""
    return sorted({*globals(), *PUBLIC})
