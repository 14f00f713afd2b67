"""A studio folder with 100 plates, written down as a maker would."""

from __future__ import annotations

import csv
from datetime import UTC, datetime, timedelta
from math import log2

from benchmarks.coverage import truth

STUDIO = """name = "Invented studio"
invented = true
[site]
name = "An invented place"
latitude_deg = {lat:.3f}
longitude_deg = 0.0
elevation_m = 50
time_zone = "UTC"
[[lens]]
name = "Lens"
f_number = 4
focal_length_mm = 150
[[box]]
name = "Box"
gap_mm = {gap}
crystal_area_cm2 = 150
floor_area_cm2 = 180
[[frame]]
name = "Frame"
cut_on_nm = 590
[room]
temperature_c = 20
relative_humidity_pct = 50
[water]
kind = "distilled"
[habits]
coat_nm = {coat}
"""
LATITUDE = 0.5  # stops either side that still look right
GAP_MM = 20
LATE, SPOILT = 0.25, 0.35  # of the eye that calls a plate ripe, and what spoils it [stops]


def at(day, minute):
    return datetime(2025, 1, 1, tzinfo=UTC) + timedelta(days=day - 1, minutes=minute)


def verdict(stops):
    for limit, word in ((-2.0, "blank"), (-LATITUDE, "under"), (LATITUDE, "right"), (2.0, "over")):
        if stops < limit:
            return word
    return "solarised"


def late_by(rng, *, well=False):
    """Return by how much the eye takes a plate out late; `well`: of plates not spoilt. [stops]"""
    late = rng.normal(0.0, LATE)
    return late_by(rng, well=True) if well and abs(late) > SPOILT else late


def plate(rng, studio, number):
    session = number // 2
    day_number = 20 + session * 6
    covered = rng.random() < 0.15
    plane = "overcast" if covered else ("shade" if rng.random() < 0.25 else "sun")
    day = truth.draw_day(rng, studio, day_number, covered=covered)
    begin = 600 + 100 * (number % 2)
    own = truth.mixed(rng, truth.PLATE_STOPS, truth.ASTRAY_STOPS)
    light = truth.exposure_light(day, plane, studio, rng)
    # the maker sees the light, but not what this plate will need of it beyond the usual one
    usual, needed = (
        truth.exposure_minutes(studio, stops, light, begin, 4.0) for stops in (0.0, own)
    )
    given = min(usual * 2.0 ** rng.normal(0.0, 0.6), 240.0)
    shown = log2(given / min(needed, 1e6))
    box_c = rng.uniform(16.0, 26.0)
    seconds = truth.fume_seconds(
        studio, truth.mixed(rng, truth.FUME_PLATE, truth.FUME_ASTRAY), box_c, GAP_MM
    )
    off = rng.normal(0.0, 0.10)
    row = {
        "plate": f"C{number:03d}",
        "date": at(day_number, 0).date().isoformat(),
        "session": session + 1,
        "order": number % 2 + 1,
        "size": "quarter",
        "room_c": 20,
        "box_c": round(box_c + rng.normal(0.0, 0.5), 1),
        "box_rest_minutes": 60,
        "fuming_seconds": round(seconds * 2.718**off),
        "coat_nm": round(truth.FUME_NM * 2.718**off + rng.normal(0.0, 1.5), 1),
        "lens": "Lens",
        "f_number": 4,
        "subject_plane": plane,
        "cloud_okta": 8 if covered else 0,
        "exposure_start": at(day_number, begin).isoformat(),
        "exposure_seconds": round(given * 60.0, 1),
        "exposure_verdict": verdict(shown),
        "frame": "A",
        "stage_polish": "ok",
        "stage_coat": "ok",
    }
    row["stage_exposure"] = "ok" if row["exposure_verdict"] == "right" else "fault"
    faults = (
        []
        if row["stage_exposure"] == "ok"
        else ["under_exposed@exposure" if shown < 0 else "blue_highlights@exposure"]
    )
    row["stage_development"] = "ok"
    if not covered:
        put_out = int(begin + given + 10)
        light = truth.red_light(day, covered=False)
        ripe = truth.develop_minutes(
            studio, truth.mixed(rng, truth.DEVELOP_PLATE, truth.DEVELOP_ASTRAY), light, put_out
        )
        if ripe < 600.0:
            late = late_by(rng)
            row["development_start"] = at(day_number, put_out).isoformat()
            row["development_end"] = at(day_number, put_out + round(ripe * 2.0**late)).isoformat()
            if abs(late) > SPOILT:
                row["stage_development"] = "fault"
                faults.append("fog@development" if late > 0 else "under_exposed@development")
    row["stage_finish"] = "ok"
    row["grade"] = "lost" if faults else "good"
    row["defects"] = ";".join(faults)
    return row


def write(rng, studio, folder, plates=100):
    """Write studio.toml and plates.csv into `folder`."""
    folder.mkdir()
    own = STUDIO.format(lat=studio.lat, gap=GAP_MM, coat=truth.FUME_NM)
    (folder / "studio.toml").write_text(own, encoding="utf-8")
    made = [plate(rng, studio, number) for number in range(plates)]
    names = list(dict.fromkeys(name for row in made for name in row))
    with (folder / "plates.csv").open("w", newline="", encoding="utf-8") as stream:
        out = csv.DictWriter(stream, names, restval="")
        out.writeheader()
        out.writerows(made)
