"""Studios that argentry was not built for: notebooks that are read, a truth that holds, scores."""

from __future__ import annotations

import numpy as np
import pytest

NAMES = ("cliffs", "pairs", "hazards", "bottles", "own columns", "outside", "luck")
STRANGERS = ("window", "season", "marks", "people")


def test_there_are_at_least_four_families_with_something_wrong(bench):
    assert tuple(bench.forms.FAMILIES) == NAMES


def test_four_more_families_stand_outside_the_mean(bench):
    assert tuple(bench.forms.STRANGERS) == STRANGERS
    assert set(bench.forms.EVERY) == {*NAMES, *STRANGERS}


@pytest.mark.parametrize("family", NAMES)
def test_every_row_of_a_notebook_is_read(bench, family):
    studio = bench.draw.draw_studio(family, 1, 25, 2)
    book = bench.doors.open_notebook(studio)
    graded = [one for one in book.makings if one.grade]
    assert len(graded) == 25
    (asked,) = (one for one in book.makings if not one.grade)  # blank, of a day to come
    assert asked.day > max(one.day for one in graded)
    assert asked.session not in {one.session for one in graded}
    assert not any("left out" in note for note in book.notes)
    own = {column for row in studio.rows for column in row} & set(studio.world.own)
    assert own <= {column for one in graded for column in one.conditions}
    assert any(one.stages for one in graded) == (studio.world.manner.bookings != "none")


@pytest.mark.parametrize("family", NAMES + STRANGERS)
def test_the_stated_chance_is_the_share_that_comes_out_good(bench, family):
    # many small studios: what is hidden (a day's luck, a lot, a bottle) is drawn often
    said, came = [], []
    for seed in range(3):
        shop = bench.draw.Shop(family, seed)
        for _ in range(300):
            work = shop.work()
            said.append(shop.world.good(work))
            came.append(not bench.draw.spoilt(shop.rng, shop.world, work, unknown=True))
    said, came = np.array(said), np.array(came)
    assert abs(came.mean() - said.mean()) < 4.0 * np.sqrt((said * (1 - said)).sum()) / said.size
    upper = said > np.median(said)
    if upper.any() and family != "luck":
        assert came[upper].mean() > came[~upper].mean()
        assert abs(came[upper].mean() - said[upper].mean()) < 0.08


@pytest.mark.parametrize("family", ["hazards", "bottles", "outside", "luck"])
def test_what_is_hidden_averages_to_what_is_said(bench, family):
    said, came = [], []
    for seed in range(6):
        shop = bench.draw.Shop(family, seed)
        for _ in range(150):
            work = shop.work()
            said.append(shop.world.good(work))
            came.append(np.prod([1.0 - one.chance(work) for one in shop.world.spoilers]))
    assert abs(np.mean(came) - np.mean(said)) < 0.035


def test_a_studio_is_the_same_for_the_same_seed_and_its_notebook_only_grows(bench):
    draw = bench.draw.draw_studio
    short, long = draw("pairs", 3, 20, 0), draw("pairs", 3, 30, 0)
    assert short.rows == long.rows[:20]
    assert draw("pairs", 4, 20, 0).rows != short.rows


@pytest.mark.parametrize("family", NAMES[:5] + STRANGERS)
def test_the_main_cause_spoils_the_most_plates_and_is_written_down(bench, family):
    for seed in range(3):
        studio = bench.draw.draw_studio(family, seed, 150, 0)
        main = studio.world.main
        assert set(main.columns) <= set(studio.kept)
        count = {
            one: sum(one in made.spoilt_by for made in studio.made) for one in studio.world.spoilers
        }
        assert count[main] == max(count.values())
        assert 0.08 * 150 < count[main] < 0.55 * 150


def test_where_nothing_is_wrong_there_is_no_right_name(bench):
    for family in ("outside", "luck"):
        world = bench.draw.Shop(family, 0).world
        assert world.main is None
        assert {n for one in world.spoilers for n in one.names} <= {
            *("too_little_light", "too_much_light", "light_misjudged"),
            *("exposure_stops", "development_exposure_stops"),
        }


