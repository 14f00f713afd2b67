"""Opened lots follow the log: taken from, given back, never below nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from argentry.book import tables
from argentry.book.baths import add_bath
from argentry.book.engine import reading, writing
from argentry.book.log import append
from argentry.book.lots import add_lots, lots
from argentry.book.materials import from_runs
from argentry.book.materials.from_runs import take_for_bath
from argentry.book.materials.notes import add_notes
from argentry.book.materials.through_baths import InUse
from argentry.book.plates import add_plate
from argentry.book.times import to_us
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.material import LOT, OPENED, PURITY, RUN, Bath, Lot, MaterialNote
from argentry.records.plate import Plate
from argentry.trade.facts import facts
from argentry.trade.recipes import bath_takes, recipe
from argentry.trade.sizes import plate_size

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
DAY = NOON.date()
STEPS = ("scour", "iodise", "seal")


def stocked(book, name, amount, unit, opened=DAY, purity=None):
    lot = Lot(new_id(), name, amount, unit, "", DAY)
    add_lots(book, [lot])
    found = {OPENED: "" if opened is None else opened.isoformat()}
    if purity:
        found[PURITY] = repr(purity)
    add_notes(book, [MaterialNote(LOT, lot.id, what, v, NOON) for what, v in found.items()])
    return lot


class Run:
    def __init__(self, book, count=1, size="quarter", keys=STEPS, place=None):
        self.book, self.run, self.minutes = book, new_id(), 0
        self.plates = [Plate(new_id(), f"P{new_id()[-12:]}", size) for _ in range(count)]
        for plate in self.plates:
            add_plate(book, plate)
        steps = [
            {"key": key, "title": key, "law": "fixed", "planned_s": 60.0, "resource": ""}
            for key in keys
        ]
        body = {"title": "", "plates": [{"id": p.id, "label": p.label} for p in self.plates]}
        self.say("run_opened", body={**body, "steps": steps, "place": place or {}})

    def say(self, kind, plate=None, step=None, body=None):
        self.minutes += 1
        at = NOON + timedelta(minutes=self.minutes)
        event = Event(new_id(), self.run, kind, at, plate, step, body or {}, "desk")
        append(self.book, [event])
        return event.id

    def make(self, step, number=0):
        plate = self.plates[number].id
        self.say("step_begun", plate, step)
        return self.say("step_ended", plate, step)


def test_a_lot_that_gives_out_halfway_leaves_the_rest_to_the_next(book):
    """The second lot gives what the first does not hold, in its own unit and purity."""
    first = stocked(book, "Iodine A", 10.0e-3, "g", purity=0.5)  # 5 mg of iodine
    second = stocked(book, "Iodine B", 20.0, "mg", purity=0.8)
    run = Run(book)
    run.make("scour")
    run.make("iodise")  # 8 mg
    assert left(book, first) == pytest.approx(0.0, abs=1e-12)
    assert left(book, second) == pytest.approx(20.0 - 3.0 / 0.8)


def test_silvered_plates_of_the_size_that_the_lot_says(book):
    half = stocked(book, "Silvered plates, half", 3.0, "piece")
    any_size = stocked(book, "Silvered plates", 3.0, "piece")
    Run(book, size="half").make("scour")
    Run(book).make("scour")
    assert (left(book, half), left(book, any_size)) == (2.0, 2.0)
    run = Run(book, 2)
    add_plate(book, Plate(new_id(), "old", times_repolished=1))
    run.make("scour")
    assert (left(book, half), left(book, any_size)) == (2.0, 1.0)


def test_cover_glasses_of_the_size_that_the_lot_says(book):
    """A glass cut for half plates covers no quarter plate, and was taken for it."""
    half = stocked(book, "Cover glass, half", 3.0, "pieces")
    any_size = stocked(book, "Cover glass", 3.0, "pieces")
    for size, count in (("half", 1), ("quarter", 2)):
        run = Run(book, count, size, keys=("seal",))
        for number in range(count):
            run.make("seal", number)
    assert (left(book, half), left(book, any_size)) == (2.0, 1.0)


def test_silvered_plates_are_taken_from_the_day_on_which_their_lot_was_opened(book):
    lot = stocked(book, "Silvered plates", 3.0, "piece", opened=DAY + timedelta(days=1))
    run = Run(book, 2)
    run.make("scour")
    assert left(book, lot) == 3.0
    run.minutes += 24 * 60
    run.make("scour", 1)
    assert left(book, lot) == 2.0


def left(book, lot):
    found = next(one for one in lots(book) if one.id == lot.id)
    return found.amount - found.used


def test_a_tray_of_fixing_bath_is_taken_once_for_a_runs_largest_plate(book):
    hypo = stocked(book, "Hypo", 500.0, "g")
    run = Run(book, 2, keys=("scour", "fix"))
    for number in (0, 1):
        run.make("scour", number)
        run.make("fix", number)
    assert left(book, hypo) == pytest.approx(492.0)  # 100 mL at 80 g/L over a quarter plate
    run = Run(book, 1, "half", keys=("scour", "fix"))
    run.make("scour")
    run.make("fix")
    area = plate_size("half").area_cm2 / plate_size("quarter").area_cm2
    assert left(book, hypo) == pytest.approx(492.0 - 8.0 * area)


def test_where_a_fixing_bath_is_noted_its_mixing_took_the_salt(book):
    hypo = stocked(book, "Hypo", 500.0, "g", purity=0.5)
    ready = stocked(book, "Fixing bath, ready", 300.0, "mL", opened=DAY + timedelta(days=1))
    later = timedelta(days=1, hours=1)
    for number, (name, at, gone) in enumerate(
        # 40 g of crystals, half pure; then twelve grams of a stronger one, of the salt that is left
        (("Fix", NOON - timedelta(minutes=1), 80.0), ("Strong", NOON, 104.0))
    ):
        made = Bath(new_id(), name, "fix", at, 500.0 if not number else 100.0)
        add_bath(book, made, "fix", ("fixer", (500.0, 150.0)[number]))
        assert left(book, hypo) == pytest.approx(500.0 - gone)
    run = Run(book, 1, keys=("scour", "fix"))
    run.make("scour")
    run.make("fix")
    assert left(book, hypo) == pytest.approx(396.0)
    assert left(book, ready) == 300.0  # it was opened a day later
    with writing(book) as connection:
        take_for_bath(
            connection, "Next", "fixer", 7500.0, 5000.0, NOON + later, (NOON + later).date()
        )
    # all the salt there is, and then of the bottle as much as it holds: nothing falls below nothing
    assert (left(book, hypo), left(book, ready)) == (0.0, 0.0)


def test_gold_is_taken_when_its_bath_is_mixed_or_when_a_plate_is_gilded(book):
    """Mixing took none, so that a bath of 100 mL was booked as one pool of 22 mL.

    Gold in HAuCl4.3H2O: 50.0 % of its mass, from the standard atomic weights (196.97 of 393.83).
    """
    gold = stocked(book, "Gold chloride", 1.0, "g")

    def gild(hours, bath=""):
        if bath:
            made = Bath(new_id(), bath, "gild", NOON + timedelta(hours=hours), 100.0)
            add_bath(book, made, "gild", bath_takes(recipe("gild"), 100.0))
        run = Run(book, 1, keys=("gild",))
        run.minutes = 60 * hours
        before = left(book, gold)
        run.make("gild")
        return before - left(book, gold)

    pool = gild(0)
    assert pool == pytest.approx(0.0224, abs=1e-4)  # materials.toml: 11.2 mg of gold
    mixed = left(book, gold)
    assert gild(1, "G1") == 0.0
    assert mixed - left(book, gold) == pytest.approx(0.1, rel=0.01)  # 1 g in a litre
    assert [gild(hours) for hours in (18, 19, 20)] == [0.0] * 3, "the same bath, the same day"
    assert gild(21) == pytest.approx(pool), "100 mL are four pools of 22.3 mL, and not a fifth"
    assert gild(49) == pytest.approx(pool), "it did not keep so long"
    # a book of before: the bath took nothing
    old = Bath(new_id(), "G0", "gild", NOON + timedelta(hours=72), 100.0)
    add_bath(book, old, "gild")
    assert gild(73) == pytest.approx(pool)


def test_a_run_of_more_plates_than_its_gilding_bath_holds_pools_takes_gold_for_the_rest(book):
    """By the day alone all were gilded from 50 mL, which two pools of 22.3 mL empty."""
    gold = stocked(book, "Gold chloride", 1.0, "g")
    bath = Bath(new_id(), "G1", "gild", NOON, 50.0)
    add_bath(book, bath, "gild", bath_takes(recipe("gild"), 50.0))
    run, mixed = Run(book, 4, keys=("gild",)), left(book, gold)
    last = [run.make("gild", number) for number in range(4)][-1]
    assert mixed - left(book, gold) == pytest.approx(2 * 0.0224, abs=2e-4)
    run.say("corrected", body={"event": last, "withdrawn": True})
    assert mixed - left(book, gold) == pytest.approx(0.0224, abs=1e-4)
    other = Run(book, 1, "half", keys=("gild",))
    other.minutes = 60
    other.make("gild")  # 2 of 50 mL are left, and a half plate takes twice the pool
    area = plate_size("half").area_cm2 / plate_size("quarter").area_cm2
    assert mixed - left(book, gold) == pytest.approx((1.0 + area) * 0.0224, abs=2e-4)


def test_a_gilding_sent_late_takes_the_pool_that_a_later_one_was_booked_from(book):
    """The run gilded after it stayed as it was booked: one plate's gold was never taken."""
    gold = stocked(book, "Gold chloride", 1.0, "g")
    bath = Bath(new_id(), "G1", "gild", NOON, 50.0)  # two pools
    add_bath(book, bath, "gild", bath_takes(recipe("gild"), 50.0))
    mixed = left(book, gold)
    offline, online = (Run(book, 1 + of, keys=("gild",)) for of in range(2))
    offline.minutes, online.minutes = 60, 120
    for number in range(2):
        online.make("gild", number)
    assert mixed - left(book, gold) == 0.0
    offline.make("gild")  # an hour before the others, sent after them
    assert mixed - left(book, gold) == pytest.approx(0.0224, abs=1e-4)
    use = tables.lot_use
    with reading(book) as connection:
        rows = connection.execute(select(use.c.remark).where(use.c.lot == gold.id)).scalars().all()
    assert rows[-1] == RUN.format(run=online.run), "the last of the three found no pool"


