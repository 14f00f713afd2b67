from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest

from argentry.records.plain import from_plain, hints_of, plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from argentry.records.learned import Share


@dataclass(frozen=True)
class Inner:
    from_: float | None
    days: tuple[date, ...]


@dataclass(frozen=True)
class Whole(Inner):
    at: datetime
    pair: tuple[str, int]
    by: Mapping[str, Inner]
    share: Share | None


def test_what_is_not_finite_is_null_and_a_python_word_loses_its_underscore():
    told = plain(Inner(math.inf, (date(2026, 6, 21),)))
    assert told == {"from": None, "days": ["2026-06-21"]}
    assert plain([np.float64(2.5), np.array([1, 2]), Path("a/b")]) == [2.5, [1, 2], "a/b"]
    assert type(plain(np.float64(2.5))) is float


def test_an_answer_comes_back_from_json():
    inner = Inner(1.5, (date(2026, 6, 21), date(2026, 6, 22)))
    whole = Whole(None, (), datetime(2026, 6, 21, 12, 30, tzinfo=UTC), ("a", 2), {"x": inner}, None)
    assert from_plain(Whole, json.loads(json.dumps(plain(whole)))) == whole


def test_names_that_only_type_checkers_import_are_known():
    assert "Share" in str(hints_of(Whole)["share"])
    with_share = {"probability": 0.5, "low": 0.4, "high": 0.6, "plates": 9.0}
    told = {"from": None, "days": [], "at": "2026-06-21T12:30:00+00:00", "pair": ["a", 2],
            "by": {}, "share": with_share}  # fmt: skip
    assert from_plain(Whole, told).share.plates == 9.0


def test_a_key_that_is_missing_is_noticed():
    with pytest.raises(KeyError):
        from_plain(Inner, {"from": 1.0})
