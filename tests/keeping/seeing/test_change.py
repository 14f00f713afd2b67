"""A change between two pictures as an answer: words, places, millimetres; kept with the plate."""

import json

import pytest
from benchmarks.seeing.change_scene import change_scene
from PIL import Image
from tests.digits import places_of

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import pictures
from argentry.book.plates import add_plate
from argentry.errors import BadInput
from argentry.keeping.seeing.change import LOOKS_ALIKE, NO_AREA, AskedChange, judge_change_files
from argentry.keeping.seeing.kept import keep_answer
from argentry.keeping.studio import new_studio
from argentry.out.schemas import schema
from argentry.records.ids import new_id
from argentry.records.plain import plain
from argentry.records.plate import Plate


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    first, second, truth = change_scene(73, "both", size=(900, 690), turned=False)
    folder = tmp_path_factory.mktemp("pair")
    files = folder / "before.jpg", folder / "after.jpg"
    for file, content in zip(files, (first, second), strict=True):
        file.write_bytes(content)
    return *files, truth


@pytest.fixture(scope="module")
def seen(pair):
    before, after, truth = pair
    asked = AskedChange("quarter", truth.grey_before, truth.grey_after)
    return judge_change_files(before, after, asked)


def test_whole_and_areas_have_words_and_millimetres(pair, seen):
    truth = pair[2]
    assert seen.change == "both"
    assert seen.line.startswith("the whole plate has changed: warmer")
    assert "mm across" in seen.line
    assert len(seen.areas) == len(truth.areas)
    assert seen.not_told == ()
    largest = max(truth.areas, key=lambda one: one[2])
    assert seen.areas[0].px == pytest.approx(largest[:2], abs=4.0)
    wide = largest[2] * seen.mm_per_px
    assert seen.areas[0].area_mm2 == pytest.approx(3.1416 / 4 * wide**2, rel=0.35)
    x, y = truth.inside[40]
    along, down, far = (row[0] * x + row[1] * y + row[2] for row in seen.before_to_after)
    assert (along / far, down / far) == pytest.approx(tuple(truth.onto[40]), abs=2.0)
    assert (seen.file, seen.after.file) == ("before.jpg", "after.jpg")


def test_without_size_and_grey_scales_it_says_what_is_missing(pair):
    bare = judge_change_files(pair[0], pair[1], AskedChange())
    assert {one.what for one in bare.not_told} == {"mm_per_px", "area_mm2", "change", "whole"}
    assert (bare.change, bare.whole) == (None, None)
    assert "whole" not in bare.line
    assert "mm across" not in bare.line
    assert bare.line != NO_AREA


def test_the_answer_fits_its_schema(seen):
    from jsonschema import Draft202012Validator

    Draft202012Validator(schema("judge_change")).validate(json.loads(json.dumps(plain(seen))))


def test_what_cannot_be_is_one_sentence(pair):
    with pytest.raises(BadInput, match="both pictures are the same file"):
        judge_change_files(pair[0], pair[0], AskedChange())
    with pytest.raises(BadInput, match="--grey-after"):
        judge_change_files(pair[0], pair[1], AskedChange(grey_after=(-1.0, 2.0, 3.0, 4.0)))


def test_dust_is_warned_of_where_areas_are_told_alone(seen, tmp_path):
    files = tmp_path / "one.png", tmp_path / "other.png"
    for level, file in enumerate(files, 90):
        Image.new("RGB", (300, 240), (level, level, level)).save(file)
    none = judge_change_files(*files, AskedChange())
    assert none.line.startswith("cannot tell: ")
    assert (none.cautions, seen.cautions) == ((), (LOOKS_ALIKE,))


def test_both_pictures_are_kept_and_each_pair_has_its_own_answer(tmp_path, pair, seen):
    folder = tmp_path / "studio"
    new_studio(folder, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    book = open_book(folder)
    made = Plate(new_id(), "P-1")
    add_plate(book, made)
    close_book(book)
    before, after, _ = pair
    later = tmp_path / "later.jpg"
    later.write_bytes(after.read_bytes() + b"\0")
    for second in (after, later, after):
        keep_answer(folder, "P-1", before, seen, kind="change", second=second)
    book = open_book(folder)
    kept = {one.sha256 for one in pictures(book, made.id)}
    read = judged(book, made.id)
    assert [one.kind for one in read] == ["change", "change"]  # the last of a pair counts
    assert {one.picture for one in read} | {one.second_picture for one in read} == kept
    assert len(kept) == 3
    close_book(book)


def test_no_figure_has_more_places_than_it_is_good_for(seen):
    places = {
        "mm_per_px": 5, "noise_delta_e": 2, "delta_e": 2, "px": 1, "diameter_px": 1,
        "area_mm2": 2,
    }  # fmt: skip
    assert places_of(seen).items() >= places.items()
