"""The generated parts of docs/studio.md and docs/weather.md are current."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def builder():
    spec = spec_from_file_location("docs_studio", ROOT / "builders" / "docs_studio.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", ["studio.md", "weather.md"])
def test_page_is_current(name):
    made = builder()
    text = (ROOT / "docs" / name).read_text(encoding="utf-8")
    assert made.filled(text, made.PAGES[name]()) == text, "run: python builders/docs_studio.py"
    assert text.count("|") > 20
