"""Every door of a studio in Fahrenheit, inches and dollars, beside the same in SI units."""

from __future__ import annotations

import json
import os
import re
from contextlib import contextmanager
from types import SimpleNamespace

import pytest
from pypdf import PdfReader

from argentry.cli import common
from argentry.cli.main import main
from argentry.errors import BadInput

METRIC = re.compile(r"\d (?:°C|K|mm|cm|cm²|m)(?![\w²³/])|EUR")
DAY = ("day", "2026-06-21", "--plates", "1")
DOORS = {
    "studio check": (("studio", "check"), "Room          68 °F"),
    "air": (("air", "--rh", "95"), "warm it to"),
    "fume": (("fume", "--nm", "25"), "gap 0.79 in"),
    "expose": (("expose", "--at", "2026-06-21T12:00"), "in wide"),
    "develop": (
        ("develop", "--start", "2026-06-21T09:00", "--lamp-w", "200", "--lamp-m", "0.3"), "at 12 in"
    ),
    "light": (("light", "--at", "2026-06-21T12:00"), "656 ft"),
    "coat": (("coat", "--nm", "25"), "25.0 nm"),
    "day": (DAY, "begin at"),
    "day, all of it": ((*DAY, "--full"), "Plate at 77 to 86 °F"),
    "next, compared": (("next", "--compare", "box_c=18,24"), "Compare iodine box 64 °F and 75 °F"),
    "need": (("need", "2", "--by", "2026-09-10", "--from", "2026-09-01"), "USD"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("option", "mark", "own"),
    [
        ("--pdf", b"", b"%PDF-1.7 <</Keywords(argentry)>>"),
        ("--ics", b"", b"BEGIN:VCALENDAR\r\nPRODID:-//argentry//day sheet//EN\r\n"),
        ("--to", b"thickness_nm,red", b"thickness_nm,red\n25,0.5\n"),
    ],
)
def test_a_file_is_written_over_only_where_argentry_wrote_it(tmp_path, option, mark, own):
    """A slip of the name wrote a plan over a letter, a picture or the studio file."""
    file = tmp_path / "there"
    assert common.writable(option, str(file), mark) == file
    for mine in (b"", own):
        file.write_bytes(mine)
        assert common.writable(option, str(file), mark) == file
    file.write_bytes(b"%PDF-1.7 a letter of argentry")
    with pytest.raises(BadInput) as refused:
        common.writable(option, str(file), mark)
    assert str(refused.value) == (
        f"{option}: {file} is there already and was not written by argentry; "
        "name another file, or move it away."
    )


@pytest.fixture(scope="module")
def studios(tmp_path_factory):
    """Two folders: one of a new studio, one of the same in other units."""
    made = {}
    for name in ("si", "american"):
        folder = made[name] = tmp_path_factory.mktemp(name) / "studio"
        with pytest.raises(SystemExit):
            main(["studio", "new", str(folder)])
    file = made["american"] / "studio.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in (
        ('"celsius"\n', '"fahrenheit"\n'), ('"metric"\n', '"inch"\n'), ('"EUR"\n', '"USD"\n'),
        ("# per_euro = 1.1", "per_euro = 1.5"),
    ):  # fmt: skip
        assert text.count(old) == 1
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return made


@pytest.fixture
def doors(run, studios, monkeypatch):
    monkeypatch.setenv("COLUMNS", "160")

    def call(units, *arguments):
        code, out, err = run(*arguments, "--studio", studios[units])
        assert code == 0, err
        return out

    return call


@pytest.mark.parametrize("door", DOORS)
def test_each_door_speaks_in_the_studios_units(doors, door):
    arguments, words = DOORS[door]
    said = doors("american", *arguments)
    assert words in said
    assert METRIC.findall(said) == []


@pytest.mark.parametrize("door", ["air", "fume", "expose", "develop", "light", "day"])
def test_json_keeps_the_units_of_its_keys(doors, door):
    arguments, _ = DOORS[door]
    here, there = (json.loads(doors(units, *arguments, "--json")) for units in ("si", "american"))
    for one in (here, there):
        one.pop("units", None)
        one.pop("proof", None)  # it holds seconds of this machine
    assert here == there


def test_money_counts_in_the_studios_currency(doors):
    arguments, _ = DOORS["need"]
    here, there = (json.loads(doors(units, *arguments, "--json")) for units in ("si", "american"))
    assert (here["currency"], there["currency"]) == ("EUR", "USD")
    assert there["cost"]["money"] == pytest.approx(1.5 * here["cost"]["money"])


