"""Pages set by typst, from the templates and with the fonts that are shipped."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import as_file, files
from typing import Any


@cache
def compiler(template: str) -> Any:
    """Return what sets a template; fonts of the machine are not used, so all machines agree."""
    import typst

    with as_file(files("argentry.out")) as folder:
        return typst.Compiler(
            str(folder / "templates" / template),
            root=str(folder / "templates"),
            font_paths=[str(folder / "fonts")],
            ignore_system_fonts=True,
        )


def pdf(template: str, inputs: Mapping[str, str]) -> bytes:
    """Return a template as a PDF/A-2b file with its fonts inside."""
    return bytes(
        compiler(template).compile(format="pdf", sys_inputs=inputs, pdf_standards=["a-2b"])
    )
