"""The recipes of CONTRIBUTING.md, read from its own blocks and done in a copy of the source.

A sentence that ends in a colon says where the block below it goes: into a new file, to the end of
one, before an entry of a TOML file, or in place of a line (within an entry, where one is named).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

BLOCK = re.compile(r"(?<=\n\n)([^\n`][^\n]*(?:\n[^\n]+)*:)\n\n```\w+\n(.*?)\n```\n", re.DOTALL)
ENTRY = r"(?:, in the entry `(?P<entry>\w+)`)"
PLACES = (
    r"New file `(?P<file>[^`]+)`:",
    r"At the end of `(?P<file>[^`]+)`:",
    r"In `(?P<file>[^`]+)`, before the entry `(?P<entry>\w+)`:",
    rf"In `(?P<file>[^`]+)`{ENTRY}?, in place of the line `(?P<line>[^`]+)`:",
)


@dataclass(frozen=True)
class Block:
    """What to write, into which file and where: the number of its place in `PLACES`."""

    file: str
    place: int
    text: str
    entry: str | None = None
    line: str | None = None


def recipes(page):
    """Return the blocks of each recipe of the page, by its heading."""
    _, _, part = page.partition("\n## Recipes\n")
    heads = re.split(r"\n### (.+)\n", part)[1:]
    return {head: _blocks(text) for head, text in zip(heads[::2], heads[1::2], strict=True)}


def _blocks(text):
    found = []
    for where, body in BLOCK.findall(text):
        said = " ".join(where.split())
        for number, form in enumerate(PLACES):
            if match := re.fullmatch(form, said):
                found.append(Block(place=number, text=body, **match.groupdict()))
    return found


def sent(page):
    """Return the block of JSON of the page: what a sensor sends."""
    [body] = re.findall(r"\n```json\n(.*?)\n```\n", page, re.DOTALL)
    return body


def write(block, folder):
    """Write a block into its file below a folder; its place must be there, once."""
    path = folder / block.file
    if block.place == 0:
        assert not path.exists(), path
        path.write_text(block.text + "\n", encoding="utf-8")
        return
    text = path.read_text(encoding="utf-8")
    if block.place == 1:
        text = f"{text.rstrip()}\n\n{block.text}\n"
    elif block.place == 2:
        start, _ = _entry(text, block.entry)
        text = f"{text[:start]}{block.text}\n\n{text[start:]}"
    else:
        start, end = _entry(text, block.entry) if block.entry else (0, len(text))
        lines = text[start:end].split("\n")
        [at] = [n for n, line in enumerate(lines) if line.strip() == block.line]
        text = text[:start] + "\n".join([*lines[:at], block.text, *lines[at + 1 :]]) + text[end:]
    path.write_text(text, encoding="utf-8")


def _entry(text, key):
    """Return where an entry of a TOML file starts and ends."""
    starts = [match.start() for match in re.finditer(r"^\[\[\w+\]\]$", text, re.MULTILINE)]
    for start, end in zip(starts, [*starts[1:], len(text)], strict=True):
        if f'\nkey = "{key}"\n' in text[start:end]:
            return start, end
    raise AssertionError(key)
