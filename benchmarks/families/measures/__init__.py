"""What is measured: each measure takes a studio and gives what one studio says of it."""

from __future__ import annotations

from benchmarks.families.measures import (
    advice,
    batch,
    causes,
    following,
    numbers,
    odds,
    plate_causes,
    pooling,
)

MEASURES = {
    "odds": odds,
    "causes": causes,
    "why": plate_causes,
    "next": following,
    "need": batch,
    "numbers": numbers,
    "advice": advice,
    "pooling": pooling,
}
