"""The studio's own scale: kept with its plate, confirmed, found for its phone in its light."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from benchmarks.seeing.scale import BANDS, ends_of, taken_by
from benchmarks.seeing.scene import scene
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures.judged import add_judged, confirm, confirmed, judged
from argentry.book.pictures.kept import add_picture
from argentry.book.plates import add_plate, plate_by_label
from argentry.cli.main import cli
from argentry.errors import BadInput
from argentry.keeping.seeing.coat import AskedCoat, judge_coat_file
from argentry.keeping.seeing.own_scale import (
    COLUMNS,
    OwnScale,
    fitting,
    need_usable,
    scales_in_book,
    scales_of_studio,
    stated_phones,
)
from argentry.keeping.seeing.scale import AskedScale, judge_scale_file
from argentry.keeping.studio import new_studio
from argentry.out.schemas import schema
from argentry.records.answers.seen import PhoneOfPicture
from argentry.records.ids import new_id
from argentry.records.plain import plain
from argentry.records.plate import Judged, Plate

SEED = 300  # a lamp and a film by which the model alone reads a coat some nm off
PHONE = "Nordlys N7"
ROWS = np.array([[8.0, 0.9, 0.8, 0.7], [20.0, 0.8, 0.6, 0.4], [40.0, 0.5, 0.3, 0.3]])


@pytest.fixture(scope="module")
def pictures(tmp_path_factory):
    """The bands and a coat, by one phone in one light, and where the bands lie."""
    made = tmp_path_factory.mktemp("scale")
    bands, content = scene(SEED, light="tungsten", bands=BANDS)
    (made / "bands.jpg").write_bytes(taken_by(content))
    truth, content = scene(SEED, light="tungsten")
    (made / "coat.jpg").write_bytes(taken_by(content))
    (made / "other.jpg").write_bytes(taken_by(content, model="N9"))
    (made / "lens.jpg").write_bytes(taken_by(content, lens="front"))
    (made / "bare.jpg").write_bytes(content)
    return made, truth, ",".join(f"{one:.1f}" for one in ends_of(bands.corners, len(BANDS)))


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "studio"
    new_studio(made, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    book = open_book(made)
    for label in ("S-1", "P-1"):
        add_plate(book, Plate(new_id(), label))
    close_book(book)
    return made


def run(folder, what, *said):
    return CliRunner().invoke(cli, ["judge", what, *map(str, said), "--studio", str(folder)])


def keep(folder, pictures, *more, file="bands.jpg"):
    made, _, ends = pictures
    return run(
        folder, "scale", made / file, "--ends", ends, "--nm", ",".join(map(str, BANDS)),
        "--bare", "bottom", "--plate", "S-1", *more,
    )  # fmt: skip


def coat(folder, pictures, *more, file="coat.jpg"):
    made, truth, _ = pictures
    expect = ",".join(f"{one:.1f}" for one in truth.expected)
    told = run(folder, "coat", made / file, "--bare", truth.bare, "--expect", expect, "--json",
               "--plate", "P-1", *more)  # fmt: skip
    assert told.exit_code == 0, told.output
    answer = json.loads(told.stdout)
    Draft202012Validator(schema("judge_coat")).validate(answer)
    return answer


def test_a_confirmed_scale_reads_the_coats_of_its_phone_in_its_light_alone(folder, pictures):
    _, truth, _ = pictures
    tungsten = ("--light", "tungsten")
    assert keep(folder, pictures, *tungsten).exit_code == 0
    by_model = coat(folder, pictures, *tungsten)
    assert by_model["scale"] is None  # kept, but not confirmed
    assert all(one["what"] != "scale" for one in by_model["not_told"])
    assert keep(folder, pictures, *tungsten, "--so-it-is").exit_code == 0

    own = coat(folder, pictures, *tungsten)
    day = date.fromisoformat(own["scale"]["taken_on"])
    assert (own["scale"]["low_nm"], own["scale"]["high_nm"]) == (BANDS[0], BANDS[-1])
    assert f"By your own scale of {day.day} {day:%B %Y}, this phone, tungsten." in own["notes"]
    assert own["phone"] == {"name": PHONE, "from": "picture"}
    off = abs(own["thickness_nm"] - truth.mean)
    assert off < 3.0
    assert off < abs(by_model["thickness_nm"] - truth.mean)
    # its doubt is its own: 0.8 nm and 3 % of the coat, 80 % of a normal distribution
    low, high = own["range_80_nm"]
    half = 1.2816 * np.hypot(0.8, 0.03 * own["thickness_nm"])
    assert (high - low) / 2 == pytest.approx(half, abs=0.06)

    for file, light, why in (
        ("coat.jpg", ("--light", "led"), f"this is {PHONE}, led; yours are for {PHONE}, tungsten"),
        ("coat.jpg", (), f"the light was not named; yours are for {PHONE}, tungsten"),
        ("other.jpg", tungsten, "this is Nordlys N9, tungsten"),
        ("lens.jpg", tungsten, "this is Nordlys N7, front, tungsten"),
        ("bare.jpg", tungsten, "the picture does not name its camera"),
        ("other.jpg", (*tungsten, "--phone", PHONE), "this is Nordlys N9"),  # the file is believed
    ):
        other = coat(folder, pictures, *light, file=file)
        assert other["scale"] is None, file
        assert any(one["what"] == "scale" and why in one["why"] for one in other["not_told"])
    red = coat(folder, pictures, "--light", "red")
    assert (red["scale"], red["thickness_nm"]) == (None, None)
    said = coat(folder, pictures, *tungsten, "--phone", PHONE.upper(), file="bare.jpg")
    assert said["thickness_nm"] == own["thickness_nm"]
    assert said["phone"]["from"] == "said"

    shown = run(folder, "coat", pictures[0] / "other.jpg", *tungsten, "--bare", truth.bare)
    assert "Coat by your own scale not told: this is Nordlys N9" in shown.output.replace("\n", " ")
    book = open_book(folder)
    (kept,) = confirmed(book, "scale")
    assert scales_in_book(book)[0].phone == PHONE
    assert stated_phones(book) == ()
    confirm(book, kept.plate, kept.picture, "scale", None)  # taken back
    close_book(book)
    assert coat(folder, pictures, *tungsten)["scale"] is None


def test_a_scale_without_its_phone_or_light_is_kept_and_not_confirmed(folder, pictures):
    done = keep(folder, pictures)
    assert "Light not told: it was not named" in done.output.replace("\n", " ")
    refused = keep(folder, pictures, "--so-it-is")
    assert isinstance(refused.exception, BadInput)
    assert "it needs its bands, the phone and the light" in str(refused.exception)
    made, truth, ends = pictures
    places = tuple(map(float, ends.split(",")))
    none = judge_scale_file(made / "bare.jpg", AskedScale(places, BANDS, bare=truth.bare))
    assert {one.what for one in none.not_told} >= {"phone", "light"}
    with pytest.raises(BadInput, match="phone"):
        need_usable(none)
    for light, why in (("moon", "is not a light known here"), ("red", "under red light")):
        with pytest.raises(BadInput, match=why):
            judge_scale_file(made / "bands.jpg", AskedScale(places, BANDS, None, "bottom", light))
    no_plate = run(folder, "scale", made / "bands.jpg", "--ends", ends, "--nm", "8,9,10",
                   "--so-it-is")  # fmt: skip
    assert "no plate is named" in str(no_plate.exception)
    bare, content = scene(SEED, light="led", bands=BANDS)
    (made / "plain.jpg").write_bytes(content)
    said = keep(folder, (made, bare, ends), "--light", "led", "--phone", "old\x1b one",
                "--so-it-is", file="plain.jpg")  # fmt: skip
    assert said.exit_code == 0, said.output
    book = open_book(folder)
    assert stated_phones(book) == ("old one",)
    assert len(judged(book, confirmed(book, "scale")[0].plate)) == 2
    close_book(book)


def own(phone, light, day=3):
    return OwnScale("0" * 64, date(2026, 5, day), phone, light, ROWS)


def test_the_newest_scale_of_the_pair_is_found_and_no_other():
    this = PhoneOfPicture("nordlys n7", "picture")
    assert fitting((), this, "led") == ""
    scales = (own("Nordlys N7", "led", 9), own("Nordlys N7", "led"), own("Nordlys N7", "window"))
    assert fitting(scales, this, "led") is scales[0]
    assert fitting(scales, this, "window") is scales[2]
    assert "yours are for Nordlys N7, led; Nordlys N7, window" in fitting(scales, this, "tungsten")
    # the same model of the film for both, yet another light
    assert isinstance(fitting(scales, this, "overcast"), str)
    assert isinstance(fitting(scales, None, "led"), str)
    assert scales[1].words == "By your own scale of 3 May 2026, this phone, led."


def test_a_scale_that_the_maker_gives_is_taken_before_those_of_the_book(pictures):
    made, truth, _ = pictures
    asked = AskedCoat(
        "tungsten", truth.bare, truth.expected, scale=ROWS, own=(own(PHONE, "tungsten"),)
    )
    told = judge_coat_file(made / "coat.jpg", asked)
    assert (told.scale, plain(told)["phone"]["name"]) == (None, PHONE)


def test_a_book_that_cannot_be_read_has_no_scales(folder):
    assert scales_of_studio(folder) == ()
    (folder / "book.sqlite").write_bytes(b"not a book" * 500)
    assert scales_of_studio(folder) == ()
    assert scales_of_studio(None) == ()


@pytest.mark.parametrize(
    "wrong",
    [
        {"bands": [{"thickness_nm": 8.0}] * 3},
        {"bands": "none"},
        {"phone": "N7"},
        {"phone": {}},
        {"bands": [dict(zip(COLUMNS, (nm, 0.9, 0.8, -0.7), strict=True)) for nm in (8, 9, 10)]},
        {"bands": [dict(zip(COLUMNS, (nm, 0.9, 0.8, 0.7), strict=True)) for nm in (9, 8, 10)]},
        {"light": None},
    ],
)
def test_a_scale_that_another_program_wrote_badly_is_passed_over(folder, pictures, wrong):
    """An archive brings in whatever was written into it."""
    made, _, _ = pictures
    book = open_book(folder)
    plate, at = plate_by_label(book, "S-1").id, datetime(2026, 5, 3, tzinfo=UTC)
    kept = add_picture(book, plate, "coat", at, (made / "bands.jpg").read_bytes())
    bands = [dict(zip(COLUMNS, row, strict=True)) for row in ROWS.tolist()]
    answer = {"bands": bands, "phone": {"name": PHONE, "from": "said"}, "light": "led"}
    read = Judged(kept.sha256, plate, "scale", at, "4", answer, at)
    add_judged(book, read)
    assert [one.taken_on for one in scales_in_book(book)] == [date(2026, 5, 3)]
    assert stated_phones(book) == (PHONE,)
    add_judged(book, replace(read, answer=answer | wrong))
    assert scales_in_book(book) == ()
    assert stated_phones(book) in ((), (PHONE,))  # the bench opens
    close_book(book)


def test_a_scale_is_dated_by_its_picture_in_the_studios_zone(folder, pictures):
    assert keep(folder, pictures, "--light", "tungsten", "--so-it-is").exit_code == 0
    book = open_book(folder)
    (kept,) = confirmed(book, "scale")
    assert scales_in_book(book, "Pacific/Kiritimati")[0].taken_on >= datetime.now(UTC).date()
    assert kept.answer["phone"]["name"] == PHONE
    close_book(book)
