"""The observer who knows the laws: his sums against plays of the same game and closed forms."""

from __future__ import annotations

from itertools import chain, combinations

import numpy as np
import pytest
from benchmarks.families.draw import Shop, draw_studio
from benchmarks.families.measures.advice import LOOK, Luck, one_plate, whole_day
from benchmarks.families.studio import STAGES, Spoiler
from benchmarks.observer import advice, causes, following

DAYS = 400


def only(stage, chance):
    """Return chances of a plate of which one stage alone goes wrong, and shows it."""
    parts = {s: np.array([1.0, 0.0, 0.0]) for s in STAGES[:-1]}
    parts[stage] = np.array([1.0 - chance, 0.0, chance])
    return advice.Chances(parts, 1.0)


def test_two_sure_plates_fit_into_a_day():
    # 2 x 202 minutes, at most 15 % longer, are less than 480; a third is not begun
    sound = only("coat", 0.0)
    rests = [np.zeros(advice.LEFT.size)]
    passed = 1.0 - advice.FALSELY  # one picture in twenty is taken for bad
    value = advice.day_of([(None, sound)] * 2, rests)
    assert value == pytest.approx(2.0 * passed, abs=0.01)


@pytest.mark.parametrize("way", ["rule", "shares"])
def test_the_worth_of_a_day_is_what_playing_it_brings(way):
    shop = Shop("luck", 6)
    made = [shop.make().work for _ in range(60)]
    spoilers = shop.world.spoilers
    middle = advice.mean_of([advice.chances(spoilers, one, Spoiler.told) for one in made])
    works = [shop.work() for _ in range(advice.PLATES)]
    true = [advice.chances(spoilers, one, lambda s, w: s.chance(w)) for one in works]
    beliefs = advice.always(middle)
    rests = advice.rests_of(beliefs, middle)
    plans = {}
    for place in range(advice.PLATES):
        plans[works[place].number] = advice.Best()
        advice.Plan(middle, rests[advice.PLATES - 1 - place], plans[works[place].number])
    seen: dict = {}

    def decide(work, stage, answers, left):
        if way == "rule":
            return "continue"
        if stage == "polish" and not answers and seen.get("plate") != work.number:
            seen.clear()
            seen["plate"] = work.number
        seen[stage] = answers.get(stage)
        chosen = plans[work.number].taken
        last = max(n for s, n in chosen if s == stage)
        words = (None, "right", "doubtful", "wrong")
        where = tuple(
            words.index(seen.get(s)) for s in LOOK if STAGES.index(s) <= STAGES.index(stage)
        )
        at = chosen[stage, last][(*where, round(left / advice.STEP))]
        what = ("continue", "stop", "check", "redo")[at]
        if what == "redo":
            seen.update(dict.fromkeys(STAGES[: STAGES.index(stage) + 1]))
        return what

    came = [whole_day(Luck(shop, 6, day, works), decide) for day in range(DAYS)]
    plates = [(None if way == "rule" else beliefs, one) for one in true]
    said = advice.day_of(plates, None if way == "rule" else rests)
    error = np.std(came) / DAYS**0.5
    assert abs(np.mean(came) - said) < 3.0 * error + 0.01


def test_answers_stand_until_their_stage_is_done_once_more():
    shop = Shop("luck", 6)
    works = [shop.work() for _ in range(advice.PLATES)]
    heard = []

    def decide(_work, stage, answers, _left):
        heard.append((stage, tuple(answers)))
        if stage in LOOK and stage not in answers:
            return "check"
        redone = any(one == ("coat", ("polish", "coat")) for one in heard[:-1])
        return "redo" if stage == "coat" and not redone else "continue"

    one_plate(Luck(shop, 6, 0, works), 0, 480.0, decide)
    assert heard[:5] == [
        ("polish", ()), ("polish", ("polish",)),
        ("coat", ("polish",)), ("coat", ("polish", "coat")), ("coat", ()),
    ]  # fmt: skip
    assert heard[-1] == ("development", ("coat", "exposure", "development"))


def test_who_knows_more_wins_more():
    one = advice.of_studio("usual", 3, days=1)
    assert one["rule"] < one["all"]
    assert max(one[way] for way in advice.WAYS) == pytest.approx(one["all"])


@pytest.mark.parametrize(("family", "seed"), [("cliffs", 3), ("hazards", 2), ("pairs", 4)])
def test_all_that_may_be_written_of_a_plate_sums_to_one(family, seed):
    studio = draw_studio(family, seed, 12, 0)
    reader = causes.Reader(studio, Shop(family, seed).writer.scrambled)
    troubles = [studio.world.main, *reader.others]
    # noise may show any look: without it the looks that can be are few
    object.__setattr__(
        reader.manner, "looks", "table" if family == "hazards" else reader.manner.looks
    )
    looks = sorted({look for one in troubles for look, _ in reader.looks(one)})[:3]
    reader.scrambled = {n: [look if look in looks else looks[0] for look in two]
                        for n, two in reader.scrambled.items()}  # fmt: skip
    kept = {one: tuple(p for p in reader.looks(one) if p[0] in looks) for one in troubles}
    reader.looks = kept.__getitem__
    row, chances = reader.rows[0], [one.chance(reader.rows[0].work) for one in troubles]
    row.bad, total = False, 0.0
    total += reader.row(row, troubles, chances)
    row.bad = True
    booked = STAGES if reader.manner.bookings != "none" else (None,)
    some = chain.from_iterable(combinations(looks, n) for n in range(len(looks) + 1))
    for shown in some:
        row.looks = frozenset(shown)
        for row.booked in booked:
            for row.reached in range(5):
                total += reader.row(row, troubles, chances)
    assert float(total) == pytest.approx(1.0, abs=1e-9)


def test_a_cliff_is_named_and_its_setting_moved():
    found = causes.of_studio("cliffs", 4100, 60)
    assert found["named at 0.95"]
    assert not found["false at 0.95"]
    asked = following.Knowing("anywhere")
    studio = draw_studio("cliffs", 4100, 60, 0)
    column, start, to, once = asked(studio)
    assert column in studio.world.main.columns
    assert start != to
    assert not once
