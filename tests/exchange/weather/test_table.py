from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.exchange.weather.file import read_weather_file
from argentry.exchange.weather.mapping import NAMED, QUANTITIES, Column, TableMapping, read_mapping
from argentry.exchange.weather.table import read_csv, read_json

HEAD = "# time_zone: UTC\n# stamp: start\n"
TIMES = ("2026-06-21T10:00", "2026-06-21T11:00", "2026-06-21T12:00")


def table(column, *cells, head=HEAD):
    rows = "\n".join(f"{time},{cell}" for time, cell in zip(TIMES, cells, strict=False))
    return f"{head}time,{column}\n{rows}\n"


def read(text, mapping=TableMapping()):  # noqa: B008 - frozen
    return read_csv("sky.csv", text, mapping)


def test_named_columns_and_unknown_ones():
    text = (
        "# Invented. source: nobody\n"
        + HEAD
        + "\n time ,ghi_w_m2,sky,cloud_okta\n2026-06-21T10:00,500,x,4\n\n2026-06-21T11:00,NA,y,\n"
    )
    weather = read(text)
    assert weather.kind == "forecast"
    assert weather.source == "sky.csv (CSV)"
    np.testing.assert_equal(weather.ghi_w_m2, [500, np.nan])
    np.testing.assert_equal(weather.cloud_share, [0.5, np.nan])
    assert np.isnan(weather.temperature_c).all()
    assert weather.start_utc.dtype == np.dtype("datetime64[s]")


@pytest.mark.parametrize(
    ("column", "cells", "field", "values"),
    [
        ("cloud_percent", (0, 50, 100), "cloud_share", (0, 0.5, 1)),
        ("cloud_okta", (0, 8, 9), "cloud_share", (0, 1, 1)),
        ("cloud_tenths", (0, 5, 10), "cloud_share", (0, 0.5, 1)),
        ("cloud_share", (0, 0.25, 1), "cloud_share", (0, 0.25, 1)),
        ("sunshine_s", (0, 1800, 3600), "sunshine_share", (0, 0.5, 1)),
        ("sunshine_min", (0, 30, 60), "sunshine_share", (0, 0.5, 1)),
        ("sunshine_h", (0, 0.5, 1), "sunshine_share", (0, 0.5, 1)),
        ("sunshine_percent", (0, 50, 100), "sunshine_share", (0, 0.5, 1)),
        ("sunshine_share", (0, 0.5, 1), "sunshine_share", (0, 0.5, 1)),
        ("ghi_w_m2", (-3, 0, 1000), "ghi_w_m2", (0, 0, 1000)),
        ("dni_w_m2", (0, 1, 900), "dni_w_m2", (0, 1, 900)),
        ("dhi_w_m2", (0, 1, 400), "dhi_w_m2", (0, 1, 400)),
    ],
)
def test_units(column, cells, field, values):
    np.testing.assert_allclose(getattr(read(table(column, *cells)), field), values, atol=1e-12)


@pytest.mark.parametrize(
    ("column", "cells", "field", "values"),
    [
        ("temperature_c", (-5, 0, 20), "temperature_c", (-5, 0, 20)),
        ("temperature_k", (268.15, 273.15, 293.15), "temperature_c", (-5, 0, 20)),
        ("temperature_f", (23, 32, 68), "temperature_c", (-5, 0, 20)),
        ("humidity_percent", (0, 50, 101), "relative_humidity_pct", (0, 50, 100)),
        ("humidity_share", (0, 0.5, 1), "relative_humidity_pct", (0, 50, 100)),
        ("haze_aod", (0, 0.1, 0.4), "haze_aod", (0, 0.1, 0.4)),
    ],
)
def test_units_beside_light(column, cells, field, values):
    both = [f"{cell},1" for cell in cells]
    weather = read(table(f"{column},ghi_w_m2", *both))
    np.testing.assert_allclose(getattr(weather, field), values, atol=1e-9)


def test_every_unit_has_a_way_in():
    for quantity in QUANTITIES.values():
        assert quantity.unit in quantity.units
    assert all(unit in QUANTITIES[key].units for key, unit in NAMED.values())


def test_energy_in_the_interval_becomes_power():
    # 1 kWh/m2 in an hour is 1000 W/m2; 3.6 MJ = 1 kWh.
    for unit, cell in (("Wh/m2", 1000), ("kJ/m2", 3600), ("J/m2", 3.6e6), ("kW/m2", 1)):
        mapping = TableMapping(columns={"ghi": Column("g", unit)})
        weather = read(table("g", cell, cell), mapping)
        np.testing.assert_allclose(weather.ghi_w_m2, 1000)


