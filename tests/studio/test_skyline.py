"""Skylines from files: a public service's profile, a table, a traced panorama."""

from __future__ import annotations

import json
import math
from datetime import UTC, datetime

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.keeping.studio import new_studio, skyline_in
from argentry.needs.light import light_report
from argentry.physics.lights.sun import horizon_elevation_deg, sky_view
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day
from argentry.studio.file import check_studio
from argentry.studio.skyline import read_skyline

PLACE = (42.0, -1.0)


def profile(lat=42.0, lon=-1.0):
    """As PVGIS documents it: A from south, west positive, -180 and 180 both north."""
    points = [
        {"A": float(a), "H_hor": 5.0 + 4.0 * math.cos(math.radians(a - 90.0))}
        for a in np.arange(-180.0, 180.1, 7.5)
    ]
    return json.dumps(
        {
            "inputs": {"location": {"latitude": lat, "longitude": lon, "elevation": 350.0}},
            "outputs": {"horizon_profile": points, "winter_solstice": [], "summer_solstice": []},
            "meta": {},
        }
    )


@pytest.fixture
def read(tmp_path):
    def reader(text, **more):
        file = tmp_path / "skyline.txt"
        file.write_text(text, encoding="utf-8")
        return read_skyline(file, "skyline", **more)

    return reader


def height(points, azimuth):
    return float(horizon_elevation_deg(np.array(azimuth), points))


def test_a_profile_counts_from_south_and_is_turned_to_north(read):
    """pvlib turns it likewise: get_pvgis_horizon adds 180 degrees to A."""
    points = read(profile(), place=PLACE)
    assert len(points) == 48  # north comes twice
    assert height(points, 270.0) == pytest.approx(9.0, abs=0.05)  # A = 90 is west
    assert height(points, 90.0) == pytest.approx(1.0, abs=0.05)
    assert height(points, 180.0) == pytest.approx(5.0, abs=0.05)


def test_its_table_says_the_same(read):
    rows = json.loads(profile())["outputs"]["horizon_profile"]
    head = "Latitude (decimal degrees):\t42.000\nLongitude (decimal degrees):\t-1.000\n\n"
    table = "A\t\tH_hor\t\tA_sun(w)\n" + "".join(f"{r['A']}\t\t{r['H_hor']}\t\t0.0\n" for r in rows)
    foot = "\nA: Azimuth (0 = S, 90 = W, -90 = E) (degree)\nH_hor: Horizon height (degree)\n"
    assert read(head + table + foot) == read(profile())


@pytest.mark.parametrize("mark", [",", ";", "\t", " "])
def test_a_table_from_north(read, mark):
    text = mark.join(["azimuth", "elevation"]) + "\n"
    text += "".join(f"{a}{mark}{h}\n" for a, h in [(0, 2), (90, 10), (180, -1), (270, 3)])
    points = read("# by compass\n" + text)
    assert height(points, 90.0) == 10.0
    assert height(points, 180.0) == 0.0  # below the level nothing is gained
    assert height(points, 45.0) == 0.0  # it says nothing for a quarter of the circle


def test_what_the_file_leaves_open_is_free(read):
    points = read("azimuth,elevation\n100,8\n130,12\n160,9\n")
    assert height(points, 145.0) == pytest.approx(10.5)
    assert height(points, 300.0) == 0.0
    assert height(points, 98.0) == 0.0


def panorama(azimuths, heights, *, first=250.0, per_px=0.1, level=900.0, known=(0, -1)):
    """Points as they come to lie on a cylinder, in pixels."""
    radius = math.degrees(1.0) / per_px
    rows = ["x,y,azimuth,elevation"]
    marked = {k % len(azimuths) for k in known}
    for n, (azimuth, up) in enumerate(zip(azimuths, heights, strict=True)):
        x, y = ((azimuth - first) % 360.0) / per_px, level - radius * math.tan(math.radians(up))
        bearing = f"{azimuth % 360.0}" if n in marked else ""
        rows.append(f"{x:.2f},{y:.2f},{bearing},{up if n == 0 else ''}")
    return "\n".join(rows) + "\n"


def test_a_traced_panorama_gives_back_its_hills(read):
    azimuths = np.arange(255.0, 610.0, 8.0)  # once around, through north
    hills = 6.0 + 5.0 * np.sin(np.radians(2.0 * azimuths))
    points = read(panorama(azimuths, hills.tolist()))
    for azimuth, up in zip(azimuths, hills, strict=True):
        assert height(points, azimuth % 360.0) == pytest.approx(up, abs=0.02)


