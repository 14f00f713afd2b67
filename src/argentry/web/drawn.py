"""Drawings in a page: each made twice, for a phone and for a wider screen, one of them shown.

A server does not know how wide the screen is that asks; a style rule does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

if TYPE_CHECKING:
    from collections.abc import Callable

PHONE, WIDE = 340.0, 700.0  # px; a screen of 320 px shows type of 12 px at 11


def drawn(draw: Callable[[float], str]) -> Markup:
    """Return what `draw` makes for a width, for both widths."""
    both = f'<div class="phone">{draw(PHONE)}</div><div class="wide">{draw(WIDE)}</div>'
    return Markup(both)  # noqa: S704 - the drawing escapes every word
