from __future__ import annotations

import json

import pytest

from argentry.cli.main import main


@pytest.fixture
def studio(tmp_path, capsys):
    folder = tmp_path / "studio"
    _call("studio", "new", str(folder))
    capsys.readouterr()
    return folder


def _call(*arguments):
    with pytest.raises(SystemExit) as stop:
        main(list(arguments))
    return stop.value.code


def test_a_sensors_token_is_shown_once(studio, capsys):
    assert _call("device", "new-sensor", "thermometer", "--studio", str(studio)) == 0
    said = capsys.readouterr()
    token = said.out.strip()
    assert len(token) == 43
    assert "shown only once" in said.err
    assert _call("device", "list", "--studio", str(studio)) == 0
    shown = capsys.readouterr().out
    assert "thermometer" in shown
    assert "send readings" in shown
    assert token not in shown


def test_shut_out_by_name(studio, capsys):
    _call("device", "new-sensor", "thermometer", "--studio", str(studio), "--json")
    made = json.loads(capsys.readouterr().out)
    assert _call("device", "revoke", "thermometer", "--studio", str(studio)) == 0
    assert "revoked" in capsys.readouterr().out
    _call("device", "list", "--studio", str(studio), "--json")
    [row] = json.loads(capsys.readouterr().out)["devices"]
    assert row["id"] == made["id"]
    assert row["revoked"]


def test_nobody_was_let_in(studio, capsys):
    assert _call("device", "list", "--studio", str(studio)) == 0
    assert "No device is paired yet" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [
        ("device", "revoke", "nobody"),
        ("device", "new-sensor", " "),
        ("device", "list", "--book", "mysql://x/y"),
        ("serve", "--host", "no.such.host.invalid"),
        ("serve", "--port", "70000"),
        ("serve", "--name", "a b"),
        ("serve", "--mqtt", "http://x", "--port", "0"),
    ],
)
def test_bad_input_is_one_sentence_and_code_2(studio, capsys, arguments):
    assert _call(*arguments, "--studio", str(studio)) == 2
    said = capsys.readouterr()
    assert len(said.err.strip().splitlines()) == 1
    assert said.err.strip().endswith(".")


def test_without_a_studio(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for command in (("serve",), ("device", "list")):
        assert _call(*command) == 2
        assert "there is no studio here" in capsys.readouterr().err
