from __future__ import annotations

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest


def _load():
    path = Path(__file__).with_name("day_fixture.py")
    spec = spec_from_file_location("argentry_day_fixture", path)
    module = module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


_DAY_FIXTURE = _load()


@pytest.fixture(scope="session")
def make_plan():
    return _DAY_FIXTURE.make_plan
