"""What is asked of one day: the same through every door, and one sentence where it cannot be."""

import io
import json
from contextlib import redirect_stdout
from dataclasses import fields as fields_of
from datetime import UTC, date, datetime
from types import SimpleNamespace

import pypdf
import pytest

import argentry
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.cli.main import main
from argentry.day.plan import make_day
from argentry.desk import house
from argentry.desk.wishes import OPTIONS, past_note, plan_day, read_wishes
from argentry.errors import BadInput, with_options
from argentry.given import argument
from argentry.keeping.studio import load_studio, new_studio
from argentry.out.day import sheet_pdf
from argentry.out.day.wished import wished_line
from argentry.records.instruments import Lamp
from argentry.records.plain import plain
from argentry.records.wishes import Sitter, Wishes
from argentry.studio.file import read_studio
from argentry.studio.text import studio_text
from argentry.studio.today import studio_today
from argentry.web import sheet

DAY = date(2026, 6, 21)

# options typed, fields of the page, the record of a notebook, and the line on the sheet
ASKED = [
    (
        "--from 9:00 --until 17:30 --break 12:00-12:30 --break 14:00-14:10 --workers 2",
        {"start": "09:00", "end": "17:30", "breaks": "12:00-12:30, 14:00-14:10", "workers": "2"},
        Wishes("09:00", "17:30", (("12:00", "12:30"), ("14:00", "14:10")), 2),
        "Only on this day: hours from 09:00; hours until 17:30; "  # noqa: ISC004
        "breaks 12:00–12:30, 14:00–14:10; 2 pairs of hands.",
    ),
    (
        "--break none --workers 1 --frames 2 --lamp",
        {"breaks": "none", "workers": "1", "frames": "2", "lamp": "500 W at 0.3 m"},
        Wishes(breaks=(), workers=1, frames=2, lamp=Lamp(500.0, 0.3)),
        "Only on this day: no break; one pair of hands; frames of the first kind: 2; "  # noqa: ISC004
        "over one more frame a halogen lamp, 500 W at 0.3 m.",
    ),
    (
        "--polished 1 --seal-later --pose-under 4min",
        {"polished": "1", "seal_later": "yes", "pose_under": "240 s"},
        Wishes(polished=1, seal_later=True, pose_under=4.0),
        "Only on this day: plates polished the evening before: 1; "  # noqa: ISC004
        "sealed and labelled another day; no pose longer than 4 min.",
    ),
    (
        "--seal-later --sitter 14:30 --sitter 11:00_name=Anna,_pose=300_s,_f=4.5,_size=sixth",
        {
            "seal_later": "yes",
            "sitters": "14:30\r\n11:00 Anna, pose=4 min 60 s, f=4.5, size=sixth\n",
        },
        Wishes(
            seal_later=True,
            sitters=(Sitter("14:30"), Sitter("11:00", "Anna", 300.0, 4.5, "sixth")),
        ),
        "Only on this day: sealed and labelled another day; sitters at 14:30, 11:00 Anna.",
    ),
    (
        "--boxes 2 --cameras 3",
        {"boxes": "2", "cameras": "3"},
        Wishes(boxes=2, cameras=3),
        "Only on this day: iodine boxes: 2; cameras: 3.",
    ),
    (
        "--seal-today --polished 0",
        {"polished": "0", "seal_later": "no"},
        Wishes(polished=0, seal_later=False),
        "Only on this day: plates polished the evening before: 0; "  # noqa: ISC004
        "sealed and labelled the same day.",
    ),
]
IDS = [row[0] for row in ASKED]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("wished") / "studio"
    new_studio(made, {"--lat": 43.0, "--lon": -2.0, "--tz": "Europe/Madrid"})
    text = (made / "studio.toml").read_text()
    assert text.count("# breaks = [[") == 1
    (made / "studio.toml").write_text(text.replace("# breaks = [[", "breaks = [["))
    return made


def steps(plan):
    return [(s.plate, s.step, s.start.isoformat(), s.end.isoformat()) for s in plan.steps]


@pytest.fixture
def few_days(monkeypatch):
    """Every door plans by 20 days and a short search: what they agree about are the steps."""
    monkeypatch.setitem(make_day.__kwdefaults__, "simulated_days", 20)
    monkeypatch.setitem(make_day.__kwdefaults__, "by_rule", True)