def test_looks_follow_the_table_only_where_they_should(bench):
    def share(family):
        right = seen = 0
        for seed in range(4):
            for made in bench.draw.draw_studio(family, seed, 60, 0).made:
                looks = {w.split("@")[0] for w in made.row["defects"].split(";") if w}
                if looks and len(made.spoilt_by) == 1 and made.spoilt_by[0].names:
                    from benchmarks.families.writing import looks_of

                    table = {look for n in made.spoilt_by[0].names for look, _ in looks_of(n)}
                    seen, right = seen + 1, right + bool(looks & table)
        return right / seen

    assert share("cliffs") == 1.0
    assert share("pairs") < 0.5
    rows = bench.draw.draw_studio("own columns", 0, 40, 0).rows
    assert not any(row["defects"] for row in rows)


def test_grades_are_turned_as_often_as_said(bench):
    made = [
        m for seed in range(6) for m in bench.draw.draw_studio("own columns", seed, 100, 0).made
    ]
    graded = np.array([m.row["grade"] in ("good", "fine") for m in made])
    assert 0.05 < np.mean(graded != [m.good for m in made]) < 0.11


def test_the_chance_of_a_good_grade_counts_wrong_grades_both_ways(bench):
    work = bench.draw.Shop("own columns", 0).work()
    for sure, chance in ((0.0, 0.92), (1.0, 0.08)):
        spoiler = bench.studio.Spoiler("x", "polish", lambda _, p=sure: p)
        manner = bench.studio.Manner(turned=0.08)
        world = bench.studio.World("x", (spoiler,), None, manner)
        assert world.graded_good(work) == pytest.approx(chance)


def test_makers_book_the_right_stage_as_often_as_said_or_none(bench):
    right = booked = silent = 0
    for seed in range(10):
        studio = bench.draw.draw_studio("cliffs", seed, 40, 0)
        silent += studio.world.manner.bookings == "none"
        for made in studio.made:
            stages = {k[6:]: v for k, v in made.row.items() if k.startswith("stage_")}
            if studio.world.manner.bookings == "none":
                assert not stages
            elif made.spoilt_by and made.row["grade"] in ("lost", "study"):
                (fault,) = (stage for stage, how in stages.items() if how == "fault")
                booked, right = booked + 1, right + (fault == made.spoilt_by[0].stage)
    assert 3 <= silent <= 8
    assert 0.75 < right / booked < 0.97


def test_cells_are_left_empty_and_a_plate_that_is_given_up_has_none_beyond(bench):
    from benchmarks.families.writing import OF_STAGE

    unfinished: dict = {"good": [], "lost": []}
    for seed in range(5):
        studio = bench.draw.draw_studio("luck", seed, 60, 0)
        good = [one for one in studio.made if one.row["grade"] in ("good", "fine")]
        there = [sum(c in one.row for c in studio.kept) / len(studio.kept) for one in good]
        assert np.mean(there) == pytest.approx(1.0 - studio.world.manner.missing, abs=0.04)
        ends = [column for column in studio.kept if column in OF_STAGE["finish"]]
        for one in studio.made:
            if one.row["grade"] in unfinished and len(ends) > 2:
                unfinished[one.row["grade"]].append(not any(c in one.row for c in ends))
    assert np.mean(unfinished["good"]) < 0.03
    assert 0.3 < np.mean(unfinished["lost"]) < 0.9


def test_a_plate_after_the_notebook_is_known_in_full(bench):
    studio = bench.draw.draw_studio("bottles", 1, 30, 20)
    assert all(column in one.work.values for one in studio.after for column in studio.kept)
    last = studio.made[-1].work.values[studio.world.main.name]
    assert {one.work.values[studio.world.main.name] for one in studio.after} == {last}
