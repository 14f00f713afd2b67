"""The studio's own numbers kept beside its book, so that a sheet need not wait for what is known.

Kept is what a day plan takes: it depends on nothing but the plates, the studio and this program, so
it is good for as long as these are the same, and worked out again after that. The file may be
deleted at any time.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import astuple, dataclass
from functools import cache, lru_cache
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from argentry import version
from argentry.desk.numbers.adopted import adopted_in
from argentry.desk.numbers.fitted import digest
from argentry.files import write_whole
from argentry.keeping.studio import TABLE, has_book, load_studio, studio_folder
from argentry.records.decision import OwnNumbers
from argentry.records.plain import from_plain, part_of, plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.desk.numbers.makings import Gathered

FILE = "learned.json"
ABOUT = "Worked out by argentry from the plates of this studio; made again when deleted."
# what these numbers come from
BEHIND = ("trade", "records", "physics", "sky", "learn", "needs", "desk")


def own_numbers(gathered: Gathered, folder: Path | None, *, with_odds: bool = True) -> OwnNumbers:
    """Return the studio's own numbers: as kept while nothing has changed, else worked out.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio.
    folder : Path or None
        Studio folder; None keeps nothing.
    with_odds : bool
        False: where nothing is kept leave out the odds of a good plate, which take longest.

    Returns
    -------
    OwnNumbers
        A folder that cannot be written to keeps nothing, and nobody is kept waiting for that.
    """
    from argentry.desk.numbers.own_numbers import learned_numbers

    if folder is None:
        return learned_numbers(gathered, with_odds=with_odds)
    file, made_of = studio_folder(folder) / FILE, fingerprint(gathered)
    kept = _read(file, made_of, with_odds=with_odds)
    if kept is not None:
        return kept
    numbers = learned_numbers(gathered, with_odds=with_odds)
    _keep(file, made_of, numbers, with_odds=with_odds)
    return numbers


def kept_numbers(gathered: Gathered, folder: Path | None) -> OwnNumbers | None:
    """Return the numbers with their odds as they are kept, None where they must be worked out."""
    if folder is None:
        return None
    return _read(studio_folder(folder) / FILE, fingerprint(gathered), with_odds=True)


def files_of(folder: Path | None, address: str | None) -> str | None:
    """Return a short word for what teaches a studio without a book, its table read by nobody yet.

    It is another one whenever a file, the studio or the program is another; None where there is a
    book, or no table.
    """
    if folder is None or has_book(studio_folder(folder), address):
        return None
    table = studio_folder(folder) / TABLE
    if not table.is_file():
        return None
    try:
        told = repr((load_studio(folder), adopted_in(studio_folder(folder))))
        return hashlib.sha256(table.read_bytes() + f"{_program()} {told}".encode()).hexdigest()
    except OSError:  # it is told of where the plates are read
        return None


def kept_of_files(folder: Path | None, files: str | None) -> OwnNumbers | None:
    """Return the numbers with their odds as they are kept for these very files; else None."""
    if folder is None or files is None:
        return None
    return _read(studio_folder(folder) / FILE, None, with_odds=True, files=files)


def note_files(folder: Path | None, files: str | None) -> None:
    """Note beside the numbers that are kept from which files they come."""
    if folder is None or files is None:
        return
    with suppress(OSError, ValueError):
        said = json.loads((studio_folder(folder) / FILE).read_text(encoding="utf-8"))
        write_kept(studio_folder(folder) / FILE, {**said, "files": files})


def last_kept(folder: Path | None) -> OwnNumbers | None:
    """Return the numbers that were worked out last, be they of plates that have changed since."""
    if folder is None:
        return None
    return _read(studio_folder(folder) / FILE, None, with_odds=False)


def fingerprint(gathered: Gathered) -> str:
    """Return a short word that is another one whenever plates, studio or program are others."""
    said = "\n".join(
        (_program(), repr((gathered.studio, gathered.assumed)), digest(gathered.makings))
    )
    return hashlib.sha256(said.encode()).hexdigest()


@cache
def _program() -> str:
    """Return what stands for the rules and facts themselves: any change of them counts."""
    root = Path(version.__file__).parent
    digest = hashlib.sha256(version.VERSION.encode())
    for floor in BEHIND:
        for file in sorted((root / floor).rglob("*")):
            if file.suffix in (".py", ".toml", ".csv"):
                digest.update(file.read_bytes())
    return digest.hexdigest()


def _read(
    file: Path, made_of: str | None, *, with_odds: bool, files: str | None = None
) -> OwnNumbers | None:
    """Return what a file keeps; None when it is not there, of other plates, short or damaged."""
    try:
        here = file.stat()
        kept = _kept_in(file, (here.st_ino, here.st_mtime_ns, here.st_size))
    except (OSError, ValueError, KeyError, TypeError):
        return None
    if made_of not in (None, kept.made_of) or files not in (None, kept.files):
        return None
    if with_odds and not kept.with_odds:
        return None
    return kept.numbers


@dataclass(frozen=True)
class _Kept:
    made_of: str
    with_odds: bool
    files: str
    numbers: OwnNumbers


@lru_cache(maxsize=2)
def _kept_in(file: Path, _as_it_lies: tuple[int, int, int]) -> _Kept:
    """Return what a file keeps; every page asks, and it changes only with the plates."""
    said = json.loads(file.read_text(encoding="utf-8"))
    made_of, with_odds = said["made_of"], bool(said["with_odds"])
    return _Kept(made_of, with_odds, str(said.get("files", "")), numbers_of(said))


def numbers_of(said: Mapping[str, Any]) -> OwnNumbers:
    """Return numbers from what `plain_numbers` made of them.

    Raises
    ------
    ValueError, KeyError, TypeError
        If they are short or damaged.
    """
    found: OwnNumbers = from_plain(OwnNumbers, said)
    told = [figure for one in found.learned for figure in (one.value, one.low, one.high)]
    told += (*astuple(found.good.one), *astuple(found.good.many)) if found.good else ()
    if not all(map(isfinite, told)):
        raise ValueError("no number")
    return found


def plain_numbers(numbers: OwnNumbers) -> Mapping[str, Any]:
    """Return numbers as JSON has them; of richer ones only what a day plan takes."""
    told: Mapping[str, Any] = plain(part_of(OwnNumbers, numbers))
    return told


def _keep(file: Path, made_of: str, numbers: OwnNumbers, *, with_odds: bool) -> None:
    said = {
        "about": ABOUT,
        "made_of": made_of,
        "with_odds": with_odds,
        **plain_numbers(numbers),
    }
    write_kept(file, said)


def write_kept(file: Path, said: Any) -> None:
    """Write what is kept, whole or not at all; a folder that cannot be written to keeps nothing."""
    with suppress(OSError, ValueError):
        write_whole(file, json.dumps(said, indent=1, allow_nan=False))