@pytest.mark.usefixtures("few_days")
@pytest.mark.parametrize(("typed", "fields", "wishes", "line"), ASKED, ids=IDS)
def test_each_wish_gives_the_same_day_through_every_door(
    folder, capsys, monkeypatch, typed, fields, wishes, line
):
    studio = load_studio(folder)
    plates = max(len(wishes.sitters), 1)
    notebook = argentry.plan_day(studio, DAY, plates=plates, wishes=wishes)
    assert notebook.wishes == wishes
    assert wished_line(wishes) == line

    words = [word.replace("_", " ") for word in typed.split()]
    options = [str(DAY), "--plates", str(plates), "--studio", str(folder), "--json", *words]
    options += [fields["lamp"]] if typed.endswith("--lamp") else []
    with pytest.raises(SystemExit) as end:
        main(["day", *options])
    assert end.value.code == 0
    command = json.loads(capsys.readouterr().out)
    wanted = plain(notebook)
    for key in ("steps", "breaks", "begin", "end", "wishes", "appointments"):
        assert command[key] == wanted[key], key
    # the same sentences; a notebook reads the names of its arguments where the command has options
    own = [one.name for one in fields_of(Wishes)]
    for said, read in zip(command["warnings"], wanted["warnings"], strict=True):
        assert with_options(said, lambda option, _: argument(option, own)) == read

    book = open_book(folder)
    try:
        page = house.planned_day(house.open_house(folder, book), str(DAY), plates, fields)
    finally:
        close_book(book)
    assert steps(page) == steps(notebook)

    first = typed == ASKED[0][0]
    if not first:  # one is set in type; to set and read the others takes half of the time
        monkeypatch.setattr(sheet_pdf, "pdf", lambda _, inputs: inputs["data"].encode())
    printed = SimpleNamespace(buffer=io.BytesIO())
    with redirect_stdout(printed):
        assert sheet.main([str(folder), str(DAY), str(plates), json.dumps(fields)]) == 0
    said = printed.buffer.getvalue()
    if first:
        said = pypdf.PdfReader(printed.buffer).pages[0].extract_text()
    else:
        said = json.dumps(json.loads(said), ensure_ascii=False)
    assert line.removeprefix("Only on this day: ").split(";")[0] in " ".join(said.split())

    # the same as a habit: in the studio's file, nothing wished
    habit = folder.parent / "habit.toml"
    habit.write_text(studio_text(studio_today(studio, wishes, OPTIONS)))
    own = Wishes(sitters=wishes.sitters)  # who comes today is no habit
    assert steps(plan_day(read_studio(habit), DAY, own, plates=plates)) == steps(notebook)


@pytest.mark.parametrize(
    ("field", "given", "told"),
    [
        ("start", "25:00", '"25:00" is not a clock time'),
        ("start", "9", '"9" is not a clock time'),
        ("end", "07:00", "07:00 is not after start 08:00; let the day end later, at 24:00"),
        ("breaks", "lunch", "'lunch' is not a break; write it as 12:00-13:00, or none"),
        ("breaks", "13:00-12:00", "13:00 to 12:00"),
        ("breaks", "06:00-07:00", "06:00 to 07:00 is outside the hours"),
        ("breaks", "12:00-13:00,12:30-14:00", "begins before the one before it ends"),
        ("workers", "two", "'two' is not a whole number"),
        ("workers", "0", "0 is out of range"),
        ("workers", "-1", "'-1' is not a whole number"),
        (
            "lamp",
            "500 W",
            "'500 W' is not a lamp; write its power and distance as \"500 W at 0.3 m\" or ",
        ),
        ("lamp", "0 W at 1 m", "0 is out of range"),
        ("sitters", "11h", '"11h" is not a clock time'),
        ("sitters", "11:00 40 s", "'40 s' is not something that can be said of a sitter"),
        ("sitters", "11:00 hat=red", "'hat=red' is not something that can be said of a sitter"),
        ("sitters", "11:00 f=fast", "'fast' is not a number; give a number such as 4 or 5.6"),
        ("sitters", "11:00 f=0.1", "0.1 is out of range"),
        ("sitters", "11:00 size=huge", '"huge" is not known here'),
        ("sitters", "11:00 pose=2 h", "'2 h' is not a length of time"),
        ("sitters", "11:00 pose=0 s", "0 s is out of range"),
        ("boxes", "0", "0 is out of range"),
        ("cameras", "21", "21 is out of range"),
        ("polished", "13", "13 is out of range"),
        ("seal_later", "maybe", "'maybe' is neither yes nor no; give yes or no"),
        ("pose_under", "soon", "'soon' is not a length of time; write it as 4 min or 90 s"),
        ("pose_under", "0 s", "0 is out of range"),
        ("pose_under", "2 h", "'2 h' is not a length of time"),
        ("frames", "101", "101 is out of range"),
    ],
)
def test_an_impossible_wish_is_one_sentence_that_names_it(folder, field, given, told):
    with pytest.raises(BadInput) as refused:
        plan_day(load_studio(folder), DAY, read_wishes({field: given}))
    sentence = str(refused.value)
    assert told in sentence
    assert sentence.startswith(f"{OPTIONS[field]}: ")


