"""Findings on a finished plate as an answer: figures, odds, places; kept with the plate."""

import json
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from benchmarks.seeing.plate_scene import plate_scene
from PIL import Image
from tests.digits import places_of
from tests.judge.outline.test_border import drawn

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures.judged import confirm, judged
from argentry.book.plates import add_plate
from argentry.desk.pages.plate_record import show_record
from argentry.errors import BadInput
from argentry.keeping.seeing.kept import keep_answer
from argentry.keeping.seeing.picture import two
from argentry.keeping.seeing.plate import FRAMED, FRAMED_MM, AskedPlate, judge_plate_file
from argentry.keeping.studio import new_studio
from argentry.out.plates.words import record_lines
from argentry.out.schemas import schema
from argentry.records.ids import new_id
from argentry.records.plain import plain
from argentry.records.plate import Plate
from argentry.trade.defects import defects
from argentry.trade.sizes import plate_size


@pytest.fixture(scope="module")
def picture(tmp_path_factory):
    content, truth = plate_scene(41, ("fog", "spots"), size=(1000, 750))
    file = tmp_path_factory.mktemp("seen") / "plate.jpg"
    file.write_bytes(content)
    return file, truth


@pytest.fixture(scope="module")
def seen(picture):
    file, truth = picture
    return judge_plate_file(
        file, AskedPlate("quarter", truth.grey, None, truth.trap, truth.unlit, truth.smooth)
    )


def test_findings_are_defects_of_the_catalogue_with_odds_and_places(picture, seen):
    truth = picture[1]
    keys = {one.key for one in seen.defects}
    assert keys == {"fog", "white_specks", "black_specks"}
    assert keys <= set(defects())
    assert all(0.5 <= one.odds <= 1.0 for one in seen.defects)
    assert [one.odds for one in seen.defects] == sorted(
        (o.odds for o in seen.defects), reverse=True
    )
    told = dict(zip(seen.line.split("; "), (one.odds for one in seen.defects), strict=True))
    assert any(odds >= 0.95 for odds in told.values())
    assert any(odds < 0.95 for odds in told.values())
    for words, odds in told.items():
        assert words.startswith("perhaps ") == (odds < 0.95), "it said perhaps beside 99 %"
    assert "% of white" in seen.line
    light = sum(light for *_, light in truth.spots)
    (found,) = (one for one in seen.defects if one.key == "white_specks")
    assert len(found.where_px) == pytest.approx(light, abs=1)
    long = truth.corners[1][0] - truth.corners[0][0]
    assert seen.mm_per_px == pytest.approx(plate_size("quarter").height_mm / long, rel=0.01)
    area = truth.smooth[2] * truth.smooth[3] * seen.mm_per_px**2 / 100.0
    assert seen.spots_per_cm2 == pytest.approx(len(seen.spots) / area, rel=0.01)
    assert seen.not_told == ()


def test_without_size_grey_scale_and_ground_it_says_what_is_missing(picture):
    bare = judge_plate_file(picture[0], AskedPlate())
    assert {one.what for one in bare.not_told} >= {"fog_share", "spots", "mm_per_px", "rim_mm"}
    assert (bare.fog_share, bare.mm_per_px, bare.spots) == (None, None, ())
    assert bare.line == "nothing found"


def test_the_answer_fits_its_schema(seen):
    from jsonschema import Draft202012Validator

    Draft202012Validator(schema("judge_plate")).validate(json.loads(json.dumps(plain(seen))))


def test_what_cannot_be_is_one_sentence(picture):
    with pytest.raises(BadInput, match="size"):
        judge_plate_file(picture[0], AskedPlate("enormous"))
    with pytest.raises(BadInput, match="--trap"):
        judge_plate_file(picture[0], AskedPlate(trap=(-1.0, 3.0)))
    with pytest.raises(BadInput, match="not a place in the picture"):
        two("--trap", "1,2,3")


def test_it_is_kept_with_the_plate_and_nothing_is_graded(tmp_path, picture, seen):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    made = Plate(new_id(), "P-1")
    add_plate(book, made)
    close_book(book)
    keep_answer(folder, "P-1", picture[0], seen, kind="plate")
    book = open_book(folder)
    (one,) = judged(book, made.id)
    assert (one.kind, one.answer["line"], one.confirmed_at) == ("plate", seen.line, None)
    record = show_record(folder, "P-1")
    at = f"{one.judged_at.astimezone(ZoneInfo('Europe/Madrid')):%Y-%m-%d %H:%M}"
    assert record.read == (f"{at}, plate: {seen.line} (not confirmed)",)
    assert record_lines(record)[-2:] == ["Pictures: 1", f"  {record.read[0]}"]
    confirm(book, made.id, one.picture, one.kind, datetime.now(UTC))
    close_book(book)
    assert show_record(folder, "P-1").read[0].endswith("(you said that it is so)")


def test_no_figure_has_more_places_than_it_is_good_for(seen):
    places = {
        "mm_per_px": 5, "fog_share": 4, "direction_deg": 1, "strength": 3, "odds": 3,
        "copy_px": 2, "px": 1, "diameter_px": 1, "diameter_mm": 3, "evenness": 3,
        "spots_per_cm2": 3, "where_px": 1, "corners_px": 1, "doubt_px": 1,
    }  # fmt: skip
    assert places_of(seen).items() >= places.items()


def test_of_a_framed_plate_only_what_lies_in_the_frame_is_read_and_the_answer_says_so(tmp_path):
    file = tmp_path / "framed.png"
    _save(drawn((1.0, (0.25, 0.16, 0.05)), (0.85, (0.7, 0.68, 0.6))), file)
    seen = judge_plate_file(file, AskedPlate("quarter"))
    assert seen.defects == ()
    assert seen.notes == (FRAMED, FRAMED_MM)
    assert seen.plate.corners_px[0] == pytest.approx((179, 136), abs=10)


def _save(linear, file):
    """Write a linear picture at twice its size."""
    shown = (255 * linear ** (1 / 2.2) + 0.5).astype(np.uint8)
    Image.fromarray(shown.repeat(2, axis=0).repeat(2, axis=1)).save(file, compress_level=1)
