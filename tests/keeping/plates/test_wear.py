"""Silver left on the book's plates, by what was plated, polished back and weighed."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from click.testing import CliRunner

from argentry.book.plates import add_making, add_plate, add_work, plate_by_label
from argentry.book.readings import add_readings
from argentry.cli.work.plating import plating
from argentry.desk.bench.begin import open_run
from argentry.desk.house import open_house
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.plates.grades import grade_plate
from argentry.keeping.plates.plates import note_work
from argentry.keeping.plates.wear import WEIGHT, list_wear, refuse_worn
from argentry.physics.baths.plating import layer_g, takes_um
from argentry.records.ids import make_id, new_id
from argentry.records.plate import Making, Plate, Reading
from argentry.records.plate_record import RENAMED, WORKS, PlateWork
from argentry.trade.sizes import plate_size

THEN = datetime(2026, 3, 1, 12, tzinfo=UTC)
QUARTER = plate_size("quarter").area_cm2


def plate(book, label, silver=12.0, repolished=0, works=(), weights=()):
    """Put a plate into the book; works and weighings by the days at which they were done."""
    made = Plate(new_id(), label, "quarter", None, silver, "", repolished)
    add_plate(book, made)
    for day, kind in works:
        add_work(book, PlateWork(new_id(), made.id, kind, THEN + timedelta(days=day)))
    add_readings(
        book,
        [
            Reading(new_id(), WEIGHT, grams, "g", THEN + timedelta(days=day), "me", plate=made.id)
            for day, grams in weights
        ],
    )


def rows(folder):
    return {one.plate: one for one in list_wear(folder).plates}


def test_unweighed_plates_wear_by_the_starting_value(folder):
    with studio_book(folder) as book:
        plate(book, "new")
        plate(book, "used", repolished=2, works=[(1, "polished_back"), (2, "polished")])
        plate(book, "unknown", silver=None, repolished=4)
    found = rows(folder)
    each = takes_um("repolish_takes")
    assert found["new"].left_um == pytest.approx(12.0)
    assert found["new"].weighings == 0
    assert found["used"].repolishes == 3
    assert found["used"].left_um == pytest.approx(12.0 - 3 * each.value)
    assert found["unknown"].left_um is None
    assert found["unknown"].repolishes == 4
    assert list_wear(folder).choose == ("new", "used")
    assert list_wear(folder).weighed == 0


def test_what_buffs_took_between_weighings_is_off_and_the_balance_is_wrong_twice_only(folder):
    um = [0.0, 0.3, 0.35, 0.65, 0.75, 1.05]  # off since the first weighing
    weights = [(day, 90.0 - float(layer_g(off, QUARTER))) for day, off in enumerate(um)]
    works = [(day + 0.5, "polished_back") for day in (0, 2, 4)]
    with studio_book(folder) as book:
        plate(book, "often", works=works, weights=weights)
        plate(book, "twice", works=works, weights=[weights[0], weights[-1]])
        plate(book, "heavier", weights=[(0, 90.0), (1, 90.1)])  # nothing is put on by polishing
    found = rows(folder)
    for label in ("often", "twice"):
        assert found[label].left_um == pytest.approx(12.0 - 1.05)
        assert found[label].repolishes == 3
    assert found["often"].left_low_um == pytest.approx(found["twice"].left_low_um)
    assert found["heavier"].left_um == 12.0


def test_plating_again_begins_anew(folder):
    with studio_book(folder) as book:
        works = [(1, "polished_back"), (2, "plated"), (3, "polished_back")]
        plate(book, "again", repolished=20, works=works)
        plate(book, "worn", silver=6.0, repolished=14)
    found = rows(folder)
    assert found["again"].repolishes == 1
    assert not found["again"].worn
    assert found["worn"].worn
    assert list_wear(folder).worn == ("worn",)


def test_weighings_say_what_was_taken_and_teach_the_rest(folder):
    lost = float(layer_g(2.0, QUARTER))
    with studio_book(folder) as book:
        works = [(day, "polished_back") for day in (1, 2, 5, 6, 7, 8, 12)]
        weights = [(3, 80.0), (4, 80.0), (9, 80.0 - lost)]
        plate(book, "weighed", works=works, weights=weights)
        plate(book, "other", works=[(1, "polished_back")])
    answer, found = list_wear(folder), rows(folder)
    # four repolishes between the weighings took 2 µm: 0.5 each, against a start of 0.3
    assert answer.weighed == 1
    assert answer.each_um == pytest.approx(0.5, abs=0.03)
    weighed = found["weighed"]
    assert weighed.repolishes == 7
    assert weighed.weighings == 2
    assert weighed.left_um == pytest.approx(12.0 - 2.0 - 3 * answer.each_um)
    assert found["other"].left_um == pytest.approx(12.0 - answer.each_um)
    assert weighed.left_high_um - weighed.left_low_um > 1.0


def test_weighings_before_it_was_plated_again_do_not_count(folder):
    with studio_book(folder) as book:
        works = [(1, "polished_back"), (3, "plated"), (6, "polished_back")]
        weights = [(0, 80.0), (2, 79.0), (4, 82.0), (5, 82.0)]
        plate(book, "again", works=works, weights=weights)
    again = rows(folder)["again"]
    assert (again.repolishes, again.weighings) == (1, 0)
    assert list_wear(folder).weighed == 0


def test_a_run_does_not_take_a_worn_plate(folder):
    with studio_book(folder) as book:
        plate(book, "worn", silver=6.0, repolished=14)
        plate(book, "thin as bought", silver=1.0)
        plate(book, "good")
        plate(book, "nearly", silver=6.0, repolished=8)
        refuse_worn(book, ["good", "thin as bought", "not in the book"])
        house = open_house(folder, book)
        for labels in (["worn"], ["good", "worn"]):
            with pytest.raises(BadInput, match=r"plate worn: \d.* less than 2 µm.*plate work worn"):
                open_run(book, house.studio, labels, clock=house.clock)
        with pytest.raises(BadInput, match=r"plate nearly: another repolish would wear it through"):
            refuse_worn(book, ["nearly"])
        assert open_run(book, house.studio, ["good"], clock=house.clock)


def run(folder, *arguments):
    return CliRunner().invoke(plating, [*arguments, "--studio", str(folder)])


@pytest.mark.parametrize(("grade", "taken"), [("lost", True), ("good", False), ("fine", False)])
def test_a_run_does_not_take_a_plate_that_holds_a_good_picture(folder, grade, taken):
    """Opened by a slip of the label, the best plate of the year was polished off."""
    with studio_book(folder) as book:
        house = open_house(folder, book)
        own, clock = house.studio, house.clock
        plate(book, "A1")
        key, day = plate_by_label(book, "A1").id, THEN.date()
        add_making(book, Making(new_id(), key, None, "s", 1, day, grade=grade))
        if taken:
            assert open_run(book, own, ["A1"], clock=clock)
            return
        with pytest.raises(BadInput, match=f"holds the {grade} picture of 2026-03-01"):
            open_run(book, own, ["A1"], clock=clock)
        add_work(book, PlateWork(new_id(), key, "polished_back", THEN))
        assert open_run(book, own, ["A1"], clock=clock)


def test_the_list_in_words_and_json(folder):
    assert "No plates." in run(folder, "plates").output
    with studio_book(folder) as book:
        plate(book, "P1")
        plate(book, "P2", silver=6.0, repolished=14)
    told = run(folder, "plates").output
    assert "Choose first: P1" in told
    assert "Worn, have them silvered again: P2" in told
    assert "a starting value: weigh plates" in told
    data = json.loads(run(folder, "plates", "--json").output)
    assert [one["worn"] for one in data["plates"]] == [False, True]


def test_current_and_weigh_in_words():
    told = CliRunner().invoke(plating, ["current", "--um", "10", "--strike-um", "0.2"]).output
    assert "strike: 0.20 µm" in told
    assert "main: 10.00 µm" in told
    assert "Caution: " in told
    told = CliRunner().invoke(plating, ["weigh", "80", "80.94", "--ah", "0.25"]).output
    assert "Efficiency 93 %" in told
    told = CliRunner().invoke(plating, ["weigh", "80.9", "80.5", "--passes", "10"]).output
    assert "One repolish takes 0.21 µm" in told
    data = CliRunner().invoke(plating, ["weigh", "80", "80.94", "--json"]).output
    assert json.loads(data)["each_um"] is None
    data = CliRunner().invoke(plating, ["current", "--json"]).output
    assert json.loads(data)["layers"][0]["um"] == 10.0


def test_a_plate_with_a_picture_is_neither_chosen_nor_called_worn(folder):
    with studio_book(folder) as book:
        plate(book, "picture", silver=12.0)
        plate(book, "thin picture", silver=6.0, repolished=14)
        plate(book, "free again", works=[(2, "polished_back")])
    for label in ("picture", "thin picture", "free again"):
        grade_plate(folder, label, grade="good", day=THEN.date())
    answer, found = list_wear(folder), rows(folder)
    assert answer.choose == ("free again",)
    assert answer.worn == ()
    assert found["thin picture"].worn
    assert [found[one].ready for one in ("picture", "free again")] == [False, True]


def test_a_plate_made_again_on_the_day_it_was_polished_back_holds_a_picture(folder):
    """By days alone one lost in the morning and made again at noon was free, and chosen first."""
    with studio_book(folder) as book:
        for label, back in (("made again", 9), ("polished back after it", 15)):
            made = Plate(new_id(), label, "quarter", None, 12.0)
            add_plate(book, made)
            for hour in (8, 12):
                key = make_id(int(THEN.replace(hour=hour).timestamp() * 1000), hour)
                add_making(book, Making(key, made.id, new_id(), "s", hour, THEN.date()))
            add_work(book, PlateWork(new_id(), made.id, "polished_back", THEN.replace(hour=back)))
    assert list_wear(folder).choose == ("polished back after it",)


@pytest.mark.parametrize("kind", WORKS)
def test_all_work_but_a_new_name_is_noted_by_hand(folder, kind):
    with studio_book(folder) as book:
        plate(book, "A")
    if kind == RENAMED:
        with pytest.raises(BadInput, match="'renamed' is not a kind of work"):
            note_work(folder, "A", kind)
    else:
        assert note_work(folder, "A", kind.replace("_", " ").title()).kind == kind
