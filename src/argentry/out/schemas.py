"""The shapes of every ``--json`` answer, and the page that tells them, made from the same files."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

NAMES = (
    *("day", "light", "coat_nm", "coat_lab", "coat_colour", "fume", "expose", "develop", "air"),
    *("odds", "why_plate", "why_studio", "next", "need", "learn"),
)

HEAD = """# What `--json` prints

Every command prints one JSON object. Its shape is a JSON Schema (draft 2020-12) in
`src/argentry/out/schema/`, checked in the tests against what the commands print; this page is made
from those files by `argentry.out.schemas.page()`.

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
        JSON Schema, draft 2020-12.
    """
    text = (files("argentry.out") / "schema" / f"{name}.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def page() -> str:
    """Return ``docs/json.md`` as the schemas tell it: every key with its kind, unit and meaning."""
    parts = [HEAD]
    for name in NAMES:
        one = schema(name)
        parts += [
            f"## `{one['title']}`\n",
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
    item = value["items"]["type"]
    first = item[0] if isinstance(item, list) else item
    kinds = {"string": "texts", "number": "numbers", "object": "objects", "array": "lists of texts"}
    told = {"date-time": "times", "date": "dates"}
    kind = told.get(value["items"].get("format", ""), kinds[first])
    size = value.get("minItems")
    return f"{size} {kind}" if size and size == value.get("maxItems") else f"list of {kind}"
