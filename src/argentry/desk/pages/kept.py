"""Answers kept beside the book: what was worked out for a page is there the next time."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path

from argentry.desk.house import House, book_so_far
from argentry.desk.numbers.kept import ABOUT, write_kept
from argentry.desk.pages.today import stamp
from argentry.keeping.studio import load_studio
from argentry.studio.file import FILE
from argentry.version import VERSION

SEASONS_FILE, TAUGHT_FILE = "seasons.json", "taught.json"


def season_mark(house: House) -> str:
    """Return another word whenever a season of the studio may come out otherwise than before."""
    climate = load_studio(house.studio_dir).weather.climate
    files = [FILE, "plates.csv", *([climate] if climate else [])]
    times = (stamp(house.studio_dir / name) for name in files)
    return "-".join(map(str, (VERSION, *book_so_far(house), *times)))


def taught_mark(house: House) -> str:
    """Return another word whenever the plates teach something else than before."""
    from argentry.desk.numbers.makings import from_book, told_by

    told = told_by(from_book(house.book, house.studio))
    return sha256(f"{VERSION} {told.said}".encode()).hexdigest()


def kept(folder: Path, file: str) -> Mapping[str, tuple[str, str]]:
    """Return what `keep` was given last; nothing when it cannot be read."""
    try:
        said = json.loads((folder / file).read_text(encoding="utf-8"))["answers"]
        return {str(asked): (str(mark), str(answer)) for asked, (mark, answer) in said.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def keep(folder: Path, file: str, answers: Mapping[str, tuple[str, str]]) -> None:
    """Keep answers, each with its mark and as JSON; the file may be deleted at any time."""
    write_kept(folder / file, {"about": ABOUT, "answers": dict(answers)})
