"""What the commands of a studio and its book print, against their schemas, emptiness included."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta

import openpyxl
import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator, ValidationError
from tests.book import hostile_pictures as hostile
from tests.judging import judge
from tests.weather_stub import Stub, point_to, running, sample

from argentry.book import log
from argentry.book.care import doctor
from argentry.book.devices import note_seen
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures.kept import add_picture
from argentry.book.plates import makings, plate_by_label
from argentry.cli.main import cli
from argentry.keeping.forecast.said import record_file
from argentry.out.schemas import answers, schema
from argentry.records.event import Event
from argentry.records.ids import new_id

# checked in test_schemas.py, what is seen in tests/keeping/seeing, those that learn in
# tests/cli/test_learning.py, the season in its own
ELSEWHERE = {
    *("day", "light", "light_meter", "coat_nm", "coat_lab", "coat_colour", "coat_fit"),
    *(
        "judge_coat",
        "judge_scale",
        "judge_wedge",
        "judge_plate",
        "judge_change",
        "judge_ripening",
        "judge_survey",
        "label_condition",
        "fume",
        "expose",
        "develop",
        "air",
        "season",
    ),
    *("odds", "why_plate", "why_studio", "next", "next_compare", "need", "learn"),
    *("learn_share", "learn_adopt"),
}
HERE = [name for name in answers() if name not in ELSEWHERE]
# plate grade, for example, prints what plate show prints: what one of them showed, both have shown
SAME = dict.fromkeys(
    (
        "plate_work",
        "plate_grade",
        "plate_defect",
        "plate_give_up",
        "plate_rename",
        "plate_withdraw",
    ),
    "plate_show",
)
SAME |= {"weather_agree": "weather_show", "mix_spirit": "mix_dilute"}
SAME |= {
    "bath_new": "bath_use",
    "bath_discard": "bath_use",
    "bath_clearing": "bath_use",
    "stock_use": "stock_new",
}
SAME |= dict.fromkeys(("stock_note", "stock_weigh", "stock_undo"), "stock_new")
SAME |= dict.fromkeys(
    ("label_plate", "label_sleeve", "label_handover", "label_wall"), "label_bottle"
)
SAME |= {"label_room": "safety_room", "label_waste": "waste", "waste_collected": "waste"}
# null only for a book on PostgreSQL that is named without a studio
UNSEEN = {
    "plate_picture": {  # a machine that reads no pictures: keeping/plates/test_pictures.py
        *("picture.width_px: null", "picture.height_px: null", "picture.carries: null"),
    },
    "book_restore": {"folder: null"},
    "plating_plates": {"choose: filled"},  # takes a used run: keeping/plates/test_wear.py
    "book_erase_words": {"stays: filled"},  # tests/book/care/test_erase.py
    "studio_check": {  # files beside the studio's: tests/studio/test_skyline.py, the season's
        *("studio.site.skyline: there", "studio.weather.climate: there"),
        # learned from plates, which no studio file holds: tests/needs/test_doubt.py
        *("studio.habits.scatter: filled", "studio.habits.scatter[]: filled"),
        *("studio.habits.veil_ratio: there", "studio.habits.veil_ratio_sigma_stops: there"),
        "studio.habits.development_light_sigma_stops: there",
    },
    "weather_compare": {"said: filled"},  # takes two services: keeping/forecast/test_compare.py
    "weather_fetch": {  # what was fetched is kept
        "service.fetched: null",
        "service.fresh_until: null",
        "service.holds: null",
    },
    "bench": {  # a run always has begun to be seen, and a plate that is open has a step
        "plates[].steps[].ask.at_minutes: there",
        *("now: null", "opened: null", "hands[].left_s: null"),
    },
}
# takes a picture that was judged: keeping/seeing/test_plate.py
UNSEEN |= {name: {"read: filled"} for name, shape in SAME.items() if shape == "plate_show"}
UNSEEN["plate_show"] = {"read: filled"}

# every key that may be left out is given, so that none is null
FULL = """\
name = "Yard studio (invented)"
[site]
name = "Orraga, an invented place"
latitude_deg = 42.0
longitude_deg = -1.0
elevation_m = 350
time_zone = "Europe/Madrid"
horizon = [[0, 3], [180, 6]]
haze_aod = 0.1
[[lens]]
name = "Portrait lens"
f_number = 4
focal_length_mm = 180
near_uv_transmission = 0.5
spectrum = "generic uncoated crown lens"
[[box]]
name = "Iodine box"
gap_mm = 20
crystal_area_cm2 = 150
floor_area_cm2 = 180
temperature_c = 22
box_factor_log_sd = 0.1
[[frame]]
name = "Red frame"
cut_on_nm = 600
blocking_density = 5.0
spectrum = "generic deep red long-pass 600 nm"
[frame.lamp]
power_w = 500
distance_m = 0.5
width_m = 0.3
height_m = 0.2
reading_w_m2 = 12
spectrum = "generic halogen lamp"
[[frame]]
name = "Panel frame"
cut_on_nm = 600
[frame.lamp]
kind = "red led"
reading_lux = 900
[room]
temperature_c = 20
relative_humidity_pct = 50
[water]
kind = "tap"
conductivity_us_cm = 300
[hours]
breaks = [["13:00", "14:00"]]
[meter]
spectrum = "generic selenium meter"
[subject]
window_spectrum = "generic float glass pane"
[habits]
plate_speed = 0.0002
plate_speed_sigma_stops = 0.6
plate_noise_stops = 0.3
plate_speed_at_s = 200.0
reciprocity_exponent = 0.95
development_dose_kj_m2 = 400
development_dose_sigma_stops = 0.4
interlayer_nm = 3
interlayer_silver = 0.5
interlayer_growth_nm = 9
back_over_iodine_s = 5
good_share = 0.5
longest_pose_min = 30
good_share_plates = 8
[units]
per_euro = 1.1
[prices]
silver_per_g = 1
gold_per_g = 90
sundries_per_plate = 9
hour = 25
[weather]
source = "met-norway"
agreed = ["met-norway"]
contact = "me@example.org"
host = "https://weather.example.org"
"""
WEATHER = """\
# time_zone: Europe/Madrid
# stamp: start
# kind: forecast
time,ghi_w_m2,temperature_c
2026-06-21T12:00,879,26.9
2026-06-21T13:00,936,
"""
MESSY = (
    "My plates,,,\nplate no,day,room,result,moon\nM1,2026-06-01,20,best of all,full\n"
    "M2,2026-06-02,hot,good,\n"
)
TABLE = """\
plate,date,room_c,exposure_start,exposure_seconds,water_kind,grade,Moon,Blank
L1,2026-06-21,21.5,2026-06-21T11:00:00+02:00,240,tap,good,full,
L2,2026-06-22,19,,,tap,lost,half,
"""


class Teller:
    """Runs commands and keeps what they print, by the schema they are to fit."""

    def __init__(self):
        self.told = {}

    def __call__(self, name, *arguments, studio=None, code=0):
        named = [] if studio is None else ["--studio", str(studio)]
        words = [*map(str, arguments), *named, "--json"]
        away = {"ARGENTRY_STUDIO": None, "ARGENTRY_BOOK": None}
        done = CliRunner().invoke(cli, words, env=away)
        assert done.exit_code == code, (words, done.output)
        data = json.loads(done.stdout)
        self.told.setdefault(name, []).append(data)
        return data


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """Give every answer of an invented studio, from an empty book to a full one."""
    folder = tmp_path_factory.mktemp("told")
    tell = Teller()
    bare = folder / "bare"
    tell("studio_new", "studio", "new", bare)
    _studios(tell, folder, bare)
    _recipes(tell)
    for name in ("plate", "bath", "stock", "device"):
        tell(f"{name}_list", name, "list", studio=bare)
    tell("plating_plates", "plating", "plates", studio=bare)
    _plates(tell, bare)
    _runs(tell, bare)
    _mistakes(tell, bare)
    _readings_and_baths(tell, bare)
    _stock(tell, bare)
    _devices(tell, bare)
    _books(tell, folder, bare)
    _tables(tell, folder)
    _weather(tell, bare)
    tell("demo", "demo", folder / "demo")
    return tell.told


def _studios(tell, folder, bare):
    full = folder / "full"
    full.mkdir()
    (full / "studio.toml").write_text(FULL, encoding="utf-8")
    sky = folder / "sky.csv"
    sky.write_text(WEATHER, encoding="utf-8")
    tell("studio_check", "studio", "check", bare)
    tell("studio_check", "studio", "check", full, "--weather", sky)
    tell("studio_check", "studio", "check", folder / "absent", code=2)


def _weather(tell, studio):
    tell("weather_show", "weather", "show", studio=studio)
    tell("weather_agree", "weather", "agree", "open-meteo", "--yes", studio=studio)
    with running(Stub(body=sample("open-meteo", "clear"))) as stub:
        point_to(
            stub,
            studio,
            ("latitude_deg = 45.0", "latitude_deg = 48.14"),
            ("longitude_deg = 5.0", "longitude_deg = 11.58"),
        )
        for known in ({}, {"brier": None, "days": 0}, {"brier": 0.1, "days": 20}):
            if known:
                row = {**known, "brier_season": known["brier"], "widened": 1.1, "worse": False}
                said = {"at": "2026-06-21T06:00:00+00:00", "services": {"open-meteo": row}}
                record_file(studio).write_text(json.dumps({**said, "seen": {}}), encoding="utf-8")
            tell("weather_fetch", "weather", "fetch", studio=studio)
            tell("weather_show", "weather", "show", studio=studio)
    tell("weather_show", "weather", "show", studio=studio)
    for day in ("2026-06-21", "2026-06-25"):
        tell("weather_compare", "weather", "compare", day, studio=studio)


def _recipes(tell):
    tell("recipe_check", "recipe", "check", "iodine")
    tell("recipe_check", "recipe", "check", "moon milk")
    for row in tell("recipe_mix_list", "recipe", "mix")["recipes"]:
        tell("recipe_mix", "recipe", "mix", row["recipe"])
    for size in ("quarter", "whole=20"):
        tell("mix_plates", "mix", "plates", "fix", "gild", "water", "--size", size)
    tell("mix_dilute", "mix", "dilute", "200", "80", "500")
    tell("mix_dilute", "mix", "dilute", "200", "80", "500", "--temp", "20", "--temp", "30")
    tell("mix_spirit", "mix", "spirit", "96", "50", "1000")
    tell("plating_current", "plating", "current", "--strike-um", "0.2")
    tell("plating_weigh", "plating", "weigh", "80", "80.9")
    tell("plating_weigh", "plating", "weigh", "80", "80.9", "--ah", "0.3")
    tell("plating_weigh", "plating", "weigh", "80.9", "80", "--passes", "10")
    for ph in ("7", "2"):
        tell("water", "water", "--ph", ph)
    full = ("--us-cm", "400", "--chloride", "30", "--hardness", "15", "--hardness-unit", "dH")
    tell("water", "water", *full)
    tell("mix_convert", "mix", "convert", "15 gr")


def _plates(tell, studio):
    tell("plate_new", "plate", "new", "A1", "A2", studio=studio)
    known = ("--silver-um", "12", "--made", "2026-05-01", "--from", "a silverer")
    tell("plate_new", "plate", "new", "A3", *known, studio=studio)
    tell("plate_show", "plate", "show", "A3", studio=studio)
    judged = ("good", "--verdict", "right", "--stage", "coat=ok", "--day", "2026-06-21")
    tell("plate_grade", "plate", "grade", "A3", *judged, studio=studio)
    tell("plate_defect", "plate", "defect", "A3", "fog", "--from", "develop", studio=studio)
    tell("plate_defect_list", "plate", "defect", "--list")
    tell("plate_work", "plate", "work", "A3", "polished", "--by", "Ana", studio=studio)
    file = studio / "coat.jpg"
    file.write_bytes(hostile.saved(hostile.plain(), "JPEG", exif=hostile.exif(place=True)))
    tell("plate_picture", "plate", "picture", "A3", str(file), "--kind", "coat", studio=studio)
    book = open_book(studio)
    plate = plate_by_label(book, "A3")
    now = datetime.now(UTC)
    add_picture(book, plate.id, "scan", now, b"\x89PNG\r\n\x1a\n invented")
    # of a newer argentry, with a larger catalogue
    (made,) = makings(book, plate.id)
    judge(book, made.id, defects=(*made.defects, ("moon_spots", "develop")))
    close_book(book)
    tell("plate_show", "plate", "show", "A3", studio=studio)
    tell("plate_list", "plate", "list", studio=studio)
    tell("plating_plates", "plating", "plates", studio=studio)
    tell("plate_new", "plate", "new", "A4", "--silver-um", "1", studio=studio)
    tell("plating_plates", "plating", "plates", studio=studio)


def _runs(tell, studio):
    opened = tell("bench", "bench", "--plates", "A1,A2,A5", studio=studio)
    first, second, third = (plate["id"] for plate in opened["plates"])
    say = _sayer(studio, opened["run"])
    say("cautions_read", cautions=["general"])
    for key in ("ready_room", "scour", "rouge_buff", "final_buff", "warm"):
        say("caution_shown", None, key, caution="general")
        say("step_begun", first, key)
        say("step_ended", first, key)
    say("check_answered", first, "scour", answer="right", value=2.5, words="clean")
    for key in ("scour", "rouge_buff", "final_buff"):
        say("step_skipped", second, key)
    say("step_begun", second, "warm")
    say("step_ended", second, "warm")
    say("step_redone", first, "warm", why="it cooled")
    say("step_begun", first, "warm")
    say("step_ended", first, "warm")
    say("step_begun", first, "iodise")
    say("duration_changed", second, "iodise", planned_s=70.0, was_s=50.0, why="a cold box")
    for plate, step in ((None, None), (first, "iodise")):
        what = "room_c" if plate is None else "box_c"
        say("reading_taken", plate, step, what=what, value=18.5, unit="°C", source="by hand")
        say("remark_made", plate, step, words="dusty")
    say("check_answered", first, "iodise", answer="right", when="during", at_minutes=1)
    odds = {"probability": 0.5, "low": 0.4, "high": 0.6, "plates": 0, "stage": "polish"}
    say("advice_given", first, "iodise", advice="continue", words="go on", **odds)
    given = say("advice_given", second, "iodise", advice="continue", words="go on", **odds)
    say("advice_overruled", second, "iodise", advice=given, advised="continue", did="stop")
    say("step_ended", first, "seal")  # it was never begun
    tell("bench", "bench", studio=studio)
    for one in opened["steps"]:
        if one["key"] == "develop":
            break
        say("step_skipped", third, one["key"])
    say("step_begun", third, "develop")
    for alone in (None, 500.0):
        ripe = {"dose_kj_m2": 480.0, "log_sd": 0.2, "alone_kj_m2": alone, "alone_log_sd": alone}
        say("ripe_seen", third, "develop", picture="ab" * 32, state="not yet", **ripe)
        tell("bench", "bench", studio=studio)
    say("paused", second)
    tell("bench", "bench", studio=studio)
    say("plate_abandoned", second, reason="fault", stage="polish", defect="scratches", why="hair")
    say("plate_abandoned", third, reason="outward", outward="no_time", why="")
    say("run_closed")
    tell("bench", "bench", "--run", opened["run"], studio=studio)
    for plate in ("A1", "A2"):
        tell("plate_show", "plate", "show", plate, studio=studio)
    say("making_graded", first, words="of a newer argentry: neither grade nor verdict")
    tell("bench", "bench", "--run", opened["run"], studio=studio)
    say("making_graded", first, grade="lost", verdict="under", defects=[["fog", "coat"]])
    tell("bench", "bench", "--run", opened["run"], studio=studio)
    tell("plate_defect", "plate", "defect", "A1", "fog", "--from", "develop", studio=studio)
    day = ("--plates", "A2", "--date", "2026-06-21")
    planned = tell("bench", "bench", *day, studio=studio)
    _plans(tell, studio, planned["run"], planned["plates"][0]["id"])


def _plans(tell, studio, run, plate):
    """Offer a plan that says nothing, one that says all, and one that says when a step begins."""
    say = _sayer(studio, run)
    nothing = say("plan_offered", plan={}, lines=[])
    tell("bench", "bench", studio=studio)
    say("plan_declined", offer=nothing)
    more = {"lines": ["late"], "moved": [[plate, "scour"]], "left_out": [plate], "why": "late"}
    one = {"id": "0197900a-0009-7000-8000-000000000001", "label": "A3", "once": ["ready_room"]}
    say("plan_offered", plan={}, share=0.6, kept_share=0.5, more=one, **more)
    tell("bench", "bench", studio=studio)
    row = {"start": "2026-06-21T08:00:00Z"}
    say("plan_taken", offer=say("plan_offered", plan={plate: {"scour": row}}, lines=["late"]))
    tell("bench", "bench", studio=studio)


def _mistakes(tell, studio):
    opened = tell("bench", "bench", "--plates", "B1,B2", studio=studio)
    say = _sayer(studio, opened["run"])
    for plate in opened["plates"]:
        say("step_begun", plate["id"], plate["current"])
    why = ("--stage", "polish", "--fault", "scratches", "--why", "grit")
    tell("plate_give_up", "plate", "give-up", "B1", *why, studio=studio)
    tell("plate_grade", "plate", "grade", "B1", "lost", studio=studio)
    tell("plate_defect", "plate", "defect", "B1", "scratches", "--withdraw", studio=studio)
    tell("plate_rename", "plate", "rename", "B1", "B 1", studio=studio)
    why = ("--stage", "polish", "--outward", "no_time")
    tell("plate_give_up", "plate", "give-up", "B2", *why, studio=studio)
    tell("plate_withdraw", "plate", "withdraw", "B2", studio=studio)
    tell("book_withdraw_run", "book", "withdraw-run", opened["run"], studio=studio)


def _sayer(studio, run):
    def say(kind, plate=None, step=None, **body):
        book = open_book(studio)
        now = datetime.now(UTC)
        event = Event(new_id(), run, kind, now, plate=plate, step=step, body=body)
        log.append(book, [event])
        close_book(book)
        return event.id

    return say


def _readings_and_baths(tell, studio):
    tell("reading_add_list", "reading", "add", "--list")
    tell("reading_add", "reading", "add", "room_c", "68", "°F", studio=studio)
    tell("reading_add", "reading", "add", "room_c", "99", studio=studio)
    volume = ("--volume-ml", "500")
    tell("bath_new", "bath", "new", "Fix", "fix", *volume, studio=studio)
    tell("bath_new", "bath", "new", "Own", "weaker, my way", *volume, studio=studio)
    tell("bath_use", "bath", "use", "Fix", "A1", studio=studio)
    tell("bath_clearing", "bath", "clearing", "Fix", "10", studio=studio)
    tell("bath_clearing", "bath", "clearing", "Fix", "25", studio=studio)
    # so long ago that gold does not keep until tomorrow's end, at whatever hour the tests run
    mixed = ("--mixed", (datetime.now(UTC) - timedelta(hours=7)).isoformat(timespec="seconds"))
    for recipe in ("gild", "degrease"):
        tell("bath_new", "bath", "new", recipe, recipe, *volume, *mixed, studio=studio)
    tell("bath_discard", "bath", "discard", "Fix", studio=studio)
    tell("bath_list", "bath", "list", "--all", studio=studio)


def _stock(tell, studio):
    tell(
        "stock_new", "stock", "new", "Iodine", "100", "g", "--received", "2026-01-01", studio=studio
    )
    tell("stock_new", "stock", "new", "Iodine, old", "0.05", "g", studio=studio)
    tell("stock_new", "stock", "new", "Copper", "3", "sheets", studio=studio)
    tell("stock_new", "stock", "new", "Rouge", "5", "g", studio=studio)
    tell("stock_list", "stock", "list", studio=studio)
    tell("stock_use", "stock", "use", "Rouge", "5", "--by", "Ana", studio=studio)
    tell("stock_list", "stock", "list", "--all", studio=studio)
    empty = ("--from", "2020-01-01", "--until", "2020-01-02")
    tell("cost", "cost", *empty, studio=studio)
    tell("waste", "waste", *empty, studio=studio)
    tell("stock_need", "stock", "need", studio=studio)
    facts = ("--price", "60", "--purity", "0.998", "--lead-days", "20")
    dates = ("--opened", "2026-01-01", "--expires", "2036-01-01")
    tell("stock_note", "stock", "note", "Iodine", *facts, *dates, studio=studio)
    tell("stock_list", "stock", "list", studio=studio)
    tell("stock_weigh", "stock", "weigh", "Iodine", "90", studio=studio)
    tell("stock_undo", "stock", "undo", "Iodine", studio=studio)
    gold = ("Gold chloride", "0.01", "g", "--price", "2", "--supplier", "a shop")
    tell("stock_new", "stock", "new", *gold, studio=studio)
    tell("stock_new", "stock", "new", "Ethanol", "1", "L", studio=studio)
    tell("stock_new", "stock", "new", "Hypo", "500", "g", studio=studio)
    tell("stock_need", "stock", "need", "--month-plates", "40", studio=studio)
    tell("stock_need", "stock", "need", "--month-plates", "0", studio=studio)
    tell("stock_new", "stock", "new", "Moon milk", "1", "L", studio=studio)
    shelf = studio.parent / "shelf.csv"
    full = "Iodine 2,5 g,A,2026-05-01,2036-01-01,9,99 %,7\nGlass,9 piece,B,,,,,\nBorax,5 g,,,,,,\n"
    head = "name,amount,shelf,opened,expires,price,purity,lead time\n"
    shelf.write_text(head + full, encoding="utf-8")
    tell("stock_import", "stock", "import", shelf, studio=studio)
    shelf.write_text("name,amount\nBeeswax,some\n", encoding="utf-8")
    tell("stock_import", "stock", "import", shelf, studio=studio, code=2)
    for name in ("iodine", "hypo"):
        tell("safety_show", "safety", "show", name)
    tell("safety_room", "safety", "room", studio=studio)
    tell("safety_day", "safety", "day")
    tell("waste", "waste", studio=studio)
    tell("waste_collected", "waste", "collected", "--by", "a collector", studio=studio)
    tell("cost", "cost", studio=studio)
    held = ("--pdf", studio / "held.pdf")
    tell("label_bottle", "label", "bottle", "Iodine", *held, studio=studio)
    tell("label_plate", "label", "plate", "A1", "A3", *held, studio=studio)
    tell("label_sleeve", "label", "sleeve", "A1", *held, studio=studio)
    tell("label_handover", "label", "handover", "A1", "A3", *held, studio=studio)
    tell("label_wall", "label", "wall", "A3", *held, studio=studio)
    tell("label_mixing", "label", "mixing", *held, studio=studio)
    # named: in the evening the gilding bath of today lasts tomorrow, and is not mixed
    tell("label_mixing", "label", "mixing", "gild", *held, studio=studio)
    tell("bath_new", "bath", "new", "Fresh", "fix", "--volume-ml", "500", studio=studio)
    tell("label_mixing", "label", "mixing", *held, studio=studio)
    tell("label_room", "label", "room", *held, studio=studio)
    tell("label_waste", "label", "waste", *held, studio=studio)


def _devices(tell, studio):
    made = tell("device_new_sensor", "device", "new-sensor", "thermometer", studio=studio)
    tell("device_list", "device", "list", studio=studio)
    book = open_book(studio)
    note_seen(book, made["id"], datetime.now(UTC))
    close_book(book)
    tell("device_revoke", "device", "revoke", "thermometer", studio=studio)
    tell("device_list", "device", "list", studio=studio)


def _books(tell, folder, studio):
    other = folder / "other"
    tell("studio_new", "studio", "new", other)
    tell("book_export", "book", "export", folder / "archive", studio=studio)
    archive = ("book_import_archive", "book", "import", folder / "archive")
    tell(*archive, "--dry-run", studio=other)
    tell(*archive, studio=other)
    tell(*archive, studio=other)  # all of it is known now
    saved = tell("book_backup", "book", "backup", folder / "backups", studio=studio)["folder"]
    third = folder / "third"
    tell("studio_new", "studio", "new", third)
    tell("book_restore", "book", "restore", saved, studio=third)
    tell("book_restore", "book", "restore", saved, studio=third)  # a book lies there now
    mounts = folder / "mounts"  # so that the disk the tests run on does not matter
    _check_on(tell, third, mounts, "/dev/disk / ext4 rw 0 0")
    book = open_book(third)
    with book.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER event_kept_update")
        connection.exec_driver_sql("UPDATE event SET device = 'x'")
    close_book(book)
    _check_on(tell, third, mounts, f"server:/share {third.resolve()} nfs4 rw 0 0", code=1)
    tell("book_erase_words", "book", "erase-words", "spoken by nobody", studio=studio)
    tell("book_salvage", "book", "salvage", folder / "salvaged", studio=third)


def _check_on(tell, studio, mounts, line, code=0):
    mounts.write_text(f"{line}\n", encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(doctor, "MOUNTS", mounts)
        tell("book_check", "book", "check", studio=studio, code=code)
        tell("book_clock", "book", "clock", studio=studio)


def _tables(tell, folder):
    studio = folder / "ledger"
    tell("studio_new", "studio", "new", studio)
    table = folder / "ledger.csv"
    table.write_text(TABLE, encoding="utf-8")
    wrong = folder / "wrong.csv"
    wrong.write_text("plate,date,room_c\nL3,2026-06-23,hot\n", encoding="utf-8")
    tell("book_import_table", "book", "import", wrong, "--dry-run", studio=studio, code=2)
    messy = folder / "messy.csv"
    messy.write_text(MESSY, encoding="utf-8")
    tell("book_import_draft", "book", "import", messy, studio=studio, code=2)
    guessed = ("--yes", "--dry-run")  # what nobody answered is told
    tell("book_import_table", "book", "import", messy, *guessed, studio=studio, code=2)
    mapping = folder / "ledger.toml"
    mapping.write_text('skip = ["Blank"]\n', encoding="utf-8")
    tell("book_import_table", "book", "import", table, "--mapping", mapping, studio=studio)
    tell("plate_show", "plate", "show", "L1", studio=studio)
    for name, text in (("table", TABLE), ("draft", MESSY)):
        sheets = _of_two_sheets(folder / f"{name}.xlsx", text)
        code = 0 if name == "table" else 2
        maps = ("--mapping", mapping) if name == "table" else ()
        tell(f"book_import_{name}", "book", "import", sheets, *maps, studio=studio, code=code)
    tell("book_import_back", "book", "import", table, "--take-back", studio=studio)


def _of_two_sheets(path, text):
    book = openpyxl.Workbook()
    for row in csv.reader(io.StringIO(text)):
        book.active.append(row)
    book.create_sheet("Second").append(["plate", "date"])
    book["Second"].append(["Z9", "2026-05-02"])
    book.save(path)
    return path


def cases(part, above=""):
    """Yield the cases a schema allows for: null or not, a list with something in it."""
    kinds = part.get("type", ())
    here = above or "answer"
    if isinstance(kinds, list) and "null" in kinds:
        yield from (f"{here}: null", f"{here}: there")
    if "array" in kinds:
        yield f"{here}: filled"
        yield from cases(part.get("items", {}), f"{above}[]")
    for key, value in part.get("properties", {}).items():
        name = f"{above}.{key}".lstrip(".")
        if key not in part["required"]:
            yield from (f"{name}: left out", f"{name}: given")
        yield from cases(value, name)


def seen(part, data, above=""):
    """Yield the cases that an answer shows, in the words of `cases`."""
    here = above or "answer"
    yield f"{here}: null" if data is None else f"{here}: there"
    if isinstance(data, list):
        yield f"{here}: filled" if data else f"{here}: empty"
        for item in data:
            yield from seen(part.get("items", {}), item, f"{above}[]")
    if isinstance(data, dict):
        for key, value in part.get("properties", {}).items():
            name = f"{above}.{key}".lstrip(".")
            yield f"{name}: given" if key in data else f"{name}: left out"
            if key in data:
                yield from seen(value, data[key], name)


@pytest.mark.parametrize("name", HERE)
def test_what_a_command_prints_fits_its_schema_and_is_told(name, told, fits):
    for data in told[name]:
        fits(name, data)


@pytest.mark.parametrize("name", HERE)
def test_every_null_and_every_list_of_a_schema_is_really_printed(name, told):
    shape = SAME.get(name, name)
    assert schema(name)["properties"] == schema(shape)["properties"]
    alike = [one for one in HERE if SAME.get(one, one) == shape]
    shown = {case for one in alike for data in told[one] for case in seen(schema(one), data)}
    assert set(cases(schema(name))) - shown == UNSEEN.get(name, set())


@pytest.mark.parametrize("name", HERE)
def test_an_answer_without_a_required_key_or_with_one_more_is_noticed(name, told, fits):
    data = told[name][0]
    for key in schema(name)["required"]:
        with pytest.raises(ValidationError):
            fits(name, {other: value for other, value in data.items() if other != key})
    with pytest.raises(AssertionError, match="moon"):
        fits(name, {**data, "moon": 3})


def test_a_time_without_its_offset_is_noticed(told, fits):
    with pytest.raises(ValidationError, match="date-time"):
        fits("bath_new", {**told["bath_new"][0], "mixed_at": "2026-06-21T13:20:00"})


def test_a_schema_filled_from_another_keeps_its_own_title():
    for name, other in SAME.items():
        assert schema(name)["title"] != schema(other)["title"]
        assert schema(name)["required"] == schema(other)["required"]
        Draft202012Validator.check_schema(schema(name))
