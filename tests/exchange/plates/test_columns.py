"""The columns of the plain table of plates, and how a cell is read."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.exchange.plates.columns import column_names, columns, defect_stages, read_cell
from argentry.records.plate import STAGES

ROOT = Path(__file__).parents[3]
BY_NAME = {column.name: column for column in columns()}


def test_page_is_current():
    spec = spec_from_file_location("docs_plates", ROOT / "builders" / "docs_plates.py")
    made = module_from_spec(spec)
    spec.loader.exec_module(made)
    text = made.PAGE.read_text(encoding="utf-8")
    assert made.filled(text) == text, "run: python builders/docs_plates.py"
    for name in column_names():
        assert f"| `{name}` |" in text
    for key in defect_stages():
        assert f"| `{key}` |" in text


@pytest.mark.parametrize("column", columns(), ids=column_names())
def test_every_column_is_told_in_full(column):
    assert column.about.endswith(".")
    assert column.empty
    assert column.allowed()
    assert column.kind != "word" or column.words
    if column.kind in ("number", "whole number"):
        assert column.low < column.high
    # the unit of a number stands in its name, but for the units every maker says anyway
    ends = {"µm": "_um", "°C": "_c", "nm": "_nm", "min": "_minutes", "h": "_hours"}
    ends["s"] = ("_seconds", "_s")
    if column.unit in ends:
        assert column.name.endswith(ends[column.unit])


def test_defects_are_listed_once_with_real_stages():
    keys = [row["key"] for row in trade.toml("defects")["defect"]]
    assert len(keys) == len(set(keys)) >= 36
    for stages in defect_stages().values():
        assert stages
        assert set(stages) <= set(STAGES)


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("plate", " P001 ", "P001"),
        ("date", "2025-03-30", date(2025, 3, 30)),
        ("room_c", "-3.5", -3.5),
        ("order", "2", 2),
        ("order", "2.0", 2),
        ("grade", "fine", "fine"),
        ("buff_minutes", "  ", None),
        ("defects", "haze@finish; fog@coat", (("haze", "finish"), ("fog", "coat"))),
        (
            "exposure_start",
            "2025-06-21T13:20:00+02:00",
            datetime(2025, 6, 21, 13, 20, tzinfo=timezone(timedelta(hours=2))),
        ),
    ],
)
def test_reads(name, text, value):
    assert read_cell(BY_NAME[name], text, "row 1") == value


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("plate", ""),
        ("date", "21.6.2025"),
        ("date", ""),
        ("room_c", "warm"),
        ("room_c", "nan"),
        ("room_c", "inf"),
        ("room_rh_pct", "130"),
        ("order", "1.5"),
        ("grade", "best"),
        ("size", "postcard"),
        ("exposure_start", "13:20"),
        ("exposure_start", "2025-06-21T13:20"),
        ("defects", "flat"),
        ("defects", "haze@kitchen"),
        ("defects", "gremlins@coat"),
    ],
)
def test_refuses_in_one_sentence(name, text):
    with pytest.raises(BadInput) as told:
        read_cell(BY_NAME[name], text, f"row 7, {name}")
    assert str(told.value).startswith(f"row 7, {name}: ")
    assert "\n" not in str(told.value)


@given(st.text(max_size=30), st.sampled_from(columns()))
def test_any_text_is_read_or_refused(text, column):
    try:
        value = read_cell(column, text, "cell")
    except BadInput:
        return
    if column.kind in ("number", "whole number") and value is not None:
        assert column.low <= value <= column.high


def test_a_defect_of_one_stage_needs_no_stage():
    single = {key: stages[0] for key, stages in defect_stages().items() if len(stages) == 1}
    assert single
    for key, stage in single.items():
        assert read_cell(BY_NAME["defects"], key, "row 2") == ((key, stage),)


@pytest.mark.parametrize(
    ("cell", "right"),
    [
        ("buff_line", "did you mean buff_lines"),
        ("rayas", "argentry plate defect --list"),
        ("flat", "add @ and one of coat, development"),
        ("flat@sky", "add @ and one of polish, coat, exposure, development, finish"),
    ],
)
def test_a_defect_that_cannot_be_read_is_told_what_would_be_right(cell, right):
    with pytest.raises(BadInput, match=right):
        read_cell(BY_NAME["defects"], cell, "row 2")