@pytest.mark.parametrize("how", ["step", "plate", "run"])
def test_a_gilding_taken_back_leaves_its_pool_to_a_later_run(book, how):
    """The run gilded after it kept the gold that it was booked for want of a pool."""
    gold = stocked(book, "Gold chloride", 1.0, "g")
    bath = Bath(new_id(), "G1", "gild", NOON, 25.0)  # one pool
    add_bath(book, bath, "gild", bath_takes(recipe("gild"), 25.0))
    mixed = left(book, gold)
    first, later = (Run(book, keys=("gild",)) for _ in range(2))
    later.minutes = 60
    ended = first.make("gild")
    later.make("gild")
    assert mixed - left(book, gold) == pytest.approx(0.0224, abs=1e-4)
    if how == "step":
        first.say("corrected", body={"event": ended, "withdrawn": True})
    else:
        first.say(f"{how}_withdrawn", first.plates[0].id if how == "plate" else None)
    assert mixed - left(book, gold) == pytest.approx(0.0, abs=1e-9)


def test_steps_take_what_they_use_and_undoing_gives_it_back(book):
    glass, iodine = stocked(book, "Cover glass", 5.0, "piece"), stocked(book, "Iodine", 10.0, "g")
    run = Run(book)
    run.make("scour")
    assert (left(book, glass), left(book, iodine)) == (5.0, 10.0)
    run.make("iodise")
    assert left(book, iodine) == pytest.approx(
        10.0 - 8.0e-3
    )  # materials.toml: 8 mg a quarter plate
    ended = run.make("seal")
    assert left(book, glass) == pytest.approx(4.0)
    run.say("corrected", body={"event": ended, "withdrawn": True})
    assert left(book, glass) == pytest.approx(5.0)
    run.say("run_withdrawn", body={"why": "by mistake"})
    assert left(book, iodine) == pytest.approx(10.0)


