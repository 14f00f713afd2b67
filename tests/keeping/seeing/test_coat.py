"""What a picture of a coat says, in one line; what it costs, and what to do."""

import json
import re
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from benchmarks.seeing.scene import CARD, scene
from click.testing import CliRunner
from PIL import Image
from tests.digits import places_of

from argentry import trade
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures.judged import confirm, judged
from argentry.book.plates import add_plate
from argentry.cli.main import cli
from argentry.desk.numbers.studio_numbers import studio_of_folder
from argentry.errors import BadInput
from argentry.judge.coat import Seen
from argentry.judge.coat_map import Coat
from argentry.judge.outline.plate_edges import NOT_THERE
from argentry.keeping.seeing import coat
from argentry.keeping.seeing.coat import BY_CARD, AskedCoat, judge_coat, judge_coat_file
from argentry.keeping.seeing.kept import keep_answer
from argentry.keeping.seeing.picture import CROP_OR_MARK
from argentry.keeping.seeing.words import line_of, seconds_more
from argentry.keeping.studio import new_studio
from argentry.needs.over_iodine import box_today, seconds_over_iodine
from argentry.out.schemas import schema
from argentry.physics.coat.film import relative_coat_speed
from argentry.records.answers.coat_seen import OtherCoat
from argentry.records.answers.seen import NotTold
from argentry.records.ids import new_id
from argentry.records.plain import plain
from argentry.records.plate import Plate


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("seen") / "studio"
    new_studio(made, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    return made


@pytest.fixture(scope="module")
def now(folder):
    return studio_of_folder(folder, None, as_written=True)[0]


@pytest.fixture(scope="module")
def picture(folder):
    truth, content = scene(2001, kind="thin edge")
    file = folder / "coat.jpg"
    file.write_bytes(content)
    return truth, file


@pytest.fixture(scope="module")
def seen(picture, now):
    truth, file = picture
    return judge_coat_file(
        file, AskedCoat(truth.light, truth.bare, truth.expected, seconds=60.0), now
    )


def test_word_and_figure_agree_and_the_line_says_what_the_hands_do(picture, seen):
    truth, _ = picture
    assert seen.thickness_nm == pytest.approx(truth.mean, abs=5.0)
    assert seen.line.startswith(f"{seen.colour}, {seen.thickness_nm:.0f} nm")
    assert f"thin at the {truth.thin_edge} edge" in seen.line
    assert seen.line.endswith(seen.more_seconds.do)
    assert (seen.light.name, seen.light.from_) == (truth.light, "said")
    assert (seen.map.columns, seen.map.rows, len(seen.map.thickness_nm)) == (16, 12, 12)
    assert seen.order is None
    assert seen.not_told == ()
    assert 0.0 < seen.light_taken_share < 1.0
    assert len(seen.cautions) == 1
    assert (seen.width_px, seen.height_px, seen.kind) == (800, 600, "image/jpeg")


def test_the_seconds_more_are_those_of_the_box_and_never_more_than_twice_those_so_far(now, seen):
    box = box_today(now.studio)
    at = {nm: seconds_over_iodine(box, nm).middle for nm in (15.0, 20.0, 25.0)}
    thin = replace(seen, thickness_nm=20.0, range_80_nm=(15.0, 24.0), thin_edge=None)
    more = seconds_more(thin, box, 25.0, 1000.0)
    assert more.middle == pytest.approx(at[25.0] - at[20.0], abs=0.06)
    assert more.high == pytest.approx(at[25.0] - at[15.0], abs=0.06)
    assert more.low < more.middle < more.high
    assert more.do == f"{more.middle:.0f} s more"
    short = seconds_more(thin, box, 25.0, 1.0)
    assert (short.middle, short.high) == (2.0, 2.0)
    uneven = seconds_more(replace(thin, thin_edge="left"), box, 25.0, 1000.0)
    assert uneven.do.endswith("s more, left side lower")
    there = replace(thin, thickness_nm=24.5)
    assert seconds_more(there, box, 25.0, 60.0).do == "stop"
    assert seconds_more(there, box, 25.0, 60.0).middle == 0.0
    turned = seconds_more(replace(there, thin_edge="top"), box, 25.0, 60.0)
    assert turned.do == "turn it, top side lower, lid closed"


def test_seconds_part_two_cycles_in_a_studio_whose_box_they_are_over(picture, now, monkeypatch):
    fields = np.full((12, 16), 46.0)
    coats = Coat(46.0, 40.0, 52.0, 0.6, fields), Coat(168.0, 160.0, 175.0, 0.4, fields + 122.0)
    monkeypatch.setattr(coat, "see_coat", lambda *_: Seen(coats=coats, lab=fields[0, :3]))
    asked = AskedCoat("tungsten", seconds=95.0)
    assert "by your" not in judge_coat_file(picture[1], asked).line
    assert judge_coat_file(picture[1], asked, now).line.endswith("; by your 95 s the first")


def test_two_cycles_are_told_as_two(seen):
    two = replace(seen, thickness_nm=46.0, colour="blue", cycle=1, more_seconds=None,
                  other_coats=(OtherCoat(168.0, 2, 0.3),))  # fmt: skip
    assert line_of(two, None) == "blue: first 46 or second 168 nm"
    assert line_of(two, 95.0).endswith("; by your 95 s the first")
    rare = replace(two, other_coats=(OtherCoat(168.0, 2, 0.05),), thin_edge=None)
    assert line_of(rare, None) == "blue, 46 nm"
    other = replace(two, other_coats=(OtherCoat(120.0, 2, 0.3),))
    assert line_of(other, None) == "blue, 46 nm, or gold of the second cycle, 120 nm"
    later = replace(rare, thickness_nm=120.0, colour="gold", cycle=2)
    assert line_of(later, None) == "gold of the second cycle, 120 nm"
    none = replace(rare, thickness_nm=None, not_told=(NotTold("thickness_nm", "no plate"),))
    assert line_of(none, None) == "cannot tell: no plate"


def test_red_light_tells_order_alone_and_costs_nothing(picture, now):
    found = judge_coat_file(picture[1], AskedCoat("red"), now)
    assert (found.thickness_nm, found.map, found.more_seconds) == (None, None, None)
    assert "under red light" in found.line
    assert found.order is not None
    assert found.light_taken_share == 0.0
    assert {one.what for one in found.not_told} >= {"thickness_nm", "map", "more_seconds"}


def test_a_look_costs_light_by_its_lux_seconds_and_violet(picture, now):
    truth, file = picture
    shares = {}
    for light in ("tungsten", "window"):
        asked = AskedCoat(light, truth.bare, truth.expected, lux=300.0, open_s=10.0)
        shares[light] = judge_coat_file(file, asked, now)
    ratio = shares["window"].light_taken_share / shares["tungsten"].light_taken_share
    assert ratio == pytest.approx(0.680 / 0.133, rel=0.1)  # violet of D65 over that of A
    # beside daylight: lux seconds, over the 10 / S that a middle tone of the reference coat needs
    speed = now.studio.habits.plate_speed or trade.value("exposure", "plate_speed")
    lux_s = 3000.0 * float(relative_coat_speed(shares["window"].thickness_nm))
    assert shares["window"].light_taken_share == pytest.approx(lux_s * speed / 10.0, rel=1e-3)
    assert "polish it back" in shares["window"].cautions[0]
    unnamed = judge_coat_file(file, AskedCoat(None, truth.bare, truth.expected), now)
    assert unnamed.light_taken_share is None
    assert unnamed.not_told[-1].what == "light_taken_share"


def own_lamp(folder, name, columns, keep=lambda _: True):
    file = folder / name
    pairs = zip(columns["wavelength_nm"], columns["relative_power"], strict=True)
    file.write_text("nm,power\n" + "".join(f"{at},{one * keep(at)}\n" for at, one in pairs))
    return str(file)


def test_the_spectrum_of_a_lamp_tells_what_the_lamp_by_name_tells(picture, folder, now):
    # the published table of CIE illuminant A (ISO/CIE 11664-2), as a maker's own file
    truth, file = picture
    columns = trade.table("illuminant_a").columns
    lamp = own_lamp(folder, "my lamp.csv", columns)
    known = {"bare": truth.bare, "expect": truth.expected, "lux": 40.0}
    named = judge_coat_file(file, AskedCoat("tungsten", **known), now)
    mine = judge_coat_file(file, AskedCoat(lamp, **known), now)
    assert mine.thickness_nm == pytest.approx(named.thickness_nm, abs=0.1)
    assert mine.light_taken_share == pytest.approx(named.light_taken_share, rel=5e-3)
    assert (mine.light.name, mine.light.from_) == ("my lamp.csv", "said")
    dark = judge_coat_file(file, AskedCoat(lamp, **{**known, "lux": None}), now)
    assert "give --lux" in dark.not_told[-1].why


def test_a_lamp_without_blue_tells_order_alone(picture, folder, now):
    truth, file = picture
    columns = trade.table("illuminant_a").columns
    red = own_lamp(folder, "red.csv", columns, lambda at: at > 600)
    seen = judge_coat_file(file, AskedCoat(red, truth.bare, truth.expected), now)
    assert seen.thickness_nm is None
    assert seen.order is not None


def test_only_a_command_opens_a_file_for_the_light(picture, folder, now):
    lamp = own_lamp(folder, "lamp.csv", trade.table("illuminant_a").columns)
    with pytest.raises(BadInput, match="is not a light known here"):
        judge_coat(picture[1], "coat.jpg", "", AskedCoat(lamp), now)  # as a page asks
    with pytest.raises(BadInput, match="or a file of two columns"):
        judge_coat_file(picture[1], AskedCoat("candle"), now)


def test_a_coat_without_a_strip_is_told_by_the_card_beside_it(folder):
    truth, content = scene(2003, strip=False, card=True)
    file = folder / "card.jpg"
    file.write_bytes(content)
    ask = ["judge", "coat", str(file), "--light", truth.light, "--as-written"]
    words = ",".join(map(str, CARD))
    expect = ",".join(f"{one:.1f}" for one in truth.expected)
    told = CliRunner().invoke(cli, [*ask, "--card", words, "--expect", expect])
    assert told.exit_code == 0, told.output
    assert BY_CARD in told.output.replace("\n", " ")
    assert " nm" in told.output.splitlines()[0]
    assert "cannot tell" in CliRunner().invoke(cli, ask).output


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (AskedCoat("moon"), "'moon' is not a light known here"),
        (AskedCoat(bare="middle"), "'middle' is not an edge"),
        (AskedCoat(expect=(300.0, 5.0)), "--expect"),
        (AskedCoat(seconds=-1.0), "--seconds"),
        (AskedCoat(angle_deg=89.0), "--angle"),
        (AskedCoat(card=(-5.0, 0.0, 9.0, 9.0)), "--card"),
    ],
)
def test_what_cannot_be_is_one_sentence(picture, now, asked, said):
    with pytest.raises(BadInput, match=said):
        judge_coat_file(picture[1], asked, now)


