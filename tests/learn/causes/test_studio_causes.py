from __future__ import annotations

from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from tests.learn.faults import SOUND, damp_studio, first, make

from argentry.learn.causes import studio_causes
from argentry.learn.causes.appearance import believed_looks
from argentry.learn.causes.guilty_stage import DRAWS, Unbooked
from argentry.learn.causes.plate_causes import studio_past, why_plate
from argentry.learn.causes.studio_causes import stage_views, why_studio
from argentry.records.plate import STAGES
from argentry.trade.causes import known_causes


def test_the_main_cause_of_many_plates_is_named_first():
    told = why_studio(damp_studio(80))
    top = told.causes[0]
    assert top.cause == "damp_air"
    assert top.named
    assert top.probability > 0.9
    assert top.low <= top.probability <= top.high
    assert top.share_low <= top.share <= top.share_high
    assert 0.4 < top.share <= 1.0
    assert top.effect_low > 0
    assert top.conditions == ("room_rh_pct",)
    assert top.check_minutes > 0
    assert told.enough_plates
    assert [c.cause for c in told.causes if c.named] == ["damp_air"]


def test_each_cause_is_shown_with_its_own_title_and_check():
    known = {cause.key: cause for cause in known_causes()}
    causes = why_studio(damp_studio(30), charts=False).causes
    assert len({(row.title, row.stage) for row in causes}) == len(causes)
    for row in causes:
        if row.cause not in known:  # a condition no known cause works through so
            assert (row.conditions, row.check) == ((row.cause,), "")
            continue
        of = known[row.cause]
        assert (row.title, row.stage, row.check, row.check_minutes) == (
            of.title, of.stage, of.check, of.check_minutes,
        )  # fmt: skip
    words = why_studio(damp_studio(80)).words
    assert words.endswith("most likely: {title}.".format(title=known["damp_air"].title))


def test_without_looks_the_readings_alone_find_it():
    assert first(why_studio(damp_studio(80, looks=False))) == "damp_air"


def test_few_plates_give_suspects_and_no_verdict():
    told = why_studio(damp_studio(14, limit=50.0))
    assert not told.enough_plates
    assert told.words.startswith("Too few plates to tell")
    assert not any(c.named for c in told.causes)


def test_two_studios_of_opposite_causes():
    damp = why_studio(damp_studio(80))
    salty = []
    for o in damp_studio(80, limit=1e9, seed=2):
        bad = o.conditions["water_us_cm"] > 5.5 and o.grade == "good"
        changed = dict(SOUND, finish="fault")
        salty.append(
            replace(o, stages=changed, grade="lost", defects=(("haze", "finish"),)) if bad else o
        )
    assert first(damp) == "damp_air"
    assert first(why_studio(salty)) == "salty_water"


def test_a_column_of_the_makers_own_can_be_the_cause():
    rng = np.random.default_rng(3)
    plates = []
    for i in range(90):
        lamp = float(rng.normal(100, 20))
        conditions = {"shelf lamp lx": lamp, "room_rh_pct": float(rng.normal(50, 8))}
        plates.append(make(i, conditions, fault="coat" if lamp > 112 else ""))
    told = why_studio(plates)
    assert "shelf lamp lx" in [c.cause for c in told.causes if c.named]


def test_failures_by_chance_hardly_ever_name_anything():
    named = 0  # of forty such studios one is named, by luck
    rng = np.random.default_rng(4)
    for seed in range(5):
        plates = [
            replace(o, stages=SOUND, grade="good", defects=())
            for o in damp_studio(70, limit=1e9, seed=seed)
        ]
        plates = [
            make(int(o.id), o.conditions, fault=str(rng.choice(STAGES[:2])))
            if rng.random() < 0.3
            else o
            for o in plates
        ]
        named += any(c.named for c in why_studio(plates, charts=False).causes)
    assert named <= 1


def test_the_same_plates_give_the_same_answer_in_any_order():
    plates = damp_studio(30)
    assert why_studio(plates) == why_studio(plates[::-1])


def test_duplicates_count_once():
    plates = damp_studio(30)
    assert why_studio(plates + plates) == why_studio(plates)


def no_readings(plates):
    return [replace(o, conditions={}) for o in plates]


def one_constant(plates):
    return [replace(o, conditions=dict(o.conditions, room_rh_pct=50.0)) for o in plates]


def only_grades(plates):
    return [replace(o, stages={}, defects=(), conditions={}) for o in plates]


@pytest.mark.parametrize("change", [no_readings, one_constant, only_grades])
def test_poor_logs_give_a_sane_answer(change):
    plates = change(damp_studio(50))
    told = why_studio(plates)
    for cause in told.causes:
        assert 0 <= cause.low <= cause.probability <= cause.high <= 1
        assert 0 <= cause.share_low <= cause.share <= cause.share_high
        assert cause.words
    assert not any("room_rh_pct" in c.conditions for c in told.causes)
    lost = next(o for o in plates if o.grade == "lost")
    one = why_plate(plates, lost.id)
    assert one.failed
    assert all(0 <= c.low <= c.probability <= c.high <= 1 for c in one.causes)


