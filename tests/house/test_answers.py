"""No public function answers with a dict of anything: answers are typed."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def builder():
    spec = spec_from_file_location("docs_architecture", ROOT / "builders/docs_architecture.py")
    found = module_from_spec(spec)
    sys.modules[spec.name] = found
    spec.loader.exec_module(found)
    return found


def test_no_public_function_returns_a_dict_of_anything(builder):
    assert builder.loose_answers(builder.modules()) == []


def test_one_that_does_is_found(builder, tmp_path):
    path = tmp_path / "loose.py"
    path.write_text(
        "def told() -> dict[\n    str, Any\n]: ...\ndef _own() -> dict[str, Any]: ...\n"
        "def typed() -> dict[str, int]: ...\n"
    )
    house = {"argentry.loose": builder.Module("argentry.loose", path, 4, frozenset())}
    assert builder.loose_answers(house) == ["argentry.loose.told"]
