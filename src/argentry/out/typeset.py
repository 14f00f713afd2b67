"""Pages set by typst, from the templates and with the fonts that are shipped."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import as_file, files
from typing import Any

# how typst names a letter that no font has, and what stands in its place
LACKING = re.compile(r'the text `"(.+?)"` could not be displayed')
INVISIBLE = re.compile(r"\\u\{(\w+)\}")
NO_LETTER = "▯"
OF_UNIT = re.compile(
    r"(?<=\d) (?=× \d|(?:%|°[CF]|mm|cm|m|ft|in|min|h|W|K|g|mg|kg|mL|L)(?!\w))|(?<=\d.×) (?=\d)"
)


def with_units(words: str) -> str:
    """Return words in which no line breaks between a number and its unit, or within a size.

    Examples
    --------
    >>> with_units("half plate, 108 × 140 mm").split(" ")[-1].split()
    ['108', '×', '140', 'mm']
    """
    return OF_UNIT.sub("\u00a0", words)


@cache
def compiler(template: str, machine: bool = False) -> Any:
    """Return what sets a template; fonts of the machine only where `machine` asks for them."""
    import typst

    with as_file(files("argentry.out")) as folder:
        return typst.Compiler(
            str(folder / "templates" / template),
            root=str(folder / "templates"),
            font_paths=[str(folder / "fonts")],
            ignore_system_fonts=not machine,
        )


def pdf(template: str, inputs: Mapping[str, str]) -> bytes:
    """Return a template as a PDF/A-2b file with its fonts inside.

    All machines agree on it, as long as the shipped fonts have every letter. Others, as of a name
    in Japanese, are from the machine's fonts; those that these lack too are printed as a box.

    Parameters
    ----------
    inputs : Mapping of str to str
        Values of the template by name: words as JSON, drawings as SVG.
    """
    import typst

    try:
        return _set(compiler(template), inputs)
    except typst.TypstError as error:
        if not _lacking(error):
            raise
    try:
        return _set(compiler(template, machine=True), inputs)
    except typst.TypstError as error:
        boxes = _lacking(error)
    return _set(compiler(template, machine=True), {k: _boxed(v, boxes) for k, v in inputs.items()})


def _set(template: Any, inputs: Mapping[str, str]) -> bytes:
    return bytes(template.compile(format="pdf", sys_inputs=inputs, pdf_standards=["a-2b"]))


def _lacking(error: Any) -> dict[str, str]:
    """Return what stands in place of each letter that the fonts lack; none for another error."""
    told = LACKING.findall(error.diagnostic)
    joints = [chr(int(one, 16)) for text in told for one in INVISIBLE.findall(text)]
    letters = "".join(INVISIBLE.sub("", text) for text in told)
    return dict.fromkeys(letters, NO_LETTER) | dict.fromkeys(joints, "")


def _boxed(value: str, boxes: Mapping[str, str]) -> str:
    """Return a value with letters exchanged, as they stand or as JSON writes them."""
    for letter, box in boxes.items():
        value = value.replace(letter, box).replace(json.dumps(letter)[1:-1], box)
    return value
