"""The keys of a studio file."""

from __future__ import annotations

from argentry.files import toml_value
from argentry.studio.check import read_value
from argentry.studio.keys import RECORDS, sections

LEARNED = {
    "development_light_sigma_stops",
    "scatter",
    "veil_ratio",
    "veil_ratio_sigma_stops",
}  # what only plates can tell stands in no file


def test_every_key_of_every_record_is_in_the_table():
    for part in sections():
        fields = set(RECORDS[part.name].__dataclass_fields__)
        keys = {key.name for key in part.keys}
        if part.name == "studio":
            assert keys == {"name", "invented"}
        elif part.name == "frame":
            assert fields - keys == {"lamp"}
        else:
            assert keys == fields - LEARNED


def test_examples_and_defaults_are_allowed_by_their_own_key():
    for part in sections():
        for key in part.keys:
            read_value(key.name, key, key.example)
            if isinstance(key.default, (str, float, int)):
                assert read_value(key.name, key, key.default) == key.default


def test_what_a_left_out_key_means_agrees_with_the_record():
    for part in sections():
        for key in part.keys:
            if isinstance(key.default, (str, bool, float, int)):
                assert key.absent == toml_value(key.default).removesuffix(".0"), key.name