def test_nothing_at_all():
    told = why_studio([])
    assert told.causes == ()
    assert told.plates == told.failures == 0
    assert not told.enough_plates
    assert told.words == "No plate has failed so far: nothing to explain."


def test_all_fine_and_all_lost():
    fine = [make(i, {"room_rh_pct": 40.0 + i}) for i in range(10)]
    assert why_studio(fine).causes == ()
    lost = [make(i, {"room_rh_pct": 40.0 + i}, fault="coat") for i in range(10)]
    told = why_studio(lost)
    assert told.failures == 10
    assert not told.enough_plates
    assert max(c.probability for c in told.causes if c.conditions) < 0.5


# --- one plate -----------------------------------------------------------------------------------


# --- what the trade knows ------------------------------------------------------------------------


def test_every_cause_of_the_trade_is_whole():
    keys = Counter(c.key for c in known_causes())
    assert max(keys.values()) == 1
    for cause in known_causes():
        assert cause.check.endswith(tuple("abcdefghijklmnopqrstuvwxyz"))
        assert 0 < cause.check_minutes <= 60
        assert cause.links
        assert 0 < cause.prior < 0.5
    assert {c.stage for c in known_causes()} == set(STAGES)


def test_the_answer_stands_before_its_draws(monkeypatch):
    seen = []
    real = studio_causes._row

    def row(view, name, title, columns, share, *more, **given):
        seen.append(share)
        return real(view, name, title, columns, share, *more, **given)

    monkeypatch.setattr(studio_causes, "_row", row)
    told = why_studio(damp_studio(40))
    assert {share.shape for share in seen} == {(1 + DRAWS,)}
    top = max(seen, key=lambda share: share[0])
    assert max(cause.share for cause in told.causes) == pytest.approx(top[0])


def odd_looks(plates, look):
    return [replace(o, defects=((look, "coat"),)) if o.defects else o for o in plates]


def test_defects_that_look_unlike_the_table_do_not_hide_a_cause():
    # black specks belong to dust; the trade does not know them from damp air
    plates = odd_looks(damp_studio(80), "black_specks")
    found = next(c for c in why_studio(plates, charts=False).causes if c.cause == "damp_air")
    assert found.named
    assert found.probability > 0.9


def test_what_looks_may_take_from_a_cause_has_a_floor_and_what_they_add_has_none():
    follow = 0.7
    none, all_, much = believed_looks(np.array([-1000.0, 0.0, 50.0]), follow)
    assert none == pytest.approx(np.log(1.0 - follow))
    assert all_ == pytest.approx(0.0)
    assert much == pytest.approx(50.0 + np.log(follow))


def test_a_condition_may_be_bad_on_the_side_which_the_trade_calls_good():
    rng = np.random.default_rng(6)
    plates = []
    for i in range(90):
        damp = float(rng.normal(50, 10))
        plates.append(make(i, {"room_rh_pct": damp}, fault="coat" if damp < 42 else ""))
    told = why_studio(plates, charts=False)
    named = [c for c in told.causes if c.named]
    assert [(c.cause, c.title) for c in named] == [("room_rh_pct", "humidity of the room: too low")]
    assert named[0].conditions == ("room_rh_pct",)


def test_a_hot_room_that_spoils_development_is_found():
    rng = np.random.default_rng(7)
    plates = []
    for i in range(90):
        warm = float(rng.normal(21, 4))
        plates.append(make(i, {"room_c": warm}, fault="development" if warm > 24.5 else ""))
    named = [c for c in why_studio(plates, charts=False).causes if c.named]
    assert [(c.cause, c.stage) for c in named] == [("room_c", "development")]
    assert named[0].title == "warmth of the room (on the development)"


def test_a_change_in_time_is_told_and_blamed_on_no_condition():
    rng = np.random.default_rng(8)
    plates = []
    for i in range(90):
        fails = rng.random() < (0.1 if i < 45 else 0.6)
        conditions = {
            "fixer_age_days": float(i % 20),
            "water_us_cm": float(rng.lognormal(1.4, 0.5)),
        }
        plates.append(make(i, conditions, fault="finish" if fails else ""))
    told = why_studio(plates, charts=False)
    assert "the finish fails more often, for no reason that is written down" in told.words
    assert not any(c.named for c in told.causes if c.conditions == ("water_us_cm",))
    calm = why_studio(damp_studio(80), charts=False).words
    assert "for no reason" not in calm


