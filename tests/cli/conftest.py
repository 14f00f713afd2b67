"""A caller of the command line that answers code, output and errors; and a studio for it."""

from __future__ import annotations

import pytest

from argentry.cli.main import main


@pytest.fixture
def run(capsys):
    """Calls argentry with arguments; returns (exit code, output, errors)."""

    def call(*arguments):
        with pytest.raises(SystemExit) as stop:
            main([str(argument) for argument in arguments])
        told = capsys.readouterr()
        return stop.value.code, told.out, told.err

    return call


@pytest.fixture
def named_studio(tmp_path, run, monkeypatch):
    """A new studio that commands take without being told."""
    run("studio", "new", tmp_path / "studio")
    monkeypatch.setenv("ARGENTRY_STUDIO", str(tmp_path / "studio"))
    monkeypatch.delenv("ARGENTRY_BOOK", raising=False)
    return tmp_path / "studio"
