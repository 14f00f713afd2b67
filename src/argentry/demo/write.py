"""Write the demo: an invented studio, its invented year of plates, and the truth beside it."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

from argentry import trade
from argentry.demo.plate_story import fact
from argentry.errors import BadInput
from argentry.files import refused_by_disk

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from argentry.demo.year import Year

STUDIO, PLATES, SHELF = "studio.toml", "plates.csv", "shelf.csv"
TRUTH, README = "truth.json", "README.txt"
MARK = "argentry demo"
NOT_WRITTEN = "the folder cannot be written ({why})"
NOT_READ = "the folder cannot be read ({why})"

ABOUT = """\
An invented studio
==================

Everything here is invented: the place, the people, the weather, the plates. It was
made by `argentry demo` with argentry's own physics, so that every command has
something to work on, and so that what is learned from the plates can be checked.

  studio.toml   the studio: place, skyline, lens, iodine box, frames, hours
  plates.csv    its year: {plates} plates on {sessions} days, as the maker wrote them down,
                with readings missing here and there; columns: docs/plates-csv.md
  shelf.csv     what stands on its shelf, as the maker lists it: silver, gold, iodine, hypo
  truth.json    what really happened to each plate and why, which no maker ever sees;
                do not look before you have guessed
  README.txt    this page

{good} of the {plates} plates came out good or fine, {study} are worth a study, {lost} are lost.

Try next, from inside this folder:

  argentry book import plates.csv
  argentry stock import shelf.csv
  argentry day --plates 3
  argentry studio check
  argentry fume --nm 25
  argentry coat --colour gold

To make a studio of your own: argentry studio new my-studio
"""

NEXT = (
    "argentry book import {folder}/plates.csv --studio {folder}",
    "argentry stock import {folder}/shelf.csv --studio {folder}",
    "argentry day --studio {folder}",
    "argentry studio check {folder}",
    "read {readme}",
)


@dataclass(frozen=True)
class Demo:
    """The invented studio and its invented year, as they were written.

    Attributes
    ----------
    folder : str
        Folder they were written into.
    files : Mapping of str to str
        The files: studio, plates and shelf (as the maker wrote them down), truth (what really
        happened to each plate) and readme.
    plates : int
        Plates of the year.
    sessions : int
        Days on which they were made.
    grades : Mapping of str to int
        Plates by grade: lost, study, good, fine.
    good_share : float
        Share that is good or fine. [1]
    next : tuple of str
        What to do now, one line each.
    """

    folder: str
    files: Mapping[str, str]
    plates: int
    sessions: int
    grades: Mapping[str, int]
    good_share: float
    next: tuple[str, ...]


def write_demo(folder: Path, *, replace: bool = False) -> Demo:
    """Write the invented studio and its year into `folder`; the same bytes every time.

    Parameters
    ----------
    folder : Path
        A new or an empty folder.
    replace : bool
        Write the five files again over an earlier demo; anything else there is left alone.

    Raises
    ------
    BadInput
        If the folder holds files already and is not a demo to be replaced, or cannot be written.
    """
    _check_folder(folder, replace=replace)
    from argentry.demo.studio import invented_studio
    from argentry.demo.year import invented_year
    from argentry.studio.text import studio_text, write_studio

    year = invented_year()
    studio = invented_studio(fact("believed_speed"), round(year.good_share, 3), len(year.rows))
    texts = {
        PLATES: plates_text(year),
        SHELF: files("argentry.demo").joinpath(SHELF).read_text(encoding="utf-8"),
        TRUTH: truth_text(year),
        README: _about(year),
    }
    with refused_by_disk(folder, "name another folder", NOT_WRITTEN):
        if replace:
            (folder / STUDIO).unlink(missing_ok=True)
        write_studio(folder, studio_text(studio))
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8", newline="\n")
    written = {"studio": STUDIO, "plates": PLATES, "shelf": SHELF, "truth": TRUTH, "readme": README}
    return Demo(
        folder=str(folder),
        files={key: str(folder / name) for key, name in written.items()},
        plates=len(year.rows),
        sessions=year.sessions,
        grades=year.grades,
        good_share=year.good_share,
        next=tuple(line.format(folder=folder, readme=folder / README) for line in NEXT),
    )


def plates_text(year: Year) -> str:
    """Return the plates of a year as CSV, every column of the plain table of plates."""
    stream = io.StringIO()
    writer = csv.DictWriter(stream, fieldnames=list(year.rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(year.rows)
    return stream.getvalue()


def truth_text(year: Year) -> str:
    """Return the truth of a year as JSON: parameters, causes with their counts, plates."""
    counts: dict[str, int] = {}
    for plate in year.truth:
        counts[plate["cause"]] = counts.get(plate["cause"], 0) + 1
    demo = trade.toml("demo")
    truth = {
        "made_by": MARK,
        "note": "Invented. What really happened; no maker ever sees this.",
        "parameters": {
            key: {"value": fact.value, "unit": fact.unit, "about": fact.note}
            for key, fact in trade.facts("demo").items()
        },
        "dates": demo["dates"],
        "causes": [
            {
                "cause": row["key"],
                "stage": row["stage"],
                "main": row["main"],
                "about": row["about"],
                "plates": counts.get(row["key"], 0),
            }
            for row in demo["cause"]
        ],
        "plates": list(year.truth),
    }
    return json.dumps(truth, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _about(year: Year) -> str:
    grades: Mapping[str, int] = year.grades
    return ABOUT.format(
        plates=len(year.rows),
        sessions=year.sessions,
        good=grades["good"] + grades["fine"],
        study=grades["study"],
        lost=grades["lost"],
    )


def _check_folder(folder: Path, *, replace: bool) -> None:
    """Refuse to write over anything that is not a demo."""
    if folder.exists() and not folder.is_dir():
        raise BadInput(str(folder), "this is a file, not a folder", "name a new folder")
    with refused_by_disk(folder, "name another folder", NOT_READ):
        holds = folder.exists() and any(folder.iterdir())
    if not holds:
        return
    if not _is_demo(folder):
        raise BadInput(
            str(folder), "the folder holds other files already", "name a new or an empty folder"
        )
    if not replace:
        raise BadInput(
            str(folder), "there is a demo here already", "use it, or write it again with --replace"
        )


def _is_demo(folder: Path) -> bool:
    """Tell whether a folder is an earlier demo: its studio, if it has one, says it is invented."""
    from argentry.studio.file import read_studio

    if (folder / STUDIO).exists():
        try:
            return read_studio(folder).invented
        except BadInput:
            return False  # somebody has edited it: it is not ours to overwrite
    try:
        return MARK in (folder / TRUTH).read_text(encoding="utf-8")[:200]
    except (OSError, UnicodeDecodeError):
        return False
