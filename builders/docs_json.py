"""Write docs/json.md: every key that a command prints with --json.

Run: python builders/docs_json.py
"""

from __future__ import annotations

from pathlib import Path

from argentry.out.json_page import page

if __name__ == "__main__":
    (Path(__file__).parents[1] / "docs" / "json.md").write_text(page(), encoding="utf-8")
    print("wrote docs/json.md")
