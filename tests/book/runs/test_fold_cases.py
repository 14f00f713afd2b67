"""The cases shared with the page's JavaScript."""

from __future__ import annotations

import json
import random
from datetime import datetime
from pathlib import Path

import pytest

from argentry.bench.state_json import event_dict, state_dict
from argentry.book.runs.fold import fold
from argentry.records.event import Event

CASES = sorted((Path(__file__).parents[2] / "fixtures" / "fold").glob("*.json"))


def read_event(told):
    return Event(**{**told, "at": datetime.fromisoformat(told["at"])})


@pytest.mark.parametrize("file", CASES, ids=lambda f: f.stem)
def test_shared_case(file):
    case = json.loads(file.read_text("utf-8"))
    events = [read_event(told) for told in case["events"]]
    now = datetime.fromisoformat(case["now"])
    assert state_dict(fold(events, now=now)) == case["expect"]
    again = [*events, *events[::2]]
    random.Random(7).shuffle(again)
    assert state_dict(fold(again, now=now)) == case["expect"]
    assert [event_dict(event) for event in events] == case["events"]


def test_there_are_cases():
    assert len(CASES) >= 22
