from __future__ import annotations

import json
from pathlib import Path

EXAMPLES = Path(__file__).parents[3] / "examples"


def test_new_then_check(run, tmp_path):
    folder = tmp_path / "yard"
    code, out, err = run("studio", "new", folder, "--name", "Yard [b]studio[/b]", "--lat", "-33.5")
    assert (code, err) == (0, "")
    assert "argentry studio check" in out
    code, out, err = run("studio", "check", folder)
    assert (code, err) == (0, "")
    assert "33.5° S" in out
    assert "Yard [b]studio[/b]" in out
    assert "No mistakes found." in out


def test_json(run, tmp_path):
    code, out, _ = run("studio", "new", tmp_path / "s", "--json")
    made = json.loads(out)
    assert code == 0
    assert "site.latitude_deg" in made["change"]
    assert Path(made["file"]).is_file()
    code, out, _ = run("studio", "check", "--studio", tmp_path / "s", "--json")
    checked = json.loads(out)
    assert checked["ok"] is True
    assert checked["studio"]["lenses"][0]["f_number"] == 4.0
    assert checked["mistakes"] == []


def test_mistakes_as_json_and_as_sentences(run, tmp_path):
    (tmp_path / "studio.toml").write_text("name = 3\n", encoding="utf-8")
    code, out, err = run("studio", "check", tmp_path, "--json")
    assert code == 2
    sentences = [mistake["sentence"] for mistake in json.loads(out)["mistakes"]]
    assert err.splitlines() == [f"argentry: {sentence}" for sentence in sentences]


def test_current_folder_is_the_studio(run, tmp_path, monkeypatch):
    run("studio", "new", tmp_path / "s")
    monkeypatch.chdir(tmp_path / "s")
    monkeypatch.delenv("ARGENTRY_STUDIO", raising=False)
    code, out, _ = run("studio", "check")
    assert code == 0
    assert "My studio" in out


def test_weather_with_the_studio(run, tmp_path):
    run("studio", "new", tmp_path / "s", "--lat", "42", "--lon", "-1")
    code, out, _ = run("studio", "check", tmp_path / "s", "--weather", EXAMPLES / "forecast.csv")
    assert code == 0
    assert "48 intervals of 60 min" in out
    code, out, _ = run(
        "studio", "check", tmp_path / "s",
        "--weather", EXAMPLES / "other-columns.csv",
        "--mapping", EXAMPLES / "other-columns.toml",
        "--json",
    )  # fmt: skip
    assert code == 0
    assert json.loads(out)["weather"]["known"]["sunshine"] == 1


def test_everything_a_studio_may_say_is_shown(run, tmp_path):
    run("studio", "new", tmp_path / "s")
    file = tmp_path / "s" / "studio.toml"
    text = file.read_text(encoding="utf-8")
    for key in ("horizon =", "near_uv_transmission", "temperature_c", "[frame.lamp]", "power_w"):
        text = text.replace(f"# {key}", key)
    for key in ("distance_m", "kind", "breaks"):
        text = text.replace(f"# {key}", key)
    file.write_text(text, encoding="utf-8")
    code, out, err = run("studio", "check", tmp_path / "s")
    assert (code, err) == (0, "")
    for words in ("3 points, highest 12°", "passes 80 %", "held at 20 °C", "500 W", "12:30"):
        assert words in " ".join(out.split())


def test_help_imports_nothing_heavy():
    import subprocess
    import sys

    code = (
        "import sys\nfrom argentry.cli.main import main\n"
        "try: main(['studio', 'new', '--help'])\nexcept SystemExit: pass\n"
        "heavy = {'numpy', 'pvlib', 'pandas', 'rich'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "--elevation-m" in done.stdout
