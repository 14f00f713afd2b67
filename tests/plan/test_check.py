"""Each rule of a plan, broken once; and random plans against a count minute by minute."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.plan import check
from argentry.plan.check import faults
from argentry.plan.day import plan_day
from argentry.plan.daylight import DayLight, Frames
from argentry.plan.problem import Day
from argentry.plan.tasks import Task, blocks_of

GRID = 300
SUMS = np.arange(GRID + 1.0)  # a light of 1 J/m2 in each minute


def hands(key, minutes, resource="", within=None):
    return Task(key, "fixed", minutes, 0.0, True, resource, within)


TASKS = (
    hands("scour", 6.0),
    hands("iodise", 4.0, "box", 0.0),
    Task("expose", "exposure", 0.0, 0.0, True, "camera", 60.0),
    hands("to frame", 2.0, "frame", 30.0),
    Task("develop", "development", 0.0, 0.0, False, "frame", 10.0),
    hands("fix", 8.0, "", 15.0),
    hands("gild", 6.0, "fire", 40.0),
    Task("cool", "fixed", 20.0, 0.0, False),
    hands("seal", 5.0),
)
BLOCKS = blocks_of(TASKS)
PREPARE, EXPOSE, TO_FRAME, DEVELOP, FIX, GILD, COOL, SEAL = range(8)
LENGTHS = (10, 5, 2, 40, 8, 6, 20, 5)  # in the sun; a plate begun at 3 is sealed at 99


def make_day(workers=2, frames=2, breaks=((200.0, 205.0),), last=250.0, rooms=None, **light):
    sun = Frames("sun", frames, SUMS, SUMS[None], 40.0, 0.0, False)
    lamp = Frames("lamp", 1, 2.0 * SUMS, SUMS[None], 40.0, 0.0, True)
    middle = DayLight(SUMS, SUMS[None], 5.0, 20.0, 2.5, (sun, lamp))
    lit = replace(middle, **light)
    return Day(TASKS, 2, workers, 3.0, last, breaks, lit, room_counts=rooms or {})


def plate(begun, waits=None, lengths=None):
    """Return (starts, ends): each block when the one before ends, plus its wait, if any."""
    now, starts, ends = begun, [], []
    for index, usual in enumerate(LENGTHS):
        now += (waits or {}).get(index, 0)
        starts.append(float(now))
        now += (lengths or {}).get(index, usual)
        ends.append(float(now))
    return starts, ends


def told(day, *plates, kinds=(0, 0)):
    starts, ends = (np.array(rows) for rows in zip(*plates, strict=True))
    return faults(day, BLOCKS, starts, ends, np.array(kinds[: len(plates)]))


FIRST, SECOND = plate(3), plate(18)


def test_the_plan_that_is_broken_below_is_sound():
    assert len(BLOCKS) == len(LENGTHS)
    assert told(make_day(), FIRST, SECOND) == ()
    assert told(make_day(frames=1), FIRST, plate(18, {GILD: 11}, {DEVELOP: 20}), kinds=(0, 1)) == ()


@pytest.mark.parametrize(
    ("first", "second", "sentence"),
    [
        (plate(2), SECOND, "Plate 1: scour begins at minute 2, before minute 3."),
        (
            FIRST,
            plate(18, {EXPOSE: 61}),
            "Plate 2: expose begins 61 min after scour; 60 min are allowed.",
        ),
        (
            FIRST,
            plate(18, {TO_FRAME: 31}),
            "Plate 2: to frame begins 31 min after expose; 30 min are allowed.",
        ),
        (
            FIRST,
            plate(18, {FIX: 16}),
            "Plate 2: fix begins 16 min after develop; 15 min are allowed.",
        ),
        (
            FIRST,
            plate(18, {GILD: 41}),
            "Plate 2: gild begins 41 min after fix; 40 min are allowed.",
        ),
        (
            FIRST,
            plate(18, {DEVELOP: 1}),
            "Plate 2: develop begins 1 min after to frame and must follow at once.",
        ),
        (
            FIRST,
            plate(18, {COOL: 2}),
            "Plate 2: cool begins 2 min after gild and must follow at once.",
        ),
        (
            FIRST,
            plate(18, {TO_FRAME: -1}),
            "Plate 2: to frame begins at minute 32, before the end of expose at 33.",
        ),
        (
            FIRST,
            plate(18, {SEAL: 93}),
            "Plate 2: seal needs hands in the break from minute 200 to 205.",
        ),
        (
            plate(3, {}, {PREPARE: 9, EXPOSE: 5}),
            SECOND,
            "Plate 1: scour takes 10 min and is given 9 min.",
        ),
        (
            plate(3, {}, {COOL: 19}),
            SECOND,
            "Plate 1: cool takes 20 min and is given 19 min.",
        ),
        (
            FIRST,
            plate(18, {}, {DEVELOP: 39}),
            "Plate 2: develop ends at minute 74; the light needs until 75.0.",
        ),
        (
            FIRST,
            plate(18, {}, {DEVELOP: 42}),
            "Plate 2: develop ends at minute 77; the light is enough at 75.0.",
        ),
        (
            FIRST,
            plate(18, {}, {EXPOSE: 4}),
            "Plate 2: expose ends at minute 32; the light needs until 33.0.",
        ),
        (
            FIRST,
            plate(18, {}, {EXPOSE: 7}),
            "Plate 2: expose ends at minute 35; the light is enough at 33.0.",
        ),
        (
            FIRST,
            plate(6, {EXPOSE: 2, GILD: 4}),
            "At minute 12 plates 1, 2 hold box, of which there is room for 1.",
        ),
        (
            FIRST,
            plate(7, {GILD: 2}),
            "At minute 17 plates 1, 2 hold camera, of which there is room for 1.",
        ),
        (
            FIRST,
            plate(8),
            "At minute 73 plates 1, 2 hold fire, of which there is room for 1.",
        ),
    ],
)
def test_one_rule_broken_gives_its_sentence(first, second, sentence):
    assert told(make_day(), first, second) == (sentence,)


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"last": 110.0}, "Plate 2: seal ends at minute 114, after minute 110."),
        ({"workers": 1}, "At minute 18 plates 1, 2 need 2 pairs of hands; the day has 1."),
        ({"frames": 1}, "At minute 33 plates 1, 2 lie in the frame sun, which holds 1."),
        (
            {"breaks": ((10.0, 12.0),)},
            "Plate 1: scour needs hands in the break from minute 10 to 12.",
        ),
        (
            {"exposure_middle": np.minimum(SUMS, 27.0)},
            "Plate 2: expose begun at minute 28 never gets the light it needs.",
        ),
        (
            {"expected": np.where(SUMS > 27.0, np.nan, SUMS + 5.0)},
            "Plate 2: expose begun at minute 28 never gets the light it needs.",
        ),
        (
            {"expected": np.where(SUMS < 20.0, SUMS + 5.0, SUMS + 1.9), "patience": 3.0},
            "Plate 2: expose ends at minute 33; the light is enough at 29.9.",
        ),
        (  # the shortest pose of the day lasts a minute and four tenths
            {"expected": np.where(SUMS < 250.0, SUMS + 5.0, SUMS + 1.4), "patience": 3.5},
            "Plate 1: expose lasts 5.0 min; 4.9 min are allowed.",
        ),
        (
            {"longest_exposure": 4.5},
            "Plate 1: expose lasts 5.0 min; 4.5 min are allowed.",
        ),
    ],
)
def test_a_poorer_day_gives_its_sentence(changed, sentence):
    many = {"patience", "longest_exposure"} & set(changed) and "lasts" in sentence
    found = told(make_day(**changed), FIRST, SECOND)
    assert found == ((sentence, sentence.replace("1", "2", 1)) if many else (sentence,))


def test_the_box_is_held_only_over_iodine():
    assert told(make_day(), FIRST, plate(7, {EXPOSE: 1, GILD: 1})) == ()  # 9 to 13, 13 to 17


def test_a_plate_lies_in_its_frame_until_it_is_taken_out():
    waits = {TO_FRAME: 25}  # put in at 58, when the first is ripe at 60 and taken out then
    day, late = make_day(frames=1), plate(18, waits)
    assert told(day, FIRST, late) == (
        "At minute 58 plates 1, 2 lie in the frame sun, which holds 1.",
    )
    assert told(day, FIRST, plate(18, {TO_FRAME: 27})) == ()
    assert told(day, plate(3, {FIX: 1}), plate(18, {TO_FRAME: 27})) == (
        "At minute 60 plates 1, 2 lie in the frame sun, which holds 1.",
    )


def test_what_was_not_planned_is_told_first():
    starts, ends = plate(3)
    assert told(make_day(), (starts, [*ends[:-1], np.nan]), SECOND) == (
        "Plate 1: seal has no start, no end or no frame.",
    )
    assert told(make_day(), FIRST, SECOND, kinds=(0, -1)) == (
        "Plate 2: develop has no start, no end or no frame.",
    )


def test_a_plan_of_no_plates_is_sound():
    none = np.empty((0, len(BLOCKS)))
    assert faults(make_day(), BLOCKS, none, none, np.empty(0, dtype=np.int64)) == ()


@pytest.mark.parametrize(
    "given", [{"plates": 3}, {"plates": 3, "workers": 2}, {"plates": 2, "frames": 1, "lamp": True}]
)
def test_what_the_planner_plans_is_sound(build_day, given):
    day = build_day(**given)
    planned = plan_day(day, simulated_days=5)
    assert planned.placed
    found = faults(day, planned.blocks, planned.starts, planned.ends, planned.frame_kind)
    assert found == ()


def breaks_a_rule(day, starts, ends, kinds):
    """Say whether a plan on whole minutes breaks a rule, going through it minute by minute."""
    box, camera, fire, busy = (np.zeros(2 * GRID) for _ in range(4))
    frames = np.zeros((len(day.light.frames), 2 * GRID))
    for row, last, kind in zip(starts.astype(int), ends.astype(int), kinds, strict=True):
        if row[0] < 3 or last[SEAL] > day.last_minute:
            return True
        for index in range(len(LENGTHS)):
            minutes = range(row[index], last[index])
            if index not in (EXPOSE, DEVELOP) and len(minutes) < LENGTHS[index]:
                return True
            if index and row[index] < last[index - 1]:
                return True
            if index in (DEVELOP, COOL):
                if row[index] != last[index - 1]:
                    return True
            else:
                busy[list(minutes)] += 1
        waits = [row[i] - last[i - 1] for i in (EXPOSE, TO_FRAME, FIX, GILD)]
        if any(wait > most for wait, most in zip(waits, (60, 30, 15, 40), strict=True)):
            return True
        per_minute = (1, 2)[kind]
        if not 0 <= (last[DEVELOP] - row[DEVELOP]) * per_minute - 40 <= per_minute:
            return True
        if not 5 <= last[EXPOSE] - row[EXPOSE] <= 6:
            return True
        box[row[PREPARE] + 6 : row[PREPARE] + 10] += 1
        camera[row[EXPOSE] : last[EXPOSE]] += 1
        fire[row[GILD] : row[GILD] + 6] += 1
        frames[kind, row[TO_FRAME] : row[FIX]] += 1
    full = [box.max() > 1, camera.max() > 1, fire.max() > 1, busy.max() > day.workers]
    full += [frames[0].max() > day.light.frames[0].count, frames[1].max() > 1]
    return any(full) or any(busy[int(low) : int(high)].any() for low, high in day.breaks)


few = st.sampled_from([0] * 90 + [1, 2, 7])
shifts = st.lists(few, min_size=len(LENGTHS), max_size=len(LENGTHS))
stretched = st.sampled_from([{}] * 16 + [{EXPOSE: 6}, {DEVELOP: 41}, {DEVELOP: 20}, {FIX: 7}])
one_plate = st.tuples(
    st.sampled_from([0, 0, 0, 1, 3, -4]), shifts, stretched, st.sampled_from([0, 0, 0, 1])
)


@given(
    plates=st.lists(one_plate, min_size=1, max_size=3),
    workers=st.sampled_from([1, 2, 2, 3]),
    frames=st.sampled_from([1, 2, 2, 3]),
    pause=st.one_of(st.just(200), st.integers(0, 120)),
    moved=st.tuples(
        st.integers(0, 2), st.integers(0, 7), st.sampled_from([0] * 12 + [-3, -1, 1, 20])
    ),
)
def test_random_plans_are_judged_as_by_a_count_of_minutes(plates, workers, frames, pause, moved):
    day = make_day(workers, frames, breaks=((float(pause), pause + 2.0),))
    rows = [
        plate(
            3 + 18 * number + late,
            dict(enumerate(waits)),
            {**({DEVELOP: 20} if kind else {}), **lengths},
        )
        for number, (late, waits, lengths, kind) in enumerate(plates)
    ]
    starts, ends = (np.array(part) for part in zip(*rows, strict=True))
    which, block, by = moved[0] % len(rows), moved[1], moved[2]
    starts[which, block] += by
    ends[which, block] += by
    kinds = np.array([kind for *_, kind in plates])
    found = faults(day, BLOCKS, starts, ends, kinds)
    assert bool(found) == breaks_a_rule(day, starts, ends, kinds), found


def test_ends_between_two_minutes_of_a_table():
    table = np.array([10.0, 14.0, np.nan, 20.0])
    at = np.array([0.0, 0.25, 1.0, 1.5, 2.0, 3.0, 3.5, -0.5, 4.0])
    inf = np.inf
    assert check._read(table, at).tolist() == [10.0, 11.0, 14.0, inf, inf, 20.0, 20.0, inf, inf]


def test_when_light_has_grown_by_a_dose():
    sums = np.array([0.0, 1.0, 1.0, 3.0, 3.0])
    at = np.array([0.0, 0.5, 1.0, 2.0, 2.5, 3.0, -1.0, 5.0])
    inf = np.inf
    assert check._gathered(sums, 1.0, at).tolist() == [1.0, 2.25, 2.5, 2.5, 3.0, inf, inf, inf]
    assert check._gathered(sums, 0.0, at[:3]).tolist() == [0.0, 0.5, 1.0]
    assert check._gathered(sums, np.array([3.0, 2.0]), at[[0, 2]]).tolist() == [3.0, 3.0]
    assert check._gathered(sums, 3.1, at[:1]).tolist() == [inf]
    rising = np.array([0.0, 1.0, 2.0])
    assert check._gathered(rising, 0.0, np.array([2.0, 2.1])).tolist() == [2.0, inf]
    assert check._gathered(rising, 2.0, np.zeros(1)).tolist() == [2.0]


def test_too_many_at_once_are_named_unless_all_of_them_were_begun_before():
    def too_many(most, *spans, begun=()):
        made = [check._Span(n, low, high, n in begun) for n, (low, high) in enumerate(spans)]
        return check._too_many(made, most)

    assert too_many(1, (0.0, 5.0), (5.0, 9.0)) == []
    assert too_many(1, (0.0, 5.0 + 1e-3), (5.0, 9.0)) == [(5.0, [0, 1])]
    assert too_many(1, (4.0, 9.0), (0.0, 5.0), (6.0, 7.0)) == [(4.0, [0, 1])]
    assert too_many(2, (4.0, 9.0), (0.0, 5.0), (4.5, 7.0)) == [(4.5, [0, 1, 2])]
    assert too_many(3, (4.0, 9.0), (0.0, 5.0), (4.5, 7.0)) == []
    assert too_many(1, (4.0, 9.0), (0.0, 5.0), begun=(0, 1)) == []
    assert too_many(1, (4.0, 9.0), (0.0, 5.0), begun=(1,)) == [(4.0, [0, 1])]
