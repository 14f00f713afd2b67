"""Write docs/json.md: every key that a command prints with --json.

Run: python builders/docs_json.py
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from argentry.out.schemas import answers, schema

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

HEAD = """# What `--json` prints

Every command that takes `--json` prints one JSON object with it. `builders/docs_json.py` makes
this page from the dataclasses that the commands print. `argentry.out.schemas.schema(name)` gives
the JSON Schema (draft 2020-12) of an answer; the tests check what the commands print against it.
Bad input prints no JSON: one sentence on the error stream, and exit code 2.

Times are ISO 8601 with an offset. A number that does not exist (a plate that is never ripe) is
`null`. Shares and probabilities run from 0 to 1. A key ending in `_80` holds the low and the high
end of the range that holds 80 % of cases. Commands may print further keys; the required ones
(marked *) stay.
"""


def page() -> str:
    """Return ``docs/json.md`` as the schemas tell it: every key with its kind, unit and meaning."""
    parts, shown = [HEAD], dict[tuple[str, ...], str]()
    for name in answers():
        one = schema(name)
        parts.append(f"## `{one['title']}`\n")
        keys = list(_rows(one, ""))
        other = shown.setdefault(tuple(keys), one["title"])
        if other != one["title"]:  # the same table once more would hide that it is the same
            parts.append(f"{one['description'].rstrip('.')}. Keys as of `{other}`.\n")
            continue
        parts += [
            f"{one['description']}\n",
            "| key | kind | unit | meaning |\n| --- | --- | --- | --- |",
            *keys,
            "",
        ]
    return "\n".join(parts)


def _rows(part: Mapping[str, Any], above: str) -> Iterator[str]:
    required = part.get("required", ())
    for key, value in part.get("properties", {}).items():
        star = "*" if key in required and not above else ""
        name = f"{above}{key}"
        unit = value.get("unit", "")
        yield f"| `{name}`{star} | {_kind(value)} | {unit} | {value['description']} |"
        if "properties" in value and not _is_range(value):
            yield from _rows(value, f"{name}.")
        items = value.get("items", {})
        if "properties" in items:
            yield from _rows(items, f"{name}[].")


def _is_range(value: Mapping[str, Any]) -> bool:
    return list(value.get("properties", ())) == ["low", "middle", "high"]


def _kind(value: Mapping[str, Any]) -> str:
    if _is_range(value):
        return "object of low, middle, high"
    kinds = value["type"] if isinstance(value["type"], list) else [value["type"]]
    words = [_array(value) if kind == "array" else _plain(kind, value) for kind in kinds]
    return " or ".join(words)


def _plain(kind: str, value: Mapping[str, Any]) -> str:
    if kind == "string" and value.get("format") == "date-time":
        return "time"
    if kind == "string" and value.get("format") == "date":
        return "date"
    return {"string": "text", "boolean": "true or false", "integer": "whole number"}.get(kind, kind)


def _array(value: Mapping[str, Any]) -> str:
    kind = _many(value["items"]) if "items" in value else "things"
    size = value.get("minItems")
    return f"{size} {kind}" if size and size == value.get("maxItems") else f"list of {kind}"


PLURALS = {
    "string": "texts",
    "number": "numbers",
    "integer": "whole numbers",
    "object": "objects",
}


def _many(item: Mapping[str, Any]) -> str:
    """Return what a list holds, in the plural."""
    kind = item["type"]
    first = kind[0] if isinstance(kind, list) else kind
    if first == "array":  # of mixed things when they are told one by one
        return f"lists of {_many(item['items'])}" if "items" in item else "lists"
    told = {"date-time": "times", "date": "dates"}
    return told.get(item.get("format", ""), PLURALS[first])


if __name__ == "__main__":
    (Path(__file__).parents[1] / "docs" / "json.md").write_text(page(), encoding="utf-8")
    print("wrote docs/json.md")
