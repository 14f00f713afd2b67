"""No step and no resource is named in code outside the trade; code asks for a step by its law."""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from argentry.trade.steps import resources, steps

SRC = Path(__file__).resolve().parents[2] / "src" / "argentry"
STEPS = {rule.key for rule in steps()}
# The word has another meaning wherever it stands: the label of a plate, the look of a defect.
OTHER_WORDS = {"label", "look"}
# File, word: why it may stand there although it is no step and no resource that is meant.
ALLOWED = {
    ("cli/main.py", "expose"): "the command `argentry expose`",
    ("cli/main.py", "develop"): "the command `argentry develop`",
    ("__init__.py", "expose"): "a function of the public API",
    ("__init__.py", "develop"): "a function of the public API",
    ("api.py", "expose"): "a function of the public API",
    ("api.py", "develop"): "a function of the public API",
    ("out/schemas.py", "expose"): "the answer of the command",
    ("out/schemas.py", "develop"): "the answer of the command",
    ("book/pictures/child.py", "camera"): "maker and model, as a picture's file names them",
    ("book/pictures/reading.py", "camera"): "the same, read",
    ("needs/recipe.py", "gild"): "a kind of bath in recipes.toml",
    ("needs/materials/mixing.py", "fix"): "the recipe of that name",
    ("needs/materials/mixing.py", "gild"): "the recipe of that name",
    ("needs/materials/bath_life.py", "fix"): "a kind of bath",
    ("needs/materials/bath_life.py", "gild"): "a kind of bath",
    ("physics/vapour/room_vapour.py", "box"): "what a volume was given of, for a sentence",
    ("bench/opening.py", "frame"): "a name among a run's constants, kept in its event",
    ("bench/opening.py", "box"): "a name among a run's constants, kept in its event",
    ("bench/reactions.py", "frame"): "the same constant, read",
    ("desk/bench/standing.py", "frame"): "the same constant, read",
    ("needs/light_lengths.py", "frame"): "the same constant, read",
    ("needs/red_light.py", "frame"): "the same constant, written",
    ("needs/step_lengths.py", "box"): "what a temperature was read of, for a sentence",
    ("demo/preparing.py", "box"): "what chance is drawn for",
    ("demo/developing.py", "frame"): "a column of the table of plates",
    ("needs/plate_light.py", "frame"): "a column of the table of plates",
    ("studio/file.py", "box"): "a part of studio.toml",
    ("studio/file.py", "frame"): "a part of studio.toml",
    ("studio/check.py", "frame"): "a part of studio.toml",
    ("studio/today.py", "box"): "a part of studio.toml",
    ("studio/today.py", "frame"): "a part of studio.toml",
    ("studio/text.py", "frame"): "a part of studio.toml",
    ("studio/keys.py", "box"): "a part of studio.toml",
    ("studio/keys.py", "frame"): "a part of studio.toml",
}


@cache
def quoted(path):
    """Return every quoted string of a file that is one word."""
    text = path.read_text(encoding="utf-8")
    found = set(re.findall(r"[\"'`](\w+)[\"'`]", text))
    if path.suffix == ".py" and found & (STEPS | set(resources())):  # not what docstrings quote
        nodes = ast.walk(ast.parse(text))
        return {n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return found


def named(keys):
    """Return (file, key) of each key that stands quoted in code outside the trade."""
    files = [p for end in ("py", "js", "html", "typ") for p in SRC.rglob(f"*.{end}")]
    assert len(files) > 300
    return {
        (str(path.relative_to(SRC)), key)
        for path in files
        if path.relative_to(SRC).parts[0] != "trade"
        for key in quoted(path) & keys
    }


@pytest.mark.parametrize("keys", [STEPS - OTHER_WORDS, set(resources())])
def test_no_step_and_no_resource_is_named_in_code(keys):
    assert named(keys) - set(ALLOWED) == set()


def test_every_exception_is_still_one():
    assert set(ALLOWED) <= named(STEPS | set(resources()))


def test_a_name_would_be_found(tmp_path):
    (tmp_path / "a.py").write_text("KEY = \"iodise\"  # not 'scour'\n")
    (tmp_path / "b.js").write_text("if (step.key === 'fix') end();\n")
    assert quoted(tmp_path / "a.py") == {"iodise"}
    assert quoted(tmp_path / "b.js") == {"fix"}
