"""The mapping file: what it may say, and that each slip in it is told."""

import pytest

from argentry.errors import BadInput
from argentry.exchange.plates.columns import columns
from argentry.exchange.plates.mapping import (
    PlateMapping,
    Source,
    fields,
    own_columns,
    place_fields,
    units,
    units_of,
)
from argentry.exchange.plates.mapping_file import read_plate_mapping
from argentry.trade.readings import quantities

FULL = """
separator = ";"
encoding = "cp1252"
decimal = ","
date_format = "%d.%m.%Y"
time_zone = "Europe/Madrid"
sheet = "Platten"
head_row = 2
missing = ["-", "?"]
skip = ["Lfd"]

[columns]
plate = "Platte"
date = "Tag"
silver_um = { column = "Silber", unit = "mil" }
exposure_start = { column = "Beginn", form = "%d.%m.%Y %H:%M" }
grade = { column = "Urteil", words = { "gut" = "good", "hin" = "lost" } }
"""


def written(tmp_path, text):
    path = tmp_path / "map.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_all_that_a_mapping_may_say(tmp_path):
    mapping = read_plate_mapping(written(tmp_path, FULL))
    assert (mapping.separator, mapping.encoding, mapping.decimal) == (";", "cp1252", ",")
    assert (mapping.head_row, mapping.missing, mapping.skip) == (2, ("-", "?"), ("Lfd",))
    assert mapping.fields["silver_um"] == Source("Silber", unit="mil")
    assert mapping.fields["grade"].words == {"gut": "good", "hin": "lost"}
    assert mapping.fields["exposure_start"].form == "%d.%m.%Y %H:%M"


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("plate = ", "this is not TOML"),
        ("colums = 3", r"there is no key colums; did you mean \[columns\]"),
        ("columns = 3", "columns must be a section"),
        ("decimal = ';'", "';' is not a decimal sign"),
        ("decimal = 1", "1 is not a decimal sign"),
        ("separator = ',,'", "',,' is not a separator"),
        ("separator = 5", "5 is not text"),
        ("encoding = 'latin'", "'latin' is not known; give one of utf-8"),
        ("time_zone = 'Europe/Nowhere'", "is not a known time zone"),
        ("time_zone = '../../etc/passwd'", "is not a known time zone"),
        ("date_format = 'day'", "'day' is not a pattern"),
        ("head_row = 0", "0 is not a count"),
        ("head_row = true", "True is not a count"),
        ("[columns]\nplatte = 'x'", "there is no field platte; did you mean plate"),
        ("[columns]\nplate = 5", "no column is named"),
        ("[columns]\nplate = { name = 'x' }", "no column is named"),
        ("[columns]\nplate = { column = 'x', unit = 'kg' }", "there is no key unit"),
        ("[columns]\nsilver_um = { column = 'x', unit = 'kg' }", "give one of µm, nm, mm, mil"),
        ("[columns]\nf_number = { column = 'x', unit = 'f' }", "none: it is a pure number"),
        ("[columns]\ngrade = { column = 'x', words = { a = 'best' } }", "'best' is not known"),
        ("[columns]\ngrade = { column = 'x', words = 'best' }", "words must be a table"),
        ("[columns]\ngrade = { column = 'x', words = { a = 1 } }", "words must be a table"),
        ("[columns]\ndate = { column = 'x', form = 'dd' }", "'dd' is not a pattern"),
        ("[columns]\nplate = 'x'\nlens = 'x'", "the column 'x' already fills plate"),
    ],
)
def test_slips_are_told(tmp_path, text, match):
    with pytest.raises(BadInput, match=match) as told:
        read_plate_mapping(written(tmp_path, text))
    assert str(told.value).startswith("map.toml")


def test_a_mapping_that_is_no_text_or_not_there(tmp_path):
    path = tmp_path / "map.toml"
    path.write_bytes(b"\xff\xfe\x00bad")
    with pytest.raises(BadInput, match="byte 1 is not UTF-8 text"):
        read_plate_mapping(path)
    with pytest.raises(BadInput, match="there is no such file"):
        read_plate_mapping(tmp_path / "none.toml")


def test_every_documented_column_is_a_field_and_its_unit_is_known():
    for column in columns():
        assert fields()[column.name] == column
        assert units_of(column)[0] == column.unit
    measured = {each.unit for each in quantities().values()}
    assert set(units()) - measured <= {column.unit for column in columns()}
    assert units()["°C"]["°F"] == quantities()["room_c"].also["°F"]


def test_columns_are_found_by_mapping_or_by_name():
    mapping = PlateMapping(fields={"plate": Source("Nr")}, skip=("junk",))
    head = ("Nr", "date", "room_c", "moon", "junk")
    found = place_fields(head, mapping, "p.csv")
    assert {name: source.column for name, source in found.items()} == {
        "plate": "Nr",
        "date": "date",
        "room_c": "room_c",
    }
    assert own_columns(head, found, mapping) == ("moon",)


@pytest.mark.parametrize(
    ("head", "mapping", "match"),
    [
        (("date", "x"), PlateMapping(), "there is no column plate"),
        (("plate", "x"), PlateMapping(), "there is no column date"),
        (
            ("Numer", "date"),
            PlateMapping(fields={"plate": Source("Number")}),
            "no column 'Number' for plate; did you mean Numer",
        ),
        (
            ("plate", "date", "room_c", "T"),
            PlateMapping(fields={"room_c": Source("T")}),
            "room_c is filled by 'T', but there is also a column room_c",
        ),
    ],
)
def test_columns_that_do_not_fit(head, mapping, match):
    with pytest.raises(BadInput, match=match):
        place_fields(head, mapping, "p.csv")
