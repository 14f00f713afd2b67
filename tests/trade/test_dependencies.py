"""Every direct dependency is explained in docs/dependencies.md, and nothing else is."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def direct():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    lines = list(project["project"]["dependencies"])
    for extra in project["project"]["optional-dependencies"].values():
        lines += extra
    for name in ("build", "dev", "tool"):
        lines += (ROOT / f"locks/{name}.in").read_text(encoding="utf-8").splitlines()
    bare = (re.match(r"[A-Za-z0-9-]+", line) for line in lines if not line.startswith("#"))
    return {match.group().lower() for match in bare if match}


def test_each_dependency_has_its_row():
    page = (ROOT / "docs/dependencies.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([^`]+)` \|", page, re.MULTILINE)
    assert len(rows) == len(set(rows))
    assert set(rows) == direct()
