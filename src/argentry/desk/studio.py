"""Open a studio folder, make a new one, check one."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from argentry.records.studio import Studio


def load_studio(path: Path) -> Studio:
    """Return the studio kept in folder `path`.

    Parameters
    ----------
    path : Path
        The studio folder, or its ``studio.toml``.

    Returns
    -------
    Studio
        Its values.

    Raises
    ------
    BadInput
        If there is no such folder or the file has mistakes: the first of them, and how many more.
    """
    from argentry.book.studio_file import read_studio

    return read_studio(path)
