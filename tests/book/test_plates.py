"""Plates, their work and their makings; what was said stays, the last word counts; both stores."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import text, update
from sqlalchemy.exc import DBAPIError
from tests.edges import is_taken_within
from tests.judging import judge

from argentry.book import makings, plate_list, plates, tables
from argentry.book.care.doctor import check
from argentry.book.engine import reading, writing
from argentry.book.judgements import Judgement
from argentry.book.makings import rejudge
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.records.plate_record import PlateWork

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def plate(label, **more):
    return Plate(new_id(), label, **more)


def making(of, **more):
    return Making(new_id(), of.id, None, "morning", 1, date(2026, 6, 21), **more)


@pytest.fixture
def one(book):
    made = plate(
        "A 1",
        size="half",
        made_on=date(2026, 5, 2),
        silver_um=4.5,
        silver_source="lot 7",
        times_repolished=2,
        remark="scratch at the left",
    )
    assert plates.add_plate(book, made)
    return made


def test_a_plate_comes_back_as_it_was(book, one):
    bare = plate("A 0")
    plates.add_plate(book, bare)
    assert plates.plates(book) == [bare, one]
    assert plates.plate_by_label(book, "A 1") == one
    assert plates.plate_by_label(book, "A 2") is None


def test_makings_of_some_days_and_the_first_of_each_plate(book, one):
    other = plate("B 1")
    plates.add_plate(book, other)
    days = [date(2026, 6, day) for day in (20, 21, 22)]
    made = [replace(making(of), day=day) for of, day in zip((one, one, other), days, strict=True)]
    plates.add_makings(book, made)
    assert plates.makings(book, days=(days[1], days[2])) == made[1:]
    assert plates.makings(book, days=(days[0], days[1])) == made[:2]
    assert sorted(makings.days_made(book)) == days
    assert makings.first_made(book, days[0], days[2]) == {one.id: days[0], other.id: days[2]}
    assert makings.first_made(book, days[1], days[2]) == {other.id: days[2]}
    assert makings.first_made(book, days[0], days[0]) == {one.id: days[0]}


def test_the_same_plate_again_is_no_second_one(book, one):
    assert not plates.add_plate(book, one)
    assert plates.add_plates(book, [one, plate("B 1"), one, plate("C 1")]) == 2
    assert len(plates.plates(book)) == 3


@pytest.mark.parametrize("change", ["label", "id"])
def test_a_label_or_id_belongs_to_one_plate(book, one, change):
    other = plate("A 1") if change == "label" else replace(one, label="B 1")
    with pytest.raises(BadInput, match="for another plate"):
        plates.add_plates(book, [plate("C 1"), other])
    assert plates.plates(book) == [one]


@pytest.mark.parametrize(
    "bad",
    [
        {"label": " "},
        {"label": "x" * 101},
        {"label": "a\0b"},
        {"silver_um": float("nan")},
        {"silver_um": -1.0},
        {"times_repolished": -1},
        {"remark": "\ud800"},
    ],
)
def test_a_bad_plate_is_refused(book, bad):
    with pytest.raises(BadInput):
        plates.add_plate(book, replace(plate("X"), **bad))
    assert plates.plates(book) == []


def test_polishing_back_counts(book, one):
    work = PlateWork(new_id(), one.id, "polished_back", NOON, "M", "rouge, 20 min")
    assert plates.add_work(book, work)
    assert not plates.add_work(book, work)
    plates.add_work(book, PlateWork(new_id(), one.id, "recoated", NOON + timedelta(hours=1)))
    assert plates.plate_by_label(book, "A 1").times_repolished == 3
    assert [item.kind for item in plates.works(book, one.id)] == ["polished_back", "recoated"]
    assert plates.works(book) == plates.works(book, one.id)
    with pytest.raises(BadInput, match="taken"):
        plates.add_work(book, replace(work, remark="other"))
    with pytest.raises(BadInput, match="is not a kind of work"):
        plates.add_work(book, replace(work, id=new_id(), kind="eaten"))
    with pytest.raises(BadInput, match="not in the book"):
        plates.add_work(book, replace(work, id=new_id(), plate="nobody"))


def test_a_making_comes_back_as_it_was(book, one):
    whole = making(
        one,
        commissioned=True,
        conditions={"room_c": 18.5, "coat_nm": 27.0, "humour": "good, 3 µm"},
        stages={"polish": "ok", "coat": "fault"},
        verdict="under",
        grade="study",
        defects=(("fog", "coat"), ("scratch", "polish")),
        remark="first of the day",
    )
    bare = replace(making(one), order=2)
    assert plates.add_makings(book, [bare, bare, whole]) == 2, "named twice it is one"
    assert plates.makings(book) == [whole, bare]
    assert plates.makings(book, one.id) == [whole, bare]
    assert plates.makings(book, "nobody") == []
    assert not plates.add_making(book, replace(whole, remark="again"))
    assert plates.makings(book) == [whole, bare]


def test_the_last_word_counts_and_the_first_is_kept(book, one):
    made = making(one, grade="good")
    plates.add_making(book, made, by="M", at=NOON)
    judge(book, made.id, grade="fine", verdict="over", stages={"coat": "fault"})
    judge(book, made.id, verdict=None, stages={"coat": "ok", "finish": "ok"}, by="N")
    judge(book, made.id, stages={"coat": "ok"}, defects=(("fog", "coat"), ("fog", "coat")))
    judge(book, made.id, defects=(("fog", "coat"), ("scratch", "polish")))
    judge(book, made.id, defects=(("scratch", "polish"),))
    (now,) = plates.makings(book)
    assert (now.grade, now.verdict, dict(now.stages)) == ("fine", None, {"coat": "ok"})
    assert now.defects == (("scratch", "polish"),)
    with reading(book) as connection:
        said = connection.execute(text("SELECT grade, who FROM grade ORDER BY seq")).all()
    assert [tuple(row) for row in said] == [("good", "M"), ("fine", "M")]
    assert check(book) == []


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"grade": "superb"}, "lost, study, good, fine"),
        ({"verdict": "dark"}, "blank, under"),
        ({"stages": {"lunch": "ok"}}, "polish, coat"),
        ({"stages": {"coat": "so so"}}, "ok, fault"),
        ({"defects": (("f" * 101, "coat"),)}, "101 letters"),
    ],
)
def test_words_that_are_not_known_are_refused(book, one, wrong, says):
    made = making(one)
    plates.add_making(book, made)
    with pytest.raises(BadInput, match=says):
        judge(book, made.id, **wrong)
    with pytest.raises(BadInput, match=says):
        plates.add_making(book, replace(making(one), **wrong))
    assert plates.makings(book) == [made]


def test_a_making_that_is_not_there_cannot_be_judged(book):
    with pytest.raises(BadInput, match="not in the book"):
        rejudge(book, "nobody", Judgement("good"), "M")


def test_a_making_of_no_plate_is_refused_with_all_that_came_with_it(book, one):
    with pytest.raises(BadInput, match="its plate is not in the book"):
        plates.add_makings(book, [making(one), making(plate("Z"))])
    assert plates.makings(book) == []


@pytest.mark.parametrize("table", ["grade", "verdict", "stage", "defect"])
def test_the_store_refuses_to_change_what_was_said(book, one, table):
    made = making(
        one, grade="good", verdict="right", stages={"coat": "ok"}, defects=(("fog", "coat"),)
    )
    plates.add_making(book, made)
    for sql in (f"UPDATE {table} SET who = 'x'", f"DELETE FROM {table}"):
        with pytest.raises(DBAPIError, match="never changed"), book.engine.begin() as connection:
            connection.execute(text(sql))
    assert plates.makings(book) == [made]


def test_the_store_keeps_its_links(book, one):
    """A making of no plate cannot get in past the functions either."""
    columns = "id, plate, session, place, day, commissioned, conditions, remark, state, given_up"
    values = "'o', 'nobody', '', 1, '2026-01-01', 0, '{}', '', 'finished', '{}'"
    with pytest.raises(DBAPIError), book.engine.begin() as connection:
        connection.execute(text(f"INSERT INTO making ({columns}) VALUES ({values})"))


def test_the_newest_makings_come_with_all_that_was_said_of_them(book, one):
    days = [date(2026, 6, n) for n in (3, 1, 5, 2, 4)]
    made = [replace(making(one, grade="good"), day=day) for day in days]
    plates.add_makings(book, made)
    judge(book, made[2].id, grade="lost", defects=(("fog", "develop"),))
    judge(book, made[4].id, stages={"coat": "ok"})
    every = plates.makings(book)
    assert [item.day.day for item in every] == [1, 2, 3, 4, 5]
    assert plates.makings(book, newest=2) == every[-2:]
    assert every[-1].defects == (("fog", "develop"),)
    assert every[-2].stages == {"coat": "ok"}
    assert plates.makings(book, one.id, newest=3) == every[-3:]
    assert plates.makings(book, newest=99) == every


def test_some_plates_by_their_ids(book, one):
    others = [plate(f"B {n}") for n in range(3)]
    plates.add_plates(book, others)
    plates.add_work(book, PlateWork(new_id(), one.id, "polished_back", NOON, "maker", ""))
    assert plates.plates(book, {others[2].id, one.id}) == [
        replace(one, times_repolished=one.times_repolished + 1),
        others[2],
    ]
    assert plates.plates(book, ()) == []
    assert plates.names_and_sizes(book)[0] == (one.id, "A 1", "half")


def test_plates_are_listed_by_their_numbers(book):
    """V1, V10, V2 was the order at every door."""
    labels = ("V1", "V2", "V10", "V10 b", "2026-06-21/9", "2026-06-21/10", "7", "12")
    plates.add_plates(book, [plate(label) for label in sorted(labels)])
    all_of_them = plates.plates(book)
    for door in (
        [one.label for one in all_of_them],
        [one.label for one in plates.plates(book, [one.id for one in all_of_them])],
        [label for _, label, _ in plates.names_and_sizes(book)],
        [one.label for one in plate_list.plate_page(book, "", 0, 99)[0]],
    ):
        for own in (("V1", "V2", "V10"), ("2026-06-21/9", "2026-06-21/10"), ("7", "12")):
            assert [label for label in door if label in own] == list(own)


def test_the_thinnest_are_those_that_one_more_repolish_may_wear_through(book):
    """Of 2 um each and 3 um to be left: 5 um for the next, and 2 more for each one before."""
    for label, silver, before, backs in (
        ("next", 4.9, 0, 0), ("just", 5.0, 0, 0), ("before", 6.9, 1, 0), ("back", 6.9, 0, 1),
        ("both", 9.0, 1, 1), ("unknown", None, 0, 0), ("others", 8.9, 0, 1),  # polished by others
    ):  # fmt: skip
        made = plate(label, silver_um=silver, times_repolished=before)
        plates.add_plate(book, made)
        for _ in range(backs):
            plates.add_work(book, PlateWork(new_id(), made.id, "polished_back", NOON))
    known = {one.id: one.label for one in plates.plates(book)}
    thin = plates.thinnest(book, 2.0, 3.0)
    assert {known[one] for one in thin} == {"next", "before", "back"}


def test_numbers_of_a_plate_go_so_far(book):
    def add(**more):
        plates.add_plate(book, plate(new_id(), **more))

    is_taken_within(lambda x: add(silver_um=x), 0.0, 5000.0, open_low=True)
    is_taken_within(lambda n: add(times_repolished=n), 0, 1000, step=1)
    for wrong in ({"label": " "}, {"id": ""}):
        with pytest.raises(BadInput, match="it has no label"):
            plates.add_plate(book, replace(plate("A 1"), **wrong))


def test_makings_are_counted_by_their_days_and_withdrawn_ones_are_none(book, one):
    other = plate("B 2")
    plates.add_plate(book, other)
    days = [date(2026, 6, n) for n in (20, 21, 21, 22, 23)]
    made = [
        replace(making(whose), day=day, session=f"{day}", order=n)
        for n, (whose, day) in enumerate(zip((one, one, other, one, other), days, strict=True), 1)
    ]
    plates.add_makings(book, made)
    assert makings.last_place(book, "2026-06-21") == 3
    assert makings.last_place(book, "2026-06-24") == 0
    with writing(book) as connection:
        gone = tables.making.c.id == made[-1].id
        connection.execute(update(tables.making).where(gone).values(state="withdrawn"))
    spans = [(days[0], days[1]), (days[1], days[1]), (days[3], days[4]), (days[4], days[4])]
    assert makings.counts_between(book, spans) == [3, 2, 1, 0]
    assert makings.counts_between(book, []) == []
    assert makings.count_between(book, days[0], days[-1]) == 4
    zone = ZoneInfo("Pacific/Pago_Pago")  # a notebook's making begins with its day, there
    begun = {
        whose: datetime.combine(day, time(), zone)
        for whose, day in ((one.id, days[3]), (other.id, days[2]))
    }
    assert makings.last_begun(book, zone=zone) == begun
    assert makings.last_begun(book, other.id, "nobody", zone=zone) == {other.id: begun[other.id]}
    assert makings.newest_sessions(book, 3) == ["2026-06-22", "2026-06-21", "2026-06-21"]
