"""Why plates failed and how those still open stand, worked out beforehand and kept for their pages.

Working it out takes seconds; a page only reads the file. It may be deleted at any time.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zlib import crc32

from argentry.book.engine import Book
from argentry.book.makings import what_teaches
from argentry.desk.learning.causes import WhyPlate, why_failed
from argentry.desk.learning.odds import PlateOdds, plate_odds
from argentry.desk.numbers.adopted import adopted_in
from argentry.desk.numbers.kept import write_kept
from argentry.desk.numbers.makings import Gathered, from_book
from argentry.errors import BadInput
from argentry.keeping.studio import studio_folder
from argentry.learn.stages.table import succeeded
from argentry.records.plain import from_plain, plain
from argentry.records.studio import Studio

FILE = "plates_learned.json"
NEWEST = 12  # plates worked out without being asked for, the newest first
MOST = 400  # kept in the file


@dataclass(frozen=True)
class KeptPlates:
    """What was worked out of single plates.

    Attributes
    ----------
    made_of : str
        What the book could teach from then.
    at : str
        When, ISO 8601, UTC.
    plates : Mapping[str, Mapping]
        By label: a `KeptPlate` as plain values, see `kept_plate`. None for a plate that is not in
        the book.
    """

    made_of: str
    at: str
    plates: Mapping[str, Mapping[str, Any] | None]


NOTHING = KeptPlates("", "", {})


@dataclass(frozen=True)
class KeptPlate:
    """What was worked out of one plate.

    Attributes
    ----------
    why : WhyPlate or None
        None for a plate that did not fail.
    odds : PlateOdds or None
        None for a plate that is finished.
    """

    why: WhyPlate | None
    odds: PlateOdds | None


def kept_plates(folder: Path | None) -> KeptPlates:
    """Return what is kept beside the book, of plates that may have changed since."""
    if folder is None:
        return NOTHING
    try:
        said = json.loads((studio_folder(folder) / FILE).read_text(encoding="utf-8"))
        return KeptPlates(str(said["made_of"]), str(said["at"]), dict(said["plates"]))
    except (OSError, ValueError, KeyError, TypeError):
        return NOTHING


def kept_plate(kept: KeptPlates, label: str) -> KeptPlate | None:
    """Return what is kept of one plate, None when nothing is or an older argentry kept it."""
    own = kept.plates.get(label)
    with suppress(KeyError, TypeError, ValueError):
        found: KeptPlate | None = None if own is None else from_plain(KeptPlate, own)
        return found
    return None


def is_fresh(book: Book, kept: KeptPlates) -> bool:
    """Return True when nothing came into the book since."""
    return kept.made_of == _mark(book)


def _mark(book: Book) -> str:
    """Return another word after each judgement or new making, but not after each press of a run."""
    _, *judged = what_teaches(book)
    adopted = adopted_in(book.folder)
    said = (*judged, crc32(repr(adopted).encode())) if adopted.files else judged
    return "-".join(map(str, said))


def keep_plates(
    book: Book,
    studio: Studio,
    folder: Path,
    now: datetime,
    asked: Sequence[str] = (),
    most: int = NEWEST,
) -> int:
    """Work out what is not kept yet and return how many plates are still to be worked out.

    Parameters
    ----------
    book, studio, folder
        The studio.
    now : datetime
        UTC.
    asked : sequence of str
        Labels that somebody waits for: they come first.
    most : int
        Plates worked out now: whoever asks something else meanwhile waits for these.
    """
    made_of, before = _mark(book), kept_plates(folder)
    done = dict(before.plates) if before.made_of == made_of else {}
    gathered = from_book(book, studio)
    newest = sorted(gathered.makings, key=lambda one: (one.day, one.session, one.order))
    labels = [gathered.labels[one.plate] for one in newest[::-1] if one.plate in gathered.labels]
    wanted = [*asked, *list(dict.fromkeys(labels))[:NEWEST]]
    left = [label for label in dict.fromkeys(wanted) if label not in done]
    if not left and before.made_of != made_of:
        write_kept(studio_folder(folder) / FILE, plain(KeptPlates(made_of, now.isoformat(), {})))
    for label in left[:most]:
        done[label] = None
        with suppress(BadInput):  # no such plate
            own = gathered if gathered.of_plate(label) else from_book(book, studio, label)
            done[label] = plain(_worked_out(own, label, now))
        write_kept(
            studio_folder(folder) / FILE,
            plain(KeptPlates(made_of, now.isoformat(), dict(list(done.items())[-MOST:]))),
        )
    return max(0, len(left) - most)


def _worked_out(gathered: Gathered, label: str, now: datetime) -> KeptPlate:
    came = [succeeded(one) for one in gathered.of_plate(label)]
    open_ = not came or came[-1] is None
    return KeptPlate(
        why=why_failed(gathered, label) if False in came else None,
        odds=plate_odds(gathered, label, now=now) if open_ else None,
    )
