"""A step wedge in a picture: one line, an answer that is kept, and speed learned from its steps."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from benchmarks.seeing.wedge_scene import wedge_scene
from tests.digits import places_of

from argentry.book.engine import close_book
from argentry.book.makings import what_teaches
from argentry.book.open import open_book
from argentry.book.pictures.judged import confirm, judged
from argentry.book.plates import add_making, add_plate
from argentry.desk.numbers.makings import gather
from argentry.desk.numbers.own_numbers import learned_numbers
from argentry.errors import BadInput
from argentry.judge import wedge as seeing
from argentry.keeping.seeing.kept import keep_answer
from argentry.keeping.seeing.picture import four, grey_densities
from argentry.keeping.seeing.wedge import AskedWedge, judge_wedge_file
from argentry.keeping.studio import new_studio
from argentry.out.schemas import schema
from argentry.records.ids import new_id
from argentry.records.plain import plain
from argentry.records.plate import Making, Plate

SMALL = (900, 600)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("seen") / "studio"
    new_studio(made, {"--name": "Yard studio", "--tz": "Europe/Madrid"})
    return made


@pytest.fixture(scope="module")
def picture(folder):
    content, truth = wedge_scene(3, turning=True, size=SMALL)
    file = folder / "wedge.jpg"
    file.write_bytes(content)
    return file, truth


def asked_of(truth, **more):
    return replace(
        AskedWedge(
            truth.steps, truth.increment, truth.first, truth.ends, truth.brightest, truth.grey
        ),
        **more,
    )


@pytest.fixture(scope="module")
def seen(picture):
    return judge_wedge_file(picture[0], asked_of(picture[1]))


def test_the_answer_has_figures_with_doubts_and_one_line(picture, seen):
    truth = picture[1]
    assert seen.speed_point_log_exposure == pytest.approx(truth.speed_point, abs=0.08)
    assert seen.steepest == pytest.approx(truth.steepest, rel=0.12)
    assert seen.latitude == pytest.approx(truth.latitude, abs=0.15)
    assert seen.peak_log_exposure == pytest.approx(truth.peak, abs=0.08)
    assert seen.veil_share == pytest.approx(truth.veil, rel=0.15)
    assert seen.turns
    assert [one.what for one in seen.not_told] == ["plate"]
    assert 0.0 < seen.speed_point_log_exposure_sd < 0.1
    assert len(seen.steps) == len(seen.strips) == truth.steps
    for step, strip in zip(seen.steps, seen.strips, strict=True):
        assert strip.stops == pytest.approx(step.log_exposure / 0.30103, abs=0.01)
    assert seen.line.startswith(f"speed point at {seen.speed_point_log_exposure:+.2f}")
    assert f"solarised above {seen.peak_log_exposure:+.2f}" in seen.line
    assert "a middle tone is right from" in seen.line


def test_the_answer_fits_its_schema(seen):
    from jsonschema import Draft202012Validator

    Draft202012Validator(schema("judge_wedge")).validate(json.loads(json.dumps(plain(seen))))


def test_the_brightest_end_turns_the_wedge_round(picture, seen):
    file, truth = picture
    other = {"left": "right", "right": "left"}[truth.brightest]
    back = judge_wedge_file(file, asked_of(truth, brightest=other))
    levels = [one.density - back.steps[0].density for one in back.steps[::-1]]
    assert levels == pytest.approx(
        [one.density - seen.steps[-1].density for one in seen.steps], abs=0.01
    )


def test_a_turn_whose_place_is_uncertain_is_still_told_as_one(tmp_path):
    content, truth = wedge_scene(71005, turning=True, size=SMALL)  # four steps alone have density
    file = tmp_path / "short.jpg"
    file.write_bytes(content)
    seen = judge_wedge_file(file, asked_of(truth))
    assert (seen.turns, seen.peak_log_exposure) == (True, None)
    assert "; solarised, from where is not told" in seen.line


def test_without_marks_it_says_what_is_missing(picture):
    file, truth = picture
    none = judge_wedge_file(file, asked_of(truth, grey=None))
    assert none.line.startswith("cannot tell: no grey scale")
    assert (none.speed_point_log_exposure, none.steps, none.strips) == (None, (), ())
    assert none.cautions == ()
    assert {one.what for one in none.not_told} >= {"steepest", "latitude", "turns", "strips"}


def test_a_wedge_that_begins_too_late_tells_no_speed_point(picture):
    file, truth = picture
    step = (truth.ends[2] - truth.ends[0]) / (truth.steps - 1)
    kept = 7  # of those with most light
    x1, y1, x2, y2 = truth.ends
    if truth.brightest == "left":
        ends = (x1, y1, x1 + (kept - 1) * step, y2)
    else:
        ends = (x2 - (kept - 1) * step, y1, x2, y2)
    cut = judge_wedge_file(file, asked_of(truth, steps=kept, ends=ends))
    assert cut.speed_point_log_exposure is None
    assert "speed_point_log_exposure" in {one.what for one in cut.not_told}
    assert seeing.NO_DARK_STEP in {one.why for one in cut.not_told}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"steps": 2}, "a wedge of 2 steps"),
        ({"increment": 0.0}, "--increment"),
        ({"first": 9.0}, "--first"),
        ({"brightest": "top"}, "'top' is not an end"),
        ({"ends": (1.0, 1.0, 1.0, 1.0)}, "both places are the same"),
        ({"grey_densities": (0.1, 0.5)}, "2 densities do not make a grey scale"),
        ({"grey_densities": (0.1, 0.5, 0.4)}, "the densities do not rise"),
    ],
)
def test_what_cannot_be_is_one_sentence(picture, change, said):
    with pytest.raises(BadInput, match=said):
        judge_wedge_file(picture[0], asked_of(picture[1], **change))


def test_places_are_four_numbers():
    assert four("--ends", "1,2,3.5,4") == (1.0, 2.0, 3.5, 4.0)
    assert four("--ends", None) is None
    for text in ("1,2,3", "1,2,3,x", "1,2,3,nan", "1e999,2,3,4"):
        with pytest.raises(BadInput, match="--ends"):
            four("--ends", text)


def speed(folder):
    gathered = gather(folder)
    numbers = learned_numbers(gathered, with_odds=False)
    return numbers.of("plate_speed"), numbers.exposures


def test_a_confirmed_wedge_moves_the_speed_by_itself_and_a_taken_back_one_does_not(
    folder, picture, seen
):
    noon = datetime(2026, 6, 21, 12, tzinfo=UTC)
    book = open_book(folder)
    plate = Plate(new_id(), "W-1")
    add_plate(book, plate)
    conditions = {"exposure_start": noon.isoformat(), "exposure_seconds": 1200.0, "cloud_okta": 0.0}
    add_making(book, Making(
        new_id(), plate.id, None, "s", 1, date(2026, 6, 21), conditions=conditions,
    ))  # fmt: skip
    close_book(book)
    keep_answer(folder, "W-1", picture[0], seen, kind="wedge")
    assert speed(folder) == (None, ())  # nothing is learned without the maker's word

    book = open_book(folder)
    mark = what_teaches(book)
    confirm(book, plate.id, seen.sha256, "wedge", datetime(2026, 6, 22, tzinfo=UTC))
    assert what_teaches(book) != mark
    close_book(book)
    after, (one,) = speed(folder)
    assert after.plates == 1
    assert len(one.stops) == len(one.verdicts) == picture[1].steps  # strips of one plate
    assert after.high / after.low < 0.6 * after.believed_high / after.believed_low
    # as light given and the middle of the curve have it
    given = one.stops[-1] - seen.strips[-1].stops
    start = learned_numbers(gather(folder), with_odds=False).start_speed_iso
    right = given + picture[1].middle / 0.30103
    assert after.value == pytest.approx(start / 2**right, rel=0.35)

    book = open_book(folder)
    confirm(book, plate.id, seen.sha256, "wedge", None)
    assert judged(book, plate.id)[-1].confirmed_at is None
    close_book(book)
    assert speed(folder) == (None, ())


def test_greys_darken_from_one_to_the_next_within_four_tens():
    assert grey_densities((0.0, 1.5, 4.0)) == (0.0, 1.5, 4.0)
    for wrong in ((0.0, 1.0), (0.0, 1.0, 1.0), (1.0, 0.5, 2.0), (-0.1, 1.0, 2.0), (0.0, 1.0, 4.1)):
        with pytest.raises(BadInput, match="--grey-densities"):
            grey_densities(wrong)


def test_no_figure_has_more_places_than_it_is_good_for(seen):
    places = {
        "log_exposure": 4, "density": 4, "doubt": 4, "px": 1, "veil_share": 4,
        "speed_point_log_exposure": 4, "steepest": 4, "latitude": 4,
        "peak_log_exposure": 4, "right_stops": 2, "stops": 3,
    }  # fmt: skip
    assert places_of(seen).items() >= places.items()