def test_answer_and_word_are_kept_beside_the_picture(folder, picture, seen):
    book = open_book(folder)
    plate = Plate(new_id(), "P-9")
    add_plate(book, plate)
    close_book(book)
    keep_answer(folder, "P-9", picture[1], seen)
    book = open_book(folder)
    (one,) = judged(book, plate.id)
    assert (one.picture, one.kind, one.confirmed_at) == (seen.sha256, "coat", None)
    assert one.answer["line"] == seen.line
    noon = datetime(2026, 6, 21, 12, tzinfo=UTC)
    confirm(book, plate.id, seen.sha256, "coat", noon)
    (one,) = judged(book, plate.id)
    assert one.confirmed_at == noon
    assert one.answer["thickness_nm"] == seen.thickness_nm
    close_book(book)


def test_the_answer_fits_its_schema(seen):
    from jsonschema import Draft202012Validator

    Draft202012Validator(schema("judge_coat")).validate(json.loads(json.dumps(plain(seen))))


def test_no_figure_has_more_places_than_it_is_good_for(seen):
    places = {
        "thickness_nm": 1, "range_80_nm": 1, "lab": 1, "left": 1, "right": 1, "top": 1,
        "bottom": 1,
    }  # fmt: skip
    found = places_of(seen)
    assert found.items() >= places.items()
    assert 2 < found["light_taken_share"] <= 6


def test_of_two_plates_in_view_the_answer_says_which_was_read_and_a_mark_chooses(picture, tmp_path):
    left = picture[0].picture
    file = tmp_path / "two.png"
    Image.fromarray(np.hstack([left, left[:, ::-1]])).save(file, compress_level=1)
    first = judge_coat_file(file, AskedCoat("tungsten"))
    x, y = np.mean(first.plate.corners_px, axis=0)
    (note,) = first.notes
    assert "looks like another plate; only the one at" in note
    assert CROP_OR_MARK in note
    there, here = ([float(one) for one in pair.split(",")] for pair in re.findall(r"\d+,\d+", note))
    assert here == pytest.approx([x, y], abs=1.0)
    assert there == pytest.approx([1599.0 - x, y], abs=3.0)
    second = judge_coat_file(file, AskedCoat("tungsten", at=(there[0], there[1])))
    assert np.mean(second.plate.corners_px, axis=0) == pytest.approx(there, abs=3.0)
    none = judge_coat_file(file, AskedCoat("tungsten", at=(800.0, 5.0)))
    assert none.line.endswith(NOT_THERE)
