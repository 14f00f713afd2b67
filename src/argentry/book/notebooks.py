"""Notebooks that were imported: each file as it was, named by its hash, with its mapping."""

from __future__ import annotations

import hashlib
from pathlib import Path

from argentry.book.pictures.kept import keep_file

FOLDER = "notebooks"
MEMORY = "remembered.toml"
MAPPING = ".toml"


def sha256_of(content: bytes) -> str:
    """Return the hash by which a file is kept."""
    return hashlib.sha256(content).hexdigest()


def keep_notebook(studio: Path, content: bytes, mapping: str, key: str = "") -> None:
    """Keep a notebook's file beside the book, with the mapping it was read by.

    The mapping has the file's name, or that of `key` where it is one of several of that file.

    Raises
    ------
    ArgentryError
        If it cannot be written.
    """
    name = sha256_of(content)
    keep_file(studio / FOLDER, name, content)
    keep_file(studio / FOLDER, (key or name) + MAPPING, mapping.encode(), again=True)


def kept_notebook(studio: Path, name: str) -> bytes | None:
    """Return the content of a file of the folder of notebooks; None when there is none."""
    try:
        return (studio / FOLDER / name).read_bytes()
    except FileNotFoundError:
        return None


def kept_mapping(studio: Path, begin: str) -> Path | None:
    """Return the mapping file of the notebook whose hash begins so; None when it is not kept."""
    found = sorted((studio / FOLDER).glob(f"{begin}*{MAPPING}"))
    return found[0] if len(found) == 1 else None


def keep_memory(studio: Path, text: str) -> None:
    """Keep what the studio answered, for the next notebook.

    Raises
    ------
    ArgentryError
        If it cannot be written.
    """
    keep_file(studio / FOLDER, MEMORY, text.encode(), again=True)
