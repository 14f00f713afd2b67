"""Odds: scores beside the peers', calibration, and whether the 80 % range holds the true chance."""

from __future__ import annotations

import numpy as np

from benchmarks.families import doors, peers
from benchmarks.families.scores import (
    Mean,
    calibration_by_chance,
    calibration_error,
    expected_log_loss,
)

SIZES = (30, 60, 120, 250)
BY_CHANCE = "odds: calibration error that so few studios show where there is none"


def of_studio(family, seed, plates):
    """Return what is said of each plate after the notebook, and what is true of it."""
    studio, book = doors.notebook(family, seed, plates)
    questions = [{c: one.work.values[c] for c in studio.kept} for one in studio.after]
    told = [doors.odds(book, known) for known in questions]
    return judge(studio, told, peers.predict(studio.rows, questions))


def judge(studio, told, others):
    return {
        "booked": studio.world.manner.bookings != "none",
        "said": [one.probability for one in told],
        "low": [one.low for one in told],
        "high": [one.high for one in told],
        "true": [studio.world.graded_good(one.work) for one in studio.after],
        "peers": {name: list(said) for name, said in others.items()},
    }


def rows(results):
    """Return (what, asked, found) over studios of one size."""
    out = []
    for title, some in (
        ("all", results),
        ("with bookings", [r for r in results if r["booked"]]),
        ("without bookings", [r for r in results if not r["booked"]]),
    ):
        if not some:
            continue
        for peer in peers.PEERS if title == "all" else ("base rate",):
            gain = Mean()
            for one in some:
                ours = expected_log_loss(one["said"], one["true"])
                gain.add(ours - expected_log_loss(one["peers"][peer], one["true"]))
            out.append(
                (f"odds, {title}: log score against {peer}", "below 0", gain.shown("{:+.4f}"))
            )
    said, true = ([np.array(r[key]) for r in results] for key in ("said", "true"))
    error = calibration_error(np.concatenate(said), np.concatenate(true))
    chance = calibration_by_chance(said, true)
    more = np.mean(chance >= error)
    out.append(("odds: calibration error", "under .05 from 60", f"{error:.3f}"))
    out.append((BY_CHANCE, "", f"{chance.mean():.3f} ± {chance.std():.3f}; as much in {more:.0%}"))
    held, wide = Mean(), Mean()
    for one in results:
        low, high, chance = (np.array(one[k]) for k in ("low", "high", "true"))
        held.add(((low <= chance) & (chance <= high)).sum(), chance.size)
        wide.add((high - low).sum(), chance.size)
    out.append(("odds: 80 % range holds the true chance", "72-88 %", held.shown()))
    out.append(("odds: width of that range", "", wide.shown()))
    return out
