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
def refused(run):
    """Calls argentry with arguments that it refuses in one sentence, and returns that."""

    def call(*arguments):
        code, out, err = run(*arguments)
        assert (code, out) == (2, "")
        assert len(err.strip().splitlines()) == 1
        assert "Traceback" not in err
        return err

    return call


@pytest.fixture
def no_studio(tmp_path, monkeypatch):
    """Stand where no studio is named."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ARGENTRY_STUDIO", raising=False)


@pytest.fixture
def studio(tmp_path, run, monkeypatch):
    """A new studio that commands take without being told."""
    run("studio", "new", tmp_path / "studio")
    monkeypatch.setenv("ARGENTRY_STUDIO", str(tmp_path / "studio"))
    monkeypatch.delenv("ARGENTRY_BOOK", raising=False)
    return tmp_path / "studio"
