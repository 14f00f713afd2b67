"""The studio's own numbers: do their 80 % ranges hold the truth, in quiet and after a new bottle?

The light, the growth of a coat and the ripening under the filter are argentry's own (other
benchmarks judge those); what a studio's plates, box and eye are is drawn here: plates of one lot
that go astray together, thermometers and eyes that are wrong the same way for every plate,
exposures that follow the last verdict, and a bottle that makes all plates faster or slower from one
day on.

The dose is asked for as the studio's own light counts it, as its range is told: what is wrong with
all of that light alike (`dose_shared_log_sd`) is met again by the next plate. No light is wrong in
these studios, so that this dose and the true one are the same.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from math import exp, log, log2
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

import argentry
from benchmarks.families import doors
from benchmarks.families.place import write_studio
from benchmarks.families.scores import Mean

SIZES = (30, 60, 120, 250)
SINCE = {"new bottle": (15, 30), "fresh bottle": (5, 10)}  # plates made with it, least and most
KINDS = ("quiet", *SINCE)
BOX_GRID_C, BOX_GRID_NM = (14.0, 20.0, 26.0), (14.0, 22.0, 34.0)
WHAT = {
    "plate_speed": "plate speed",
    "half_latitude": "latitude",
    "development_dose": "dose",
    "box_factor": "box factor",
}


@cache
def studio():
    with TemporaryDirectory() as place:
        return argentry.load_studio(write_studio(Path(place)))


@cache
def pose_minutes(when, plane):
    """Return the minutes that the studio as written would give."""
    return argentry.expose(when, studio(), plane=plane).minutes


def ripe_minutes(when, stops):
    """Return how long a plate of the starting dose times 2 ** stops takes; None: not that day."""
    usual = argentry.develop(when, studio()).dose_kj_m2
    return argentry.develop(when, studio(), dose_kj_m2=usual * 2.0**stops).minutes


def usual_dose():
    return argentry.develop(datetime(2024, 6, 21, 11, tzinfo=UTC), studio()).dose_kj_m2


@cache
def _growth():
    return np.log(
        [
            [argentry.fume(nm, studio(), box_temperature_c=c).seconds for nm in BOX_GRID_NM]
            for c in BOX_GRID_C
        ]
    )


def seconds_to(nm, box_c):
    """Return the seconds to a thickness, between a few that were asked for."""
    rows = [np.interp(log(nm), np.log(BOX_GRID_NM), row) for row in _growth()]
    return exp(float(np.interp(box_c, BOX_GRID_C, rows)))


def truth_of(rng):
    """Return what a studio's plates, box, instruments and eye are like."""
    return {
        "slow": float(rng.normal(0.0, 0.9)),  # stops that its plates need beside the seed
        "latitude": float(np.exp(rng.normal(np.log(0.55), 0.3))),
        "noise": float(rng.uniform(0.15, 0.4)),  # stops, of one plate against another
        "lot": float(rng.uniform(0.0, 0.25)),  # the same, of plates made together
        "dose": float(rng.normal(0.0, 0.45)),  # stops
        "dose_noise": float(rng.uniform(0.15, 0.35)),
        "box": float(rng.normal(0.0, 0.45)),  # log
        "box_noise": float(rng.uniform(0.06, 0.15)),
        "thermometer": float(rng.normal(0.0, 0.7)),  # kelvin, always the same way
        "eye": float(rng.normal(0.0, 0.06)),  # log of thickness, always the same way
    }


def heavy(rng, spread):
    """Return a miss that is mostly small and now and then three times as large."""
    return rng.normal(0.0, spread * (3.0 if rng.random() < 0.08 else 0.85))


def notebook(seed, plates, kind):
    """Return rows and the truth at their end."""
    rng = np.random.default_rng([20261127, len(kind), seed, plates])
    truth = truth_of(rng)
    since = int(rng.integers(SINCE[kind][0], SINCE[kind][1] + 1)) if kind in SINCE else -1
    new_from = plates - since
    jump = float(rng.choice([-1.0, 1.0]) * rng.uniform(0.5, 0.9))
    rows, day, aim, lot, session = [], datetime(2024, 3, 5, tzinfo=UTC), 0.0, 0.0, 0
    while len(rows) < plates:
        day += timedelta(days=int(rng.integers(2, 6)))
        if not 3 <= day.month <= 10:
            continue
        session += 1
        lot = heavy(rng, truth["lot"])
        for order in range(min(int(rng.integers(1, 4)), plates - len(rows))):
            slow = truth["slow"] + (jump if len(rows) >= new_from else 0.0)
            row, step = _plate(rng, truth, day, order, slow + lot, aim)
            aim += step
            row |= {"plate": f"N{len(rows):04d}", "session": str(session)}
            row["iodine_bottle"] = "no 2" if len(rows) >= new_from else "no 1"
            rows.append(row)
    slow = truth["slow"] + (jump if new_from < plates else 0.0)
    start = argentry.trade.value("exposure", "plate_speed")
    return rows, {
        "plate_speed": start * 2.0**-slow,
        "half_latitude": truth["latitude"],
        "development_dose": usual_dose() * 2.0 ** truth["dose"],
        "box_factor": exp(truth["box"]),
        "jump": jump,
    }


