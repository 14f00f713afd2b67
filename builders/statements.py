"""The statements of a file: imports and definitions are such, and not one node in ten is."""

from __future__ import annotations

import ast
from collections.abc import Iterator


def statements(text: str) -> Iterator[ast.stmt]:
    """Yield every statement, those inside others too; what they compute is passed over."""
    left: list[ast.AST] = [ast.parse(text)]
    while left:
        node = left.pop()
        if isinstance(node, ast.stmt):
            yield node
        for name in ("body", "orelse", "finalbody", "handlers", "cases"):
            inner = getattr(node, name, None)
            if isinstance(inner, list):  # a lambda and a choice have one expression there
                left.extend(inner)
