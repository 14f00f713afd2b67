"""Sentences that users read are constants with named places, so that a catalogue can list them."""

import sys
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

ROOT = Path(__file__).parents[1]
_spec = spec_from_file_location("sentences", ROOT / "builders" / "sentences.py")
builder = sys.modules["sentences"] = module_from_spec(_spec)
_spec.loader.exec_module(builder)

sentences = cache(builder.sentences)


def test_no_sentence_is_an_f_string():
    assert not [f"{one.place}: {one.text}" for one in builder.skipped(sentences())]


def test_a_sentence_is_listed_with_its_place_and_its_names():
    source = (
        'def f(x):\n    raise BadInput("a", "{value!r} is not a number", "give one", value=x)\n'
    )
    found = builder.of_module(source, "m.py")
    assert [(s.place, s.kind, s.text, s.names) for s in found] == [
        ("m.py:2", "refusal", "{value!r} is not a number", ("value",)),
        ("m.py:2", "refusal", "give one", ()),
    ]


def test_an_f_string_is_told_of():
    found = builder.of_module('note = f"{n} plates are left"\n', "m.py")
    assert [one.text for one in builder.skipped(found)] == ["{} plates are left"]


def test_documentation_keys_and_queries_are_no_sentences():
    source = '"""A module of words."""\nquery = f"SELECT {x} FROM plate"\nkey = "plate"\n'
    assert builder.of_module(source, "m.py") == []


def test_help_of_a_command_is_listed():
    source = '@cli.command()\ndef day():\n    """Plan a day in the studio."""\n'
    assert [one.kind for one in builder.of_module(source, "m.py")] == ["help"]


def test_a_page_is_read_between_its_tags():
    found = builder.of_template(
        "<p>Plate {{ row.label }} is graded {% if x %}good{% endif %}</p>", "p"
    )
    assert [(one.text, one.names) for one in found] == [("Plate {label} is graded", ("label",))]


def test_a_script_is_read_between_its_quotes():
    source = '// a "left out" comment\nsay("{n} plates are left");\nsay(`${n} are left`);'
    found = builder.of_script(source, "s.js")
    assert [(one.text, one.names, one.constant) for one in found] == [
        ("{n} plates are left", ("n",), True),
        ("{} are left", (), False),
    ]


def test_every_kind_of_sentence_is_there():
    kinds = {one.kind for one in sentences()}
    assert kinds == {"refusal", "screen", "help", "text", "page", "fact"}
