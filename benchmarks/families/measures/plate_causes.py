"""`why PLATE`: is what is said with 90 % true in 90 %? Is the true cause among the first three?"""

from __future__ import annotations

from itertools import pairwise

from benchmarks.families import doors
from benchmarks.families.measures.causes import is_of
from benchmarks.families.scores import Mean

SIZES = (30, 60, 120, 250)
BANDS = (0.0, 0.1, 0.3, 0.5, 0.7, 0.85, 1.0)
ASKED = 5  # newest failed plates of a studio


def of_studio(family, seed, plates):
    studio, book = doors.notebook(family, seed, plates)
    lost = [m for m in studio.made if m.spoilt_by and m.row["grade"] in ("lost", "study")]
    return [judge(one, doors.why(book, one.label)) for one in lost[-ASKED:]]


def judge(made, told):
    causes = [
        (one.probability, any(is_of(one, s) for s in made.spoilt_by), one.stage)
        for one in told.causes
    ]
    stages = {s.stage for s in made.spoilt_by}
    three = causes[:3]
    return {
        "said": [(probability, true) for probability, true, _ in causes],
        "cause": any(true for _, true, _ in three),
        "either": any(true or stage in stages for _, true, stage in three),
        "stage": any(stage in stages for *_, stage in causes[:1]),
        "sure": bool(told.enough_plates),
    }


def rows(results):
    out = []
    for key, words, asked in (
        ("cause", "true cause in the first three", ""),
        ("either", "true cause or stage in the first three", "75 %"),
        ("stage", "first one is of the true stage", ""),
    ):
        mean = Mean()
        for studio in results:
            mean.add(sum(one[key] for one in studio), len(studio))
        out.append((f"why PLATE: {words}", asked, mean.shown()))
    for low, high in pairwise(BANDS):
        said, true = Mean(), Mean()
        for studio in results:
            here = [
                pair
                for one in studio
                for pair in one["said"]
                if low <= pair[0] < high + (high == 1.0)
            ]
            said.add(sum(p for p, _ in here), len(here))
            true.add(sum(t for _, t in here), len(here))
        if said.counts:
            out.append(
                (
                    f"why PLATE: causes said with {low:.0%} to {high:.0%}",
                    "within 10 points",
                    f"said {said.value:.0%}, true {true.shown()} ({sum(said.counts):.0f})",
                )
            )
    return out