def test_nothing_asked_leaves_the_studio_as_it_is(folder):
    studio = load_studio(folder)
    assert read_wishes({}) == read_wishes({"start": "", "breaks": ()}) == Wishes()
    assert studio_today(studio, Wishes(), OPTIONS) == studio
    assert wished_line(Wishes()) == ""


def test_usual_breaks_outside_other_hours_fall_away_or_are_cut(folder):
    studio = load_studio(folder)

    def breaks(**wished):
        return studio_today(studio, Wishes(**wished), OPTIONS).hours.breaks

    assert breaks(start="13:00") == (("13:00", "13:15"),)
    assert breaks(end="12:00") == ()
    assert breaks(start="13:15") == ()


def test_the_command_refuses_with_exit_code_2(folder, capsys):
    with pytest.raises(SystemExit) as end:
        main(["day", str(DAY), "--studio", str(folder), "--from", "19:30"])
    assert end.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(
        "argentry: --until: 19:00 is not after start 19:30; let the day end later"
    )
    assert "Traceback" not in err


@pytest.mark.parametrize(
    ("typed", "metres"),
    [("500 W at 12 in", 0.3048), ("500 W at 1ft", 0.3048), ("500 W at 30 cm", 0.3)],
)
def test_the_lamp_may_be_as_far_as_the_maker_measures_it(typed, metres):
    """As a warning tells it in a studio of inches."""
    lamp = read_wishes({"lamp": typed}).lamp
    assert (lamp.power_w, lamp.kind) == (500.0, "halogen")
    assert lamp.distance_m == pytest.approx(metres)


@pytest.mark.parametrize(
    ("typed", "lamp"),
    [
        ("50 W red led 30 x 20 cm at 5 cm", Lamp(50.0, 0.05, "red led", 0.3, 0.2)),
        ("Red LED 50W 0.3x0.2 m at 0.05 m", Lamp(50.0, 0.05, "red led", 0.3, 0.2)),
        ("200 W bare halogen at 1 m", Lamp(200.0, 1.0, "bare halogen")),
        ("500 W 12 cm at 0.3 m", Lamp(500.0, 0.3, width_m=0.12)),
        ("12 W/m2", Lamp(reading_w_m2=12.0)),
        ("12.5 W/m² red led", Lamp(reading_w_m2=12.5, kind="red led")),
        ("900 lx under the filter, red led", Lamp(reading_lux=900.0, kind="red led")),
    ],
)
def test_a_lamp_of_the_day_has_a_kind_a_size_or_a_reading(typed, lamp):
    """Only watts and metres of a halogen lamp could be said."""
    assert read_wishes({"lamp": typed}).lamp == lamp


def test_a_day_that_is_past_is_said_to_be():
    now = datetime(2026, 6, 21, 0, 30, tzinfo=UTC)
    assert past_note(date(2026, 6, 20), now).startswith("Saturday 20 June 2026 is past: ")
    assert past_note(date(2026, 6, 21), now) == past_note(date(2026, 6, 22), now) == ""
