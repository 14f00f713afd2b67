"""The public API: light to import, typed, and its notebook in the docs says what it does."""

import doctest
import subprocess
import sys
from dataclasses import is_dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

import argentry
from argentry import api

NOTEBOOK = Path(__file__).parents[1] / "docs" / "notebook.md"


def test_importing_argentry_loads_nothing_of_it():
    said = "import sys, argentry; print(sorted(m for m in sys.modules if 'argentry' in m or m in "
    said += "('numpy', 'scipy', 'sqlalchemy', 'ortools')))"
    done = subprocess.run([sys.executable, "-c", said], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['argentry', 'argentry.version']"


def test_every_public_name_is_there_and_no_other():
    assert set(api.__all__) == argentry.PUBLIC
    for name in api.__all__:
        assert getattr(argentry, name) is getattr(api, name)
    with pytest.raises(AttributeError, match="no attribute 'moon'"):
        _ = argentry.moon


def test_a_notebook_completes_the_public_names_before_one_is_used():
    """`argentry.` and the tab key offered "Any" and "PUBLIC", and no function."""
    assert set(dir(argentry)) >= argentry.PUBLIC


def test_a_moment_of_numpy_is_one():
    """It was refused as "not a date with a time; give both, as" what it was."""
    from argentry.api import _moment
    from argentry.sky.place import resolve_place

    place = resolve_place(None, 42.0, -1.0, tz="Europe/Madrid")
    eleven = datetime(2026, 6, 21, 11, tzinfo=UTC)
    for unit in ("h", "s", "us", "ns"):
        assert _moment("when", np.datetime64("2026-06-21T13:00", unit), place) == eleven
    for no_time in (np.datetime64("2026-06-21"), np.datetime64("NaT")):
        with pytest.raises(argentry.BadInput, match=r"when: .* is not a date with a time"):
            _moment("when", no_time, place)


def test_the_notebook_of_the_docs_says_what_it_does():
    with np.printoptions(legacy=False):
        failed, tried = doctest.testfile(str(NOTEBOOK), module_relative=False)
    assert failed == 0
    assert tried > 10


def test_files_are_named_by_words_as_well(tmp_path):
    """A notebook has the folder as a string: `load_plates` took it, `load_studio` fell over."""
    from argentry.keeping.studio import new_studio

    folder = tmp_path / "studio"
    new_studio(folder, {})
    assert argentry.load_studio(str(folder)) == argentry.load_studio(folder)
    with pytest.raises(argentry.BadInput, match="a file, not a studio folder; name the folder"):
        argentry.load_plates(__file__)  # it said: make one with argentry studio new
    with pytest.raises(argentry.BadInput, match=r"none\.csv"):
        argentry.read_weather(str(tmp_path / "none.csv"))


def test_a_day_is_planned_from_a_studio(tmp_path):
    from argentry.keeping.studio import new_studio

    new_studio(tmp_path / "studio", {})
    studio = argentry.load_studio(tmp_path / "studio")
    plan = argentry.plan_day(studio, date(2026, 6, 21), plates=1, effort=0.2, simulated_days=10)
    assert is_dataclass(plan)
    assert plan.plates_placed == 1


def test_what_is_wished_of_one_day_is_asked_with_plain_values(tmp_path):
    from argentry.keeping.studio import new_studio

    new_studio(tmp_path / "studio", {})
    studio = argentry.load_studio(tmp_path / "studio")
    wishes = argentry.Wishes(
        start="09:30", breaks=(), workers=2, seal_later=True,
        sitters=(argentry.Sitter("12:00", "Anna", f_number=4.0),),
    )  # fmt: skip
    plan = argentry.plan_day(
        studio, date(2026, 6, 21), plates=1, wishes=wishes, effort=0.2, simulated_days=10
    )
    assert plan.begin.strftime("%H:%M") == "09:30"
    (anna,) = plan.appointments
    assert anna.pose_start.strftime("%H:%M") == "12:00"
    with pytest.raises(argentry.BadInput, match=r"^workers: 0 is out of range"):
        argentry.plan_day(studio, date(2026, 6, 21), wishes=argentry.Wishes(workers=0))


def test_words_of_a_notebook_are_dates_or_are_refused_in_a_sentence(tmp_path, monkeypatch):
    """A date as ISO text is taken; other text ended in a TypeError from deep inside."""
    from argentry.keeping.studio import new_studio

    new_studio(tmp_path / "studio", {})
    studio = argentry.load_studio(tmp_path / "studio")
    noon = argentry.expose("2026-06-21T13:00+00:00", studio)
    assert noon == argentry.expose(datetime(2026, 6, 21, 13, tzinfo=UTC), studio)
    days = []
    monkeypatch.setattr(api, "plan_wished", lambda _studio, day, *_, **__: days.append(day))
    for day in ("2026-06-21", date(2026, 6, 21), datetime(2026, 6, 21, 13, tzinfo=UTC)):
        argentry.plan_day(studio, day)
    assert days == [date(2026, 6, 21)] * 3
    for refused, said in (
        (lambda: argentry.coat("25"), "'25' is text; give a number, without quotes"),
        (lambda: argentry.fume("25"), "'25' is text"),
        (lambda: argentry.fume(25, gap_mm="20"), "gap_mm: '20' is text"),
        (lambda: argentry.expose("noon", studio), "when: 'noon' is not a date with a time; give"),
        (
            lambda: argentry.develop(date(2026, 6, 21), studio),
            "start: '2026-06-21' is not a date w",
        ),
        (lambda: argentry.expose("2026-06-21T13:00", studio, f_number="4"), "f_number: '4' is tex"),
        (lambda: argentry.plan_day(studio, "May"), "day: 'May' is not a date; give one as 2026"),
        (lambda: argentry.plan_day(studio, date(2026, 6, 21), plates="3"), "plates: '3' is text"),
    ):
        with pytest.raises(argentry.BadInput, match=said):
            refused()


@pytest.mark.parametrize(
    ("name", "given", "named", "said"),
    [
        ("coat", (None,), {}, "nm: None is not a number; give a number."),
        ("coat", ([25],), {}, "nm: [25] is not a number; give a number."),
        ("coat_of_word", (3,), {}, "word: 3 is not text; give text."),
        ("coats_of_colour", ((50.0, 1.0),), {}, "lab: (50.0, 1.0) is not three numbers; give"),
        ("fume", (25,), {"gap": 20}, "gap: there is no argument gap; did you mean gap_mm."),
        ("fume", (25,), {"gap_mm": [20]}, "gap_mm: [20] is not a number"),
        ("air", (20,), {}, "air: too many positional arguments; help(argentry.air) lists what"),
        ("odds", ("demo",), {}, "odds: missing a required argument: 'label'; help(argentry.odds)"),
        ("why", ("demo", "P1"), {}, "gathered: 'demo' is not plates, from load_plates; give"),
        ("light", ("demo",), {}, "studio: 'demo' is not a studio, from load_studio or None;"),
        ("load_studio", (None,), {}, "path: None is not a path or text; give a path or text."),
    ],
)
def test_a_wrong_argument_is_one_clear_sentence(name, given, named, said):
    """Each ended in a TypeError or AttributeError from deep inside, of a name nobody had used."""
    with pytest.raises(argentry.BadInput) as refused:
        getattr(argentry, name)(*given, **named)
    assert str(refused.value).startswith(said)


def test_numbers_of_other_libraries_are_numbers():
    assert argentry.coat(np.int64(25)) == argentry.coat(np.float32(25)) == argentry.coat(25)
    seen = (70.0, 5.0, 30.0)
    whole, same = (argentry.coats_of_colour(lab) for lab in (seen, np.array(seen)))
    assert argentry.plain(whole) == argentry.plain(same)


def test_a_slip_in_what_is_asked_of_a_day_is_a_sentence(tmp_path):
    from argentry.keeping.studio import new_studio

    new_studio(tmp_path / "studio", {})
    studio = argentry.load_studio(tmp_path / "studio")
    for how, said in (
        ({"efort": 0.2}, "efort: there is no argument efort; did you mean effort."),
        ({"effort": "much"}, "effort: 'much' is text; give a number, without quotes."),
        ({"wishes": argentry.Wishes(sitters=("11:00",))}, "sitters: '11:00' is not a Sitter; give"),
    ):
        with pytest.raises(argentry.BadInput) as refused:
            argentry.plan_day(studio, "2026-06-21", **how)
        assert str(refused.value).startswith(said)


@pytest.mark.parametrize(
    ("name", "given", "named", "said"),
    [
        ("fume", (25,), {}, "box_temperature_c: the crystals' temperature is not given"),
        ("fume", (25,), {"gap_mm": -1}, "gap (gap_mm): -1 mm is out of range"),
        ("expose", ("2026-06-21T13:00",), {"lat": 42}, "lon: only one of lat and lon is given"),
        ("expose", ("2026-06-21T01:00",), {"lat": 42, "lon": 0, "f_number": 4}, "when: the middle"),
        (
            "develop",
            ("2026-06-21T13:00",),
            {"lat": 42, "lon": 0, "lamp_w": 9},
            "lamp_kind: lamp_m is missing; give lamp_w and lamp_m, or what was read",
        ),
        ("light", (None,), {"lat": 42, "lon": 0}, "the time: none is given; give at, or start and"),
        ("load_plates", (), {}, "plates: there is no studio here; name a studio with studio, or"),
    ],
)
def test_a_sentence_names_the_arguments_of_its_function(name, given, named, said, monkeypatch):
    """Each named options of the command: "--box-temp", "--lamp", "--from TIME --to TIME"."""
    monkeypatch.chdir("/")
    if name == "fume":
        named = {"box_temperature_c": 20, "box_factor": 1} | named if named else {}
    with pytest.raises(argentry.BadInput) as refused:
        getattr(argentry, name)(*given, **named)
    assert str(refused.value).startswith(said)
    assert "--" not in str(refused.value)


def test_every_option_of_a_command_has_the_name_of_an_argument():
    """A rule, not a list: an option that a function takes leads to its own argument there."""
    from argentry.cli.work.develop import develop
    from argentry.cli.work.expose import expose
    from argentry.cli.work.fume import fume
    from argentry.given import argument
    from argentry.needs.camera import Camera
    from argentry.needs.frame import Frame
    from argentry.needs.fume import Fuming

    for command, record in ((fume, Fuming), (expose, Camera), (develop, Frame)):
        names = tuple(record.__dataclass_fields__)
        told = {one.name: one.opts[-1] for one in command.params if one.name in names}
        assert len(told) > 8
        for name, option in told.items():
            assert argument(option.removeprefix("--"), names) == name


def test_an_answer_names_arguments_and_leaves_whole_commands(monkeypatch):
    """What would help a day that does not fit named `--workers 2`, in a notebook too."""
    from argentry.given import _said, checked
    from argentry.records.wishes import Sitter

    answer = checked("told", Sitter)(lambda: Sitter("11:00", "more (--name 2); argentry day --f"))()
    assert answer.name == "more (name=2); argentry day --f"
    same = Sitter("11:00")
    assert _said(same, str.upper) is same