def test_what_was_used_is_of_the_minute_in_which_its_step_ended(book):
    lot = stocked(book, "Iodine", 10.0, "g")
    run = Run(book)
    run.make("scour")
    run.make("iodise")
    table = tables.lot_use
    with reading(book) as connection:
        used = connection.execute(select(table.c.at_us).where(table.c.lot == lot.id)).scalars()
        assert list(used) == [to_us(NOON + timedelta(minutes=run.minutes))]


def test_a_little_of_a_great_lot_is_given_back_too(book):
    lot = stocked(book, "Iodine", 1e-3, "kg")
    run = Run(book)
    run.make("scour")
    ended = run.make("iodise")
    assert left(book, lot) == pytest.approx(1e-3 - 8.0e-6)
    run.say("corrected", body={"event": ended, "withdrawn": True})
    run.say("run_withdrawn", body={"why": "by mistake"})
    assert left(book, lot) == pytest.approx(1e-3, rel=1e-9)


def test_lots_of_no_use_here_hide_none_of_the_others(book):
    """What no plate uses up, or comes in a unit that says nothing, is passed over."""
    odd = [stocked(book, name, 9.0, unit) for name, unit in (("Tea", "g"), ("Iodine", "box"))]
    first = stocked(book, "Iodine, mine", 10.0, "g")
    odd += [
        stocked(book, name, 9.0, unit) for name, unit in (("Cake", "g"), ("Iodine, old", "box"))
    ]
    run = Run(book)
    run.make("scour")
    run.make("iodise")
    assert left(book, first) == pytest.approx(10.0 - 8.0e-3)
    assert [left(book, lot) for lot in odd] == [9.0] * 4


