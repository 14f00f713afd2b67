"""The studio folder of those measures that need a place, a lens and a box; all of it invented."""

from __future__ import annotations

from benchmarks.families.draw import write_table

STUDIO = """name = "Invented studio"
invented = true
[site]
name = "An invented place"
latitude_deg = 47.0
longitude_deg = 0.0
elevation_m = 50
time_zone = "UTC"
[[lens]]
name = "Lens"
f_number = 4
focal_length_mm = 150
[[box]]
name = "Box"
gap_mm = 20
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
"""


def write_studio(folder, rows=(), questions=()):
    """Write studio.toml, and plates.csv where there are rows; return the folder."""
    folder.mkdir(exist_ok=True)
    (folder / "studio.toml").write_text(STUDIO, encoding="utf-8")
    if rows:
        write_table(folder / "plates.csv", rows, questions)
    return folder
