"""Where the power is cut, what is found afterwards, and whether that is all that was answered."""

import random
import time
from dataclasses import dataclass

from tests.power.disk import left

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.errors import ArgentryError


@dataclass
class Tally:
    """What came of some cuts.

    `damaged` counts books that do not open or have a fault, `lost` those in which an answered event
    is missing, `halves` those in which a batch is there by half or one without those before it.
    """

    cuts: int = 0
    torn: int = 0
    damaged: int = 0
    lost: int = 0
    halves: int = 0


def cuts(disk, chance, count):
    """Return moments: one in three just after an answer, where nothing may be lost any more."""
    answered = [place for place, item in enumerate(disk.done) if item[0] == "answered"]
    first = answered[0]
    return [
        chance.choice(answered) + 1
        if number % 3 == 0
        else chance.randint(first if number % 10 else 0, len(disk.done))
        for number in range(count)
    ]


def answered_before(disk, moment):
    return {name for item in disk.done[:moment] if item[0] == "answered" for name in item[2]}


def look_over(where, folder=None):
    """Open a book as after a restart; return (ids of its events in order, faults), or None."""
    try:
        book = open_book(where, folder=folder)
    except ArgentryError:
        return None
    try:
        ids, seq = [], 0
        while part := log.events_after(book, seq):
            ids += [event.id for event in part]
            seq = part[-1].seq
        return ids, check(book)
    except ArgentryError:  # what is read is damaged
        return None
    finally:
        close_book(book)


def restart(folder, files):
    """Write what is left of a folder and look the book in it over as after a restart."""
    folder.mkdir()
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return look_over(folder)


def tally(disk, batches, count, seed, start_again, *, until=float("inf")):
    """Cut the power and see what is left.

    Parameters
    ----------
    disk : Disk or Trace
        What was written, synced and answered.
    batches : list of set of str
        Ids that were sent together, in the order of the log.
    count, seed : int
        How many cuts, and the seed of their moments.
    start_again : callable
        Takes the number of the cut and the files that are left; returns as `look_over`.
    until : float
        When to stop before, by the monotonic clock.
    """
    chance, found = random.Random(seed), Tally()
    for number, moment in enumerate(cuts(disk, chance, count)):
        if time.monotonic() > until:
            break
        torn = number % 2 == 1
        seen = start_again(number, left(disk, moment, chance, torn=torn))
        found.cuts, found.torn = found.cuts + 1, found.torn + torn
        if seen is None or seen[1]:
            found.damaged += 1
            continue
        have = set(seen[0])
        found.lost += not answered_before(disk, moment) <= have
        there = [one for one in batches if one <= have]
        known = have & set().union(*batches)
        found.halves += there != batches[: len(there)] or known != set().union(*there)
        found.halves += len(have) != len(seen[0])
    return found
