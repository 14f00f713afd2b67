from __future__ import annotations

import json


def test_writes_and_says_what_to_do_next(run, tmp_path):
    folder = tmp_path / "demo"
    code, out, err = run("demo", folder)
    assert (code, err) == (0, "")
    assert "invented" in out
    assert f"argentry day --studio {folder}" in out
    assert (folder / "plates.csv").is_file()


def test_json(run, tmp_path):
    code, out, _ = run("demo", tmp_path / "demo", "--json")
    made = json.loads(out)
    assert code == 0
    assert made["plates"] > 100
    assert made["sessions"] >= 45
    assert sum(made["grades"].values()) == made["plates"]
    assert all((tmp_path / "demo").joinpath(name).is_file() for name in made["files"].values())


def test_refusals_are_one_sentence(run, tmp_path):
    (tmp_path / "mine.txt").write_text("")
    for target in (tmp_path, tmp_path / "mine.txt"):
        code, out, err = run("demo", target)
        assert (code, out) == (2, "")
        assert err.count("\n") == 1
        assert err.startswith("argentry: ")


def test_no_folder_named(run):
    code, _, err = run("demo")
    assert code == 2
    assert "DIR" in err


def test_the_studio_is_read_by_the_other_commands(run, tmp_path):
    run("demo", tmp_path / "demo")
    code, out, err = run("studio", "check", tmp_path / "demo")
    assert (code, err) == (0, "")
    assert "invented" in out
    code, out, _ = run("fume", "--nm", "25", "--studio", tmp_path / "demo", "--json")
    assert code == 0
    assert json.loads(out)["seconds"] > 10
    shortest = "2026-12-21"
    code, out, _ = run("day", shortest, "--studio", tmp_path / "demo", "--plates", "1", "--json")
    plan = json.loads(out)
    assert code == 0
    assert plan["invented"] is True
    assert plan["plates_placed"] == 1
