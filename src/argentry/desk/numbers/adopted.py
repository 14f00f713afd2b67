"""Files of other studios kept in this one, and what they let it assume before any plate."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from pathlib import Path

from argentry.errors import BadInput
from argentry.exchange.shared_file import read_shared, shared_text
from argentry.files import refused_by_disk, write_whole
from argentry.records.learned import OLD_VERSION, Adopted, SharedStudio

FOLDER = "adopted"  # in the studio folder
OWN = "shared.txt"  # beside it: a checksum for each file that this studio wrote for others
MOST_FILES = 100
LONGEST = 60  # letters of a file's name that are kept
THIS_STUDIO = "this studio wrote it, and its plates count by themselves"
TWICE = "it says the same as {other}"
EACH_ONCE = "name the file of each studio once"
NOTHING = Adopted((), (), 0, ())


def note_own(folder: Path, text: str) -> None:
    """Note in a studio's folder that it wrote a file for others, so that it never adopts it."""
    noted = _own(folder)
    if _sum(text) not in noted:
        write_whole(folder / OWN, "".join(f"{one}\n" for one in (*sorted(noted), _sum(text))))


def _own(folder: Path) -> set[str]:
    file = folder / OWN
    if not file.is_file():
        return set()
    return set(file.read_text(encoding="ascii", errors="replace").split())


def _sum(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def _check_each_counts_once(read: Sequence[SharedStudio], folder: Path) -> None:
    own, names = _own(folder), dict[str, str]()
    for shared in read:
        mark = _sum(shared_text(shared))
        if mark in own:
            raise BadInput(shared.name, THIS_STUDIO, "leave it out")
        if mark in names:
            raise BadInput(shared.name, TWICE, EACH_ONCE, other=names[mark])
        names[mark] = shared.name


def read_files(paths: Sequence[Path], folder: Path | None = None) -> tuple[SharedStudio, ...]:
    """Return what files of other studios say.

    Parameters
    ----------
    paths : sequence of Path
        The files.
    folder : Path, optional
        Of the studio that would adopt them; None: they were adopted before.

    Raises
    ------
    BadInput
        If one of them is not such a file, says what cannot be, says the same as another, or was
        written by the studio itself: its plates would count twice.
    """
    from argentry.learn.pooling.scales import scale_of

    if len(paths) > MOST_FILES:
        raise BadInput(
            "argentry learn adopt",
            "{count} files are more than can be weighed",
            "give at most {most}",
            count=len(paths),
            most=MOST_FILES,
        )
    read = []
    for path in paths:
        shared = read_shared(path)
        for number, figure in enumerate(shared.figures, 1):
            scale = scale_of(*figure.key)
            where = "{name}, figure {number}".format(name=shared.name, number=number)
            if scale is None:
                raise BadInput(
                    where,
                    "{of!r} is not known here as {kind}",
                    "leave it out, or update argentry",
                    of=figure.of,
                    kind=figure.kind,
                )
            ends = [figure.low, figure.high]
            if shared.version != OLD_VERSION:
                ends += [figure.believed_low, figure.believed_high]
            if not scale.low < min(ends) <= max(ends) < scale.high:
                raise BadInput(
                    where,
                    "{low:g} to {high:g} cannot be",
                    "give a range between {least:g} and {most:g}",
                    low=min(ends),
                    high=max(ends),
                    least=scale.low,
                    most=scale.high,
                )
        read.append(shared)
    if folder is not None:
        _check_each_counts_once(read, folder)
    return tuple(read)


def weighed(paths: Sequence[Path], folder: Path | None = None) -> Adopted:
    """Return what files of other studios would let assume, in the studio of a folder."""
    from argentry.learn.pooling.pool import pool

    return pool(read_files(paths, folder))


def adopt(folder: Path, paths: Sequence[Path]) -> Adopted:
    """Keep files of other studios in a studio, in place of those kept before; none: forget them.

    Parameters
    ----------
    folder : Path
        The studio folder.
    paths : sequence of Path
        The files.

    Raises
    ------
    BadInput
        If one of them cannot be used; nothing is changed then.
    """
    texts = [(shared.name, shared_text(shared)) for shared in read_files(paths, folder)]
    place = folder / FOLDER
    with refused_by_disk(place, "check its permissions"):
        place.mkdir(exist_ok=True)
        before = set(place.glob("*.toml"))
        kept = set()
        for number, (name, text) in enumerate(texts, 1):
            # whatever the file was called: only these are read again
            file = place / "{number:03d}-{stem}.toml".format(
                number=number, stem=name.removesuffix(".toml")[:LONGEST]
            )
            write_whole(file, text)
            kept.add(file)
        for old in before - kept:
            old.unlink()
    return adopted_in(folder)


def adopted_in(folder: Path | None) -> Adopted:
    """Return what the files kept in a studio let assume; nothing without files."""
    place = None if folder is None else folder / FOLDER
    if place is None or not place.is_dir():
        return NOTHING
    files = sorted(place.glob("*.toml"))
    return _weighed(tuple((file, file.stat().st_mtime_ns) for file in files))


@lru_cache(maxsize=4)
def _weighed(files: tuple[tuple[Path, int], ...]) -> Adopted:
    return weighed([file for file, _ in files])