def test_semicolons_decimal_commas_and_codes_for_missing():
    mapping = TableMapping(
        columns={"ghi": Column("g", "W/m2")}, separator=";", decimal=",", missing=("-999",)
    )
    weather = read(HEAD + "time;g\n2026-06-21T10:00;12,5\n2026-06-21T11:00;-999\n", mapping)
    np.testing.assert_equal(weather.ghi_w_m2, [12.5, np.nan])


def test_missing_codes_in_the_head():
    weather = read(table("ghi_w_m2", 5, -99, -98, head=HEAD + "# missing: -99 -98\n"))
    np.testing.assert_equal(weather.ghi_w_m2, [5, np.nan, np.nan])


def test_a_table_may_be_a_typical_year():
    head = HEAD + "# kind: typical year\n"
    start = np.datetime64("2023-12-31T23:00") + np.arange(366 * 24) * np.timedelta64(1, "h")
    rows = "".join(f"{moment},{n % 1000}\n" for n, moment in enumerate(start))
    weather = read(f"{head}time,ghi_w_m2\n{rows}")
    assert weather.kind == "typical year"
    assert str(weather.start_utc[0]) == "2001-01-01T00:00:00"
    assert weather.start_utc.size == 365 * 24  # 2024 had a 29 February
    assert np.all(np.diff(weather.start_utc) == np.timedelta64(3600, "s"))
    assert weather.ghi_w_m2[0] == 1
    assert weather.ghi_w_m2[-1] == 0  # 23:00 of 31 December comes from the first row
    march = np.searchsorted(weather.start_utc, np.datetime64("2001-03-01T00:00"))
    assert weather.ghi_w_m2[march] == (60 * 24 + 1) % 1000
    twice = "2023-06-21T10:00,1\n2024-06-21T10:00,1\n"
    with pytest.raises(BadInput, match="same day and hour twice"):
        read(f"{head}# gaps: true\n# step_minutes: 60\ntime,ghi_w_m2\n{twice}")


def test_tabs_are_found():
    weather = read(HEAD + "time\tghi_w_m2\n2026-06-21T10:00\t1\n2026-06-21T11:00\t2\n")
    np.testing.assert_equal(weather.ghi_w_m2, [1, 2])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no rows"),
        ("# only: comments\n", "no rows"),
        (HEAD + "time,ghi_w_m2\n", "no rows"),
        (table("ghi_w_m2", 1, 2, head="# time_zone: UTC\n"), "say stamp: start, middle or end"),
        (table("ghi_w_m2", 1, 2, head="# stamp: start\n"), "has no offset from UTC"),
        (table("ghi_w_m2", 1, 2, head="# stamp: begin\n"), "'begin' is not known; give one of"),
        (table("ghi_w_m2", 1, 2, head=HEAD + "# kind: guess\n"), "'guess' is not known"),
        (table("ghi_w_m2", 1, 2, head=HEAD + "# step_minutes: 0\n"), "is not a step"),
        (table("ghi_w_m2", 1, 2, head=HEAD + "# step_minutes: nan\n"), "is not a step"),
        (table("ghi_w_m2", 1, 2, head=HEAD + "# decimal: x\n"), "not a decimal sign"),
        (table("ghi_w_m2", 1, 2, head=HEAD + "# separator: ab\n"), "is not one sign"),
        (HEAD + "when,ghi_w_m2\n2026-06-21T10:00,1\n", "there is no column time"),
        (table("brightness", 1, 2), "no column tells of light or cloud"),
        (table("temperature_c", 1, 2), "no column tells of light or cloud"),
        (table("ghi_w_m2", "", ""), "every value of light and cloud is missing"),
        (table("ghi_w_m2", 1, "bright"), "row 5 column ghi_w_m2: 'bright' is not a number"),
        (table("ghi_w_m2", 1, "inf"), "row 5 column ghi_w_m2: 'inf' is not a number"),
        (table("ghi_w_m2", 1, 9999), "row 5 .* 9999 W/m2 cannot be global"),
        (table("ghi_w_m2", 1, -500), "row 5 .* give -20 to 1800 W/m2"),
        (table("cloud_percent", 1, 101), "101 percent cannot be share of the sky under cloud"),
        (table("cloud_okta", 1, 12), "12 okta cannot be .* give 0 to 8 okta"),
        (table("sunshine_min", 1, 61), "61 minutes cannot be .* give 0 to 60 minutes"),
        (table("temperature_k,ghi_w_m2", "20,1", "21,1"), "20 K cannot be .* 203.15 to 343.15 K"),
        (table("ghi_w_m2", "1,5", "2"), "row 4: 3 cells where the header has 2"),
    ],
)
def test_wrong_tables(text, words):
    with pytest.raises(BadInput, match=words):
        read(text)


