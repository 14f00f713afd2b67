"""A folder of pictures as a table: a row each, once, whatever ends the program in between."""

import csv
import json
import shutil
import subprocess
import sys
import textwrap
from importlib.util import find_spec
from itertools import pairwise
from math import dist
from pathlib import Path

import pytest
from benchmarks.seeing.plate_scene import plate_scene
from click.testing import CliRunner

from argentry.cli.main import cli
from argentry.errors import BadInput
from argentry.exchange.sheets.growing import GrowingTable
from argentry.exchange.sheets.parquet import write_parquet
from argentry.keeping.seeing.kept import VERSION
from argentry.keeping.seeing.many import COLUMNS, _files, survey
from argentry.keeping.seeing.plate import AskedPlate, judge_plate_file
from argentry.out.schemas import described
from argentry.records.answers.survey import SurveyRow

SIZE = (480, 360)
ASKED = AskedPlate("quarter")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Give four pictures, two of them in a folder within, and what is no picture."""
    made = tmp_path_factory.mktemp("many")
    (made / "b").mkdir()
    (made / ".hidden").mkdir()
    for seed, name in enumerate(("a1.jpg", "=a2.jpg", "b/b1.jpg", "b/b2.jpg")):
        (made / name).write_bytes(plate_scene(seed, ("rim",), size=SIZE)[0])
    (made / "notes.txt").write_text("no picture")
    (made / "cut.jpg").write_bytes((made / "a1.jpg").read_bytes()[:300])
    shutil.copy(made / "a1.jpg", made / ".hidden" / "a1.jpg")
    return made


@pytest.fixture(scope="module")
def whole(folder, tmp_path_factory):
    """Give the table of a survey that nothing broke off."""
    table = tmp_path_factory.mktemp("table") / "many.csv"
    return survey(folder, ASKED, table), table


def rows(table):
    with table.open(newline="") as stream:
        return list(csv.DictReader(stream))


def test_each_file_has_a_row_in_order_and_says_what_a_single_look_says(folder, whole):
    found, table = whole
    assert [one["file"] for one in rows(table)] == [
        "'=a2.jpg", "a1.jpg", "b/b1.jpg", "b/b2.jpg", "cut.jpg", "notes.txt",
    ]  # fmt: skip
    assert (found.files, found.judged, found.known) == (6, 6, 0)
    row, alone = rows(table)[1], judge_plate_file(folder / "a1.jpg", ASKED)
    assert (row["sha256"], row["line"], row["asked"]) == (
        alone.sha256, alone.line, f"version {VERSION}; size quarter",
    )  # fmt: skip
    assert float(row["rim_mm"]) == alone.rim_mm
    shorter = min(dist(a, b) for a, b in pairwise(alone.plate.corners_px)) * alone.mm_per_px
    assert alone.rim_mm == pytest.approx(alone.rim_share * shorter, rel=0.01)
    assert row["findings"].split("; ") == [f"{one.key} {one.odds}" for one in alone.defects]
    assert row["light_spots"] == ""  # no ground was named: not counted is not none
    assert {one.key: one.pictures for one in found.findings}["tarnish_halo"] == 4
    assert [one.file for one in found.unfit] == ["cut.jpg", "notes.txt"]
    assert "damaged" in found.unfit[0].why
    assert "not a JPEG" in found.unfit[1].why


def test_the_table_has_the_documented_columns():
    told = described(SurveyRow)
    page = (Path(__file__).parents[3] / "docs" / "seeing.md").read_text()
    assert all(f"| `{name}` | {told[name][1]} | {told[name][0]} |" in page for name in COLUMNS)


def test_what_the_table_has_is_not_judged_again_and_a_changed_file_gets_a_further_row(
    folder, whole, tmp_path
):
    table = tmp_path / "many.csv"
    shutil.copy(whole[1], table)
    again = survey(folder, ASKED, table)
    assert (again.judged, again.known, again.findings) == (0, 6, whole[0].findings)
    assert table.read_bytes() == whole[1].read_bytes()
    mine = tmp_path / "pictures"
    shutil.copytree(folder, mine)
    (mine / "notes.txt").write_text("still no picture")
    assert survey(mine, ASKED, table).judged == 1
    assert [one["file"] for one in rows(table)].count("notes.txt") == 2
    with pytest.raises(BadInput, match="judged otherwise"):
        survey(folder, AskedPlate("half"), table)


def test_after_a_kill_the_table_ends_as_if_there_had_been_none(folder, whole, tmp_path):
    table = tmp_path / "many.csv"
    program = """
        import os, signal, sys
        from pathlib import Path
        from argentry.keeping.seeing.many import survey
        from argentry.keeping.seeing.plate import AskedPlate

        def progress(done, count):
            if len(Path(sys.argv[2]).read_text().splitlines()) == 3:
                os.kill(os.getpid(), signal.SIGKILL)

        if __name__ == "__main__":
            survey(Path(sys.argv[1]), AskedPlate("quarter"), Path(sys.argv[2]), processes=2,
                   progress=progress)
    """
    (tmp_path / "run.py").write_text(textwrap.dedent(program))
    # capture_output waits until every process that holds the pipe is gone: no worker outlives it
    done = subprocess.run(
        [sys.executable, tmp_path / "run.py", folder, table], capture_output=True, check=False
    )
    assert done.returncode == -9, done.stderr.decode()[-500:]
    assert len(rows(table)) == 2
    with table.open("a") as stream:
        stream.write("b/b1.jpg,half a ro")
    ended = survey(folder, ASKED, table)
    assert (ended.known, ended.judged) == (2, 4)
    assert table.read_bytes() == whole[1].read_bytes()


def test_a_table_of_another_form_or_in_use_is_refused_and_left_alone(folder, whole, tmp_path):
    other = tmp_path / "mine.csv"
    other.write_text("a,b\n1,2")
    with pytest.raises(BadInput, match="another form"):
        survey(folder, ASKED, other)
    assert other.read_text() == "a,b\n1,2"
    with GrowingTable(whole[1], COLUMNS), pytest.raises(BadInput, match="another program"):
        survey(folder, ASKED, whole[1])
    with pytest.raises(BadInput, match="not a folder"):
        survey(whole[1], ASKED, tmp_path / "new.csv")
    with pytest.raises(BadInput, match="out of range"):
        survey(folder, ASKED, tmp_path / "new.csv", processes=0)


def test_a_cell_changed_by_hand_is_named_and_a_link_in_a_circle_is_a_row(tmp_path):
    with pytest.raises(BadInput, match="line 3, column odds: 'half' is not a number"):
        write_parquet(tmp_path / "t.parquet", [{"odds": "0.5"}, {"odds": "half"}], {"odds": float})
    for name in ("loop.jpg", "own.csv", "own.parquet"):
        (tmp_path / name).symlink_to(tmp_path / "loop.jpg")
    own = {tmp_path / "own.csv", tmp_path / "own.parquet"}
    assert [one.name for one in _files(tmp_path, {tmp_path / "t.csv"})] == [
        "loop.jpg", "own.csv", "own.parquet"
    ]  # fmt: skip
    for one in own:
        one.unlink()
        one.write_text("")
    found = survey(tmp_path, ASKED, tmp_path / "own.csv")
    assert found.files == 2  # the circle, and a table that this survey does not make
    assert [one.name for one in _files(tmp_path, own)] == ["loop.jpg"]


def test_the_command_says_what_was_found_and_names_what_is_no_picture(folder, whole, tmp_path):
    table = tmp_path / "many.csv"
    shutil.copy(whole[1], table)
    asked = ["judge", "survey", str(folder), "--out", str(table), "--size", "quarter"]
    told = CliRunner().invoke(cli, asked)
    assert told.exit_code == 0
    assert told.stdout.startswith("6 files, 0 of them judged now")
    assert "tarnish_halo: perhaps in 4 pictures" in told.stdout
    assert "notes.txt: it is not a JPEG" in told.stdout
    assert json.loads(CliRunner().invoke(cli, [*asked, "--json"]).stdout)["known"] == 6
    if find_spec("pyarrow") is None:
        refused = CliRunner().invoke(cli, [*asked, "--parquet", str(tmp_path / "many.parquet")])
        assert "pyarrow is not installed here; use the CSV table" in str(refused.exception)
