"""Pooling: what eight files of other studios are worth to a maker with ten plates.

Four of the eight studios have the same main trouble as the maker's, four another. Their worth is
told against what thirty more plates of the maker's own would have brought; then one file is put in
the place of another that comes of a studio where everything is the other way round.
"""

from __future__ import annotations

from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.families import doors
from benchmarks.families.draw import AFTER, Shop, draw_studio
from benchmarks.families.place import write_studio
from benchmarks.families.scores import Mean, expected_log_loss

SIZES = (10,)
KINDS = ("cliffs", "hazards")
FILES, MORE, OF_DONOR = 8, 30, 80
NOT_RUN = "NOT RUN: argentry has no `learn share` and `learn adopt`"


def donors(family, seed):
    """Return the seeds of eight other studios, four of them with the same main trouble."""
    main = Shop(family, seed).world.main.name
    alike, others = [], []
    for other in count(1000 * (seed + 1)):
        same = Shop(family, other).world.main.name == main
        (alike if same else others).append(other)
        if len(alike) >= FILES // 2 and len(others) >= FILES // 2:
            return alike[: FILES // 2] + others[: FILES // 2]
    return []


def turned(studio):
    """Return a notebook in which every good plate was lost and every lost one good."""
    grades = {"good": "lost", "fine": "lost", "lost": "good", "study": "good"}
    return [{**row, "grade": grades[row["grade"]], "defects": ""} for row in studio.rows]


def house(place, name, rows, *, blank=False):
    """Return a studio folder with a notebook in it."""
    return write_studio(Path(place) / name, rows, (doors.ASKED,) if blank else ())


def of_studio(family, seed, plates):
    if not doors.can_pool():
        return None
    own = draw_studio(family, seed, plates + MORE, AFTER)
    with TemporaryDirectory() as place:
        files = []
        for number, other in enumerate(donors(family, seed)):
            given = draw_studio(family, other, OF_DONOR, 0)
            folder = house(place, f"donor{number}", given.rows)
            files.append(doors.share(folder, Path(place) / f"{number}.toml"))
        odd = house(place, "odd", turned(draw_studio(family, 999, OF_DONOR, 0)))
        spoilt = [doors.share(odd, Path(place) / "odd.toml"), *files[1:]]
        return {
            "alone": _loss(own, house(place, "alone", own.rows[:plates], blank=True)),
            "more": _loss(own, house(place, "more", own.rows, blank=True)),
            "with": _loss(own, _adopting(place, "with", own.rows[:plates], files)),
            "odd": _loss(own, _adopting(place, "spoilt", own.rows[:plates], spoilt)),
        }


def _adopting(place, name, rows, files):
    folder = house(place, name, rows, blank=True)
    doors.adopt(folder, files)
    return folder


def _loss(own, folder):
    book = doors.open_studio(folder)
    said = [
        doors.odds(book, {c: one.work.values[c] for c in own.kept}).probability for one in own.after
    ]
    return expected_log_loss(said, [own.world.graded_good(one.work) for one in own.after])


def rows(results):
    title = f"pooling, {FILES} files: share of what {MORE} own plates would bring"
    if None in results:
        return [(title, "a third", NOT_RUN)]
    gain, odd = Mean(), Mean()
    for one in results:
        gain.add(one["alone"] - one["with"], one["alone"] - one["more"])
        odd.add(one["alone"] - one["odd"], one["alone"] - one["more"])
    return [
        (title, "a third", gain.shown()),
        ("pooling: the same with one file of eight turned round", "loses an eighth", odd.shown()),
    ]
