"""The five recipes of CONTRIBUTING.md, done for real: each block written, each door asked.

One copy of the source holds all five and a day of 22 steps; one process goes to every door of it.
"""

from __future__ import annotations

import html
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from pypdf import PdfReader
from tests.out.pdf_look import beyond, run_together, words_on

ROOT = Path(__file__).parents[2]
_spec = spec_from_file_location("recipe_blocks", Path(__file__).with_name("blocks.py"))
blocks = sys.modules[_spec.name] = module_from_spec(_spec)
_spec.loader.exec_module(blocks)

PAGE = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
RECIPES = blocks.recipes(PAGE)
FILES = {"A step": 1, "A condition": 3, "A defect": 2, "A page": 3, "A sensor": 1}
STEPS = 22
PAPERS = ("a4", "us-letter")
ROWS_PT, LEAST_PT, MARGIN = 10.0, 8.25, 22.68  # of the sheet's rows, of anything, and 8 mm. [pt]

pytestmark = pytest.mark.slow


def copy_of_source(folder):
    # with what was compiled: Python knows by time and size what a block has changed
    shutil.copytree(ROOT / "src/argentry", folder / "src/argentry")
    return folder


def python(folder, *words):
    path = os.pathsep.join([str(folder / "src"), str(ROOT)])
    return subprocess.run(
        [sys.executable, *map(str, words)], env={**os.environ, "PYTHONPATH": path}, cwd=folder,
        capture_output=True, text=True, encoding="utf-8", check=False,
    )  # fmt: skip


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A copy of the source with all recipes done, and two more steps to come to 22."""
    folder = copy_of_source(tmp_path_factory.mktemp("copy"))
    for recipe in RECIPES.values():
        for block in recipe:
            blocks.write(block, folder)
    [focus] = RECIPES["A step"]
    for key, title, before in (
        ("settle", "Let the loaded holder come to the air of the camera", "focus"),
        ("level", "Level the camera and mark where the sitter's feet stand", "expose"),
    ):
        text = focus.text.replace('"focus"', f'"{key}"').replace('["outside_c"]', "[]")
        text = text.replace("Set up the camera; focus on the subject", title)
        blocks.write(blocks.Block(focus.file, 2, text, before), folder)
    return folder


@pytest.fixture(scope="module")
def found(house, tmp_path_factory):
    """What one visit to every door of that house found."""
    done = python(
        house, ROOT / "tests/recipes/visit.py", ROOT / "tests", tmp_path_factory.mktemp("visit"),
        blocks.sent(PAGE),
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-3000:]
    found = json.loads(done.stdout)
    assert Path(found["source"]).is_relative_to(house), "it ran on the copy"
    return found


def test_there_are_five_and_every_block_of_them_is_done():
    assert list(RECIPES) == list(FILES)
    written = sum(len(recipe) for recipe in RECIPES.values())
    part = PAGE.partition("\n## Recipes\n")[2]
    assert written + 1 == part.count("\n```\n"), "the JSON that a sensor sends is the one left"


@pytest.mark.parametrize("recipe", FILES)
def test_few_files_are_touched_by_hand(recipe):
    touched = {block.file for block in RECIPES[recipe]}
    assert len(touched) == FILES[recipe] <= 3
    data = {file for file in touched if file.endswith(".toml")}
    assert recipe == "A page" or touched == data, "the others are data alone"


CHECK = "With a loupe on the ground glass, the eyes are sharp"
TITLE = "Set up the camera; focus on the subject"


def test_the_step_is_planned_printed_and_asked_on_the_bench(found):
    planned = [step["step"] for step in found["plan"]["steps"]]
    assert len(planned) == STEPS
    assert planned[planned.index("focus") + 1 :][:2] == ["level", "expose"]
    [step] = [step for step in found["plan"]["steps"] if step["step"] == "focus"]
    assert (step["title"], step["check"], step["minutes"]["middle"]) == (TITLE, CHECK, 5.0)
    sheet = words_of(found["plan"]["pdf"])
    assert TITLE in sheet
    assert CHECK in sheet
    [opened] = [step for step in found["bench"]["steps"] if step["key"] == "focus"]
    assert (opened["planned_s"], opened["resource"], opened["stage"]) == (300, "camera", "exposure")
    assert [(one["when"], one["text"]) for one in opened["checks"]] == [("after", CHECK)]
    assert catalogue(found)["reads"]["focus"] == ["outside_c"]
    record = text_of(found["bench"]["record"])
    assert f"right: {CHECK}" in record
    assert "Air outside: 24.5 °C" in record
    assert f"**{TITLE}** (`focus`, common practice)" in found["docs"]["trade"]


def test_the_condition_is_asked_imported_exported_and_weighed(found):
    asked = catalogue(found)
    assert asked["reads"]["expose"] == ["meter_ev", "cloud_okta", "wind_m_s"]
    assert ["wind_m_s", "Wind at the camera", "m/s", 0.0, 40.0] in asked["quantities"]
    assert "wind 10 m/s" in text_of(found["bench"]["record"])
    # a maker's own table in km/h; a slip in it is refused with row and column
    assert "own" not in found["table"]
    slip = "row 2, column wind: 250 m/s is out of range; give a number from 0 to 40 m/s"
    assert slip in found["table"]["slip"]
    head, *rows = [line.split(",") for line in found["learned"]["plates"].splitlines()]
    wind = {row[0]: row[head.index("wind_m_s")] for row in rows}
    assert wind["W-1"] == "10"
    assert len([cell for cell in wind.values() if cell]) > 80, "the demo's year has it too"
    # what the trade believes of it counts in the odds, and it stands among what may spoil plates
    assert found["learned"]["windy"] < found["learned"]["calm"]
    windy = [one for one in found["learned"]["causes"] if one["cause"] == "wind_m_s"]
    # a later stage may be meant as well, under a title of its own
    [suspect] = [one for one in windy if one["title"] == "wind at the camera"]
    assert suspect["stage"] == "exposure"
    assert suspect["plates"] > 80
    assert "| `wind_m_s` | m/s | Wind at the camera" in found["docs"]["plates-csv"]
    assert "| m/s | km/h | `wind_m_s` |" in found["docs"]["import"]
    assert "| wind_m_s | exposure | wind at the camera |" in found["docs"]["trade"]


def test_the_defect_is_offered_and_its_cause_is_found(found):
    offered = {key: stages for key, _, stages in catalogue(found)["defects"]}
    assert offered["holder_marks"] == ["exposure"]
    assert "Next plate: Bed the plate firmly" in text_of(found["bench"]["record"])
    box = '<input type="checkbox" name="defect.holder_marks.exposure"{}> bright rubbed marks'
    assert box.format("") in found["graded"]["before"]
    assert box.format(" checked") in found["graded"]["after"]
    seen = "Bright rubbed marks at the corners , from exposure"
    for plate in (found["bench"]["record"], found["graded"]["after"]):
        assert seen in text_of(plate)
    likeliest = found["bench"]["why"]["causes"][0]
    assert (likeliest["cause"], likeliest["probability"] > 0.5) == ("loose_holder", True)
    assert likeliest["check"].startswith("Shake the loaded holder")
    assert "| `holder_marks` | bright rubbed marks" in found["docs"]["plates-csv"]


def test_the_page_answers_and_is_linked_from_every_other(found):
    link = r'<a href="/baths" accesskey="\d"{}>Baths</a>'
    assert re.search(link.format(' aria-current="page"'), found["page"]["page"])
    assert "Hypo 3 : fixer, 0 days old, 0 plates through it" in text_of(found["page"]["page"])
    assert re.search(link.format(""), found["page"]["first"])


def test_the_page_keeps_the_contracts_and_the_rules_of_the_code(house):
    for file in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / file, house)
    tools = Path(sys.executable).parent
    call = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())"
    held = python(house, "-c", call)
    assert held.returncode == 0, held.stdout[-2000:] + held.stderr[-500:]
    new = [house / block.file for block in RECIPES["A page"] if block.file.endswith(".py")]
    done = subprocess.run(
        [tools / "ruff", "check", "--no-cache", *new], cwd=house, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout


def test_the_sensor_is_heard_shown_and_changes_what_is_to_come(found):
    sensor = found["sensor"]
    kept = sensor["kept"]
    assert (kept["value"], kept["unit"], kept["used"], kept["doubt"]) == (25.0, "°C", True, "")
    assert "Bath, by a probe in its tray 25 °C now probe used" in text_of(sensor["page"])
    before, after = (sensor[when]["fix"] for when in ("before", "after"))
    assert after["planned_s"] < before["planned_s"] - 10.0
    assert after["changes"][-1]["why"].startswith("bath at 25 °C: ")
    assert "| tray_c | Bath, by a probe in its tray | °C |" in found["docs"]["trade"]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("plates", [1, 3])
def test_the_sheet_of_twenty_two_steps_is_legible(found, plates, paper):
    path = found["sheet"][f"{plates}-{paper}"]
    assert "Focus " in words_of(path)
    assert f"{TITLE}." in words_of(path)
    first, second = ([word for word in words_on(page) if word.words.strip()] for page in
                     PdfReader(path).pages)  # fmt: skip
    [top] = [word.baseline for word in first if word.words == "start"]
    [foot] = [word.baseline for word in first if word.words.startswith("Waits")]
    rows = [word for word in first if foot < word.baseline <= top]
    assert len(rows) > 3 * STEPS
    assert min(word.size for word in rows) >= ROWS_PT
    for words, page in zip((first, second), PdfReader(path).pages, strict=True):
        assert min(word.size for word in words) >= LEAST_PT
        assert beyond(words, page, MARGIN) == []
        assert run_together(words) == []


LACKING = {
    "A step": ("steps", "reads_before", "look_for"),
    "A condition": ("conditions", "columns", "inclusion"),
    "A defect": ("defects", "stages", "remedy"),
    "A sensor": ("readings", "law", "stale_after_s"),
}
LOAD = (
    "from argentry.trade.steps import steps; from argentry.trade.defects import defects; "
    "from argentry.trade.causes import known_causes; from argentry.errors import ArgentryError\n"
    "try: steps(), defects(), known_causes()\n"
    "except ArgentryError as wrong: print(wrong)"
)


@pytest.mark.parametrize("recipe", LACKING)
def test_alone_it_is_whole_and_lacking_a_line_it_is_refused(recipe, tmp_path):
    file, optional, needed = LACKING[recipe]
    folder = copy_of_source(tmp_path)
    for block in RECIPES[recipe]:
        blocks.write(block, folder)
    alone = python(folder, "-c", LOAD)
    assert (alone.stdout, alone.stderr) == ("", "")
    path = folder / f"src/argentry/trade/data/{file}.toml"
    text = path.read_text(encoding="utf-8")
    [last] = [block.text for block in RECIPES[recipe] if f"\n{needed} = " in block.text][-1:]
    assert optional in tomllib.loads(last)[file.removesuffix("s")][0]
    lacking = re.sub(rf"^{needed} = .*\n", "", last, flags=re.MULTILINE)
    path.write_text(text.replace(last, lacking), encoding="utf-8")
    refused = python(folder, "-c", LOAD)
    assert re.fullmatch(rf"{file}\.toml, \w+ \w+: it lacks {needed}; .+\.\n", refused.stdout)


def words_of(pdf):
    pages = PdfReader(pdf).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def text_of(page):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def catalogue(found):
    """Return what the bench page asks with."""
    page = html.unescape(found["bench"]["asks"])
    start = page.index('{"grades"')
    return json.JSONDecoder().raw_decode(page[start:])[0]
