"""A bath's life from what the book saw go through it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import event
from tests.book.materials.test_from_runs import NOON, Run
from tests.own_recipes import OWN

from argentry.book.baths import add_bath, use_bath
from argentry.book.readings import add_readings
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.moments import today_of
from argentry.keeping.stock.baths import (
    baths_of,
    discard_bath,
    list_baths,
    new_bath,
    note_clearing,
)
from argentry.keeping.stock.baths import use_bath as put_through
from argentry.keeping.stock.corrections import undo_lot, weigh_lot
from argentry.keeping.stock.cost import cost
from argentry.keeping.stock.known_baths import KnownBaths
from argentry.keeping.stock.lots import list_stock, new_lot
from argentry.keeping.stock.mixing import mix_for
from argentry.keeping.stock.orders import stock_needs
from argentry.keeping.studio import load_studio
from argentry.records.ids import new_id
from argentry.records.material import Bath, LotFacts
from argentry.records.plate import Reading
from argentry.trade.recipes import silver_mg
from argentry.trade.sizes import plate_size

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
QUARTER = plate_size("quarter").area_cm2


def bath(book, name, recipe="fix", days=1.0, ml=250.0, plates=0):
    made = Bath(new_id(), name, recipe, NOW - timedelta(days=days), ml)
    add_bath(book, made)
    if plates:
        use_bath(book, made.id, plates, plates * QUARTER, "me", NOW)
    return made.id


def lives(folder):
    with studio_book(folder) as book:
        return {one.name: one for one in baths_of(book, NOW).baths}


def test_silver_by_the_studios_own_coat(folder):
    with studio_book(folder) as book:
        bath(book, "Fix", plates=6)
        bath(book, "Words", recipe="weaker, my way", plates=6)
    found = lives(folder)
    coat = load_studio(folder).habits.coat_nm
    assert found["Fix"].life.silver_mg == pytest.approx(silver_mg(coat, 6 * QUARTER))
    assert found["Words"].life is None
    caution = found["Words"].cautions[0]
    assert caution.startswith(
        "'weaker, my way' is not one of the recipes here (fix, fix_strong, gild,"
    )
    assert len(found["Fix"].cautions) == 2
    assert found["Words"].lasts


def test_clearing_times_belong_to_their_bath_and_tire_it(folder):
    new_bath(folder, "A", "fix", 250.0)
    new_bath(folder, "B", "fix", 250.0)
    first = note_clearing(folder, "A", 12.0).life  # its fresh time: it tires nothing
    assert (first.verdict, first.clearing_ratio) == ("good", 1.0)
    assert note_clearing(folder, "A", 20.0).life.verdict == "soon"
    after = note_clearing(folder, "A", 24.0)
    assert after.life.clearing_ratio == pytest.approx(2.0)
    assert after.life.verdict == "renew"
    found = {one.name: one for one in list_baths(folder).baths}
    assert found["B"].life.clearing_s is None
    assert not found["A"].lasts
    assert found["B"].lasts
    with pytest.raises(BadInput, match="no bath in use is named 'C'"):
        note_clearing(folder, "C", 12.0)
    with pytest.raises(BadInput, match="clearing time"):
        note_clearing(folder, "A", 0.0)


def test_its_warmth_counts_while_it_is_fresh(folder):
    with studio_book(folder) as book:
        bath(book, "Fix")
        for hours, celsius in ((5, 30.0), (1, 12.0)):
            at = NOW - timedelta(hours=hours)
            add_readings(book, [Reading(new_id(), "bath_c", celsius, "°C", at, "me")])
    life = lives(folder)["Fix"].life
    assert "works slowly" in life.reasons[0]
    with studio_book(folder) as book:
        later = baths_of(book, NOW + timedelta(hours=2)).baths[0]
    assert later.life.verdict == "good"


def test_a_bath_by_an_own_recipe_has_its_own_limit(folder):
    (folder / "recipes.toml").write_text(OWN, encoding="utf-8")
    made = new_bath(folder, "Weak", "weak", 250.0)
    assert made.title == "My weak bath"
    assert made.life.limit_basis == "stability constants"
    assert made.life.limit_g_l < 0.2


def test_a_discarded_bath_is_as_old_as_it_became(folder):
    with studio_book(folder) as book:
        key = bath(book, "Fix", days=10.0)
        from argentry.book.baths import discard_bath

        discard_bath(book, key, NOW - timedelta(days=6))
        (gone,) = baths_of(book, NOW, all_of_them=True).baths
    assert gone.age_days == pytest.approx(4.0)
    assert gone.life.verdict == "good"


def test_a_time_of_the_bench_counts_for_the_fixing_bath_that_stood_there(folder):
    timed = Reading(new_id(), "clearing_s", 30.0, "s", NOW - timedelta(days=0.5), "by hand")
    with studio_book(folder) as book:
        bath(book, "Gold", recipe="gild", days=0.1)
        bath(book, "Fix")
        add_readings(book, [timed])
    assert lives(folder)["Fix"].life.clearing_s == 30.0
    with studio_book(folder) as book:
        bath(book, "before it", days=2.0)
        bath(book, "after the time", days=0.2)
    found = {name: one.life.clearing_s for name, one in lives(folder).items()}
    assert found == {"Gold": None, "before it": None, "Fix": 30.0, "after the time": None}


def test_a_clearing_time_told_at_the_bench_counts_from_its_very_moment(folder):
    with studio_book(folder) as book:
        made = Bath(new_id(), "Fix", "fix", NOON - timedelta(days=1), 500.0)
        add_bath(book, made, "fix")
        run = Run(book, 1, keys=("scour", "fix"))
        run.make("scour")
        run.say("reading_taken", body={"what": "clearing_s", "value": 250.0, "unit": "s"})
        at = NOON + timedelta(minutes=run.minutes)
        (early,) = baths_of(book, at - timedelta(seconds=1)).baths
        (told,) = baths_of(book, at).baths
    assert (early.life.clearing_s, told.life.clearing_s) == (None, 250.0)
    assert told.life.verdict == "renew"


def test_all_baths_are_read_in_as_many_questions_as_one(folder):
    asked = []
    with studio_book(folder) as book:
        bath(book, "first", plates=2)
        event.listen(book.engine, "before_cursor_execute", lambda *told: asked.append(told[2]))
        baths_of(book, NOW)
        of_one = len(asked)
        for number in range(6):
            bath(book, f"{number}", plates=2)
        asked.clear()
        assert len(baths_of(book, NOW).baths) == 7
    assert len(asked) == of_one


def test_what_pictures_showed_counts_in_its_bath_and_tells_of_the_next(folder):
    look = {"answer": "right", "value": 40.0}
    look["seen"] = {"picture": "x", "coat_low_nm": 38.0, "coat_high_nm": 42.0}
    with studio_book(folder) as book:
        assert KnownBaths(book, None).plate_cm2 == QUARTER  # a book without its studio
        for number, name in enumerate(("seen", "next")):
            made = Bath(new_id(), name, "fix", NOON - timedelta(hours=2 - number), 500.0)
            add_bath(book, made, "fix")
        bath(book, "before", days=200.0, plates=3)
        run = Run(book, 3, keys=("iodise", "fix"))
        for number in range(3):
            run.make("iodise", number)
            run.say("check_answered", run.plates[number].id, "iodise", look)
            run.make("fix", number)
        (first, told, after) = baths_of(book, NOON + timedelta(hours=1)).baths
        use_bath(book, told.id, 3, 3 * QUARTER, at=NOON)
        later = baths_of(book, NOON + timedelta(hours=1)).baths[1]
    usual, shown = (silver_mg(nm, 3 * QUARTER) for nm in (25.0, 40.0))
    assert first.life.silver_mg == pytest.approx(usual)
    # the bath mixed last took them, near to what the pictures showed
    assert (told.name, told.plates_through, after.plates_through) == ("seen", 0, 3)
    assert 0.95 * shown < after.life.silver_mg < shown
    # the bath before it does not know of its pictures
    assert later.life.silver_mg == pytest.approx(usual)
    assert first.life.silver_high_mg / usual > after.life.silver_high_mg / after.life.silver_mg


def test_a_baths_warmth_counts_for_two_hours(folder):
    with studio_book(folder) as book:
        bath(book, "Fix")
        add_readings(book, [Reading(new_id(), "bath_c", 12.0, "°C", NOW, "me")])
        for minutes, verdict in ((110, "soon"), (130, "good")):
            (found,) = baths_of(book, NOW + timedelta(minutes=minutes)).baths
            assert found.life.verdict == verdict


def test_a_clearing_time_that_is_doubted_tires_no_bath(folder):
    at = NOW - timedelta(hours=1)
    with studio_book(folder) as book:
        bath(book, "Fix")
        add_readings(book, [Reading(new_id(), "clearing_s", 90.0, "s", at, "me", doubt="jumped")])
    assert lives(folder)["Fix"].life.clearing_s is None


def test_eight_fixing_baths_say_what_the_coats_are_like(folder):
    with studio_book(folder) as book:
        for number in range(10):
            bath(book, f"{number}", days=20.0 - number)
            bath(book, f"gold {number}", recipe="gild", days=20.5 - number)
        known = KnownBaths(book, folder)
        found = {one.name: [was.name for was in known._until(one)] for one in known.fixing}
    assert found["9"] == [f"{number}" for number in range(2, 10)]
    assert found["2"] == ["0", "1", "2"]


def test_the_studio_says_size_and_coat_of_the_plates(folder):
    file = folder / "studio.toml"
    said = file.read_text(encoding="utf-8").replace("coat_nm = 25.0", "coat_nm = 31.0")
    file.write_text(said.replace('"quarter"', '"half"'), encoding="utf-8")
    with studio_book(folder) as book:
        read, given = KnownBaths(book, folder), KnownBaths(book, None, load_studio(folder))
        none = KnownBaths(book, None)
    assert [one.habits.coat_nm for one in (read, given, none)] == [31.0, 31.0, 25.0]
    half = plate_size("half").area_cm2
    assert [one.plate_cm2 for one in (read, given, none)] == [half, half, QUARTER]


def test_a_bath_has_a_name_plates_go_through_it_and_it_leaves_the_list(folder):
    with pytest.raises(BadInput, match="name: it is empty"):
        new_bath(folder, "  ", "fix", 250.0)
    new_bath(folder, "Fix", "fix", 250.0)
    for none in ({}, {"count": 0}):
        with pytest.raises(BadInput, match="plates: none is named"):
            put_through(folder, "Fix", **none)
    discard_bath(folder, "Fix")
    assert list_baths(folder).baths == ()
    assert [one.name for one in list_baths(folder, all_of_them=True).baths] == ["Fix"]


def test_a_plate_that_the_bench_booked_is_not_named_again(folder):
    with studio_book(folder) as book:
        made = Bath(new_id(), "Fix", "fix", NOON - timedelta(days=1), 500.0)
        add_bath(book, made, "fix")
        run = Run(book, 1, keys=("scour", "fix"))
        run.make("scour")
        run.make("fix")
    label = run.plates[0].label
    with pytest.raises(BadInput, match=label):
        put_through(folder, "Fix", labels=[label])
    assert put_through(folder, "Fix", count=1).plates_through == 2


def test_a_bath_takes_its_salt_from_the_opened_lot_and_all_sheets_say_the_same(folder):
    opened = LotFacts(opened_on=date(2026, 1, 1), price=10.0)
    new_lot(folder, "Hypo", 500.0, "g", received_on=date(2026, 1, 1), facts=opened)

    def hypo():
        return list_stock(folder).lots[0]

    assert hypo().plates_left == pytest.approx(62.5 * list_stock(folder).ahead)  # trays of 8 g
    tray = mix_for(folder, ["fix"], 3, [])
    (salt,) = tray.portions[0].weighings
    for plates in (1, 3, 9):  # one tray does the session
        (needed,) = stock_needs(folder, plates=plates).materials
        assert needed.tomorrow == pytest.approx(tray.portions[0].volume_ml)
    new_bath(folder, "Fix", "fix", tray.portions[0].volume_ml)
    assert 500.0 - hypo().left == pytest.approx(salt.grams)
    new_bath(folder, "Strong", "fix_strong", 100.0)  # 2 oz to the US pint
    assert 492.0 - hypo().left == pytest.approx(100.0 * 2 * 28.3495 / 473.176, rel=1e-4)
    new_bath(folder, "Gold", "gild", 100.0)
    new_bath(folder, "Mine", "weaker, my way", 100.0)
    weigh_lot(folder, "Hypo", 470.0)
    parts = {one.part: one.total for one in cost(folder).parts}
    assert parts["other materials"] == pytest.approx(10.0 * 30.0 / 500.0)


def test_what_a_bath_took_by_mistake_is_taken_back(folder):
    new_lot(folder, "Hypo", 500.0, "g", facts=LotFacts(opened_on=today_of(folder)))
    new_bath(folder, "Fix", "fix", 100.0)
    assert undo_lot(folder, "Hypo").left == pytest.approx(500.0)
