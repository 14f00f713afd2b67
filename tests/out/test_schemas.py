from __future__ import annotations

import json
import math
import runpy
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click
import pytest
from jsonschema import Draft202012Validator, ValidationError
from tests.every import every

from argentry.cli.main import cli, main
from argentry.out.schemas import answers, described, schema, schema_of
from argentry.records.plain import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

PLACE = ["--lat", "41.9", "--lon", "-3.2", "--elevation-m", "900", "--tz", "Europe/Madrid"]
COMMANDS = [
    ("light", ["light", *PLACE, "--at", "2026-06-14T10:00", "--lux", "60000"]),
    (
        "light",
        ["light", *PLACE, "--from", "2026-06-14T18:00", "--to", "2026-06-14T23:30", "--step", "30"],
    ),
    ("light_meter", ["light", *PLACE, "--at", "2026-06-14", "--meter", "own"]),
    ("light_meter", ["light", *PLACE, "--at", "2026-12-14", "--meter", "own"]),
    ("coat_nm", ["coat", "--nm", "25"]),
    ("coat_lab", ["coat", "--lab", "80,5,40"]),
    ("coat_colour", ["coat", "--colour", "gold"]),
    ("coat_nm", ["coat", "--nm", "250", "--angle", "40"]),
    ("fume", ["fume", "--nm", "25", "--box-temp", "20", "--gap-mm", "20"]),
    ("air", ["air", "--temp", "20", "--rh", "60"]),
    ("air", ["air", "--temp", "20", "--rh", "60", "--plate-temp", "10"]),
    ("air", ["air", "--temp", "20", "--rh", "99", "--box-l", "5", "--box-lost-g", "0.01"]),
    ("air", ["air", "--temp", "20", "--rh", "60", "--box-l", "5", "--alcohol-ml", "9"]),
    ("expose", ["expose", *PLACE, "--at", "2026-06-14T10:00"]),
    ("expose", ["expose", *PLACE, "--at", "2026-12-14T16:45"]),
    ("develop", ["develop", *PLACE, "--start", "2026-06-14T10:00"]),
    ("develop", ["develop", *PLACE, "--start", "2026-12-14T16:00"]),
    ("develop", ["develop", *PLACE, "--start", "2026-06-14T20:00", "--lamp-w", "500",
                 "--lamp-m", "0.5"]),
]  # fmt: skip


def run(arguments, capsys):
    with pytest.raises(SystemExit) as left:
        main(arguments)
    shown = capsys.readouterr()
    assert left.value.code == 0, shown.err
    return json.loads(shown.out)


@every("name", answers())
def test_every_schema_is_valid_and_every_key_says_what_it_is(name):
    one = schema(name)
    Draft202012Validator.check_schema(one)
    assert set(one["required"]) <= set(one["properties"])
    for key, value in one["properties"].items():
        assert value.get("description"), key


def numbers_without_unit(part, above=""):
    """Yield the numbers of which neither they nor a neighbour called unit says the unit."""
    known = part.get("properties", {})
    for key, value in known.items():
        kinds = value.get("type", ())
        is_number = "number" in ([kinds] if isinstance(kinds, str) else kinds)
        if is_number and "unit" not in value and "unit" not in known:
            yield above + key
        yield from numbers_without_unit(value, f"{above}{key}.")
        yield from numbers_without_unit(value.get("items", {}), f"{above}{key}[].")


def commands_with_json(command, path):
    """Yield the words that call each command with a --json option."""
    if any("--json" in option.opts for option in command.params):
        yield path
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            yield from commands_with_json(command.get_command(context, name), f"{path} {name}")


def test_a_fitted_layer_fits_its_schema(tmp_path, capsys, fits):
    for first in ("thickness_nm", "seconds"):
        rows = ("10,85,2,20", "25,73,6.5,28.7", "40,60,20,-5", "60,75,-10,0")
        table = tmp_path / f"{first}.csv"
        table.write_text("\n".join([f"{first},L,a,b", *rows]))
        fits("coat_fit", run(["coat", "--fit", str(table), "--json"], capsys))


def is_told(path, titles):
    return any(title == path or title.startswith(f"{path} ") for title in titles)


def test_every_command_with_json_has_a_schema_named_for_it():
    titles = [schema(name)["title"] for name in answers()]
    paths = list(commands_with_json(cli, "argentry"))
    assert [path for path in paths if not is_told(path, titles)] == []
    assert [t for t in titles if not any(is_told(path, [t]) for path in paths)] == []
    assert len(set(titles)) == len(titles)


def test_a_new_command_without_a_schema_is_noticed():
    group = click.Group("argentry")
    inner = click.Group("plate")
    inner.add_command(click.Command("weigh", params=[click.Option(["--json", "as_json"])]))
    inner.add_command(click.Command("hang"))
    group.add_command(inner)
    paths = list(commands_with_json(group, "argentry"))
    assert paths == ["argentry plate weigh"]
    assert not is_told(paths[0], [schema(name)["title"] for name in answers()])


