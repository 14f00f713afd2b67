"""Command lines and files made to do harm: one sentence and exit code 2 each, never a traceback.

Beside tests/web/test_hostile.py (requests). Each case runs in this process; what would hang the
command hangs the test.
"""

import json
import os
from pathlib import Path

import pytest
from tests.every import every

from argentry.cli.main import main

MEGABYTES = 500  # no case may need more
SIGNS = {
    "escape": "\x1b[31mred", "bell": "P\a1", "return": "P1\rP2", "line": "P1\nP2", "c1": "P\x9b2J",
    "override": "P\u202e1", "isolate": "P\u2067" + "1", "line separator": "P\u2028" + "1",
    "half a letter": "P\udcff",
}  # fmt: skip
TAKE_TEXT = {
    "plate new": ("plate", "new", "{}"),
    "plate show": ("plate", "show", "{}"),
    "plate grade": ("plate", "grade", "{}", "good"),
    "plate size": ("plate", "new", "P1", "--size", "{}"),
    "reading": ("reading", "{}", "20"),
    "bath": ("bath", "new", "{}"),
    "stock": ("stock", "new", "{}"),
    "odds": ("odds", "{}"),
    "why": ("why", "{}"),
    "device": ("device", "revoke", "{}"),
    "studio": ("studio", "check", "{}"),
    "import": ("book", "import", "{}"),
    "export": ("book", "export", "{}"),
    "backup": ("book", "backup", "{}"),
    "book": ("book", "check", "--book", "{}"),
    "day": ("day", "{}"),
    "weather": ("day", "--weather", "{}"),
    "lens": ("expose", "--lens", "{}"),
    "recipe": ("recipe", "{}"),
    "a command": ("{}",),
    "an option": ("day", "--{}"),
}
FILES = (
    "zero", "pipe", "deep", "dots", "junk", "empty", "folder", "none", "long", "digits", "kept",
    "inside",
)  # fmt: skip
# an answer of a weather service as it is kept, with a list for a place, and with one for a time
KEPT = {
    "form": "argentry kept answer 1", "service": "bright-sky", "latitude_deg": 42.0,
    "longitude_deg": -1.0, "elevation_m": None, "url": "", "fetched": "2026-06-20T12:00:00+00:00",
    "expires": "2026-06-20T13:00:00+00:00", "etag": "", "last_modified": "", "note": "",
    "body": json.dumps({"sources": [{"id": 1, "distance": 1}], "weather": [{"source_id": [1]}]}),
}  # fmt: skip
TAKE_FILES = {
    "studio": ("studio", "check", "{}"),
    "the studio's option": ("day", "--studio", "{}"),
    "weather": ("day", "2026-06-21", "--weather", "{}"),
    "light's weather": ("light", "--weather", "{}"),
    "its mapping": ("light", "--weather", "none.csv", "--mapping", "{}"),
    "a notebook": ("book", "import", "{}"),
    "a notebook's mapping": ("book", "import", "table.csv", "--mapping", "{}"),
    "a backup": ("book", "restore", "{}"),
    "a sheet": ("day", "2026-06-21", "--pdf", "{}/x.pdf"),
}
ADDRESSES = (
    "postgresql://[::1", "postgresql://[", "postgresql://x:99999999/y", "postgresql://x:-1/y",
    "postgresql://x:a/y", "postgresql+nothing://x/y", "nothing://x", "://", "postgresql://",
    "mysql://root@localhost/x", "sqlite:////etc/passwd", "postgresql://u:p@[::g]/x",
)  # fmt: skip
NUMBERS = ("", "-1", "nan", "inf", "1e999", "9" * 400, "-" + "9" * 30, "x", "1.5.2", "0x10", "%s")
TAKE_NUMBERS = {
    "seed": ("day", "2026-06-21", "--seed", "{}"),
    "plates": ("day", "2026-06-21", "--plates", "{}"),
    "coat": ("coat", "{}"),
    "air": ("air", "{}", "50"),
    "fume": ("fume", "--box-c", "{}"),
    "port": ("serve", "--port", "{}"),
    "need": ("need", "{}", "--by", "2026-09-30"),
}