def test_json_list_and_object_of_lists():
    rows = [{"time": f"{t}Z", "ghi_w_m2": v} for t, v in zip(TIMES, (1, None, 3), strict=True)]
    one = read_json("a.json", json.dumps({"stamp": "end", "hours": rows}), TableMapping())
    lists = {"time": [f"{t}Z" for t in TIMES], "ghi_w_m2": [1, None, 3]}
    data = {"stamp": "end", "records": "a.b", "a": {"b": lists}}
    two = read_json("a.json", json.dumps(data), TableMapping())
    np.testing.assert_equal(one.ghi_w_m2, [1, np.nan, 3])
    np.testing.assert_equal(two.ghi_w_m2, one.ghi_w_m2)
    np.testing.assert_equal(two.start_utc, one.start_utc)
    assert str(one.start_utc[0]) == "2026-06-21T09:00:00"


def test_json_bare_list_by_mapping():
    mapping = TableMapping(
        time=Column("t", "unix"), stamp="start", columns={"cloud": Column("c", "percent")}
    )
    text = json.dumps([{"t": 1782036000, "c": 10}, {"t": 1782039600}])
    weather = read_json("a.json", text, mapping)
    np.testing.assert_allclose(weather.cloud_share, [0.1, np.nan])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("{", "this is not JSON"),
        ("[" * 100_000, "this is not JSON"),
        ("3", "neither objects nor lists"),
        ("[]", "no rows"),
        ('{"hours": [1, 2]}', "neither objects nor lists"),
        ('{"stamp": "start"}', "no rows under 'hours'"),
        ('{"stamp": "start", "hours": {"time": ["a"], "ghi_w_m2": [1, 2]}}', "differ in length"),
        (
            json.dumps(
                {"stamp": "start", "hours": [{"time": f"{TIMES[0]}Z", "ghi_w_m2": True}] * 2}
            )
            .replace("10:00Z", "11:00Z")
            .replace("11:00Z", "10:00Z", 1),
            "entry 1 column ghi_w_m2: 'True' is not a number",
        ),
        (
            '{"stamp": "start", "hours": [{"time": NaN, "ghi_w_m2": 1}]}',
            "entry 1 column time: 'nan' is not a time",
        ),
        ('{"stamp": ["start"], "hours": []}', "is not known"),
    ],
)
def test_wrong_json(data, words):
    with pytest.raises(BadInput, match=words):
        read_json("a.json", data, TableMapping())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("stamp = ", "not TOML"),
        ('stamp = "end"', r"no section \[columns\]"),
        ("columns = 3", r"no section \[columns\]"),
        ('[columns]\nghi = "g"', "the time has no column"),
        ('[columns]\ntime = "t"\nghj = "g"', "no quantity ghj; did you mean ghi"),
        ('[columns]\ntime = "t"\nghi = 3', "no column is named"),
        ('[columns]\ntime = "t"\nghi = { column = "g", unit = "lux" }', "'lux' is not known"),
        ('[columns]\ntime = "t"\nghi = { column = "g", units = "W/m2" }', "did you mean unit"),
        ('stampp = "end"\n[columns]\ntime = "t"', "did you mean stamp"),
        ('[columns]\ntime = "t"\nghi = { column = "g", unit = [3] }', "is not known"),
    ],
)
def test_wrong_mappings(tmp_path, text, words):
    path = tmp_path / "m.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match=words):
        read_mapping(path)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=120), st.booleans())
