"""The shapes of every ``--json`` answer, and the page that tells them, made from the same files."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

NAMES = (
    *("day", "light", "coat_nm", "coat_lab", "coat_colour", "fume", "expose", "develop", "air"),
    *("odds", "why_plate", "why_studio", "next", "next_compare", "need", "learn"),
    *("recipe_check", "recipe_mix", "recipe_mix_list", "studio_new", "studio_check", "bench"),
    *("plate_new", "plate_list", "plate_show", "plate_work", "plate_grade", "plate_defect"),
    "plate_defect_list",
    *("reading_add", "reading_add_list", "bath_new", "bath_use", "bath_list", "bath_discard"),
    *("stock_new", "stock_use", "stock_list"),
    *("book_check", "book_backup", "book_restore", "book_export", "book_import_archive"),
    *("book_import_table", "device_list", "device_revoke", "device_new_sensor", "demo"),
)

HEAD = """# What `--json` prints

Every command that takes `--json` prints one JSON object with it. Its shape is a JSON Schema (draft
2020-12) in `src/argentry/out/schema/`, checked in the tests against what the commands print; this
page is made from those files by `argentry.out.schemas.page()`. Bad input prints no JSON: one
sentence on the error stream, and exit code 2.

Times are ISO 8601 with an offset. A number that does not exist (a plate that is never ripe) is
`null`. Shares and probabilities run from 0 to 1. A key ending in `_80` holds the low and the high
end of the range that holds 80 % of cases. Commands may print further keys; the required ones
(marked *) stay.
"""


def schema(name: str) -> dict[str, Any]:
    """Return one schema.

    Parameters
    ----------
    name : str
        One of `NAMES`.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12; a file that refers to another one is filled from it.
    """
    one = _file(name)
    other = one.pop("$ref", None)
    return one if other is None else {**_file(other.removesuffix(".json")), **one}


def _file(name: str) -> dict[str, Any]:
    text = (files("argentry.out") / "schema" / f"{name}.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def page() -> str:
    """Return ``docs/json.md`` as the schemas tell it: every key with its kind, unit and meaning."""
    parts = [HEAD]
    for name in NAMES:
        one = _file(name)
        parts.append(f"## `{one['title']}`\n")
        if "$ref" in one:  # the same table once more would hide that it is the same
            other = _file(one["$ref"].removesuffix(".json"))["title"]
            parts.append(f"{one['description']} Keys as of `{other}`. Schema: `{name}.json`.\n")
            continue
        parts += [
            f"{one['description']} Schema: `{name}.json`.\n",
            "| key | kind | unit | meaning |\n| --- | --- | --- | --- |",
            *_rows(one, ""),
            "",
        ]
    return "\n".join(parts)


def _rows(part: dict[str, Any], above: str) -> Iterator[str]:
    required = part.get("required", ())
    for key, value in part.get("properties", {}).items():
        star = "*" if key in required and not above else ""
        name = f"{above}{key}"
        unit = value.get("unit", "")
        yield f"| `{name}`{star} | {_kind(value)} | {unit} | {value['description']} |"
        if "properties" in value:
            yield from _rows(value, f"{name}.")
        items = value.get("items", {})
        if "properties" in items:
            yield from _rows(items, f"{name}[].")


def _kind(value: dict[str, Any]) -> str:
    if "$ref" in value:
        return "object of low, middle, high"
    kinds = value["type"] if isinstance(value["type"], list) else [value["type"]]
    words = [_array(value) if kind == "array" else _plain(kind, value) for kind in kinds]
    return " or ".join(words)


def _plain(kind: str, value: dict[str, Any]) -> str:
    if kind == "string" and value.get("format") == "date-time":
        return "time"
    if kind == "string" and value.get("format") == "date":
        return "date"
    return {"string": "text", "boolean": "true or false", "integer": "whole number"}.get(kind, kind)


def _array(value: dict[str, Any]) -> str:
    kind = _many(value["items"])
    size = value.get("minItems")
    return f"{size} {kind}" if size and size == value.get("maxItems") else f"list of {kind}"


def _many(item: dict[str, Any]) -> str:
    """Return what a list holds, in the plural."""
    kind = item["type"]
    first = kind[0] if isinstance(kind, list) else kind
    if first == "array":  # of mixed things when they are told one by one
        return f"lists of {_many(item['items'])}" if "items" in item else "lists"
    told = {"date-time": "times", "date": "dates"}
    kinds = {"string": "texts", "number": "numbers", "object": "objects"}
    return told.get(item.get("format", ""), kinds[first])