def made_to_harm(place, file):
    """Return the name of a file made to do harm, with {ground} for where it lies."""
    if (place, file) in {("a sheet", "folder"), ("a notebook", "folder")}:
        return "{ground}/folder/none"
    if (place, file) == ("a notebook's mapping", "empty"):
        return "{ground}/empty/none"  # an empty mapping says nothing wrong
    return {"zero": "/dev/zero", "long": "a" * 5000}.get(file, "{ground}/" + file)


def put_in(words, what):
    return [word.replace("{}", what) for word in words]


# name: the words of the command, with {ground} for the folder of `lay`
LINES = {
    **{
        f"{place}, {sign}": put_in(TAKE_TEXT[place], SIGNS[sign])
        for place in TAKE_TEXT
        for sign in SIGNS
    },
    **{
        f"{place}, {file}": put_in(TAKE_FILES[place], made_to_harm(place, file))
        for place in TAKE_FILES
        for file in FILES
    },
    **{f"address {one}": ["book", "check", "--book", one] for one in ADDRESSES},
    **{
        f"{place}, {number[:20]}": put_in(TAKE_NUMBERS[place], number)
        for place in TAKE_NUMBERS
        for number in NUMBERS
    },
}


def lay(folder):
    """Lay files made to do harm, and two that do none, into a folder."""
    os.mkfifo(folder / "pipe")
    (folder / "deep").write_text("a = " + "[" * 50_000)
    (folder / "dots").write_text("a" + ".a" * 50_000 + " = 1")
    (folder / "digits").write_text("a = " + "9" * 9000)
    (folder / "junk").write_bytes(bytes(range(256)) * 100)
    (folder / "empty").write_text("")
    (folder / "folder").mkdir()
    (folder / "kept").write_text(json.dumps({**KEPT, "latitude_deg": []}))
    (folder / "inside").write_text(json.dumps(KEPT))
    (folder / "table.csv").write_text("plate,date\nP1,2026-06-21\n")


@pytest.fixture(scope="module")
def laid(tmp_path_factory):
    """A studio, and a place with files made to do harm; what is refused leaves it as it is."""
    folder = tmp_path_factory.mktemp("ground")
    with pytest.raises(SystemExit):
        main(["studio", "new", str(folder / "studio")])
    lay(folder)
    yield folder
    assert {one.name for one in folder.iterdir()} == {*FILES, "studio", "table.csv"} - {
        "zero",
        "none",
        "long",
    }


@pytest.fixture
def ground(laid, monkeypatch):
    monkeypatch.setenv("ARGENTRY_STUDIO", str(laid / "studio"))
    monkeypatch.delenv("ARGENTRY_BOOK", raising=False)
    monkeypatch.chdir(laid)
    return laid


def refused(run, words):
    """Call the command and look at what every refusal has."""
    before = memory_mb("VmRSS")
    code, _, err = run(*words)
    assert code == 2, err
    assert "Traceback" not in err
    assert err.count("\n") <= 2, err  # a note may stand before the sentence
    assert len(err) < 12_000
    shown = err.replace("\n", "")
    assert all(letter.isprintable() for letter in shown), err
    assert memory_mb("VmHWM") - before < MEGABYTES


def memory_mb(what):
    """Return what this process holds now, or held at most since that was last asked."""
    status = Path("/proc/self/status")
    if not status.exists():
        pytest.skip("NO /proc on this machine: memory is not looked at")
    found = next(row for row in status.read_text().splitlines() if row.startswith(what))
    if what == "VmRSS":
        Path("/proc/self/clear_refs").write_text("5")  # the highest mark begins anew
    return int(found.split()[1]) // 1024


@every("name", LINES)
def test_a_line_made_to_do_harm_is_refused(run, ground, name):
    refused(run, [word.replace("{ground}", str(ground)) for word in LINES[name]])