@every("name", answers())
def test_every_number_says_its_unit(name):
    assert list(numbers_without_unit(schema(name))) == []


@pytest.mark.parametrize(("name", "arguments"), COMMANDS)
def test_what_a_command_prints_fits_its_schema_and_is_told(name, arguments, capsys, fits):
    fits(name, run([*arguments, "--json"], capsys))


def test_the_day_of_a_new_studio_fits_its_schema(tmp_path, capsys, fits):
    folder = tmp_path / "studio"
    with pytest.raises(SystemExit):
        main(["studio", "new", str(folder)])
    capsys.readouterr()
    fits(
        "day",
        run(["day", "2026-06-14", "--plates", "1", "--studio", str(folder), "--json"], capsys),
    )


@pytest.mark.parametrize(
    ("name", "key"),
    [("fume", "seconds_80"), ("light", "time"), ("coat_nm", "lab"), ("air", "margin_k")],
)
def test_a_missing_key_is_noticed(name, key):
    with pytest.raises(ValidationError):
        Draft202012Validator({**schema(name), "properties": {}}).validate(
            {other: None for other in schema(name)["required"] if other != key}
        )


# The keys that others build on, as the issue names them.
@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("coat_nm", "thickness_nm lab srgb colour cycle reflectance"),
        ("coat_lab", "candidates"),
        ("fume", "seconds seconds_80 iodine_mg"),
        ("light", "time elevation_deg azimuth_deg actinic_w_m2 development_w_m2 ghi_w_m2"),
        ("air", "dew_point_c margin_k"),
        ("expose", "minutes minutes_80 blur_mm stillness_mm"),
        ("develop", "end minutes minutes_80 light_suffices"),
        ("odds", "probability low high plates mostly_prior advice worth"),
        ("why_plate", "causes enough_plates"),
        ("why_studio", "causes enough_plates"),
        ("next", "change from to teaches"),
        ("need", "start certainty days cost"),
    ],
)
def test_the_promised_keys_are_required(name, keys):
    assert set(keys.split()) <= set(schema(name)["required"])


@dataclass(frozen=True)
class Base:
    """A base.

    Attributes
    ----------
    low, high : float
        Ends. [°C, K]
    """

    low: float
    high: float


@dataclass(frozen=True)
class Told(Base):
    """What is told, in one
    sentence.

    More words.

    Attributes
    ----------
    from_ : date or None
        First day; null
        when there is none.
    word : str
        A word.
    inner : tuple of Base
        Both. [nm]
    moved : Path
        Where to.
    by : dict
        By name. [1]
    pair : (str, int)
        Two things.
    """

    from_: date | None
    word: Literal["a", "b"] | None
    inner: tuple[Base, ...]
    moved: Path
    by: Mapping[str, float]
    pair: tuple[str, int]


def test_the_schema_of_a_dataclass():
    one = schema_of(Told)
    assert one["description"] == "What is told, in one sentence."
    keys = one["properties"]
    assert list(keys) == ["low", "high", "from", "word", "inner", "moved", "by", "pair"]
    assert one["required"] == list(keys)
    assert keys["low"] == {"type": "number", "unit": "°C", "description": "Ends"}
    assert keys["high"]["unit"] == "K"
    first = "First day; null when there is none"
    assert keys["from"] == {"type": ["string", "null"], "format": "date", "description": first}
    assert keys["word"]["enum"] == ["a", "b", None]
    assert keys["inner"]["items"]["properties"]["low"]["unit"] == "°C"
    assert keys["by"]["additionalProperties"] == {"type": "number"}
    assert [part["type"] for part in keys["pair"]["prefixItems"]] == ["string", "integer"]


def test_an_answer_fits_the_schema_of_its_dataclass():
    inner = (Base(1.0, math.inf),)
    told = plain(Told(1.0, 2.0, date(2026, 6, 21), "a", inner, Path("x/y"), {"m": 1.5}, ("n", 3)))
    assert told["from"] == "2026-06-21"
    assert told["inner"] == [{"low": 1.0, "high": None}]
    assert told["moved"] == "x/y"
    told["inner"][0]["high"] = 2.0
    Draft202012Validator(schema_of(Told)).validate(told)


def test_a_field_that_is_not_described_is_refused():
    @dataclass(frozen=True)
    class Silent:
        """Nothing is said of its field."""

        value: float

    assert described(Silent) == {}
    with pytest.raises(LookupError, match=r"Silent\.value is not described"):
        schema_of(Silent)


def test_the_page_is_current():
    root = Path(__file__).parents[2]
    page = runpy.run_path(str(root / "builders" / "docs_json.py"))["page"]
    assert (root / "docs" / "json.md").read_text("utf-8") == page(), "run builders/docs_json.py"
