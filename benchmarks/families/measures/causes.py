"""Causes over all plates: is the main one named, is it first, is one named that is none?"""

from __future__ import annotations

from benchmarks.families import doors
from benchmarks.families.scores import Mean

SIZES = (30, 60, 120, 250)
NAMED = "45, 75, 90 % at 60, 120, 250"
FIRST = "55, 75, 88 % at 60, 120, 250"


def is_of(said, spoiler):
    """Return whether a cause that was told is this spoiler, under any of its right names."""
    words = {said.cause, *getattr(said, "conditions", ())}
    return bool(words & {*spoiler.names, *spoiler.columns})


def of_studio(family, seed, plates):
    studio, book = doors.notebook(family, seed, plates)
    return judge(studio.world, doors.causes(book))


def judge(world, told):
    named = [one for one in told.causes if one.named]
    return {
        "main": None if world.main is None else world.main.name,
        "named": world.main is not None and any(is_of(one, world.main) for one in named),
        "first": world.main is not None and any(is_of(one, world.main) for one in told.causes[:1]),
        "three": world.main is not None and any(is_of(one, world.main) for one in told.causes[:3]),
        "false": any(not any(is_of(one, s) for s in world.spoilers) for one in named),
        "looks": world.manner.looks,
    }


def rows(results):
    out = []
    wrong = [r for r in results if r["main"]]
    table = [r for r in wrong if r["looks"] == "table"]
    for title, some in (("", wrong), (", looks as the trade's table", table)):
        for key, words, asked in (
            ("named", "named", NAMED),
            ("first", "first", FIRST),
            ("three", "in the first three", ""),
        ):
            mean = Mean()
            for one in some:
                mean.add(one[key])
            out.append((f"causes{title}: main cause {words}", asked, mean.shown()))
    for title, some in (
        ("", results),
        (" where something is wrong", wrong),
        (" where nothing nameable is", [r for r in results if not r["main"]]),
    ):
        mean = Mean()
        for one in some:
            mean.add(one["false"])
        asked = "" if title else "at most 5 %"
        out.append((f"causes: one named that is none{title}", asked, mean.shown()))
    return out
