"""What a look from the bench asks of those who read its picture; they have tests of their own."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest
from tests import bench_studio as made

from argentry.bench.state_json import iso
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.pictures.kept import add_incoming, incoming, picture_file
from argentry.desk.bench import looks
from argentry.errors import BadInput
from argentry.keeping.seeing.coat import AskedCoat
from argentry.keeping.seeing.ripening import AskedRipening
from argentry.needs.red_light import light_behind
from argentry.records.needs import StudioNow
from argentry.records.plate import Photograph


@pytest.fixture
def table(tmp_path):
    book = open_book(tmp_path)
    one = made.Table(book, made.lamp_studio())
    one.open("A1")
    one.cautions()
    yield one
    close_book(book)


@pytest.fixture
def calls(monkeypatch):
    """What was asked: each picture is kept unread, and judged by nobody."""
    told = SimpleNamespace(kept=[], judged=[], noted=[])

    def keep(book, came, label, at, *, kind, named, said):
        told.kept.append((label, at, kind, named, said))
        about = Photograph("", came.plate, kind, at, "", 0, said=said)
        return SimpleNamespace(picture=add_incoming(book, came.picture, about))

    def judge(*given):
        told.judged.append(given)
        return f"seen {len(told.judged)}"

    monkeypatch.setattr(looks, "keep_picture", keep)
    monkeypatch.setattr(looks, "judge_coat", judge)
    monkeypatch.setattr(looks, "judge_ripening", judge)
    monkeypatch.setattr(looks, "keep_judged", lambda *given: told.noted.append(given[1:]))
    return told


def came(table, content):
    picture = incoming(table.book)
    picture.write(b"\xff\xd8\xff" + content)  # begins as a JPEG does
    return SimpleNamespace(plate=table.plate().id, picture=picture)


def test_a_coat_is_looked_at_with_its_seconds_its_box_and_what_the_maker_said(table, calls):
    plate, now = table.plate(), table.clock.now
    table.up_to("iodise")
    for what, value in (("box_c", 21.0), ("box_c", 22.0), ("room_c", 19.0)):
        table.say("reading_taken", what=what, value=value, unit="°C")
    studio = StudioNow(table.studio)

    def look(content, **said):
        return looks.look_at_coat(
            table.book, studio, table.run, plate.id, came(table, content), now(), **said
        )

    assert look(b"before") == "seen 1"
    table.say("step_begun", plate.id, "iodise")
    table.wait(45.0)
    table.say("step_ended", plate.id, "iodise")
    assert look(b"plain", named="coat.jpg") == "seen 2"
    assert look(b"said", light="tungsten", bare="left", phone="N7") == "seen 3"
    said = {"light": "tungsten", "bare": "left", "phone": "N7"}
    assert [(label, kind, named, of) for label, _, kind, named, of in calls.kept] == [
        ("A1", "coat", "", {}), ("A1", "coat", "coat.jpg", {}), ("A1", "coat", "", said),
    ]  # fmt: skip
    asked = [given[3] for given in calls.judged]
    seconds = [one.seconds for one in asked]
    assert seconds == [None, pytest.approx(45.0, abs=1e-3), pytest.approx(45.0, abs=1e-3)]
    assert [replace(one, seconds=None) for one in asked] == [
        AskedCoat(None, None, box_c=22.0, own=()),
        AskedCoat(None, None, box_c=22.0, own=()),
        AskedCoat("tungsten", "left", box_c=22.0, phone="N7", own=()),
    ]
    for number, (file, name, sha256, _, of) in enumerate(calls.judged):
        assert (file, of) == (picture_file(table.book, sha256), studio)
        assert name == ("coat.jpg" if number == 1 else file.name)
    assert [(one[0], one[1]) for one in calls.noted] == [
        (plate.id, f"seen {number}") for number in (1, 2, 3)
    ]


def test_a_ripening_plate_is_looked_at_with_the_looks_before_it_and_its_light(table, calls):
    plate = table.plate()
    table.up_to("develop")
    studio = StudioNow(table.studio)
    table.wait(60.0)
    table.say("step_begun", plate.id, "develop")
    begun = table.plate().step("develop").begun

    def look(minute, **said):
        at, picture = begun + timedelta(minutes=minute), came(table, str(minute).encode())
        return looks.look_at_ripening(table.book, studio, table.run, plate.id, picture, at, **said)

    with pytest.raises(BadInput, match="does not lie under the filter"):
        look(0.5, age_s=31.0)
    look(0)
    for minute in range(1, 11):
        assert look(minute, bare="top") == f"seen {minute + 1}"
    look(10.5, age_s=360.0)
    label, at, kind, _, said = calls.kept[1]
    assert (label, at, kind) == ("A1", begun + timedelta(minutes=1), "development")
    assert said == {"seen_at": iso(begun + timedelta(minutes=1)), "bare": "top"}
    assert calls.kept[0][4] == {"seen_at": iso(begun)}
    minutes = [given[1].minutes for given in calls.judged]
    assert minutes[7] == tuple(range(8))
    assert minutes[8] == (0.0, 1.0, 2.0, 3.0, 5.0, 6.0, 7.0, 8.0)
    assert (minutes[10][0], minutes[10][-1], len(minutes[10])) == (0.0, 10.0, 8)
    assert minutes[11] == (0.0, 1.0, 2.0, 3.0, 4.0, 4.5), "those after it are not yet known"
    files, asked, habits, light, waited = calls.judged[11]
    assert asked == AskedRipening(None, None, minutes[11])
    assert [name for _, name, _ in files] == [f"the look at {m:.0f} min" for m in minutes[11]]
    assert [file for file, _, _ in files] == [picture_file(table.book, sha) for *_, sha in files]
    assert habits == table.studio.habits
    own = light_behind(table.studio, begun, table.state().constants)
    assert light.dose_at(10.0) == own.dose_at(10.0) > 0.0
    posed = table.plate().step("expose")
    assert waited == (begun - posed.ended).total_seconds() / 60.0 > 0.0
    assert calls.noted[0] == (plate.id, "seen 1", begun, "ripening")


def test_only_a_plate_of_the_run_is_looked_at(table, calls):
    with pytest.raises(BadInput, match="no such plate"):
        looks.look_at_coat(
            table.book, StudioNow(table.studio), table.run, "none", None, table.clock.now()
        )
    assert calls.kept == []
