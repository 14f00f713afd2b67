"""How often what the second simulation plays lies in the ranges that are printed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchmarks.plan_judge import days, maker, runs

CLOUDY = "{}, under the season's clouds where no file was given,"


def coverage(count):
    """Printed 80 % ranges of start, camera and ripening times."""
    inside = {"start": [], "start, free to move": []}
    inside |= {"camera": [], "ripening": [], CLOUDY.format("camera"): []}
    inside |= {CLOUDY.format("ripening"): []}
    by_step = {}
    judged_days = [j for _, j, _ in runs.planned_days(count) if j is not None and j.planned.placed]
    judged_days += [days.named(which) for which in range(3)]
    for judged in judged_days:
        _cover(judged, inside, by_step)
    for what, hits in inside.items():
        share = np.concatenate(hits) if hits else np.array([])
        yield (
            (
                f"80 % ranges of {what} times against the second simulation"
                + (" (told)" if "cloud" in what else " (target 75 to 85 %)")
            ),
            f"{100 * share.mean():.0f} % of {share.size} inside" if share.size else "none printed",
        )
    said = (
        f"{key} {100 * np.mean(list(map(np.mean, hits))):.0f} %" for key, hits in by_step.items()
    )
    yield "  start times inside, by step", ", ".join(said)


def _cover(judged, inside, by_step):
    plan, sheet, s = judged.planned, judged.sheet, judged.setting
    rows = {(row.plate - 1, row.step): row for row in sheet.steps}
    played = runs.as_planned(judged)
    starts = played.starts
    asked = runs.drawn(judged, plan.placed, day=as_told(judged))
    clouds = [] if sheet.weather_file else runs.drawn(judged, plan.placed)
    for plate, index in np.ndindex(plan.starts.shape):
        row = rows[plate, plan.blocks[index].tasks[0].key]
        low, high = (
            (at - sheet.begin).total_seconds() / 60.0 for at in (row.start_low, row.start_high)
        )
        begun = starts[:, plate, index]
        begun = begun[np.isfinite(begun)]
        hit = (begun >= low - 0.5) & (begun <= high + 0.5)  # clock times are whole minutes
        inside["start"].append(hit)
        by_step.setdefault(row.step, []).append(hit if hit.size else [0.0])
        if high - low > 2.0:
            inside["start, free to move"].append(hit)
        kind, start = s.works[index].kind, float(plan.starts[plate, index])
        for draws, what in ((asked, "{}"), (clouds, CLOUDY)):
            if kind == "exposure" and draws:
                took = [maker.reach(d.light, start, d.needed[plate]) - start for d in draws]
                inside[what.format("camera")].append(_between(took, row.minutes))
            if kind == "development" and draws:
                frame = int(plan.frame_kind[plate])
                waited = start - float(plan.ends[plate, s.exposing])
                more = np.exp(s.fading * waited)
                took = [
                    maker.reach(d.behind[frame], start, more * d.doses[plate][frame]) - start
                    for d in draws
                ]
                inside[what.format("ripening")].append(_between(took, row.minutes))


def as_told(judged):
    """Return the question under the sky that the sheet's times are told for: else a clear one."""
    day = judged.question
    if judged.sheet.weather_file:
        return day
    clear = replace(
        day.light,
        exposure_days=day.light.exposure_middle[None],
        frames=tuple(replace(f, days=f.middle[None]) for f in day.light.frames),
    )
    return replace(day, light=clear)


def _between(values, printed):
    values = np.asarray(values)
    return (values >= printed.low - 0.01) & (values <= printed.high + 0.01)
