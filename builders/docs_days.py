"""Make docs/days.md's pictures and figures: the demo studio in three weathers and three seasons.

Run as ``python builders/docs_days.py``. The skies are invented: one cloud cover for each hour.
"""

from __future__ import annotations

import io
import tempfile
from datetime import UTC, date, datetime, time
from pathlib import Path

import numpy as np
from PIL import Image

from argentry.day.plan import make_day
from argentry.demo.write import write_demo
from argentry.keeping.studio import load_studio
from argentry.out.day.sheet_pdf import TEMPLATE, inputs
from argentry.out.typeset import compiler
from argentry.records.weather import Weather

DOCS = Path(__file__).parents[1] / "docs"
DAYS = {"winter": date(2026, 12, 15), "spring": date(2026, 3, 20), "summer": date(2026, 6, 21)}
# share of the sky under cloud, morning to evening
SKIES = {"clear": (0.0, 0.1), "broken": (0.45, 0.7), "overcast": (0.95, 1.0)}
WHOLE = ("summer", "clear")  # the day whose steps and cautions are shown too
BEGIN, END = "<!-- figures: made by builders/docs_days.py -->", "<!-- end of figures -->"


def sky(day: date, name: str) -> Weather:
    """Return an invented hourly forecast whose cloud grows evenly through the day."""
    start = np.datetime64(datetime.combine(day, time(0), tzinfo=UTC).replace(tzinfo=None), "s")
    low, high = SKIES[name]
    hours = 26
    nothing = np.full(hours, np.nan)
    return Weather(
        start_utc=start - np.timedelta64(3600, "s") + np.arange(hours) * np.timedelta64(3600, "s"),
        step_s=3600.0,
        ghi_w_m2=nothing,
        dni_w_m2=nothing,
        dhi_w_m2=nothing,
        cloud_share=np.clip(np.interp(np.arange(hours), [8, 18], [low, high]), 0, 1),
        sunshine_share=nothing,
        temperature_c=nothing,
        relative_humidity_pct=nothing,
        haze_aod=nothing,
        kind="forecast",
        source=f"invented forecast, {name}",
    )


def save(path: Path, picture: bytes) -> None:
    """Write a picture with few colours: a sheet has hardly more, and the repository stays small."""
    twice = Image.open(io.BytesIO(picture)).convert("RGB")
    few = twice.resize((twice.width // 2, twice.height // 2), Image.Resampling.LANCZOS)
    few.quantize(96, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE).save(
        path, optimize=True
    )


def main() -> None:
    head = (
        "| day | sky | plates placed of 3 | most the day holds | enough light for all "
        "| all finished | exposure at noon, min | developed from 14:00, ripe in time |"
    )
    rows = [head, "|---|---|---|---|---|---|---|---|"]
    pictures = DOCS / "days"
    pictures.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        write_demo(Path(folder) / "demo")
        studio = load_studio(Path(folder) / "demo")
        for season, day in DAYS.items():
            for name in SKIES:
                plan = make_day(studio, day, plates=3, weather=sky(day, name))
                noon = next(h for h in plan.hours if h.time.hour == 12)
                two = next(h for h in plan.hours if h.time.hour == 14)
                minutes = noon.exposure_minutes
                told = (
                    f"{minutes.middle:.1f} ({minutes.low:.1f} to {minutes.high:.1f})"
                    if np.isfinite(minutes.high)
                    else f"over {minutes.low:.1f}"
                )
                rows.append(
                    f"| {season} | {name} | {plan.plates_placed} | {plan.plates_most} "
                    f"| {100 * plan.light_odds:.0f} % | {100 * plan.all_finished_share:.0f} % "
                    f"| {told} | {100 * two.development_suffices:.0f} % |"
                )
                sheet = compiler(TEMPLATE).compile(
                    format="png", ppi=220.0, sys_inputs=inputs(plan, "a4")
                )
                first, *more = sheet if isinstance(sheet, list) else [sheet]
                save(pictures / f"{season}-{name}.png", first)
                if (season, name) == WHOLE:
                    save(pictures / f"{season}-{name}-2.png", more[-1])
                print(season, name, plan.plates_placed)
    page = DOCS / "days.md"
    text = page.read_text(encoding="utf-8")
    before, rest = text.split(BEGIN)
    _, tail = rest.split(END)
    page.write_text(before + BEGIN + "\n" + "\n".join(rows) + "\n" + END + tail, encoding="utf-8")


if __name__ == "__main__":
    main()