def test_bearings_that_do_not_fit_one_panorama_are_refused(read):
    text = panorama([10.0, 60.0, 110.0], [3.0, 4.0, 5.0], first=0.0, known=(0, 1, 2))
    assert len(read(text)) > 3
    with pytest.raises(BadInput, match="do not fit one panorama"):
        read(text.replace(",60.0,", ",75.0,"))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no skyline"), ("{}", "no skyline"), ("[1]", "no skyline"), ("{", "no skyline"),
        ("a,b\n1,2\n", "no skyline"), ("azimuth,elevation\n10,3\n", "fewer than two"),
        ("azimuth,elevation\n10,\n20,3\n", "column elevation is empty"),
        ("azimuth,elevation\n10,x\n20,3\n", "'x' in column elevation is not a number"),
        ("azimuth,elevation\n400,5\n20,3\n", "400 in column azimuth is out of range"),
        ("x,y\n1,2\n3,4\n", "bearing of at least two points"),
        ("x,y,azimuth\n1,2,10\n300,4,40\n", "height of at least one point"),
        ('{"outputs": {"horizon_profile": [{"A": 999, "H_hor": 1}]}}', "999 in column A"),
        ("azimuth,elevation\n" + "".join(f"{n / 20},1\n" for n in range(6000)), "6000 points"),
    ],
)  # fmt: skip
def test_what_is_no_skyline_is_refused_in_a_sentence(read, text, why):
    with pytest.raises(BadInput, match=why):
        read(text)


def test_a_profile_of_another_place_is_refused(read):
    with pytest.raises(BadInput, match=r"for 46\.00 7\.00, another place"):
        read(profile(46.0, 7.0), place=PLACE)


def test_the_studio_file_names_it(tmp_path):
    folder = tmp_path / "studio"
    new_studio(
        folder, {"--lat": 42.0, "--lon": -1.0, "--elevation-m": 350.0, "--tz": "Europe/Madrid"}
    )
    file = folder / "studio.toml"
    text = file.read_text(encoding="utf-8")
    line = next(one for one in text.splitlines() if one.lstrip("# ").startswith("skyline ="))
    file.write_text(text.replace(line, 'skyline = "hills.json"'), encoding="utf-8")
    studio, mistakes = check_studio(folder)
    assert studio is None
    assert "there is no such file" in str(mistakes[0])
    (folder / "hills.json").write_text(profile(), encoding="utf-8")
    studio, mistakes = check_studio(folder)
    assert mistakes == ()
    assert studio.site.skyline == "hills.json"
    assert height(studio.site.horizon, 270.0) == pytest.approx(9.0, abs=0.05)
    both = file.read_text(encoding="utf-8").replace(
        'skyline = "', 'horizon = [[0, 1]]\nskyline = "'
    )
    file.write_text(both, encoding="utf-8")
    studio, mistakes = check_studio(folder)
    assert mistakes == ()
    assert height(studio.site.horizon, 270.0) == pytest.approx(9.0, abs=0.05)  # the file stands


def test_the_sky_it_leaves_is_the_integral_over_the_free_sky(read):
    """Lambert's law over an even sky: an even skyline h leaves cos^2 h, half of one takes half."""
    even = read("azimuth,elevation\n" + "".join(f"{a},30\n" for a in range(0, 360, 10)))
    assert sky_view(even) == pytest.approx(math.cos(math.radians(30.0)) ** 2, abs=1e-6)
    half = [(a, 30.0 if a < 180 else 0.0) for a in range(0, 360, 1)]
    assert sky_view(half) == pytest.approx(1.0 - math.sin(math.radians(30.0)) ** 2 / 2.0, abs=2e-3)


def test_light_behind_a_hill_is_the_skys_alone(tmp_path):
    """By the command's own option, in the morning behind a hill in the east and at noon over it."""
    file = tmp_path / "hill.csv"
    file.write_text("azimuth,elevation\n60,35\n80,35\n100,35\n", encoding="utf-8")
    hill = skyline_in(file, PLACE)
    site = {"lat": 42.0, "lon": -1.0, "plane": "horizontal"}
    for hour, hidden in ((7, True), (12, False)):
        at = datetime(2026, 6, 21, hour, 0, tzinfo=UTC)
        free, behind = (light_report(None, at=at, skyline=line, **site) for line in ((), hill))
        sky = sky_day(resolve_place(None, 42.0, -1.0), np.array([at.replace(tzinfo=None)], "M8[s]"))
        diffuse = sky_view(hill) * (sky.global_w_m2 - sky.level_beam_w_m2)[0]
        beam = 0.0 if hidden else float(sky.level_beam_w_m2[0])
        assert behind.ghi_w_m2[0] == pytest.approx(diffuse + beam, rel=1e-6)
        assert behind.ghi_w_m2[0] < free.ghi_w_m2[0]
        assert any("leaves 96 % of an even sky's light" in note for note in behind.notes)
        assert not any("skyline" in note for note in free.notes)
