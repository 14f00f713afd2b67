"""Columns of the table of plates are stated once, beside their reading where they have one."""

import pytest

from argentry import trade
from argentry.errors import ArgentryError
from argentry.trade.columns import columns, read_columns

ROOM = {"group": "coat", "about": "Air.", "empty": "not read"}
READING = {"key": "wind_m_s", "unit": "m/s", "low": 0.0, "high": 40.0}
PLAIN = trade.toml("columns")


def with_reading(**column):
    return read_columns(PLAIN, [{**READING, "column": {**ROOM, **column}}])


def test_a_reading_states_its_column_with_its_own_unit_and_range():
    column = with_reading()["wind_m_s"]
    assert (column.kind, column.unit, column.low, column.high) == ("number", "m/s", 0.0, 40.0)
    assert with_reading(kind="whole number", low=1.0)["wind_m_s"].low == 1.0


def test_it_stands_in_its_group_at_its_end_or_before_another():
    for before, after in (("", "coat_b"), ("coat_cycle", "coat_colour")):
        names = list(with_reading(before=before))
        assert names[names.index("wind_m_s") - 1] == after
        assert [name for name in names if name != "wind_m_s"] == list(PLAIN)


def test_no_column_is_stated_twice():
    readings = {one["key"]: one for one in trade.toml("readings")["reading"]}
    assert not set(PLAIN) & set(readings)
    assert {key for key, one in readings.items() if "column" in one} == set(columns()) - set(PLAIN)
    with pytest.raises(ArgentryError, match=r"column lens: it stands in columns.toml too; state"):
        read_columns(PLAIN, [{**READING, "key": "lens", "column": ROOM}])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"group": "varnish"}, "group 'varnish' is not known; use one of the plate, polish"),
        ({"before": "lens"}, "before 'lens' is not known; use one of nothing, "),
        ({"kind": "colour"}, "kind 'colour' is not known; use one of number"),
        ({"high": -1.0}, "its range is empty; give low < high"),
        ({"words": ["calm", "gusty"]}, "its words do not fit its kind; give words to"),
        ({"kind": "word"}, "its words do not fit its kind; give words to"),
        ({"words_of": "winds"}, "words_of 'winds' is not known; use one of nothing, size"),
        ({"about": ""}, "about is ''; give words"),
        ({"colour": "red"}, "it has the unknown colour"),
    ],
)
def test_a_wrong_entry_is_refused_in_one_sentence(change, says):
    with pytest.raises(ArgentryError, match=r"^readings.toml, column wind_m_s: ") as caught:
        with_reading(**change)
    assert says in str(caught.value)


def test_a_plain_column_that_lacks_something_is_refused():
    entry = {key: value for key, value in PLAIN["drying"].items() if key != "empty"}
    with pytest.raises(ArgentryError, match=r"^columns.toml, column drying: it lacks empty; give"):
        read_columns({**PLAIN, "drying": entry}, [])
