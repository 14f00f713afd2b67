"""One search over what the pages hold: plates, runs, baths and stock, pages, words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from argentry.book.baths import baths
from argentry.book.lots import lots
from argentry.book.plate_list import PlateLine, plate_page
from argentry.desk.house import House
from argentry.desk.runs import run_heads
from argentry.records.event import RunHead
from argentry.trade.terms import Term, terms

MOST = 20  # of a kind
RUNS = 2000  # looked through, the newest


@dataclass(frozen=True)
class Found:
    """What a search found.

    Attributes
    ----------
    wanted : str
        The words looked for.
    plates : sequence of PlateLine
        Plates whose label holds them.
    plates_in_all : int
        How many there are.
    runs : tuple of RunHead
        Runs whose name, plates or day hold them, the newest first.
    terms : tuple of Term
        Words that hold them, then those whose meaning does.
    stock : tuple of str
        Baths in use and lots whose name holds them.
    """

    wanted: str
    plates: Sequence[PlateLine]
    plates_in_all: int
    runs: tuple[RunHead, ...]
    terms: tuple[Term, ...]
    stock: tuple[str, ...] = ()


def find(house: House, wanted: str) -> Found:
    """Return what holds some words; nothing for none.

    Parameters
    ----------
    house : House
        The open studio.
    wanted : str
        As typed; capitals do not matter.
    """
    wanted = " ".join(wanted.replace("\x00", " ").split())
    if not wanted:
        return Found("", (), 0, (), ())
    plates, count = plate_page(house.book, wanted, 0, MOST)
    key = wanted.casefold()
    runs = [one for one in run_heads(house, RUNS) if not one.withdrawn and key in _said(one)]
    named = [bath.name for bath in baths(house.book, all_of_them=False)]
    named += [lot.name for lot in lots(house.book)]
    stock = tuple(name for name in named if key in name.casefold())[:MOST]
    return Found(wanted, plates, count, tuple(runs[:MOST]), all_terms(key), stock)


def all_terms(key: str = "") -> tuple[Term, ...]:
    """Return the words that hold `key`, then those whose meaning does."""
    named = [one for one in terms() if any(key in form for form in one.spellings)]
    told = [one for one in terms() if one not in named and key in one.meaning.casefold()]
    return (*named, *told)


def _said(run: RunHead) -> str:
    return " ".join((run.title, *run.plates, f"{run.opened:%Y-%m-%d}")).casefold()
