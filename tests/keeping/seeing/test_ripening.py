"""Ripening as an answer: state, odds and the time to go, by given doses or the studio's light."""

import io
import json
from dataclasses import replace
from datetime import UTC, date, datetime
from math import exp, log

import numpy as np
import pytest
from benchmarks.seeing.ripening_scene import series
from click.testing import CliRunner
from PIL import Image
from tests import bench_studio
from tests.digits import places_of

from argentry import trade
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.cli.main import cli
from argentry.errors import BadInput
from argentry.judge.red_looks import NOT_RED
from argentry.judge.ripening import Ripeness
from argentry.keeping.seeing import ripening as seeing
from argentry.keeping.seeing.ripening import AskedRipening, judge_ripening_files
from argentry.keeping.studio import load_studio, new_studio
from argentry.needs.red_light import red_light
from argentry.out.schemas import schema
from argentry.records.plain import plain
from argentry.records.plate import Making

USUAL = 480.0  # kJ/m2: development/dose


@pytest.fixture(scope="module")
def shot(tmp_path_factory):
    one = series(2, until=0.85)
    folder, files = tmp_path_factory.mktemp("red"), []
    for k, content in enumerate(one.pictures[::4]):
        files.append(folder / f"{k}.jpg")
        files[-1].write_bytes(content)
    doses = tuple(float(d) * USUAL for d in one.doses[::4])
    return files, AskedRipening(one.bare, one.middle, None, doses), one


@pytest.fixture(scope="module")
def seen(shot):
    return judge_ripening_files(shot[0], shot[1])


def test_it_tells_the_light_still_needed_with_its_range(shot, seen):
    assert seen.state == "not yet"
    assert seen.line.startswith("too early to tell: by dose and pictures ")  # at .8 of its end
    low, high = seen.ripe_dose_80
    assert low < seen.ripe_dose_kj_m2 < high
    assert seen.ripe_dose_kj_m2 == pytest.approx(shot[2].end_dose * USUAL, rel=0.25)
    so_far = seen.looks[-1].dose_kj_m2
    assert seen.to_go_kj_m2 == pytest.approx(max(seen.ripe_dose_kj_m2 - so_far, 0.0), abs=0.2)
    assert [one.what for one in seen.not_told] == ["to_go_minutes"]
    from jsonschema import Draft202012Validator

    Draft202012Validator(schema("judge_ripening")).validate(json.loads(json.dumps(plain(seen))))