def test_a_step_done_again_uses_again(book):
    iodine = stocked(book, "Iodine", 10.0, "g")
    run = Run(book)
    run.make("scour")
    run.make("iodise")
    run.say("step_redone", run.plates[0].id, "iodise", {"why": "uneven"})
    run.make("iodise")
    assert left(book, iodine) == pytest.approx(10.0 - 16.0e-3)


def test_an_empty_lot_is_followed_by_the_next_and_nothing_goes_below_nothing(book):
    first, second = (
        stocked(book, name, 1.0, "piece") for name in ("Cover glass A", "Cover glass B")
    )
    run = Run(book, 3)
    for number in range(3):
        for step in STEPS:
            run.make(step, number)
    assert (left(book, first), left(book, second)) == (0.0, 0.0)
    for plate in run.plates[1:]:
        run.say("plate_withdrawn", plate.id, body={"why": "not used"})
    assert left(book, first) + left(book, second) == pytest.approx(1.0)


def test_larger_plates_take_more_and_impure_lots_give_less(book):
    iodine = stocked(book, "Iodine", 10.0, "g", purity=0.5)
    run = Run(book, size="whole")
    run.make("scour")
    run.make("iodise")
    ratio = (6.5 * 8.5) / (3.25 * 4.25)
    assert left(book, iodine) == pytest.approx(10.0 - 2 * 8.0e-3 * ratio, rel=1e-6)


def test_only_opened_lots_are_taken_from_and_only_from_that_day(book):
    closed = stocked(book, "Cover glass", 5.0, "piece", opened=None)
    later = stocked(book, "Iodine", 5.0, "g", opened=DAY + timedelta(days=1))
    run = Run(book)
    for step in STEPS:
        run.make(step)
    assert (left(book, closed), left(book, later)) == (5.0, 5.0)


def test_two_runs_are_booked_apart(book):
    glass = stocked(book, "Cover glass", 5.0, "piece")
    one, two = Run(book), Run(book)
    for run in (one, two):
        for step in STEPS:
            run.make(step)
    assert left(book, glass) == pytest.approx(3.0)
    one.say("run_withdrawn", body={"why": "by mistake"})
    assert left(book, glass) == pytest.approx(4.0)


@pytest.mark.parametrize(("zone", "day"), [("Pacific/Auckland", 22), ("Pacific/Pago_Pago", 21)])
def test_a_lot_gives_from_the_day_it_was_opened_by_the_clocks_of_the_place(book, zone, day):
    # noon by Greenwich: past midnight of the 22nd in Auckland, past 1 of the 21st in Pago Pago
    opened = DAY.replace(day=day)
    iodine = stocked(book, "Iodine", 100.0, "g", opened=opened)
    later = stocked(book, "Glass, quarter plate", 10.0, "piece", opened=opened + timedelta(days=1))
    run = Run(book, place={"time_zone": zone})
    for step in STEPS:
        run.make(step)
    assert left(book, iodine) < 100.0
    assert left(book, later) == 10.0


def test_a_bath_gilds_as_long_as_it_keeps_and_only_the_last_mixed():
    keeps = timedelta(hours=facts("recipes")["gild_keeps"].value)
    mixed = datetime(2026, 6, 21, 9, tzinfo=UTC)
    old, new = (
        InUse(name, "gild", mixed + timedelta(minutes=later), None, 500.0)
        for name, later in (("old", 0), ("new", 30))
    )
    assert from_runs._gilds_at([(old, True)], mixed + keeps) is old
    assert from_runs._gilds_at([(old, True)], mixed + keeps + timedelta(seconds=1)) is None
    at = mixed + timedelta(hours=1)
    assert from_runs._gilds_at([(old, True), (new, True)], at) is new
    assert from_runs._gilds_at([(old, True), (new, False)], at) is None, "its gold is not booked"
    assert from_runs._gilds_at([], at) is None
