"""A studio's own scale of coats: read from a plate in bands, written, and used."""

import json
from dataclasses import replace

import numpy as np
import pytest
from benchmarks.seeing.scale import BANDS, ends_of
from benchmarks.seeing.scene import scene
from click.testing import CliRunner
from jsonschema import Draft202012Validator
from PIL import Image
from tests.digits import places_of

from argentry.cli.main import cli
from argentry.errors import BadInput
from argentry.judge.coat import ALIKE, OUTSIDE, band_colours
from argentry.judge.coat_map import GRID_NM, bent
from argentry.keeping.seeing import scale as own
from argentry.keeping.seeing.coat import BEYOND_SCALE, AskedCoat, judge_coat_file
from argentry.out.schemas import schema
from argentry.records.plain import plain

SEED = 300  # a lamp and a film by which the model alone reads a coat some nm off


@pytest.fixture(scope="module")
def banded(tmp_path_factory):
    truth, content = scene(SEED, light="tungsten", bands=BANDS)
    file = tmp_path_factory.mktemp("scale") / "bands.jpg"
    file.write_bytes(content)
    ends = tuple(float(one) for one in ends_of(truth.corners, len(BANDS)))
    return file, own.AskedScale(ends, BANDS, bare="bottom")


@pytest.fixture(scope="module")
def coat(tmp_path_factory):
    truth, content = scene(SEED, light="tungsten")
    file = tmp_path_factory.mktemp("coat") / "coat.jpg"
    file.write_bytes(content)
    return truth, file


@pytest.fixture(scope="module")
def seen(banded):
    return own.judge_scale_file(*banded)


def test_bands_are_read_and_a_coat_is_told_better_by_them(banded, seen, coat, tmp_path):
    assert [one.thickness_nm for one in seen.bands] == list(BANDS)
    assert seen.line == "8 bands from 8 to 50 nm"
    blue = [one.blue for one in seen.bands]
    assert blue[0] > blue[3]  # a coat takes the blue first
    Draft202012Validator(schema("judge_scale")).validate(json.loads(json.dumps(plain(seen))))
    file = tmp_path / "scale.csv"
    file.write_text(own.scale_csv(seen))
    scale = own.read_scale(file)
    np.testing.assert_array_equal(own.scale_of_text("scale", file.read_text()), scale)
    assert own.scale_of_text("scale", " \n") is None
    truth, picture = coat
    asked = AskedCoat("tungsten", truth.bare, expect=truth.expected)
    by_model, by_scale = (
        abs(judge_coat_file(picture, one).thickness_nm - truth.mean)
        for one in (asked, replace(asked, scale=scale))
    )
    assert by_scale < 3.0
    assert by_scale < by_model
    short = judge_coat_file(picture, replace(asked, light=None, scale=scale[3:]))
    assert BEYOND_SCALE in short.notes
    assert short.light is None


def test_the_model_is_bent_to_the_bands_and_no_farther():
    model = np.exp(-np.outer(GRID_NM, [0.001, 0.002, 0.004]))
    bands = np.array([[10.0, *(0.9 * model[10])], [20.0, *model[20]], [30.0, *(1.1 * model[30])]])
    made = bent(model, bands)
    np.testing.assert_allclose(made[[10, 20, 30]], bands[:, 1:])
    np.testing.assert_allclose(made[15], model[15] * np.sqrt(0.9))
    np.testing.assert_allclose(made[[0, 200]], [0.9 * model[0], 1.1 * model[200]])


def test_bands_lie_on_the_plate_and_differ(banded):
    file, asked = banded
    picture = np.asarray(Image.open(file))
    x1, y1, x2, y2 = asked.ends
    told = band_colours(picture, (x1 - 0.5 * (x2 - x1), y1, x2, y2), 3, "bottom")
    assert told == OUTSIDE.format(number=1)
    assert band_colours(picture, (x1, y1 - 40.0, x1, y1 + 40.0), 3, "bottom") == ALIKE


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"nm": None}, "coats of the bands are not known"),
        ({"nm": (8.0, 8.0, 12.0)}, "different bands"),
        ({"nm": (8.0, 900.0, 12.0)}, "nm"),
        ({"bare": "middle"}, "is not an edge"),
        ({"ends": (1e9, 0.0, 1.0, 1.0)}, "px"),
    ],
)
def test_a_scale_that_cannot_be_is_refused(banded, change, said):
    file, asked = banded
    with pytest.raises(BadInput, match=said):
        own.judge_scale_file(file, replace(asked, **change))


@pytest.mark.parametrize("text", ["8,1,1,1", "8,1,1 9,1,1 10,1,1", "9,1,1,1 8,1,1,1 10,1,1,1"])
def test_a_table_that_is_no_scale_is_refused(text):
    with pytest.raises(BadInput, match="it is not a scale"):
        own.scale_of_text("scale", text)


def test_without_bare_silver_no_band_is_read(banded):
    file, asked = banded
    none = own.judge_scale_file(file, replace(asked, bare="top"))
    assert none.bands == ()
    assert none.line.startswith("cannot tell: ")
    with pytest.raises(BadInput, match="no band was read"):
        own.scale_csv(none)


def test_an_overexposed_band_is_named_by_its_number(banded):
    file, asked = banded
    picture = np.asarray(Image.open(file)).copy()
    x, y = (round(asked.ends[k] + (asked.ends[k + 2] - asked.ends[k]) * 2 / 7) for k in (0, 1))
    picture[y - 20 : y + 21, x - 20 : x + 21] = 255
    found = band_colours(picture, asked.ends, len(BANDS), asked.bare)
    assert found == "band 3 is overexposed: take it again with one stop less light"


def test_the_command_writes_a_scale_that_judge_coat_takes(banded, coat, tmp_path):
    file, asked = banded
    table = tmp_path / "lamp.csv"
    said = ["judge", "scale", str(file), "--ends", ",".join(f"{one:.1f}" for one in asked.ends),
            "--nm", ",".join(map(str, BANDS)), "--bare", "bottom", "--to", str(table)]  # fmt: skip
    done = CliRunner().invoke(cli, said)
    assert done.exit_code == 0, done.output
    assert "8 bands from 8 to 50 nm" in done.output
    assert len(table.read_text().splitlines()) == 1 + len(BANDS)
    for picture, told in ((file, False), (coat[1], True)):  # a plate in bands has no one coat
        read = ["judge", "coat", str(picture), "--scale", str(table), "--json"]
        done = CliRunner().invoke(cli, read)
        assert done.exit_code == 0, done.output
        assert (json.loads(done.output)["thickness_nm"] is not None) == told
    wrong = CliRunner().invoke(cli, said[:5])
    assert "the coats of the bands are not known" in str(wrong.exception)


def test_no_figure_has_more_places_than_it_is_good_for(seen):
    places = {
        "red": 5, "green": 5, "blue": 5,
    }  # fmt: skip
    assert places_of(seen).items() >= places.items()