def test_the_time_to_go_is_by_the_studios_light(shot, tmp_path):
    folder = tmp_path / "studio"
    new_studio(folder, {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"})
    studio = load_studio(folder)
    light = red_light(studio, datetime(2026, 6, 21, 10, 0, tzinfo=UTC))
    minutes = tuple(light.minutes_at(1000.0 * one) for one in shot[1].doses_kj_m2)
    asked = replace(shot[1], doses_kj_m2=None, minutes=minutes)
    seen = judge_ripening_files(shot[0], asked, studio.habits, light)
    assert seen.to_go_80[0] <= seen.to_go_minutes <= seen.to_go_80[1]
    at = minutes[-1] + seen.to_go_minutes
    assert light.dose_at(at) == pytest.approx(1000.0 * seen.ripe_dose_kj_m2, rel=0.02)
    assert f"about {seen.to_go_minutes:.0f} min more" in seen.line
    early = judge_ripening_files(shot[0][:1], replace(asked, minutes=(1.0,)), studio.habits, light)
    assert early.line.startswith(
        f"too early to tell: look again in {early.to_go_80[0]:.0f} min (by"
    )
    assert early.state == "not yet"
    late = red_light(studio, datetime(2026, 6, 21, 18, 30, tzinfo=UTC))
    first = judge_ripening_files(shot[0][:1], replace(asked, minutes=(1.0,)), studio.habits, late)
    assert (first.line, first.to_go_minutes) == (seeing.ENDS, None)
    assert seeing.BY_DOSE in first.notes
    with pytest.raises(BadInput, match="dark"):
        red_light(studio, datetime(2026, 6, 21, 23, 0, tzinfo=UTC))


def test_an_end_near_and_known_to_a_ninth_is_told_and_says_by_what_it_is_believed(
    shot, monkeypatch
):
    early = "too early to tell: by dose and pictures "
    for sd, end, words in ((0.11, 232.0, "not yet: "), (0.14, 232.0, early), (0.11, 240.0, early)):
        told = Ripeness(log(1000.0 * end), sd, np.full(9, 0.4))
        monkeypatch.setattr(seeing, "ripeness", lambda *_, told=told: told)
        seen = judge_ripening_files(shot[0][-1:], replace(shot[1], doses_kj_m2=(200.0,)))
        assert seen.line.startswith(words)
        assert seeing.BY_DOSE not in seen.notes


def test_what_is_missing_is_said_and_what_cannot_be_is_one_sentence(shot):
    files, asked, _ = shot
    none = judge_ripening_files(files[:1], AskedRipening(doses_kj_m2=(10.0,)))
    assert (none.state, none.not_told[0].why) == ("unknown", seeing.NO_BARE)
    assert none.cautions == ()
    for wrong, words in (
        (replace(asked, doses_kj_m2=None), "not known"),
        (replace(asked, doses_kj_m2=(1.0,)), "1 values for"),
        (replace(asked, doses_kj_m2=asked.doses_kj_m2[::-1]), "does not grow"),
        (replace(asked, bare="under"), "is not an edge"),
    ):
        with pytest.raises(BadInput, match=words):
            judge_ripening_files(files, wrong)


def test_the_command_shows_each_look_and_refuses_in_one_sentence(shot):
    files, asked, _ = shot
    said = [str(one) for one in files[:1]]
    ask = ["judge", "ripening", *said, "--bare", asked.bare, "--as-written"]
    told = CliRunner().invoke(cli, [*ask, "--dose", "20"])
    assert told.exit_code == 0, told.output
    assert "too early to tell: by the dose " in told.output
    assert "0.jpg: 20 kJ/m²" in told.output
    assert "Minutes to go not told: doses were given" in told.output
    assert "any other light veils" in " ".join(told.output.split())
    refused = CliRunner().invoke(cli, ask)
    assert isinstance(refused.exception, BadInput)
    assert "--begun and --at" in str(refused.exception)
    for more, words in (
        (("--dose", "20", "--at", "3"), "the light is given twice"),
        (("--begun", "2026-06-21T10:00", "--at", "3"), "without a studio there is no frame"),
    ):
        refused = CliRunner().invoke(cli, [*ask, *more])
        assert words in str(refused.exception)


def test_a_first_picture_without_light_and_a_frame_not_there_end_in_a_sentence(shot, tmp_path):
    files, asked, _ = shot
    first = AskedRipening(asked.bare, asked.middle, (), (0.0,))
    seen = judge_ripening_files(files[:1], first)
    assert seen.line.endswith(" kJ/m² to go")
    assert seen.looks[0].minutes is None
    new_studio(tmp_path / "studio", {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"})
    studio = load_studio(tmp_path / "studio")
    with pytest.raises(BadInput, match="there is no frame 'Blue'; "):
        red_light(studio, datetime(2026, 6, 21, 10, tzinfo=UTC), frame="Blue")


def flashed(content):
    """The same picture with the EXIF tag that says that the flash fired."""
    picture = Image.open(io.BytesIO(content))
    exif = picture.getexif()
    exif.get_ifd(0x8769)[0x9209] = 0x19
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=92, exif=exif)
    return out.getvalue()


def test_light_that_veils_is_refused_and_an_earlier_picture_of_no_use_is_left_out(shot, tmp_path):
    files, asked, one = shot
    bad = tmp_path / "flash.jpg"
    bad.write_bytes(flashed(one.pictures[0]))
    few = replace(asked, doses_kj_m2=asked.doses_kj_m2[-2:])
    last = judge_ripening_files([files[-2], bad], few)
    assert (last.state, last.not_told[0].why) == ("unknown", seeing.FLASHED)
    left = judge_ripening_files([bad, files[-1]], few)
    assert left.notes[0] == seeing.LEFT_OUT.format(file="flash.jpg", why=seeing.FLASHED)
    assert [one.dose_kj_m2 for one in left.looks] == [round(few.doses_kj_m2[1], 2)]
    white = np.asarray(Image.open(files[-1]))[..., :1].repeat(3, axis=2)
    Image.fromarray(white).save(bad, "JPEG", quality=92)
    told = judge_ripening_files([files[-2], bad], few)
    assert (told.ripe_dose_kj_m2, told.not_told[0].why) == (None, NOT_RED)


def test_what_pictures_say_alone_gives_the_answer_again_with_what_was_known_before(shot, seen):
    """Closed form: two normal laws of the logarithm, multiplied."""
    known = log(USUAL), trade.value("development", "dose_sigma") * log(2.0)
    worth = 1 / known[1] ** 2, 1 / seen.alone_log_sd**2
    end = (worth[0] * known[0] + worth[1] * log(seen.alone_kj_m2)) / sum(worth)
    assert seen.ripe_dose_kj_m2 == pytest.approx(exp(end), rel=0.01)
    assert seen.ripe_log_sd == pytest.approx(sum(worth) ** -0.5, rel=0.01)
    # a screen of 45 lx for five seconds, all of it counted as red
    assert seen.light_taken_share == pytest.approx(1.0 / (1000.0 * seen.ripe_dose_kj_m2), rel=0.05)
    single = judge_ripening_files(shot[0][:1], AskedRipening("bottom", doses_kj_m2=(10.0,)))
    assert (single.alone_kj_m2, single.alone_log_sd) == (None, None)


def test_the_bench_takes_no_picture_of_a_plate_that_does_not_develop(tmp_path):
    from argentry.desk.bench.looks import look_at_ripening

    book = open_book(tmp_path)
    try:
        table = bench_studio.Table(book, bench_studio.studio())
        table.open("A1")
        for plate, words in ((table.plate().id, "under the filter"), ("none", "no such plate")):
            with pytest.raises(BadInput, match=words):
                look_at_ripening(book, None, table.run, plate, None, table.clock.now())
    finally:
        close_book(book)


def test_a_dose_taken_from_pictures_counts_for_the_studio_until_the_plate_is_graded():
    from argentry.desk.numbers.makings import Gathered
    from argentry.desk.numbers.own_numbers import learned_numbers

    studio = bench_studio.studio()
    out = {
        "development_start": "2026-06-21T10:00:00+02:00",
        "development_end": "2026-06-21T12:00:00+02:00",
    }
    plain = Making("m", "p", None, "s", 1, date(2026, 6, 21), conditions=out)

    def dose(**more):
        gathered = Gathered((replace(plain, **more),), {}, {}, {}, "", (), studio)
        rows = {one.what: one for one in learned_numbers(gathered, with_odds=False).learned}
        return rows["development_dose"]

    nothing, seen, vague = (dose(ripe_seen=one) for one in (None, (800.0, 0.2), (800.0, 2.0)))
    assert (nothing.plates, seen.plates) == (0, 1)
    assert nothing.value < vague.value < seen.value < 800.0
    graded = dose(ripe_seen=(800.0, 0.2), grade="fine", verdict="right")
    assert graded.value == dose(grade="fine", verdict="right").value
    assert dose(ripe_seen=(800.0, 0.2), verdict="under").plates == 0


def test_no_figure_has_more_places_than_it_is_good_for(seen):
    places = {
        "dose_kj_m2": 2, "shadows": 4, "middle": 4, "lights": 4, "ripe_odds": 3,
        "middle_risen": 3, "shadows_risen": 3, "ripe_dose_kj_m2": 1, "ripe_dose_80": 1,
        "ripe_log_sd": 4, "alone_kj_m2": 1, "alone_log_sd": 4,
    }  # fmt: skip
    assert places_of(seen).items() >= places.items()
    assert places_of(seen)["to_go_kj_m2"] <= 1