def test_any_text_is_read_or_told_in_one_line(text, headed):
    whole = HEAD + "time,ghi_w_m2\n" + text if headed else text
    for reader in (read_csv, read_json):
        told = ""
        try:
            reader("any", whole, TableMapping())
        except BadInput as mistake:
            told = str(mistake)
        assert len(told.splitlines()) <= 1


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 1700) | st.just(float("nan")), min_size=2, max_size=48))
def test_numbers_pass_unchanged(values):
    start = np.datetime64("2026-06-21T00:00") + np.arange(len(values)) * np.timedelta64(15, "m")
    rows = "".join(f"{t},{v!r}\n" for t, v in zip(start, [*values[:-1], 1.0], strict=True))
    weather = read(f"{HEAD}time,ghi_w_m2\n{rows}")
    np.testing.assert_array_equal(weather.ghi_w_m2, [*values[:-1], 1.0])
    assert weather.step_s == 900


def test_a_column_may_have_its_own_stamp_and_a_path(tmp_path):
    rows = [
        {"at": f"2026-06-21T{hour:02d}:00Z", "now": {"sky": {"cloud": cloud}}, "sun": {"kwh": kwh}}
        for hour, cloud, kwh in ((10, 0, 0.5), (11, 80, 0.6), (12, None, 0.7), (13, 40, 0.8))
    ]
    table, how = tmp_path / "sky.json", tmp_path / "sky.toml"
    table.write_text(json.dumps(rows), encoding="utf-8")
    how.write_text(
        'stamp = "end"\n[columns]\ntime = "at"\nghi = { column = "sun.kwh", unit = "kWh/m2" }\n'
        'cloud = { column = "now.sky.cloud", stamp = "middle" }\n',
        encoding="utf-8",
    )
    weather = read_weather_file(table)
    assert str(weather.start_utc[0]) == "2026-06-21T09:00:00"
    np.testing.assert_allclose(weather.ghi_w_m2, [500.0, 600.0, 700.0, 800.0])
    # between two readings their mean; where one is missing, the other
    np.testing.assert_allclose(weather.cloud_share, [0.0, 0.4, 0.8, 0.4])
    how.write_text(how.read_text().replace('"middle"', '"noon"'), encoding="utf-8")
    with pytest.raises(BadInput, match="cloud stamp: 'noon' is not known"):
        read_weather_file(table)


def test_a_column_a_whole_interval_off_is_moved_by_one(tmp_path):
    table, how = tmp_path / "sky.csv", tmp_path / "sky.toml"
    table.write_text("at,g,c\n" + "".join(f"2026-06-21T{h}:00Z,{h}00,{h}\n" for h in (10, 11, 12)))
    how.write_text(
        'stamp = "start"\n[columns]\ntime = "at"\nghi = { column = "g", stamp = "end" }\n'
        'cloud = "c"\n'
    )
    weather = read_weather_file(table)
    np.testing.assert_allclose(weather.ghi_w_m2[:2], [1100.0, 1200.0])
    assert np.isnan(weather.ghi_w_m2[2])


def test_members_of_an_ensemble(tmp_path):
    table, how = tmp_path / "sky.csv", tmp_path / "sky.toml"
    rows = "".join(f"2026-06-21T{h}:00Z,10,20,30,7\n" for h in (10, 11))
    table.write_text("at,cc,cc_m1,cc_m2,other_m1\n" + rows)
    words = (
        'stamp = "start"\n[columns]\ntime = "at"\ncloud = {{ column = "cc", members = "{m}" }}\n'
    )
    how.write_text(words.format(m="cc_m*"))
    weather = read_weather_file(table)
    np.testing.assert_allclose(weather.members["cloud_share"], [[0.1] * 2, [0.2] * 2, [0.3] * 2])
    np.testing.assert_allclose(weather.cloud_share, [0.1, 0.1])
    how.write_text(words.format(m="cc_m"))
    with pytest.raises(BadInput, match=r"does not hold one \*"):
        read_weather_file(table)


def test_lines_above_the_header_line(tmp_path):
    table, how = tmp_path / "sky.csv", tmp_path / "sky.toml"
    table.write_text("Station,42\nheight,10\n\nat;c\n2026-06-21T10:00Z;50\n2026-06-21T11:00Z;60\n")
    words = 'stamp = "start"\nlines_above = {lines}\n[columns]\ntime = "at"\ncloud = "c"\n'
    how.write_text(words.format(lines=3))
    np.testing.assert_allclose(read_weather_file(table).cloud_share, [0.5, 0.6])
    how.write_text(words.format(lines='"three"'))
    with pytest.raises(BadInput, match="'three' is not a number of lines"):
        read_weather_file(table)