def test_what_is_paid_stands_instead_of_the_trades_prices(doors, studios, tmp_path):
    text = (studios["si"] / "studio.toml").read_text(encoding="utf-8")
    own = {"silver_per_g": "0.0", "gold_per_g": "0.0", "sundries_per_plate": "3.0"}
    for key, price in own.items():
        text = re.sub(rf"# {key} = .*", f"{key} = {price}", text)
    studios["paid"] = tmp_path
    (tmp_path / "studio.toml").write_text(text, encoding="utf-8")
    need = json.loads(doors("paid", *DOORS["need"][0], "--json"))
    assert need["cost"]["money"] == pytest.approx(3.0 * need["start"])


@pytest.mark.parametrize(
    ("options", "celsius"),
    [(("--temp", "68"), 20.0), (("--temp", "20C"), 20.0), (("--temp", "293.15K"), 20.0)],
)
def test_a_temperature_is_typed_in_the_studios_degrees(doors, options, celsius):
    told = json.loads(doors("american", "air", *options, "--json"))
    assert told["temperature_c"] == pytest.approx(celsius)
    # the studio may be named after the number
    assert json.loads(doors("si", "air", "--temp", "68F", "--json"))["temperature_c"] == 20.0


def test_a_length_is_typed_with_its_unit(doors):
    told = json.loads(doors("american", "fume", "--nm", "25", "--gap-mm", "1in", "--json"))
    assert told["box"]["gap_mm"] == pytest.approx(25.4)


@pytest.mark.parametrize("typed", ["warm", "68X", "nan"])
def test_what_is_not_a_temperature_is_refused(run, studios, typed):
    code, out, err = run("air", "--temp", typed, "--studio", studios["si"])
    assert (code, out) == (2, "")
    assert err.strip().startswith(
        f"argentry: --temp: '{typed}' is not a temperature; give a number"
    )


def test_a_reading_by_hand_is_typed_and_told_in_them(doors):
    assert "68 °F" in doors("american", "reading", "add", "room_c", "68")
    assert "20 °C" in doors("si", "reading", "add", "room_c", "68", "°F")
    assert "68 °F" in doors("american", "reading", "add", "room_c", "20", "°C")


def test_the_sheet_on_paper_and_the_calendar(doors, tmp_path):
    pdf, ics = tmp_path / "day.pdf", tmp_path / "day.ics"
    doors("american", *DAY, "--pdf", pdf, "--ics", ics)
    for text in (
        " ".join(" ".join(page.extract_text().split()) for page in PdfReader(pdf).pages),
        ics.read_text(encoding="utf-8").replace("\n ", ""),
    ):
        assert "Plate at 77 to 86 °F" in text
        assert METRIC.findall(text) == []


def test_another_currency_needs_its_rate_or_all_prices(run, studios, tmp_path):
    text = (studios["american"] / "studio.toml").read_text(encoding="utf-8")
    (tmp_path / "studio.toml").write_text(text.replace("per_euro", "# per_euro"), encoding="utf-8")
    code, _, err = run("studio", "check", tmp_path)
    assert code == 2
    assert "[units] per_euro: missing, though the currency is USD" in err


@pytest.mark.parametrize(("given", "left"), [(None, "1"), ("3", "3")])
def test_small_matrices_are_worked_by_one_thread_unless_told(monkeypatch, given, left):
    """With two, `why` of a plate in a book of 60 took seven times the work."""
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", given or "")
    if given is None:
        monkeypatch.delenv("OPENBLAS_NUM_THREADS")
    with pytest.raises(SystemExit):
        main(["--version"])
    assert os.environ["OPENBLAS_NUM_THREADS"] == left


@pytest.mark.parametrize("seen", [True, False])
def test_what_is_worked_on_is_said_where_somebody_sees_it(monkeypatch, seen):
    said = []

    class Screen:
        @contextmanager
        def status(self, words):
            said.append(words)
            yield SimpleNamespace(update=said.append)

    monkeypatch.setattr("sys.stderr", SimpleNamespace(isatty=lambda: seen))
    monkeypatch.setattr(common, "console", lambda stderr: Screen())
    with common.working("light") as tell:
        tell("order")
    assert said == (["light", "order"] if seen else [])
