"""Mapping files and a studio's memory as TOML: written to be read and edited by the maker."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from argentry.errors import BadInput
from argentry.exchange.notebook.draft import OWN, SKIP
from argentry.exchange.notebook.drafted import Draft, Memory
from argentry.exchange.notebook.guess import word_key
from argentry.exchange.plates.mapping import HEAD_KEYS, PlateMapping, fields
from argentry.files import toml_of, toml_value
from argentry.trade.notebook import plain_words

MAPPING_HEAD = (
    "# Drafted by argentry from {name}: what each column was taken for. Correct what is wrong,\n"
    "# then: argentry book import {name} --mapping THIS FILE. docs/import.md explains each key.\n"
)
MEMORY_HEAD = (
    "# What this studio answered when notebooks were imported; it answers for the next ones.\n"
    '# [heads] name of a column = [field, unit]; "own": a condition of yours; "skip": left out.\n'
    "# [words.FIELD] your word = ours, empty for one that says nothing.\n"
)
SECTIONS = ("decimals", "hours")  # of a mapping file, below its columns
NOT_ASKED = "# not asked yet: {text} (one of {choices})\n"


def mapping_text(mapping: PlateMapping) -> str:
    """Return a mapping as the text of a mapping file, without what goes without saying."""
    usual, lines = PlateMapping(), []
    for key in HEAD_KEYS:
        value = getattr(mapping, key)
        if key not in SECTIONS and value != getattr(usual, key):
            lines.append(f"{key} = {toml_value(value)}")
    lines += ["", "[columns]"]
    for name, source in mapping.fields.items():
        parts = [f"column = {toml_value(source.column)}"]
        parts += [f"unit = {toml_value(source.unit)}"] if source.unit else []
        parts += [f"form = {toml_value(source.form)}"] if source.form else []
        if source.words:
            pairs = ", ".join(_pairs(source.words.items()))
            parts.append("words = {{ {pairs} }}".format(pairs=pairs))
        said = toml_value(source.column) if len(parts) == 1 else "{ " + ", ".join(parts) + " }"
        lines.append(f"{name} = {said}")
    for key in SECTIONS:
        if held := getattr(mapping, key):
            lines += ["", f"[{key}]", *_pairs(held.items())]
    return "\n".join(lines) + "\n"


def _pairs(items: Iterable[tuple[str, Any]]) -> list[str]:
    """Return names of the maker's with their values as TOML has them."""
    return [f"{toml_value(name)} = {toml_value(value)}" for name, value in items]


def draft_text(name: str, draft: Draft) -> str:
    """Return a draft as a mapping file with its open questions as comments."""
    asked = [
        NOT_ASKED.format(
            text=toml_value(one.text)[1:-1], choices=", ".join(map(toml_value, one.choices))
        )
        for one in draft.questions
    ]
    return MAPPING_HEAD.format(name=name) + "".join(asked) + mapping_text(draft.mapping)


def learned(memory: Memory, draft: Draft, answers: Mapping[str, str]) -> Memory:
    """Return a memory with what a draft settled: names of columns, and words that were answered.

    A column that is still asked about is not settled, whatever was taken for it.
    """
    heads, asked = dict(memory.heads), {one.key for one in draft.questions}
    for column in draft.columns:
        if asked & {f"column:{column.name}", f"unit:{column.name}"}:
            continue
        if column.field not in (OWN, SKIP) or f"column:{column.name}" in answers:
            unit = answers.get(f"unit:{column.name}", column.unit)
            heads[plain_words(column.name)] = (column.field, unit)
    words = {field: dict(known) for field, known in memory.words.items()}
    for key, answer in answers.items():
        kind, _, rest = key.partition(":")
        field, _, word = rest.partition(":")
        if kind == "word" and field in fields():
            words.setdefault(field, {})[word_key(word)] = answer
    return Memory(heads, words)


def memory_text(memory: Memory) -> str:
    """Return a memory as TOML."""
    lines = [MEMORY_HEAD, "[heads]", *_pairs(sorted(memory.heads.items()))]
    for field, words in sorted(memory.words.items()):
        lines += ["", f"[words.{field}]", *_pairs(sorted(words.items()))]
    return "\n".join(lines) + "\n"


def memory_from(where: str, data: bytes) -> Memory:
    """Return the memory of a file's content.

    Raises
    ------
    BadInput
        If it is not TOML, or not a memory.
    """
    right = "correct it, or remove the file: argentry will ask again"
    found = toml_of(where, data)
    try:
        heads = {name: (str(one[0]), str(one[1])) for name, one in found.get("heads", {}).items()}
        words = {
            field: {word: str(ours) for word, ours in known.items()}
            for field, known in found.get("words", {}).items()
            if field in fields()
        }
    except (AttributeError, IndexError, KeyError, TypeError):
        raise BadInput(where, "it is not what argentry wrote there", right) from None
    return Memory(heads, words)
