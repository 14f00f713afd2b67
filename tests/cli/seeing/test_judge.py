"""``argentry judge``: a picture in, one line out."""

import json

from benchmarks.seeing.change_scene import change_scene
from benchmarks.seeing.plate_scene import plate_scene
from benchmarks.seeing.scene import scene
from benchmarks.seeing.wedge_scene import wedge_scene
from click.testing import CliRunner
from PIL import Image

from argentry.cli.main import cli
from argentry.cli.seeing import judge as command
from argentry.keeping.seeing import change, coat, plate, ripening, wedge
from argentry.records.answers.seen import what_words


def ask(*arguments, what="coat"):
    return CliRunner().invoke(cli, ["judge", what, *map(str, arguments)])


def test_a_picture_is_told_in_one_line_with_its_map(tmp_path):
    truth, content = scene(2001, kind="thin edge")
    file = tmp_path / "coat.jpg"
    file.write_bytes(content)
    clock = ",".join(f"{one:.0f}" for one in truth.expected)
    known = ("--light", truth.light, "--bare", truth.bare, "--expect", clock)
    told = ask(file, *known)
    assert told.exit_code == 0
    lines = told.stdout.splitlines()
    assert f"thin at the {truth.thin_edge} edge" in lines[0]
    assert sum(line.split()[:1] != [] and len(line.split()) == 16 for line in lines) == 12
    answer = json.loads(ask(file, *known, "--json").stdout)
    assert answer["line"] == lines[0]
    assert abs(answer["thickness_nm"] - truth.mean) < 5.0
    assert answer["not_told"][0]["what"] == "more_seconds"
    assert (
        "Seconds more over iodine not told: no studio with its iodine box is named" in told.stdout
    )


def test_nothing_told_is_no_error_and_no_picture_is_one(tmp_path):
    _, content = scene(2002, strip=False)
    file = tmp_path / "coat.jpg"
    file.write_bytes(content)
    told = ask(file)
    assert (told.exit_code, told.stdout.splitlines()[0]) == (
        0, "cannot tell: no bare strip and no card in the picture",
    )  # fmt: skip
    assert command.ORDER_HEAD.split(",")[0] in told.stdout
    assert "Share of the light that the look took not told: the light was not named" in told.stdout
    file.write_text("no picture")
    refused = ask(file)
    assert isinstance(refused.exception, Exception)
    assert "it is not a JPEG" in str(refused.exception)
    assert "must be two numbers" in str(ask(file, "--expect", "24").exception)


def test_a_reason_is_said_once_however_much_it_hides(tmp_path):
    file = tmp_path / "grey.png"
    Image.new("RGB", (400, 300), (90, 90, 90)).save(file)
    told = ask(file, what="plate").stdout
    assert told.startswith("cannot tell: no plate is found in the picture")
    assert told.count("no plate is found") == 1
    answer = json.loads(ask(file, "--json", what="plate").stdout)
    assert len(answer["not_told"]) > 5, "the figures that are missing stay in the JSON"
    assert "lit alike" not in told, "nothing was told that could be compared"


def test_every_figure_that_may_be_missing_is_named_in_words():
    keys = {*coat.NO_MAP, *wedge.ALL, *ripening.ALL, *change.ALL, *plate.ALL}
    words = {what_words(key) for key in keys}
    units = ("nm", "mm", "px", "kj", "m2", "share", "exposure", "delta", "e")
    assert len(words) == len(keys)
    assert not [one for one in words if one.split()[-1] in units], "no key as the JSON has it"
    assert {"buff lines", "change of the whole plate", "light that makes it ripe"} <= words


def test_a_wedge_is_shown_step_by_step(tmp_path):
    content, truth = wedge_scene(3, turning=True, size=(900, 600))
    file = tmp_path / "wedge.jpg"
    file.write_bytes(content)
    known = (
        "--steps", truth.steps, "--increment", truth.increment, "--first", truth.first,
        "--brightest", truth.brightest, "--ends", ",".join(map(str, truth.ends)),
    )  # fmt: skip
    shown = ask(file, *known, "--grey", ",".join(map(str, truth.grey)), what="wedge")
    assert shown.exit_code == 0
    lines = shown.stdout.splitlines()
    assert lines[0].startswith("speed point at ")
    assert lines[1] == command.WEDGE_HEAD
    assert sum(line.endswith((" under", " right", " over", "solarised")) for line in lines) == (
        truth.steps
    )
    missing = ask(file, *known, what="wedge")
    assert (missing.exit_code, missing.stdout.splitlines()[0][:12]) == (0, "cannot tell:")
    assert "relative densities" in shown.stdout
    assert "relative densities" not in missing.stdout, "there is none to mind"
    assert "--ends" in str(ask(file, "--ends", "1,2,3", what="wedge").exception)
    assert "no plate is named" in str(ask(file, "--so-it-is", what="wedge").exception)


def test_findings_on_a_plate_are_listed_with_what_is_missing(tmp_path):
    content, truth = plate_scene(41, ("rim",), size=(700, 525))
    file = tmp_path / "plate.jpg"
    file.write_bytes(content)
    shown = ask(file, "--smooth", ",".join(map(str, truth.smooth)), what="plate")
    assert shown.exit_code == 0
    lines = shown.stdout.splitlines()
    assert lines[0].startswith("perhaps a tarnished rim")
    assert lines[1].startswith("tarnish_halo: ")
    assert any(line.startswith("Share of fog not told: no grey scale") for line in lines)
    whole = " ".join(shown.stdout.split())
    assert "Width of a rim in mm, spots to the square centimetre" in whole
    assert " not told: the plate's size is not named" in whole


def test_a_change_is_told_in_one_line_with_its_areas(tmp_path):
    first, second, truth = change_scene(74, "areas", size=(800, 610))
    files = tmp_path / "before.jpg", tmp_path / "after.jpg"
    for file, content in zip(files, (first, second), strict=True):
        file.write_bytes(content)
    told = ask(*files, "--same-light", "--json", what="change")
    answer = json.loads(told.stdout)
    assert len(answer["areas"]) == len(truth.areas)
    shown = ask(*files, what="change")
    assert shown.exit_code == 0
    lines = shown.stdout.splitlines()
    assert sum("px across" in line for line in lines) == len(truth.areas)
    assert any(
        line.startswith("Kind of change, change of the whole plate not told: ") for line in lines
    )
    assert any(line.startswith("Dust and reflections") for line in lines)
    assert "same file" in str(ask(files[0], files[0], what="change").exception)


def test_a_plate_of_the_book_has_its_size_from_there(tmp_path):
    content, _ = plate_scene(41, ("rim",), size=(700, 525))
    (tmp_path / "plate.jpg").write_bytes(content)
    studio = ("--studio", str(tmp_path / "own"))
    runner = CliRunner()
    for line in (("studio", "new", studio[1]), ("plate", "new", "K-1", "--size", "half", *studio)):
        assert runner.invoke(cli, line).exit_code == 0
    told = ask(tmp_path / "plate.jpg", "--plate", "K-1", *studio, "--json", what="plate")
    answer = json.loads(told.stdout)
    assert "rim_mm" not in [one["what"] for one in answer["not_told"]]
    named = ask(tmp_path / "plate.jpg", "--size", "half", "--json", what="plate")
    assert answer["mm_per_px"] == json.loads(named.stdout)["mm_per_px"]