def _plate(rng, truth, day, order, slow, aim):
    """Return one row, and by how many stops the maker then changes the exposure."""
    when = day + timedelta(hours=10 + 2 * order)
    plane = "sun" if rng.random() < 0.7 else "shade"
    given = aim + rng.normal(0.0, 0.3)
    light = heavy(rng, 0.12 if plane == "sun" else 0.3)
    miss = given - slow + light + heavy(rng, truth["noise"])
    seen = abs(miss) > truth["latitude"]
    word = "right" if not seen else ("under" if miss < 0 else "over")
    if seen and abs(miss) > 2.0:
        word = "blank" if miss < 0 else "solarised"
    seconds = 60.0 * pose_minutes(when, plane) * 2.0**given
    box_c = float(rng.uniform(15.0, 25.0))
    nm = 25.0 * exp(rng.normal(0.0, 0.12))
    took = seconds_to(nm, box_c) * exp(truth["box"] + heavy(rng, truth["box_noise"]))
    row = {
        "date": day.date().isoformat(),
        "order": str(order + 1),
        "box_c": f"{box_c + truth['thermometer'] + rng.normal(0.0, 0.3):.1f}",
        "box_rest_minutes": "60",
        "fuming_seconds": f"{took:.0f}",
        "coat_nm": f"{nm * exp(truth['eye'] + rng.normal(0.0, 0.05)):.1f}",
        "lens": "Lens",
        "f_number": "4",
        "subject_plane": plane,
        "cloud_okta": "0",
        "exposure_start": when.isoformat(),
        "exposure_seconds": f"{seconds:.1f}",
        "exposure_verdict": word,
        "frame": "Frame",
        "stage_polish": "ok",
        "stage_coat": "ok",
        "stage_exposure": "fault" if seen else "ok",
    }
    look = "under_exposed@exposure" if miss < 0 else "blue_highlights@exposure"
    faults = [look] if seen else []
    out = (when + timedelta(seconds=seconds, minutes=15)).replace(second=0, microsecond=0)
    asks = ripe_minutes(out, truth["dose"] + heavy(rng, truth["dose_noise"]))
    if asks is not None and not seen:
        late = rng.normal(0.0, 0.35)  # stops, how the maker hits the end
        ends = out + timedelta(minutes=asks * 2.0**late)
        row |= {
            "development_start": out.isoformat(),
            "development_end": ends.isoformat()[:19] + "+00:00",
        }
        if late < -0.4:
            faults.append("under_exposed@development")
        elif late > 0.6:
            faults.append("fog@development")
        row["stage_development"] = "fault" if faults else "ok"
        row["stage_finish"] = "ok"
    row["grade"] = "lost" if faults else "good"
    row["defects"] = ";".join(faults)
    step = 0.0 if not seen else -np.sign(miss) * rng.uniform(0.2, 0.6)
    return row, float(step)


def of_studio(kind, seed, plates):
    rows, true = notebook(seed, plates, kind)
    with TemporaryDirectory() as place:
        told = doors.learned(doors.open_studio(write_studio(Path(place), rows)))
    return judge(kind, told, true)


def judge(kind, told, true):
    found = {}
    for one in told.numbers:
        if one.what in WHAT:
            right = true[one.what]
            found[one.what] = {
                "held": one.low <= right <= one.high,
                "width": log2(one.high / one.low),
                "off": log2(one.value / right),
            }
    lag = None
    if kind in SINCE:  # the truth's speed falls where plates need more stops
        lag = found["plate_speed"]["off"] / true["jump"]
    return {"kind": kind, "numbers": found, "lag": lag}


def rows(results):
    out = []
    for kind in KINDS:
        some = [one for one in results if one["kind"] == kind]
        least, most = SINCE.get(kind, (0, 0))
        when = f"{least}-{most} plates after a bottle" if most else "in quiet"
        for what, words in WHAT.items():
            held, width, lag = Mean(), Mean(), Mean()
            for one in some:
                if what in one["numbers"]:
                    held.add(one["numbers"][what]["held"])
                    width.add(one["numbers"][what]["width"])
            if held.counts:
                title = f"numbers, {when}: 80 % range holds the true {words}"
                note = f"{held.shown()}; width {width.value:.1f} stops"
                out.append((title, "72-88 %", note))
        lag = Mean()
        for one in some:
            if one["lag"] is not None:
                lag.add(one["lag"])
        if lag.counts:
            out.append((f"numbers, {when}: share of the jump not yet learned", "", lag.shown()))
    return out
