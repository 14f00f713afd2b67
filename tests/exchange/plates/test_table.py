"""Tables of plates as records: units, dates, words, and every problem by row and column."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.exchange.plates.columns import columns
from argentry.exchange.plates.mapping import PlateMapping, Source
from argentry.exchange.plates.table import plates_from, read_plate_table
from argentry.exchange.sheets.layout import Sheet
from argentry.records.ids import id_time, is_id

HEAD = ("plate", "date")


def table(head, *rows, time_zone="Europe/Madrid", today=None, **mapping):
    full = tuple((number, tuple(row)) for number, row in enumerate(rows, 2))
    sheet = Sheet("p.csv", tuple(head), full)
    return plates_from(sheet, PlateMapping(**mapping), time_zone=time_zone, today=today)


def conditions(head, row, **more):
    made = table((*HEAD, *head), ("P1", "2026-06-21", *row), **more)
    assert made.problems == ()
    return dict(made.rows[0].making.conditions)


def problems(head, row, **more):
    made = table((*HEAD, *head), ("P1", "2026-06-21", *row), **more)
    return [(problem.row, problem.column, problem.what) for problem in made.problems]


def test_a_row_becomes_a_plate_and_a_making():
    head = ("plate", "date", "session", "order", "size", "silver_um", "times_repolished")
    head += ("room_c", "stage_polish", "stage_coat", "exposure_verdict", "grade", "defects")
    head += ("remarks", "moon")
    row = ("P1", "2026-06-21", "4", "2", "half", "12.5", "3", "21", "ok", "fault", "under")
    row += ("lost", "fog@coat; under_exposed@exposure", "wind", "full")
    made = table(head, row)
    plate, making = made.rows[0].plate, made.rows[0].making
    assert (plate.label, plate.size, plate.silver_um, plate.times_repolished) == (
        "P1",
        "half",
        12.5,
        3,
    )
    assert making.plate == plate.id
    assert (making.session, making.order, making.day) == ("4", 2, date(2026, 6, 21))
    assert making.conditions == {"room_c": 21.0, "moon": "full"}
    assert making.stages == {"polish": "ok", "coat": "fault"}
    assert (making.verdict, making.grade, making.remark) == ("under", "lost", "wind")
    assert making.defects == (("fog", "coat"), ("under_exposed", "exposure"))
    assert made.own == ("moon",)


def test_without_session_and_order_the_day_and_the_rows_count():
    rows = [("P1", "2026-06-21"), ("P2", "2026-06-22"), ("P3", "2026-06-21")]
    made = table(HEAD, *rows)
    assert [(row.making.session, row.making.order) for row in made.rows] == [
        ("2026-06-21", 1),
        ("2026-06-22", 1),
        ("2026-06-21", 2),
    ]


def test_ids_follow_from_the_row_alone():
    rows = [("P1", "2026-06-21"), ("P2", "2026-06-22")]
    first, again, turned = (
        table(HEAD, *rows),
        table(HEAD, *rows),
        table(HEAD, *rows[::-1]),
    )
    ids = [row.making.id for row in first.rows]
    assert ids == [row.making.id for row in again.rows]
    assert set(ids) == {row.making.id for row in turned.rows}
    assert all(is_id(each) for each in ids)
    assert id_time(ids[0]).date() == date(2026, 6, 21)
    other = table((*HEAD, "room_c"), ("P1", "2026-06-21", "20"))
    assert other.rows[0].plate.id == first.rows[0].plate.id
    assert other.rows[0].making.id != first.rows[0].making.id


@pytest.mark.parametrize(
    ("name", "unit", "given", "kept"),
    [
        ("room_c", "°F", "68", 20.0),
        ("room_c", "K", "293.15", 20.0),
        ("silver_um", "mil", "0.5", None),
        ("fuming_seconds", "min", "1.5", 90.0),
        ("coat_to_exposure_minutes", "s", "90", 1.5),
        ("gold_age_hours", "days", "2", 48.0),
        ("fixer_age_days", "weeks", "1", 7.0),
        ("room_rh_pct", "share", "0.45", 45.0),
        ("coat_nm", "Å", "250", 25.0),
        ("cloud_okta", "tenths", "5", 4.0),
        ("water_us_cm", "mS/cm", "0.31", 310.0),
        ("meter_ev", "lx", "81920", 15.0),
        ("meter_ev", "lx", "40960", 14.0),
    ],
)
def test_units(name, unit, given, kept):
    made = table(
        (*HEAD, "x"),
        ("P1", "2026-06-21", given),
        fields={name: Source("x", unit=unit)},
    )
    assert made.problems == ()
    row = made.rows[0]
    if name == "silver_um":
        assert row.plate.silver_um == pytest.approx(12.7)  # half a thousandth of an inch
    else:
        assert row.making.conditions[name] == pytest.approx(kept, abs=1e-9)


@pytest.mark.parametrize(("given", "kept"), [("21,5", 21.5), ("21", 21.0), ("-3,25", -3.25)])
def test_decimal_comma(given, kept):
    assert conditions(["room_c"], [given], decimal=",") == {"room_c": kept}


@pytest.mark.parametrize(
    ("given", "decimal"),
    [
        *(
            ("1.23,5", ","),
            ("21.5", ","),
            ("21,5", "."),
            ("=1+1", "."),
            ("nan", "."),
            ("1_0", "."),
        ),
        *(("inf", "."), ("１２", "."), (True, "."), ("0x1F", "."), ("1e999", ".")),
    ],
)
def test_what_is_no_number(given, decimal):
    found = problems(["room_c"], [given], decimal=decimal)
    assert [(row, column) for row, column, _ in found] == [(2, "room_c")]
    assert "is not a number" in found[0][2]


def test_dates_and_times_in_the_makers_own_form():
    made = table(
        ("Nr", "Tag", "von", "bis"),
        ("P1", "21.06.2026", "13:20", "14:05"),
        fields={
            "plate": Source("Nr"),
            "date": Source("Tag", form="%d.%m.%Y"),
            "development_start": Source("von", form="%H:%M"),
            "development_end": Source("bis", form="%H:%M"),
        },
    )
    assert made.problems == ()
    assert made.rows[0].making.conditions == {
        "development_start": "2026-06-21T13:20:00+02:00",
        "development_end": "2026-06-21T14:05:00+02:00",
    }


def test_times_with_an_offset_keep_it():
    kept = conditions(["exposure_start"], ["2026-06-21T11:20:00+00:00"])
    assert kept == {"exposure_start": "2026-06-21T11:20:00+00:00"}


@pytest.mark.parametrize(
    ("day", "text", "what"),
    [
        ("2026-03-29", "2026-03-29T02:30", "did not exist in Europe/Madrid"),
        ("2026-10-25", "2026-10-25T02:30", "came twice in Europe/Madrid"),
        ("2026-06-21", "noon", "'noon' is not a time"),
        ("0026-06-21", "2026-06-21T10:00", "the year 26 is not possible"),
        ("2026-06-21", "0001-01-01T00:00", "the year 1 is not possible"),
        ("2026-06-21", "9999-12-31T23:59", "the year 9999 is not possible"),
        ("2026-06-21", "2026-13-01T10:00", "is not a time"),
    ],
)
def test_times_that_cannot_be(day, text, what):
    made = table((*HEAD, "exposure_start"), ("P1", day, text))
    assert what in made.problems[0].what
    assert made.problems[0].row == 2


def test_a_day_to_come_waits_to_be_corrected():
    rows = [
        ("P1", "2026-06-21", "2026-06-21T23:59:00+02:00"),
        ("P2", "2026-06-22", ""),
        ("P3", "2126-06-21", ""),
        ("P4", "2026-06-21", "2026-06-21T23:30:00+01:00"),  # half past midnight in the studio
    ]
    head = (*HEAD, "exposure_start")
    made = table(head, *rows, today=date(2026, 6, 21))
    assert [row.row for row in made.rows] == [2]
    assert [(one.row, one.column, one.what) for one in made.problems] == [
        (3, "date", "2026-06-22 is in the future"),
        (4, "date", "2126-06-21 is in the future"),
        (5, "exposure_start", "2026-06-22 is in the future"),
    ]
    assert table(head, *rows).problems == ()


def test_time_alone_with_a_bad_day_tells_of_the_day_too():
    made = table((*HEAD, "exposure_start"), ("P1", "soon", "13:20"))
    assert [problem.column for problem in made.problems] == ["date", "exposure_start"]


def test_every_problem_of_every_row_is_told():
    head = (*HEAD, "room_c", "grade", "defects", "cloud_okta")
    made = table(
        head,
        ("P1", "2026-06-21", "21", "good", "", "3"),
        ("", "21.6.2026", "hot", "best", "fogg@coat", "3.5"),
        ("P3", "2026-06-21", "99", "fine", "fog", "12"),
    )
    assert [row.plate.label for row in made.rows] == ["P1"]
    assert [(problem.row, problem.column) for problem in made.problems] == [
        (3, "plate"),
        (3, "date"),
        (3, "room_c"),
        (3, "cloud_okta"),
        (3, "grade"),
        (3, "defects"),
        (4, "room_c"),
        (4, "cloud_okta"),
        (4, "defects"),
    ]
    for problem in made.problems:
        sentence = problem.sentence
        assert sentence.startswith(f"row {problem.row}, column {problem.column}: ")
        assert sentence.endswith(".")
        assert "\n" not in sentence


def test_own_words_and_missing_marks():
    made = table(
        (*HEAD, "Urteil", "Fehler", "room_c"),
        ("P1", "2026-06-21", "gut", "Schleier;drying_ring@finish", "-"),
        fields={
            "grade": Source("Urteil", words={"gut": "good"}),
            "defects": Source("Fehler", words={"Schleier": "fog@development"}),
        },
        missing=("-",),
    )
    making = made.rows[0].making
    assert making.grade == "good"
    assert making.defects == (("fog", "development"), ("drying_ring", "finish"))
    assert making.conditions == {}


def test_doubles_are_told_with_the_first_row():
    made = table(
        (*HEAD, "session", "order", "size"),
        ("P1", "2026-06-21", "1", "1", "half"),
        ("P1", "2026-06-22", "2", "1", "quarter"),
        ("P3", "2026-06-22", "2", "1", "half"),
    )
    assert [(problem.row, problem.column) for problem in made.problems] == [
        (3, "plate"),
        (4, "order"),
    ]
    assert "row 2" in made.problems[0].what


def test_times_in_the_wrong_order():
    head = ("exposure_start", "development_start", "development_end")
    row = ("2026-06-21T12:00+02:00", "2026-06-21T11:00+02:00", "2026-06-21T10:00+02:00")
    found = problems(head, row)
    assert [column for _, column, _ in found] == ["development_end", "development_start"]


def test_long_texts_are_refused():
    found = problems(["remarks", "moon"], ["x" * 2001, "y" * 2001])
    assert [column for _, column, _ in found] == ["remarks", "moon"]
    assert table(HEAD, ("P" * 101, "2026-06-21")).problems[0].column == "plate"


def test_numbers_and_dates_from_a_spreadsheet_need_no_text():
    made = table((*HEAD, "session", "room_c", "moon"), (7.0, date(2026, 6, 21), 3.0, 21, True))
    assert made.problems == ()
    assert made.rows[0].plate.label == "7"
    assert made.rows[0].making.session == "3"
    assert made.rows[0].making.conditions == {"room_c": 21.0, "moon": "yes"}


def test_progress_is_told(tmp_path):
    path = tmp_path / "p.csv"
    lines = ["plate,date"] + [f"P{i},2026-06-21" for i in range(120)]
    path.write_text("\n".join(lines), encoding="utf-8")
    told = []
    read_plate_table(path, progress=lambda done, total: told.append((done, total)))
    assert told == [(50, 120), (100, 120)]


@given(
    st.dictionaries(
        st.sampled_from([column.name for column in columns()][2:]),
        st.one_of(
            st.text(max_size=20),
            st.floats(),
            st.integers(),
            st.booleans(),
            st.dates(),
            st.datetimes(),
            st.times(),
            st.none(),
        ),
        max_size=8,
    )
)
def test_any_cell_ends_as_a_value_or_as_a_problem(cells):
    made = table((*HEAD, *cells), ("P1", "2026-06-21", *cells.values()))
    assert made.total == len(made.rows) + len({problem.row for problem in made.problems}) == 1


def test_a_plate_made_twice_is_one_plate_with_two_makings():
    made = table(
        (*HEAD, "times_repolished", "given_up", "given_up_stage"),
        ("P1", "2026-06-21", "0", "no_time", "coat"),
        ("P1", "2026-06-22", "1", "", ""),
    )
    assert made.problems == ()
    first, again = made.rows
    assert first.plate == again.plate
    assert first.making.plate == again.making.plate == first.plate.id
    assert first.making.id != again.making.id
    up = first.making.given_up
    assert (up.stage, up.reason, up.outward) == ("coat", "outward", "no_time")
    assert first.making.state == "given_up"
    assert again.making.conditions == {"times_repolished": 1.0}


def test_the_same_row_twice_is_no_second_making():
    made = table(HEAD, ("P1", "2026-06-21"), ("P1", "2026-06-21"))
    assert [(one.row, one.column) for one in made.problems] == [(3, "plate")]
    assert "order" in made.problems[0].right


SECOND = "plate,date,buff_minutes\nP1,2026-06-21,8\nP2,2026-06-22,9\n\n{below}"


@pytest.mark.parametrize(
    ("below", "rows", "wrong"),
    [
        ("Iodine box,crystals\nbox 1,150\nbox 2,90\n", (2, 3), (5, 6, 7)),
        ("Iodine box,crystals\nP3,2026-06-23,7\n", (2, 3, 6), (5,)),  # words between plates
    ],
)
def test_another_table_below_the_plates_is_told_in_one_sentence(tmp_path, below, rows, wrong):
    path = tmp_path / "p.csv"
    path.write_text(SECOND.format(below=below), encoding="utf-8")
    made = read_plate_table(path)
    assert tuple(row.row for row in made.rows) == rows
    assert tuple(dict.fromkeys(problem.row for problem in made.problems)) == wrong
    told = {problem.what for problem in made.problems}
    begins = "another table begins in row 5 (Iodine box, crystals)"
    assert (told == {begins}) is (rows == (2, 3))
