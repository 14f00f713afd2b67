"""Folders with a list of checksums, after RFC 8493 (BagIt 1.0): sealed, and checked before use."""

from __future__ import annotations

import hashlib
import os
import re
import stat
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from argentry.errors import BadInput

DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
VERSIONS = ("0.97", "1.0")
TAG_BYTES = 64 << 20  # of a list of checksums or a file of notes
FILES = 1_000_000
PIECE = 1 << 20
WHOLE = "fetch the archive again, or use another copy"
_LINE = re.compile(r"([0-9A-Fa-f]{64})[ \t]+\*?(.+)")
_ODD = re.compile(r"[\x00-\x1f\x7f\\:]")


@dataclass(frozen=True)
class Bag:
    """A bag whose every file was checked.

    Attributes
    ----------
    folder : Path
        Where it is.
    files : Mapping[str, str]
        Path within the bag (``data/...``) to SHA-256.
    info : Mapping[str, str]
        What bag-info.txt says, by label.
    """

    folder: Path
    files: Mapping[str, str]
    info: Mapping[str, str]


def sha256_of(path: Path, told: Callable[[int], None] | None = None) -> str:
    """Return the SHA-256 of a file in hexadecimal; `told` hears the bytes of each piece."""
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while piece := stream.read(PIECE):
            digest.update(piece)
            if told:
                told(len(piece))
    return digest.hexdigest()


def seal_bag(folder: Path, info: Sequence[tuple[str, str]]) -> None:
    """Write the tag files of a folder whose ``data`` is complete.

    Parameters
    ----------
    folder : Path
        Holds ``data``.
    info : sequence of (str, str)
        Label and value of each line of bag-info.txt; the size of the payload is added.
    """
    names = sorted(
        path.relative_to(folder).as_posix()
        for path in (folder / "data").rglob("*")
        if path.is_file()
    )
    size = sum((folder / name).stat().st_size for name in names)
    lines = [*info, ("Payload-Oxum", f"{size}.{len(names)}")]
    _write(folder / "bagit.txt", DECLARATION)
    _write(folder / "bag-info.txt", "".join(f"{label}: {value}\n" for label, value in lines))
    _write(folder / "manifest-sha256.txt", _manifest(folder, names))
    tags = ["bag-info.txt", "bagit.txt", "manifest-sha256.txt"]
    _write(folder / "tagmanifest-sha256.txt", _manifest(folder, tags))


def open_bag(folder: Path, progress: Callable[[int, int], None] | None = None) -> Bag:
    """Check every file of a bag and return what it holds.

    Parameters
    ----------
    folder : Path
        The bag.
    progress : callable, optional
        Told bytes done and bytes in all.

    Returns
    -------
    Bag
        All of whose files are there, whole, and within the folder.

    Raises
    ------
    BadInput
        If it is not a bag, is incomplete or damaged, or names a place outside of itself.

    References
    ----------
    RFC 8493, The BagIt File Packaging Format (V1.0), 2018, sections 2, 3 and 5.
    """
    where = folder.name or str(folder)
    if not folder.is_dir():
        raise BadInput(str(folder), "there is no such folder", "name the folder of an archive")
    if not (folder / "bagit.txt").is_file():  # before a word on what any other folder holds
        raise BadInput(where, "this is not an archive: it has no bagit.txt", "name its folder")
    there = _walk(where, folder)
    version = _labels(where, folder / "bagit.txt").get("BagIt-Version")
    if version not in VERSIONS:
        raise BadInput(
            where,
            "its version {version!r} is not supported",
            "give {versions}",
            version=version,
            versions=" or ".join(VERSIONS),
        )
    if "fetch.txt" in there:
        raise BadInput(where, "it has files elsewhere (fetch.txt)", "give one that is complete")
    if "manifest-sha256.txt" not in there:
        raise BadInput(where, "it has no manifest-sha256.txt", WHOLE)
    files = _read_manifest(where, folder / "manifest-sha256.txt", payload=True)
    held = {name for name in there if name.startswith("data/")}
    _same_names(where, files, held)
    checks = dict(files)
    if "tagmanifest-sha256.txt" in there:
        tags = _read_manifest(where, folder / "tagmanifest-sha256.txt", payload=False)
        _same_names(where, tags, there & tags.keys())
        checks |= tags
    _check_sums(where, folder, checks, progress)
    info = _labels(where, folder / "bag-info.txt") if "bag-info.txt" in there else {}
    return Bag(folder, files, info)


