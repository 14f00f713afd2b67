"""The invented year: as many good plates as meant, causes as designed, no truth in the table."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from datetime import UTC, datetime, time
from itertools import pairwise
from statistics import median
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from argentry import trade
from argentry.demo import chance
from argentry.demo.days import sessions
from argentry.demo.exposing import verdict_of
from argentry.demo.plate_story import fact, within
from argentry.demo.studio import invented_studio
from argentry.demo.write import plates_text, truth_text, write_demo
from argentry.demo.year import invented_year
from argentry.errors import BadInput
from argentry.exchange.plates.columns import column_names, columns, defect_stages, read_cell
from argentry.exchange.stock_list import read_stock_list
from argentry.keeping.stock.stock_list import import_stock
from argentry.keeping.studio import check_studio, load_studio
from argentry.physics.lights.sun import horizon_elevation_deg, sun_path
from argentry.physics.vapour.fuming import seconds_to_thickness
from argentry.records.plate import STAGES

FILES = ("studio.toml", "plates.csv", "shelf.csv", "truth.json", "README.txt")
# A change to the physics or to the demo's numbers moves the year: look at what became of it (share
# of good plates, plates by cause in truth.json), then put the new sums here.
SUMS = {
    "studio.toml": "b6b4a33452863418a93c1b073f7c69b717ae889cb1166d8da69b23867cc792de",
    "plates.csv": "9d2c4401ae8f4469bf56ca3785cf112246d2d0ae198d29c87412f71ca1cf2d3f",
    "shelf.csv": "c0fff053e5515bcf2802780f907f4c3b0016ce94a18240bf9fd37e7a459cc723",
    "truth.json": "2d151ed40a4552493704e528c8c0e3561d754410b46792824e2550362595f91c",
    "README.txt": "7e652d8eae632572f57eb8f902e7e21045ad0cf3e4246e139a169122e8d9bee2",
}


@pytest.fixture(scope="module")
def year():
    return invented_year()


@pytest.fixture(scope="module")
def plates(year):
    """Rows read by their columns, each with its truth."""
    by_name = {column.name: column for column in columns()}
    rows = list(csv.DictReader(io.StringIO(plates_text(year))))
    read = [
        {name: read_cell(by_name[name], text, name) for name, text in row.items()} for row in rows
    ]
    return list(zip(read, year.truth, strict=True))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("demo") / "studio"
    write_demo(made)
    return made


def sums(path):
    return {name: hashlib.sha256((path / name).read_bytes()).hexdigest() for name in FILES}


# --- the same files every time -----------------------------------------------------------------


def test_same_bytes_every_time(folder, tmp_path):
    write_demo(tmp_path / "another place")
    assert sums(tmp_path / "another place") == sums(folder)


def test_bytes_are_the_committed_ones(folder):
    assert sums(folder) == SUMS


def test_chance_is_a_hash_and_known():
    # computed by hand: BLAKE2b, 6 bytes, of "seed/a/1"
    text = f"{chance.SEED}/a/1".encode()
    number = int.from_bytes(hashlib.blake2b(text, digest_size=6).digest(), "big")
    assert chance.share("a", 1) == (number + 0.5) / 2**48
    draws = np.array([chance.normal("test", i) for i in range(4000)])
    assert abs(draws.mean()) < 0.06
    assert abs(draws.std() - 1.0) < 0.04
    picked = [chance.weighted({"x": 0.2, "y": 0.8}, "pick", i) for i in range(4000)]
    assert abs(picked.count("x") / 4000 - 0.2) < 0.02


# --- the year as a whole -----------------------------------------------------------------------


def test_about_half_of_the_plates_are_good(year):
    assert 0.45 <= year.good_share <= 0.55
    assert min(year.grades.values()) >= 10
    assert 110 <= len(year.rows) <= 130


def test_working_days(plates, year):
    days = [row["date"] for row, _ in plates]
    counts = [days.count(day) for day in dict.fromkeys(days)]
    assert 45 <= len(counts) <= 60
    assert len(counts) == year.sessions
    assert set(counts) == {1, 2, 3, 4}
    assert days == sorted(days)
    assert (days[-1] - days[0]).days > 330
    numbers = [row["session"] for row, _ in plates]
    assert numbers == sorted(numbers)
    assert set(numbers) == set(range(1, len(counts) + 1))


def test_every_column_is_written_and_in_range(year):
    # `plates` has read every cell by its column already: a bad one would have raised
    rows = list(csv.reader(io.StringIO(plates_text(year))))
    assert tuple(rows[0]) == column_names()
    assert all(len(row) == len(rows[0]) for row in rows)
    for index, name in enumerate(rows[0]):
        assert any(row[index] for row in rows[1:]), f"{name} is empty throughout"


def test_some_readings_are_missing(plates):
    for name in trade.toml("demo")["gaps"]["each"]:
        column = next(c for c in columns() if c.name == name)
        stage = column.group
        came = [row for row, truth in plates if stage in truth["stages_reached"]]
        empty = sum(row[name] is None for row in came) / len(came)
        assert 0.08 <= empty <= 0.38, name
    assert not any(row["fuming_seconds"] is None and row["stage_coat"] for row, _ in plates)


def test_odd_but_legal_values_are_there(plates):
    rows = [row for row, _ in plates]
    assert max(row["times_repolished"] for row in rows) >= 10
    assert max(row["f_number"] or 0 for row in rows) >= 5.6
    assert max(row["exposure_seconds"] or 0 for row in rows) == 60 * fact("longest_exposure")
    assert {"quarter", "sixth", "half"} == {row["size"] for row in rows}
    assert any(row["coat_to_exposure_minutes"] > 60 for row in rows if row["exposure_start"])


# --- times -------------------------------------------------------------------------------------


def test_times_follow_one_another(plates):
    begin, end = time(8), time(19)
    zone = ZoneInfo("Europe/Madrid")
    for row, _ in plates:
        if row["exposure_start"] is None:
            assert row["development_start"] is None
            continue
        opened, out, taken = (
            row[name] for name in ("exposure_start", "development_start", "development_end")
        )
        assert opened.date() == row["date"]
        for moment in (opened, out, taken):
            assert begin <= moment.time() <= end
            assert moment.utcoffset() == moment.astimezone(zone).utcoffset()
        shut = opened.timestamp() + row["exposure_seconds"]
        assert shut < out.timestamp() < taken.timestamp()
        waited = row["exposure_to_development_minutes"]
        assert waited == pytest.approx((out.timestamp() - shut) / 60.0, abs=0.51)


def test_one_pair_of_hands_and_three_frames(plates):
    by_day = {}
    for row, _ in plates:
        if row["exposure_start"]:
            by_day.setdefault(row["date"], []).append(row)
    for rows in by_day.values():
        for first, second in pairwise(rows):
            assert first["development_start"] < second["exposure_start"]
        for frame in "ABC":
            used = [r for r in rows if r["frame"] == frame]
            for first, second in pairwise(used):
                assert first["development_end"] <= second["development_start"]


def test_exposed_in_sunlight_and_taken_in_by_the_end_of_it(plates):
    site = invented_studio(1e-4).site
    rows = [row for row, _ in plates if row["exposure_start"]]

    def heights(moments):
        utc = [np.datetime64(m.astimezone(UTC).replace(tzinfo=None), "s") for m in moments]
        path = sun_path(np.array(utc), site.latitude_deg, site.longitude_deg, site.elevation_m)
        return path.elevation_deg - horizon_elevation_deg(path.azimuth_deg, site.horizon)

    assert heights([row["exposure_start"] for row in rows]).min() > 0.0
    # a minute after its last sight the sun is less than half a degree behind the hill
    assert heights([row["development_end"] for row in rows]).min() > -0.5


def test_both_clock_changes_are_in_the_year(plates):
    offsets = {row["exposure_start"].utcoffset() for row, _ in plates if row["exposure_start"]}
    assert len(offsets) == 2


def test_summer_days_hold_more_plates_than_winter_days(plates):
    days = {}
    for row, _ in plates:
        days.setdefault(row["date"], []).append(row)
    late = {
        season: max(
            r["exposure_start"].hour
            for d, rows in days.items()
            for r in rows
            if r["exposure_start"] and d.month in months
        )
        for season, months in (("summer", (5, 6, 7)), ("winter", (11, 12, 1)))
    }
    assert late["summer"] > late["winter"]


# --- truth -------------------------------------------------------------------------------------


def test_truth_and_table_agree(plates):
    causes = {row["key"]: row for row in trade.toml("demo")["cause"]}
    for row, truth in plates:
        assert truth["plate"] == row["plate"]
        assert truth["grade"] == row["grade"]
        bad = row["grade"] in ("lost", "study")
        assert bad == (truth["cause"] is not None) == bool(truth["faults"])
        if bad:
            assert causes[truth["cause"]]["stage"] == truth["failed_stage"]
        assert (row["grade"] == "lost") == any(f["loses"] for f in truth["faults"])
        reached = [stage for stage in STAGES if row[f"stage_{stage}"] is not None]
        assert reached == truth["stages_reached"]
        booked = {stage for stage in reached if row[f"stage_{stage}"] == "fault"}
        guilty = {fault["stage"] for fault in truth["faults"]}
        wrong = truth["booked_wrongly"]
        assert booked == {wrong.get(stage, stage) for stage in guilty}


def test_good_plates_are_finished_and_right(plates):
    for row, _ in plates:
        if row["grade"] in ("good", "fine"):
            assert row["stage_finish"] == "ok"
            assert row["exposure_verdict"] == "right"


def test_the_table_tells_no_truth(plates, year):
    text = plates_text(year)
    for cause in trade.toml("demo")["cause"]:
        if cause["key"] != "damp":  # a plain word
            assert cause["key"] not in text
    for name in ("hidden", "margin", "drift", "noise", "cause", "true"):
        assert name not in text.splitlines()[0]
    # the one name both have: an estimate from a photograph, not the true coat
    pairs = [
        (row["coat_nm"], truth["hidden"]["coat_nm"]) for row, truth in plates if row["coat_nm"]
    ]
    away = [abs(seen - true) for seen, true in pairs]
    assert 0.3 < median(away) < 3.0


def test_every_plate_has_its_defects_from_the_list(plates):
    noted = [row for row, truth in plates if truth["cause"] and row["defects"]]
    failed = [row for row, truth in plates if truth["cause"]]
    assert len(noted) > 0.8 * len(failed)
    right = 0
    for row, truth in plates:
        for key, stage in row["defects"] or ():
            assert row[f"stage_{stage}"] is not None
            right += stage in defect_stages()[key] or bool(truth["booked_wrongly"])
    assert right == sum(len(row["defects"] or ()) for row, _ in plates)


def test_causes_name_known_defects_and_stages():
    for cause in trade.toml("demo")["cause"]:
        assert cause["stage"] in STAGES
        assert cause["defects"]
        for key in cause["defects"]:
            assert cause["stage"] in defect_stages()[key], (cause["key"], key)


# --- causes as designed ------------------------------------------------------------------------


def share(found):
    found = list(found)
    assert found, "no plate to judge by"
    return sum(found) / len(found)


def has(truth, cause):
    return any(fault["cause"] == cause for fault in truth["faults"])


def coated(plates):
    return [(row, truth) for row, truth in plates if row["stage_coat"]]


def test_damp_spoils_above_its_limit_and_not_well_below(plates):
    limit, width = fact("damp_limit"), fact("damp_width")
    damp = [(t["hidden"]["room_rh_pct"], has(t, "damp")) for _, t in coated(plates)]
    assert share(hit for rh, hit in damp if rh > limit + 0.5 * width) >= 0.75
    assert share(hit for rh, hit in damp if rh < limit - 1.5 * width) == 0.0
    # a learner sees it in the table alone
    seen = [(r["room_rh_pct"], r["stage_coat"] == "fault") for r, _ in coated(plates)]
    high = share(bad for rh, bad in seen if rh is not None and rh >= 60)
    low = share(bad for rh, bad in seen if rh is not None and rh < 50)
    assert high > low + 0.3


def test_dirty_buff_in_its_month_only(plates):
    within_month = [has(t, "bad_buff") for r, t in plates if within(r["date"], "bad_buff")]
    assert 0.3 <= share(within_month) <= 0.9
    assert not any(has(t, "bad_buff") for r, t in plates if not within(r["date"], "bad_buff"))


def test_bad_water_in_its_season(plates):
    finished = [(r, t) for r, t in plates if r["stage_finish"]]
    assert share(has(t, "bad_water") for r, t in finished if within(r["date"], "bad_water")) > 0.7
    outside = [(r, t) for r, t in finished if not within(r["date"], "bad_water")]
    assert all(r["water_kind"] == "tap" for r, t in outside if has(t, "bad_water"))
    measured = [r["water_us_cm"] for r, _ in outside if r["water_kind"] == "distilled"]
    assert max(value for value in measured if value is not None) < fact("water_limit")


def test_cold_thins_the_coat(plates):
    pairs = [(t["hidden"]["box_c"], t["hidden"]["coat_nm"]) for _, t in coated(plates)]
    cold = median(nm for box, nm in pairs if box < 14.0)
    warm = median(nm for box, nm in pairs if box > 20.0)
    assert cold < 0.7 * warm
    for _, truth in coated(plates):
        if has(truth, "cold_box"):
            assert truth["hidden"]["box_c"] < 17.0
            assert truth["hidden"]["coat_nm"] < fact("thin_coat")


def test_tired_fixer_is_old_or_worked(plates):
    tired = [r for r, t in plates if has(t, "tired_fixer")]
    fresh = [r for r, t in plates if r["stage_finish"] and not has(t, "tired_fixer")]
    known = [r["fixer_age_days"] for r in fresh if r["fixer_age_days"] is not None]
    assert tired
    assert min(r["fixer_age_days"] for r in tired) > median(known)


def test_only_the_third_frame_leaks(plates):
    leaking = [(r, t) for r, t in plates if has(t, "leaking_frame")]
    assert leaking
    assert {r["frame"] for r, _ in leaking if r["frame"]} == {"C"}
    assert all(within(r["date"], "leak") for r, _ in leaking)


def test_each_main_cause_spoils_some_plates(plates):
    for cause in trade.toml("demo")["cause"]:
        if cause["main"]:
            assert sum(has(t, cause["key"]) for _, t in plates) >= 3, cause["key"]
    by_chance = [t for _, t in plates if (t["cause"] or "").startswith("chance")]
    assert len(by_chance) < 0.15 * len(plates)


def test_exposure_adds_up_and_its_verdict_follows(plates):
    for row, truth in plates:
        if row["exposure_start"] is None:
            continue
        stops = truth["hidden"]["exposure_stops"]
        parts = truth["hidden"]["exposure_parts_stops"]
        assert sum(parts.values()) == pytest.approx(stops, abs=2e-4)
        if row["exposure_verdict"]:
            assert row["exposure_verdict"] == verdict_of(stops)


@pytest.mark.parametrize(
    ("stops", "verdict"),
    [(-9, "blank"), (-1.5, "under"), (0, "right"), (1.5, "over"), (9, "solarised")],
)
def test_verdicts(stops, verdict):
    assert verdict_of(stops) == verdict


def test_meter_overstates_violet_at_low_sun(plates):
    low, high = [], []
    for row, truth in plates:
        if row["exposure_start"] and row["subject_plane"] == "sun":
            part = truth["hidden"]["exposure_parts_stops"]["meter"]
            (low if row["date"].month in (11, 12, 1) else high).append(part)
    assert median(low) < median(high) - 0.15


def test_box_factor_can_be_found_again(plates):
    """Measured over computed seconds, thickness from the photographs: what a log would learn."""
    box = invented_studio(1e-4).boxes[0]
    ratios = [
        row["fuming_seconds"]
        / float(
            seconds_to_thickness(
                row["coat_nm"],
                box_temperature_c=row["box_c"],
                gap_mm=box.gap_mm,
                pressure_pa=95900.0,
                cover_share=box.crystal_area_cm2 / box.floor_area_cm2,
                crystal_spacing_mm=box.crystal_spacing_mm,
            )
        )
        for row, _ in coated(plates)
        if row["coat_nm"] and row["box_c"] is not None
    ]
    assert len(ratios) > 30
    assert median(ratios) == pytest.approx(fact("box_factor"), rel=0.06)


def test_development_stops_about_when_ripe(plates):
    shares = [t["hidden"]["dose_share"] for r, t in plates if r["development_end"]]
    assert median(shares) == pytest.approx(1.0, abs=0.05)
    assert share(0.8 < s < 1.25 for s in shares) > 0.75


# --- parts -------------------------------------------------------------------------------------


def test_sessions_are_pure_and_plausible():
    days = sessions()
    assert days == sessions()
    for session in days:
        assert 5.0 < session.room_c < 32.0
        assert 15.0 <= session.humidity_at(12.0) <= 97.0
        assert session.room_at(15.0) > session.room_at(9.0)
    summer = [s.room_c for s in days if s.day.month == 7]
    winter = [s.room_c for s in days if s.day.month == 1]
    assert min(summer) > max(winter)


# --- the folder --------------------------------------------------------------------------------


def test_files_and_answer(tmp_path):
    made = write_demo(tmp_path / "x")
    assert {path.name for path in (tmp_path / "x").iterdir()} == set(FILES)
    assert made.plates == sum(made.grades.values())
    assert set(made.files) == {"studio", "plates", "shelf", "truth", "readme"}
    assert made.next


def test_studio_passes_its_check_and_says_it_is_invented(folder, year):
    found = check_studio(folder)
    assert found.ok, found.mistakes
    studio = load_studio(folder)
    assert studio.invented
    assert "(invented)" in studio.name
    assert "(invented)" in studio.site.name
    for part in (*studio.lenses, *studio.boxes, *studio.frames):
        assert "(invented)" in part.name
    assert studio.habits.good_share_plates == len(year.rows)
    assert studio.habits.good_share == pytest.approx(year.good_share, abs=5e-4)
    assert studio.boxes[0].box_factor == 1.0  # the truth is for the log to find


def test_the_shelf_comes_into_the_book_whole_and_every_supplier_is_invented(tmp_path):
    write_demo(tmp_path)
    made = import_stock(tmp_path, read_stock_list(tmp_path / "shelf.csv"))
    assert made.problems == ()
    assert made.left_out == ()
    assert (made.rows, made.known) == (len(made.lots), 0)
    assert all("(invented)" in lot.supplier for lot in made.lots)
    # all but the silver is known for what plates use up, and has been opened
    assert [lot.name for lot in made.lots if not lot.key] == ["Silvered plates, quarter"]
    assert all(lot.opened_on and lot.left > 0.0 for lot in made.lots)


def test_readme_says_that_all_is_invented(folder):
    text = (folder / "README.txt").read_text(encoding="utf-8")
    assert "Everything here is invented" in text
    for name in FILES:
        assert name in text


def test_truth_is_json_with_parameters_and_causes(folder, year):
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    assert truth["parameters"]["box_factor"]["value"] == fact("box_factor")
    assert len(truth["plates"]) == len(year.rows)
    assert sum(cause["plates"] for cause in truth["causes"]) == sum(
        plate["cause"] is not None for plate in truth["plates"]
    )
    assert truth_text(year) == (folder / "truth.json").read_text(encoding="utf-8")


def test_refuses_a_folder_with_files(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    for replace in (False, True):
        with pytest.raises(BadInput, match="holds other files"):
            write_demo(tmp_path, replace=replace)
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_refuses_a_file(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="a file, not a folder"):
        write_demo(tmp_path / "file")


def test_an_empty_folder_is_taken(tmp_path):
    assert write_demo(tmp_path).plates > 100


def test_replace_writes_a_demo_again_and_keeps_what_else_is_there(folder, tmp_path):
    write_demo(tmp_path)
    (tmp_path / "plates.csv").write_text("spoilt")
    (tmp_path / "mine.txt").write_text("kept")
    with pytest.raises(BadInput, match="--replace"):
        write_demo(tmp_path)
    write_demo(tmp_path, replace=True)
    assert sums(tmp_path) == sums(folder)
    assert (tmp_path / "mine.txt").read_text() == "kept"


def test_replace_after_the_studio_was_deleted(folder, tmp_path):
    write_demo(tmp_path)
    (tmp_path / "studio.toml").unlink()
    write_demo(tmp_path, replace=True)
    assert sums(tmp_path) == sums(folder)


@pytest.mark.parametrize("edit", [("invented = true", "invented = false"), ("[site]", "[site")])
def test_replace_never_overwrites_a_studio_made_ones_own(tmp_path, edit):
    write_demo(tmp_path)
    file = tmp_path / "studio.toml"
    text = file.read_text(encoding="utf-8").replace(*edit)
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match="holds other files"):
        write_demo(tmp_path, replace=True)
    assert file.read_text(encoding="utf-8") == text


def test_dates_are_fixed(year):
    assert datetime.fromisoformat(year.rows[0]["date"]).year == 2025
    assert datetime.fromisoformat(year.rows[-1]["date"]).year == 2025
