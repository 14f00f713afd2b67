"""The list of names in docs/ names only what the code still has."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def names_in_code():
    names = set()
    for floor in ("physics", "records"):
        for file in (ROOT / "src/argentry" / floor).rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.arg):
                    names.add(node.arg)
                if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
                    names.add(node.target.id)
    return names


def test_every_name_listed_exists():
    page = (ROOT / "docs/nomenclature.md").read_text(encoding="utf-8")
    rows = [line for line in page.splitlines() if line.startswith("|")]
    listed = {name for row in rows for name in re.findall(r"`([a-z0-9_]+)`", row)}
    assert len(listed) > 50
    assert listed - names_in_code() == set()
