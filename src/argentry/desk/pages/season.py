"""Seasons kept beside the book: what was worked out for the page is there the next time."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from argentry.desk.house import House, book_so_far
from argentry.desk.numbers.kept import ABOUT, write_kept
from argentry.desk.pages.today import stamp
from argentry.studio.file import FILE
from argentry.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

SEASONS_FILE = "seasons.json"


def season_mark(house: House) -> str:
    """Return another word whenever a season of the studio may come out otherwise than before."""
    from argentry.keeping.studio import load_studio

    climate = load_studio(house.studio_dir).weather.climate
    files = [FILE, "plates.csv", *([climate] if climate else [])]
    times = (stamp(house.studio_dir / name) for name in files)
    return "-".join(map(str, (VERSION, *book_so_far(house), *times)))


def kept_seasons(folder: Path) -> Mapping[str, tuple[str, str]]:
    """Return what `keep_seasons` was given last; nothing when it cannot be read."""
    try:
        said = json.loads((folder / SEASONS_FILE).read_text(encoding="utf-8"))["seasons"]
        return {str(asked): (str(mark), str(season)) for asked, (mark, season) in said.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def keep_seasons(folder: Path, seasons: Mapping[str, tuple[str, str]]) -> None:
    """Keep seasons, each with its mark and as JSON; the file may be deleted at any time."""
    write_kept(folder / SEASONS_FILE, {"about": ABOUT, "seasons": dict(seasons)})
