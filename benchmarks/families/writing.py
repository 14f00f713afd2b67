"""What the maker writes down: cells left empty, faults booked or not, looks, wrong grades."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import argentry
from benchmarks.families.studio import STAGES, Made

if TYPE_CHECKING:
    from benchmarks.families.studio import Spoiler, World

OF_STAGE = {
    "polish": ("silver_um", "times_repolished", "buff_minutes"),
    "coat": (
        *("room_c", "room_rh_pct", "plate_c", "box_c", "box_rest_minutes", "fuming_seconds"),
        "coat_nm",
    ),
    "exposure": (
        *("lens", "f_number", "subject_plane", "coat_to_exposure_minutes", "meter_ev"),
        *("cloud_okta", "exposure_start", "exposure_seconds"),
    ),
    "development": (
        *("exposure_to_development_minutes", "development_start", "development_end", "frame"),
    ),
    "finish": (
        *("fixer_age_days", "fixer_plates", "water_kind", "water_us_cm", "gold_age_hours"),
        *("gilding_minutes", "drying", "sealed_same_day"),
    ),
}
DOCUMENTED = tuple(column for columns in OF_STAGE.values() for column in columns)
# kept or not as one: a start without its end tells nothing
TOGETHER = (
    ("f_number", "meter_ev", "exposure_seconds", "exposure_start"),
    ("development_start", "development_end"),
)
LIKELY = {"usually": 0.7, "sometimes": 0.3, "rarely": 0.05}  # the trade's table in numbers


@cache
def trade_table(name):
    """Return a table of the trade's list: causes or defects, as data."""
    import tomllib

    file = Path(argentry.__file__).parent / "trade" / "data" / f"{name}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


@cache
def looks_of(key):
    """Return (look, chance) of a cause of the trade's list; nothing for one outside of it."""
    for cause in trade_table("causes")["cause"]:
        if cause["key"] == key:
            return tuple((look, p) for word, p in LIKELY.items() for look in cause[word])
    return ()


@cache
def all_looks():
    return {one["key"]: tuple(one["stages"]) for one in trade_table("defects")["defect"]}


class Writer:
    """One maker's way of writing, the same over the whole notebook."""

    def __init__(self, rng, world: World):
        self.rng, self.world, self.manner = rng, world, world.manner
        acting = {column for one in world.spoilers for column in one.columns}
        unkept = {c for c in DOCUMENTED if rng.random() < self.manner.unkept}
        for group in TOGETHER:
            unkept = unkept - set(group) | (set(group) if group[0] in unkept else set())
        self.kept = tuple(c for c in (*DOCUMENTED, *world.own) if c in acting or c not in unkept)
        keys = list(all_looks())
        self.scrambled = {
            one.name: [str(rng.choice(keys)) for _ in range(2)] for one in world.spoilers
        }

    def known(self, work):
        """Return what the maker knows of a plate that is asked about: every column that is kept."""
        return {c: work.values[c] for c in self.kept if c in work.values}

    def write(self, label, work, spoilt_by: tuple[Spoiler, ...]) -> Made:
        rng, manner = self.rng, self.manner
        good = not spoilt_by
        called = good if rng.random() >= manner.turned else not good
        row = {
            "plate": label,
            "date": work.day.isoformat(),
            "session": str(work.session),
            "order": str(work.order),
        }
        seen = None
        if not called:  # a fault that is not there is seen somewhere
            seen = spoilt_by[0].seen or spoilt_by[0].stage if spoilt_by else str(rng.choice(STAGES))
        stopped = None
        if seen is not None and seen != STAGES[-1] and rng.random() < 0.5:
            stopped = STAGES.index(seen)
        reached = STAGES if stopped is None else STAGES[: stopped + 1]
        row |= self._cells(work, reached)
        if called:
            row["grade"] = "fine" if rng.random() < 0.25 else "good"
        else:
            row["grade"] = "lost" if stopped is not None or rng.random() < 0.7 else "study"
        booked = seen
        if not called and spoilt_by and manner.bookings == "right":
            right = rng.random() < 0.85
            booked = spoilt_by[0].stage if right else str(rng.choice(reached))
        if manner.bookings != "none":
            for stage in reached:
                row[f"stage_{stage}"] = "fault" if stage == booked else "ok"
        looks = self._looks(spoilt_by) if not called else set()
        row["defects"] = ";".join(f"{look}@{self._put(look, booked)}" for look in sorted(looks))
        return Made(label, work, spoilt_by, good, row)

    def _cells(self, work, reached):
        cells = {}
        for column in self.kept:
            stage = next((s for s, own in OF_STAGE.items() if column in own), None)
            if stage is not None and stage not in reached:
                continue
            if column in work.values and self.rng.random() >= self.manner.missing:
                cells[column] = str(work.values[column])
        return cells

    def _put(self, look, booked):
        allowed = all_looks()[look]
        return booked if booked in allowed else allowed[0]

    def _looks(self, spoilt_by):
        rng, how = self.rng, self.manner.looks
        if how == "none":
            return set()
        seen = set()
        for one in spoilt_by:
            if how == "scrambled":
                first, second = self.scrambled[one.name]
                seen |= {look for look, p in ((first, 0.7), (second, 0.3)) if rng.random() < p}
                continue
            table = next((t for name in one.names if (t := looks_of(name))), ())
            weight = 1.0 if how == "table" else 0.6
            seen |= {look for look, p in table if rng.random() < weight * p}
            if how == "noisy" and rng.random() < 0.35:
                seen.add(str(rng.choice(list(all_looks()))))
        return seen
