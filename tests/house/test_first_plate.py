"""The path press by press in docs/: every picture is there, small, and shown."""

import re
from pathlib import Path

DOCS = Path(__file__).resolve().parents[2] / "docs"
MOST_BYTES = 30_000


def test_every_picture_is_shown_once_and_small():
    page = (DOCS / "first-plate.md").read_text(encoding="utf-8")
    shown = re.findall(r'<img src="([^"]+)"', page)
    there = sorted((DOCS / "pictures/first-plate").glob("*.png"))
    assert sorted(DOCS / name for name in shown) == there
    assert len(there) >= 8
    assert all(file.stat().st_size < MOST_BYTES for file in there)


def test_the_presses_are_numbered_through():
    page = (DOCS / "first-plate.md").read_text(encoding="utf-8")
    numbers = [int(one) for one in re.findall(r"^(\d+)\. \*\*", page, re.MULTILINE)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert 20 < len(numbers) <= 60
