"""The house is as its plan says, and docs/architecture.md draws it as it is."""

import re
import subprocess
import sys
from collections import Counter
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LARGEST_SHARE, MOST_FILES = 0.15, 20


@pytest.fixture(scope="module")
def builder():
    spec = spec_from_file_location("docs_architecture", ROOT / "builders/docs_architecture.py")
    module = module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def house(builder):
    return builder.modules()


@pytest.fixture(scope="module")
def page():
    return (ROOT / "docs/architecture.md").read_text(encoding="utf-8")


RUN = "run: python builders/docs_architecture.py"


def test_the_drawing_and_the_rooms_are_current(builder, house, page):
    assert builder.drawing(house) in page, RUN
    assert builder.rooms(house) in page, RUN


def test_the_walk_is_current(page):
    """In a process of its own: what other tests left in caches would not be called again."""
    code = (
        "import importlib.util as i, sys;"
        "s = i.spec_from_file_location('drawn', 'builders/docs_architecture.py');"
        "m = i.module_from_spec(s); sys.modules['drawn'] = m; s.loader.exec_module(m);"
        "print('\\n'.join(m.tree(m.walked())))"
    )
    walk = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    told = page.split("```text\n")[1].split("```")[0]
    plain = [re.sub(r"  \(\d+ times\)", "", text).splitlines() for text in (told, walk.stdout)]
    assert plain[0] == plain[1], RUN


def test_every_arrow_goes_down(builder, house):
    order = {room: height for height, floor in enumerate(builder.floors()) for room in floor}
    assert {module.room for module in house.values()} - {""} == set(order), "a room has no floor"
    for room, others in builder.arrows(house).items():
        assert all(order[other] > order[room] for other in others), room


def test_imports_form_no_circle(builder, house):
    assert builder.circles({one.name: one.imports for one in house.values()}) == []


def test_circles_are_found(builder):
    graph = {"a": {"b"}, "b": {"c"}, "c": {"a", "d"}, "d": set(), "e": {"d"}}
    assert builder.circles(graph) == [["a", "b", "c"]]


def test_no_folder_holds_too_much(builder, house):
    every = builder.folders(house)
    rooms = Counter(one.room for one in house.values() for _ in range(one.lines))
    assert {room for room, lines in rooms.items() if lines > LARGEST_SHARE * rooms.total()} == set()
    assert {f for f, (_, files) in every.items() if files > MOST_FILES} == set()


def test_no_family_of_files_by_prefix(house):
    families = Counter(
        (one.path.parent.relative_to(ROOT).as_posix(), one.path.stem.split("_")[0])
        for one in house.values()
        if "_" in one.path.stem.strip("_") and not one.path.stem[0].isdigit()
    )
    assert [family for family, files in families.items() if files > 2] == []


def test_every_room_says_what_it_is_for(builder):
    for floor in builder.floors():
        for room in floor:
            assert builder._about(room).endswith("."), room


def test_no_public_function_returns_a_dict_of_anything(builder, house):
    assert builder.loose_answers(house) == []


def test_one_that_does_is_found(builder, tmp_path):
    path = tmp_path / "loose.py"
    path.write_text(
        "def told() -> dict[\n    str, Any\n]: ...\ndef _own() -> dict[str, Any]: ...\n"
        "def typed() -> dict[str, int]: ...\n"
    )
    loose = {"argentry.loose": builder.Module("argentry.loose", path, 4, frozenset())}
    assert builder.loose_answers(loose) == ["argentry.loose.told"]
