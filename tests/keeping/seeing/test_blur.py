"""The blur of a finished plate by marked edges, in pixels of the file and on the plate."""

import json

import numpy as np
import pytest
from benchmarks.seeing.edge_scene import edge_scene

from argentry.errors import BadInput
from argentry.judge.edge_blur import Curve
from argentry.keeping.seeing.blur import NO_CURVE
from argentry.keeping.seeing.curve import NO_CURVE as NO_WEDGE
from argentry.keeping.seeing.curve import curve_csv, read_curve
from argentry.keeping.seeing.plate import AskedPlate, judge_plate_file
from argentry.out.schemas import schema
from argentry.records.answers.wedge_seen import CurvePoint, WedgeSeen
from argentry.records.plain import plain

MOVED = ("motion", 14.0, 30.0)


@pytest.fixture(scope="module")
def moved(tmp_path_factory):
    content, truth, lines, curve = edge_scene(1, MOVED)
    file = tmp_path_factory.mktemp("moved") / "plate.jpg"
    file.write_bytes(content)
    return file, truth, tuple(lines), Curve(*curve)


@pytest.fixture(scope="module")
def seen(moved):
    file, truth, lines, curve = moved
    return judge_plate_file(file, AskedPlate("quarter", truth.grey, edges=lines, curve=curve))


def test_a_motion_has_its_length_on_the_plate_and_its_direction(moved, seen):
    blur = seen.blur
    assert blur.kind == "motion"
    assert blur.length_px == pytest.approx(14.0, rel=0.15)
    assert blur.length_mm == pytest.approx(blur.length_px * seen.mm_per_px, abs=0.002)
    assert abs((blur.direction_deg - 30.0 + 90) % 180 - 90) < 5.0
    assert [(one.from_px, one.to_px) for one in blur.edges] == [
        (pytest.approx(line[:2], abs=0.1), pytest.approx(line[2:], abs=0.1)) for line in moved[2]
    ]
    (found,) = (one for one in seen.defects if one.key == "motion_blur")
    assert found.words == f"motion blur, {blur.length_mm:.2f} mm at {blur.direction_deg:.0f}°"
    assert found.words in seen.line
    from jsonschema import Draft202012Validator

    Draft202012Validator(schema("judge_plate")).validate(json.loads(json.dumps(plain(seen))))


def test_no_length_is_told_without_the_plates_curve_and_a_curve_needs_a_grey_scale(moved):
    file, truth, lines, curve = moved
    bare = judge_plate_file(file, AskedPlate(None, truth.grey, edges=lines))
    assert (bare.blur.kind, bare.blur.length_px, bare.blur.direction_deg) == ("motion", None, None)
    assert ("blur_length", NO_CURVE) in [(one.what, one.why) for one in bare.not_told]
    with pytest.raises(BadInput, match="grey scale"):
        judge_plate_file(file, AskedPlate(edges=lines, curve=curve))
    with pytest.raises(BadInput, match="--edge"):
        judge_plate_file(file, AskedPlate(edges=((1.0, 2.0, 3.0, -4.0),)))


def test_the_curve_of_a_wedge_is_written_and_read_again(tmp_path):
    facts = {"file": "w.jpg", "sha256": "0" * 64, "width_px": 9, "height_px": 9, "kind": "x"}
    points = tuple(CurvePoint(-2.0 + 0.5 * k, d) for k, d in enumerate((0.0, 0.3, 0.9, 1.2, 1.0)))
    file = tmp_path / "curve.csv"
    file.write_text(curve_csv(WedgeSeen(**facts, veil_share=0.03, curve=points)))
    read = read_curve(file)  # up to its peak
    assert read.log_exposure.tolist() == [-2.0, -1.5, -1.0, -0.5]
    assert read.share == pytest.approx(0.03 * 10.0 ** np.array([0.0, 0.3, 0.9, 1.2]), rel=1e-4)
    with pytest.raises(BadInput, match=NO_WEDGE):
        curve_csv(WedgeSeen(**facts))
    for rows in (
        "0,0.5\n1,0.4\n2,0.3\n3,0.2\n",
        "0,0.1\n1,0.2\n1,0.3\n2,0.4\n",
        "0,0\n1,1\n2,3\n3,4\n",
    ):
        file.write_text(f"log_exposure,share\n{rows}")
        with pytest.raises(BadInput, match="does not rise"):
            read_curve(file)