def test_where_no_fault_has_a_stage_bookings_count_for_nothing():
    """Every row of weights is a draw of the sessions: without bookings they are all alike."""
    plates = damp_studio(30, looks=False)
    alike = [
        np.allclose(view.weights, view.weights[0])
        for loose in (Unbooked(), Unbooked(faults=1.0, open_=1.0))
        for view in [stage_views(plates, loose=loose)["coat"]]
    ]
    assert alike == [False, True]


def test_behind_a_cause_stand_the_plates_on_which_any_of_its_conditions_was_read():
    """A cause without a condition is told by the looks of its faults alone."""
    plates = [
        replace(o, conditions={k: v for k, v in o.conditions.items() if k != "box_c" or n < 12})
        for n, o in enumerate(damp_studio(30))
    ]
    rows = {c.cause: c for c in why_studio(plates, charts=False).causes}
    assert rows["coat_thin"].conditions == ("box_c", "coat_nm")
    assert rows["coat_thin"].plates == 30
    assert rows["dust"].conditions == ()
    assert rows["dust"].plates == rows["dust"].faults < 30


def test_a_plate_given_up_before_the_filter_was_not_left_under_it_too_long():
    """Of all plates it was the first suspect, at 67 %, while the plate's own causes left it out."""
    plates = [make(i, {}) for i in range(3)]
    veiled = make(3, {}, fault="development", defects=("fog",))
    spared = replace(veiled, broken_off=("development_end",))

    def shares(one):
        told = why_studio([*plates, one], charts=False).causes
        return {row.cause: row.share for row in told if row.stage == "development"}

    whole, left = shares(veiled), shares(spared)
    assert whole["left_too_long"] > 0.1
    assert left["left_too_long"] < 0.2 * whole["left_too_long"]
    assert left["frame_leak"] > whole["frame_leak"], "others take its place"


def test_an_effect_and_its_range_are_those_of_the_sets_that_hold_its_condition():
    """The law of total variance over sets (Kolmogorov), by hand; 80 % of a normal is 1.2816 sd."""
    sets = SimpleNamespace(
        members=np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0]]),
        effect=np.array([[9.0, 9.0], [9.0, 1.0], [9.0, 3.0]]),
        variance=np.array([[9.0, 9.0], [9.0, 0.5], [9.0, 0.1]]),
    )
    view = SimpleNamespace(weights=np.array([[0.5, 0.2, 0.3]]), weighed=sets)
    mean = (0.2 * 1.0 + 0.3 * 3.0) / 0.5
    within = (0.2 * 0.5 + 0.3 * 0.1) / 0.5
    between = (0.2 * (1.0 - mean) ** 2 + 0.3 * (3.0 - mean) ** 2) / 0.5
    half = 1.2815516 * (within + between) ** 0.5
    found = studio_causes._effect(view, [0, 1])
    assert found == pytest.approx((mean, mean - half, mean + half), abs=1e-6)
    assert studio_causes._effect(view, []) == (None, None, None)


def off_exposures(off, plates=60):
    """Return a studio whose exposures are all alike, and `off` of them judged one way."""
    made = []
    for n in range(plates):
        fault = "exposure" if n * off // plates < (n + 1) * off // plates else ""
        verdict = "under" if fault else "right"
        made.append(
            make(n, {"exposure_stops": float(n * 7 % 11) / 30.0}, fault=fault, verdict=verdict)
        )
    return made


def test_exposures_that_are_all_too_short_are_named_though_no_reading_tells_plates_apart():
    told = why_studio(off_exposures(30), charts=False)
    (row,) = (one for one in told.causes if one.named)
    assert first(told) == row.cause == "too_little_light"
    assert told.words == "30 failed of 60 plates; most likely: exposed too little."
    assert row.words.startswith("30 of 30 exposures judged wrong were wrong in this direction. E")
    assert row.low <= row.probability <= row.high <= 1.0
    assert row.low > 0.8
    assert row.share > 0.9
    few = next(c for c in why_studio(off_exposures(3)).causes if c.cause == row.cause)
    assert not few.named
    assert "judged wrong" not in few.words


def test_what_exposures_lean_to_and_what_conditions_say_are_two_ways_to_be_a_cause():
    made = off_exposures(30)
    views = dict(stage_views(made))
    view = views["exposure"]
    both = next(c for c in why_studio(made, charts=False, views=views).causes
                if c.cause == "too_little_light")  # fmt: skip
    views["exposure"] = replace(view, lean={})
    alone = next(c for c in why_studio(made, charts=False, views=views).causes
                 if c.cause == "too_little_light")  # fmt: skip
    lean = view.lean["too_little_light"].chance
    assert both.probability == pytest.approx(1 - (1 - alone.probability) * (1 - lean[0]))
    assert both.low == pytest.approx(1 - (1 - alone.low) * (1 - np.quantile(lean[1:], 0.1)))
    assert both.share == alone.share
    # and one plate judged so is put down to it, as nearly all others were
    assert studio_past(made, {"exposure": view}).made["exposure"][0] > 28.0
