from __future__ import annotations

import re
import sys
from datetime import datetime
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from argentry.out.schemas import schema


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


# docs/json.md promises an offset with every time; the seconds may be left out, as ISO 8601 allows.
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)")
FORMATS = FormatChecker(formats=["date"])


@FORMATS.checks("date-time", raises=ValueError)
def _is_moment(value):
    return not isinstance(value, str) or (
        MOMENT.fullmatch(value) is not None and datetime.fromisoformat(value) is not None
    )


def _undescribed(part, data, above=""):
    """Yield the keys that a command prints and the schema does not tell."""
    known = part.get("properties")
    if known is None or not isinstance(data, dict):
        return
    for key, value in data.items():
        if key not in known:
            yield above + key
            continue
        inner = known[key]
        yield from _undescribed(inner, value, f"{above}{key}.")
        for item in value if isinstance(value, list) else []:
            yield from _undescribed(inner.get("items", {}), item, f"{above}{key}[].")


@pytest.fixture(scope="session")
def fits():
    """Give the judge of an answer: it has the shape of its schema, and every key of it is told."""

    def judge(name, data):
        one = schema(name)
        Draft202012Validator(one, format_checker=FORMATS).validate(data)
        assert sorted(set(_undescribed(one, data))) == [], "print no key that the schema lacks"

    return judge
