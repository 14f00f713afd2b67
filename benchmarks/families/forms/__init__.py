"""The families: each draws studios whose plates fail by a form of its own."""

from __future__ import annotations

from benchmarks.families.forms import (
    bottles,
    cliffs,
    hazards,
    luck,
    outside,
    own_columns,
    pairs,
    strangers,
)

FAMILIES = {
    "cliffs": cliffs.draw,
    "pairs": pairs.draw,
    "hazards": hazards.draw,
    "bottles": bottles.draw,
    "own columns": own_columns.draw,
    "outside": outside.draw,
    "luck": luck.draw,
}
# Outside the mean of the families: run by their names alone.
STRANGERS = {
    "window": strangers.window,
    "season": strangers.season,
    "marks": strangers.marks,
    "people": strangers.people,
}
EVERY = {**FAMILIES, **STRANGERS}