def _walk(where: str, folder: Path) -> set[str]:
    """Return every file's path within the bag; refuse links and what is not a file."""
    names: set[str] = set()
    for root, folders, files in os.walk(folder, followlinks=False):
        for name in (*folders, *files):
            path = Path(root, name)
            within = path.relative_to(folder).as_posix()
            mode = path.lstat().st_mode
            if stat.S_ISLNK(mode):
                raise BadInput(
                    where, "{within!r} is a link", "give an archive without links", within=within
                )
            if stat.S_ISREG(mode):
                names.add(within)
            elif not stat.S_ISDIR(mode):
                raise BadInput(where, "{within!r} is not a plain file", "remove it", within=within)
            if len(names) > FILES:
                raise BadInput(where, "it holds over {files} files".format(files=FILES), WHOLE)
    return names


def safe_name(where: str, name: str) -> str:
    """Return a path within an archive when it stays there.

    Raises
    ------
    BadInput
        If it is absolute, climbs out, or holds a sign that some systems read as a way out.
    """
    parts = PurePosixPath(name).parts
    if (
        not parts
        or name.startswith(("/", "~"))
        or ".." in parts
        or _ODD.search(name)
        or str(PurePosixPath(name)) != name
    ):
        raise BadInput(
            where, "{name!r} lies outside the archive", "use another archive", name=name[:60]
        )
    return name


def _read_manifest(where: str, path: Path, *, payload: bool) -> dict[str, str]:
    out: dict[str, str] = {}
    for number, line in enumerate(_text(where, path).split("\n"), 1):
        if not line.strip():
            continue
        match = _LINE.fullmatch(line.rstrip("\r"))
        place = f"{where} {path.name} line {number}"
        if match is None:
            raise BadInput(place, "the line must be a checksum and a path", WHOLE)
        raw = match[2].removeprefix("./")
        name = re.sub("%0[dD]", "\r", re.sub("%0[aA]", "\n", raw)).replace("%25", "%")
        safe_name(place, name)
        if payload != name.startswith("data/"):
            raise BadInput(
                place, "{name!r} does not belong in this list".format(name=name[:60]), WHOLE
            )
        if name in out:
            raise BadInput(place, "{name!r} is listed twice".format(name=name[:60]), WHOLE)
        out[name] = match[1].lower()
    return out


def _same_names(where: str, listed: Mapping[str, str], held: set[str]) -> None:
    missing = sorted(listed.keys() - held)
    if missing:
        raise BadInput(
            where, "{missing!r} is missing from it".format(missing=missing[0][:60]), WHOLE
        )
    extra = sorted(held - listed.keys())
    if extra:
        raise BadInput(
            where, "{extra!r} is in it but not in its list".format(extra=extra[0][:60]), WHOLE
        )


def _check_sums(
    where: str,
    folder: Path,
    sums: Mapping[str, str],
    progress: Callable[[int, int], None] | None,
) -> None:
    total = sum((folder / name).stat().st_size for name in sums)
    done = 0

    def told(size: int) -> None:
        nonlocal done
        done += size
        if progress:
            progress(done, total)

    for name, wanted in sums.items():
        if sha256_of(folder / name, told) != wanted:
            raise BadInput(where, "{name!r} was changed or damaged".format(name=name), WHOLE)


def _labels(where: str, path: Path) -> dict[str, str]:
    out: dict[str, str] = {}
    for line in _text(where, path).splitlines():
        label, colon, value = line.partition(":")
        if colon and not line[:1].isspace():
            out[label.strip()] = value.strip()
    return out


def _text(where: str, path: Path) -> str:
    try:
        if path.stat().st_size > TAG_BYTES:
            raise BadInput(where, "{name} is too long".format(name=path.name), WHOLE)
        return path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise BadInput(
            where, "{name} cannot be read as text".format(name=path.name), WHOLE
        ) from None


def _manifest(folder: Path, names: Sequence[str]) -> str:
    return "".join(f"{sha256_of(folder / name)}  {name}\n" for name in names)


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")
