"""A group of commands alone lists them, as lines; with a wrong one it says so in one sentence."""

import io
import json
import re
import subprocess
import sys
from pathlib import Path

import click
import pytest

import argentry
from argentry.cli.common import CELSIUS
from argentry.cli.main import COMMANDS, cli, main

SOURCE = Path(argentry.__file__).parent


def _command(name):
    return cli.get_command(click.Context(cli), name)


# `waste` alone tells what was made; it has commands beside that

GROUPS = [name for name in COMMANDS if hasattr(_command(name), "commands")]
ALONE = [name for name in GROUPS if _command(name).no_args_is_help]


def options(command, within):
    """Give every option of a command and of those below it, each with the words that lead there."""
    yield from ((within, one) for one in command.params if isinstance(one, click.Option))
    for name, below in getattr(command, "commands", {}).items():
        yield from options(below, f"{within} {name}")


def test_every_temperature_is_typed_in_the_studio_s_units():
    """68 in a studio of °F is 68 °F everywhere; one option of `judge coat` took it as °C."""
    every = [one for name in COMMANDS for one in options(_command(name), name)]
    warm = [(where, one) for where, one in every if "°C" in (one.help or "")]
    assert len(warm) > 8
    assert {where for where, one in warm if one.type is not CELSIUS} == set()


def test_an_option_that_a_sentence_names_is_one_of_a_command():
    """A refusal of `mix spirit` spoke of --spirit, which no command had."""
    every = [one for name in COMMANDS for _, one in options(_command(name), name)]
    known = {"--help", *(word for one in every for word in (*one.opts, *one.secondary_opts))}
    files = (one for one in SOURCE.rglob("*.py") if one.name != "sheet.py")  # it reads its own
    named = {
        (word, file.name)
        for file in files
        for word in re.findall(r"(?<![\w-])--[a-z][a-z0-9-]*", file.read_text(encoding="utf-8"))
    }
    assert len(named) > 200
    assert {one for one in named if one[0] not in known} == set()


def said(capsys, *arguments):
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    return ended.value.code, capsys.readouterr().err


@pytest.mark.parametrize("group", ["", *ALONE])
def test_a_group_alone_lists_its_commands(capsys, group):
    code, told = said(capsys, *([group] if group else []))
    assert code == 2
    lines = told.splitlines()
    assert lines[0].startswith(f"Usage: argentry {group}".rstrip())
    names = COMMANDS if not group else _command(group).commands
    listed = [line.split()[0] for line in lines if line.startswith("  ") and line.strip()]
    assert set(names) <= set(listed)
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("group", GROUPS)
def test_a_wrong_command_is_one_sentence(capsys, group):
    code, told = said(capsys, group, "no-such-thing")
    assert code == 2
    assert len(told.splitlines()) == 1
    assert "no-such-thing" in told


def test_the_package_run_by_python_is_the_command():
    told = subprocess.run(
        [sys.executable, "-m", "argentry", "coat", "--nm", "3x"],
        check=False,
        capture_output=True,
        text=True,
    )
    assert told.returncode == 2
    assert told.stderr.startswith("argentry coat: ")
    assert len(told.stderr.splitlines()) == 1


def test_a_command_that_is_stopped_by_ctrl_c_speaks_of_no_question(run, monkeypatch):
    def stopped(_context):
        raise KeyboardInterrupt

    monkeypatch.setattr(cli, "invoke", stopped)
    code, _, err = run("season")
    assert (code, err.strip()) == (130, "")


# each was taken without a word, also as -1, 1e9 or nan
CHANGES_NOTHING = {
    "air --temp 20 --rh 50 --hours -1": "--hours: it changes nothing by itself; add --box-lost-g",
    "air --temp 20 --rh 50 --room-m3 nan": "add --open-s or --headspace-l or",
    "bath use F1 P1 --size huge": "--size: it changes nothing by itself; add --count",
    "day --mapping columns.toml": "add --weather",
    "light --lat 42 --lon -1 --step -1": "add --from or --to",
    "plating current --strike-density 3": "add --strike-um",
    "season --mapping columns.toml": "add --climate",
    "studio check --mapping columns.toml": "add --weather",
    "water --us-cm 300 --hardness-unit stone": "add --hardness,",
}


@pytest.mark.parametrize("line", CHANGES_NOTHING)
def test_an_option_that_changes_nothing_is_refused(capsys, tmp_path, monkeypatch, line):
    monkeypatch.chdir(tmp_path)
    code, err = said(capsys, *line.split())
    assert code == 2
    assert CHANGES_NOTHING[line] in err


@pytest.mark.parametrize("line", [("light", "--at", ""), ("light", "--at="), ("studio", "new", "")])
def test_nothing_is_given_as_empty(capsys, tmp_path, monkeypatch, line):
    """An empty --at, of a variable that was not set, was taken as now."""
    monkeypatch.chdir(tmp_path)
    code, err = said(capsys, *line)
    assert code == 2
    assert "it is empty; give a value, or leave it out" in err


def test_a_word_that_is_not_a_number_is_told_in_a_maker_s_words(capsys):
    for line, words in {
        ("coat", "--nm", "1,5"): "'1,5' is not a number; give one such as 25 or 2.5",
        ("coat", "--cycle", "1.5"): "'1.5' is not a whole number; give one such as 2",
        (
            "label",
            "bottle",
            "--skip",
            "1.5",
        ): "not a whole number; give one such as 2 (see",
        ("serve", "--port", "99999"): "99999 is out of range; give a number from 0 to 65535",
    }.items():
        code, err = said(capsys, *line)
        assert code == 2
        assert words in err


def test_a_terminal_that_lacks_a_sign_is_written_to_all_the_same(monkeypatch):
    """With LC_ALL=C, or into a file on Windows, "°" ended in a traceback."""
    for encoding in ("ascii", "cp1252"):
        told = {}
        for form in ((), ("--json",)):
            out = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
            monkeypatch.setattr(sys, "stdout", out)
            with pytest.raises(SystemExit) as ended:
                main(["water", "--us-cm", "300", *form])
            assert ended.value.code == 0
            out.seek(0)
            told[form] = out.read()
        assert "300 " in told[()]
        assert "300 \N{MICRO SIGN}S/cm" in json.loads(told["--json",])["uses"][1]["why"][0]
