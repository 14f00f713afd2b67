"""A file that the docs or a comment name is there: rooms move, and old names stay behind."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
NAMED = re.compile(r"\b(?:[a-z_]+/)+[a-z_]+\.(?:py|js)\b")
READ = [
    *(ROOT / "docs").glob("*.md"), *(ROOT / "builders").glob("*.py"), ROOT / "README.md",
    *(ROOT / "src").rglob("*.py"), *(ROOT / "src").rglob("*.js"), *(ROOT / "src").rglob("*.toml"),
]  # fmt: skip


def test_every_file_that_is_named_is_there():
    there = [
        "/" + path.relative_to(ROOT).as_posix()
        for folder in ("src", "tests", "builders", "benchmarks")
        for path in (ROOT / folder).rglob("*.[pj]*")
    ]
    known = "\n".join(there) + "\n"
    gone = {
        (path.name, name)
        for path in READ
        for name in NAMED.findall(path.read_text(encoding="utf-8"))
        if f"/{name}\n" not in known
    }
    assert gone == set()
