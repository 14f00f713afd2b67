"""Every command that README and docs print is there, with its options."""

import re
from pathlib import Path

import click
import pytest

from argentry.cli.main import cli

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
SHOWN = re.compile(
    r"^(?:    |\$ )?(?:\.venv/bin/)?argentry ([a-z][^\n#]*)|`argentry ([a-z][^`\n]*)`", re.MULTILINE
)


def wrong(text):
    """Return what is wrong with a command, or nothing."""
    words = text.split()
    command, at = cli, 0
    context = click.Context(cli)
    while isinstance(command, click.Group) and at < len(words) and words[at][0] != "-":
        found = command.get_command(context, words[at])
        if found is None:
            return "" if command.invoke_without_command and at else f"no command {words[at]}"
        command, at = found, at + 1
    known = {name for one in command.params for name in (*one.opts, *one.secondary_opts)}
    given = {word.split("=")[0] for word in words[at:] if word.startswith("--")}
    return ", ".join(sorted(given - known - {"--help"}))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_printed_command_is_there(page):
    shown = [a or b for a, b in SHOWN.findall(page.read_text(encoding="utf-8"))]
    sentences = ("is laid out", "learns from", "guides no")  # its name begins a line
    found = {text: wrong(text) for text in shown if not text.startswith(sentences)}
    assert {text: what for text, what in found.items() if what} == {}
