"""Suspects of a stage: bad sides, the studio's own spreads, and readings that are missing."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from tests.learn.plates import good, lost, studio

from argentry import trade
from argentry.learn.causes.inclusion import weigh
from argentry.learn.causes.shapes import Shape, bad_side
from argentry.learn.causes.spreads import fill, spread_out, spreads
from argentry.learn.causes.suspects import (
    SINCE,
    Side,
    _groups,
    _inclusion,
    _shapes,
    _slab,
    elsewhere,
    shaped,
    suspects,
)
from argentry.learn.stages.table import OWN_SOURCE, stage_tables
from argentry.trade.conditions import conditions

BY_KEY = {(one.stage, one.key): one for one in conditions()}
WINDOW = next(one for one in conditions() if one.form == "window")
FREE = next(one for one in conditions() if one.form == "free")
WORSE = next(one for one in conditions() if one.form == "more is worse")
SWITCH = replace(FREE, form="switch")


def in_spreads(table):
    return spread_out(table.x, *spreads(table))


def coat(values, name="room_rh_pct"):
    plates = [
        (good if n % 3 else lost)(n, conditions={} if v is None else {name: v})
        for n, v in enumerate(values)
    ]
    return stage_tables(plates)["coat"]


def test_a_bad_side_points_to_what_is_worse():
    x = np.array([-2.0, 0.0, 1.5])
    assert bad_side(x, "low", WORSE).tolist() == [2.0, 0.0, -1.5]
    assert bad_side(x, "high", WORSE).tolist() == [-2.0, 0.0, 1.5]


def test_a_window_has_two_soft_sides_or_one_distance():
    nodes, weights = np.polynomial.hermite_e.hermegauss(60)  # outside: a normal by quadrature
    weights = weights / weights.sum()
    for side in ("low", "high"):  # as wide in usual plates as a condition that is not bent
        bent = bad_side(nodes, side, WINDOW)
        assert weights @ bent == pytest.approx(0.0, abs=0.001)
        assert np.sqrt(weights @ bent**2) == pytest.approx(1.0, abs=0.001)
    assert bad_side(np.array([-2.0, 0.0, 2.0]), "either", WINDOW).tolist() == [1.2, -0.8, 1.2]
    low, high = (bad_side(np.array([-3.0, 3.0]), side, WINDOW) for side in ("low", "high"))
    assert low.tolist() == high[::-1].tolist()
    assert low[0] > 3.0
    good_side = bad_side(np.array([2.0, 3.0]), "low", WINDOW)  # neither good nor harm from there
    assert good_side == pytest.approx(low[1], abs=0.02)


def test_conditions_are_told_in_the_studios_own_spreads():
    x = np.random.default_rng(2).normal(3.0, 2.0, 400)
    x[0] = 20.0
    table = coat(list(range(400)))
    column = table.names.index("room_rh_pct")
    table.x[:, column] = x
    got = in_spreads(table)[:, column]
    low, middle, high = np.quantile(x, [0.1, 0.5, 0.9])
    spread = (high - low) / (2.0 * 1.2815515655446004)
    assert spread > 0.5 * x.std()
    want = np.clip((x - middle) / spread, -3.0, 3.0)
    np.testing.assert_allclose(got, want)
    assert np.abs(got).max() == 3.0
    assert np.isnan(in_spreads(table)[:, (column + 1) % len(table.names)]).all()


def test_noise_of_an_instrument_is_no_wandering_and_one_far_reading_is_not_lost():
    table = coat(list(range(40)))
    column = table.names.index("room_rh_pct")
    table.x[:, column] = np.tile([0.01, -0.01], 20)
    assert np.abs(in_spreads(table)[:, column]).max() == pytest.approx(0.01 / 0.2)
    table.x[:, column] = 0.0
    table.x[0, column] = 3.0
    spread = 0.5 * table.x[:, column].std()  # between the tenths lies nothing
    assert in_spreads(table)[0, column] == pytest.approx(min(3.0 / spread, 3.0))


def test_the_middle_of_a_window_is_the_trades_best_value_where_the_studio_works_near_it():
    table = coat([25.0] * 40, "coat_nm")
    column = table.names.index("coat_nm")
    assert table.conditions[column].form == "window"
    near = np.linspace(-0.6, 1.4, 40)
    table.x[:, column] = near
    got = in_spreads(table)[:, column]
    assert got[np.argmin(np.abs(near))] == pytest.approx(0.0, abs=0.06)
    far = near + 2.0
    table.x[:, column] = far
    middle = np.quantile(far, 0.25)  # the side of its own work that is nearest the best value
    low, high = np.quantile(far, [0.1, 0.9])
    spread = (high - low) / (2.0 * 1.2815515655446004)
    np.testing.assert_allclose(
        in_spreads(table)[:, column], np.clip((far - middle) / spread, -3, 3)
    )
    table.x[:, column] = -far
    np.testing.assert_allclose(
        in_spreads(table)[:, column], np.clip((middle - far) / spread, -3, 3)
    )


def test_what_is_read_stays_and_has_no_doubt():
    x = np.array([[1.0, 2.0], [0.5, -1.0]])
    filled, doubt = fill(x, np.array([0, 1]))
    np.testing.assert_array_equal(filled, x)
    assert not doubt.any()
    x[0, 1] = np.nan
    filled, doubt = fill(x, np.array([0, 1]))
    assert (filled[0, 0], filled[1, 1], doubt[0, 0]) == (1.0, -1.0, 0.0)
    assert doubt[0, 1] > 0.0


def test_a_missing_reading_comes_from_the_rest_of_its_plate():
    random = np.random.default_rng(4)
    first = random.standard_normal(400)
    x = np.stack([first, 0.9 * first + np.sqrt(1 - 0.81) * random.standard_normal(400)], axis=1)
    truth = x[:60, 1].copy()
    x[:60, 1] = np.nan
    filled, doubt = fill(x, np.arange(400))
    assert np.corrcoef(filled[:60, 1], truth)[0, 1] > 0.85
    miss = ((filled[:60, 1] - truth) ** 2).mean()
    assert 0.5 * miss < doubt[0, 1] < 2.0 * miss


def test_a_missing_reading_comes_from_the_others_of_its_session():
    random = np.random.default_rng(5)
    room = random.standard_normal(60)
    session = np.repeat(np.arange(60), 4)
    x = (room[session] + 0.1 * random.standard_normal(240))[:, None]
    truth = x[::4, 0].copy()
    x[::4] = np.nan
    filled, doubt = fill(x, session)
    assert np.abs(filled[::4, 0] - truth).max() < 0.5
    assert (doubt[::4, 0] == 0.02).all()  # never told as sure
    scattered = random.permutation(session)
    _, vague = fill(x, scattered)
    assert vague[::4, 0].mean() > 0.5


def test_with_nothing_known_of_a_plate_it_is_the_mean_with_the_whole_spread():
    x = np.array([[1.0], [3.0], [2.0], [np.nan]])
    filled, doubt = fill(x, np.arange(4))
    assert filled[3, 0] == pytest.approx(2.0)
    assert doubt[3, 0] == pytest.approx(2.0 / 3.0)
    never, whole = fill(np.full((2, 1), np.nan), np.arange(2))
    assert (never.tolist(), whole.tolist()) == ([[0.0], [0.0]], [[1.0], [1.0]])


@pytest.mark.parametrize(
    ("values", "found"),
    [
        ([40.0, 50.0, 60.0, 45.0], 0),  # read four times only
        ([40.0, 50.0, 60.0, 45.0, 55.0], 2),  # on its bad side and on the other
        ([50.0] * 20, 0),  # it never varied
        ([None] * 20, 0),
    ],
)
def test_a_condition_is_a_suspect_when_it_was_read_and_varied(values, found):
    made, sides = suspects(coat(values))
    assert len(sides) == made.x.shape[1] == found
    assert made.x.shape[0] == len(values)


def test_a_plate_whose_fault_nobody_put_to_a_stage_is_one_plate():
    plates = [one if one.grade == "good" else replace(one, stages={}) for one in studio(40)]
    table = stage_tables(plates)["coat"]
    assert len(table.ids) > 40, "it has a row as sound and one as faulty"
    _, sides = suspects(table)
    assert {side.read for side in sides} == {40}
    assert SINCE in {side.side for side in sides}


def test_what_a_suspect_is_told_with():
    table = stage_tables(studio(60))["coat"]
    made, (damp, dry, *steps) = suspects(table)
    assert (damp.name, damp.side, damp.causes, damp.read) == (
        "room_rh_pct", "high", ("damp_air",), 60,
    )  # fmt: skip
    condition = BY_KEY["coat", "room_rh_pct"]
    assert (dry.side, dry.causes, dry.title) == ("low", (), "humidity of the room: too low")
    assert [step.side for step in steps] == [SINCE] * 5
    assert made.inclusion == pytest.approx(
        [
            trade.value("causes", "inclusion_share") * condition.inclusion,
            trade.value("causes", "other_side_inclusion"),
            *[trade.value("causes", "change_inclusion")] * 5,
        ]
    )
    known = (trade.value("causes", "slab_mean"), trade.value("causes", "slab_sd"))
    change = (0.0, trade.value("causes", "change_sd"))
    assert list(zip(made.mean, made.sd, strict=True)) == [known] * 2 + [change] * 5
    np.testing.assert_array_equal(made.fault, 1.0 - table.ok)
    np.testing.assert_array_equal(made.session, np.arange(60) // 3)
    assert made.groups == tuple((j,) for j in range(7))
    worst = made.x[:, 0].argmax()
    assert table.x[worst, damp.column] == table.x[:, damp.column].max()


def test_a_column_of_the_makers_own_may_be_bad_on_either_side_and_is_doubted_more():
    plates = [
        replace(one, conditions={"shelf lamp": float(n % 7)}) for n, one in enumerate(studio(60))
    ]
    made, (own, *_) = suspects(stage_tables(plates)["coat"])
    assert (own.name, own.side, own.causes) == ("shelf lamp", "either", ())
    assert made.inclusion[0] <= trade.value("causes", "own_inclusion")
    assert made.sd[0] == trade.value("causes", "free_slab_sd")


def test_slabs_lean_to_harm_where_the_bad_side_is_known():
    known = (trade.value("causes", "slab_mean"), trade.value("causes", "slab_sd"))
    free = trade.value("causes", "free_slab_sd")
    assert _slab(WORSE, "high") == known
    assert _slab(WINDOW, "low") == known
    assert _slab(FREE, "high") == (0.0, free)
    assert _slab(WORSE, "either") == (0.0, free)
    switch = replace(SWITCH, effect_middle=-0.5)
    assert _slab(switch, "words") == (pytest.approx(0.2), free)


def with_lamp(faults, values):
    """Return plates with a column of the maker's own; lost at the coat where `faults`."""
    plates = [
        (lost if bad else good)(n, conditions={"shelf lamp": float(v)})
        for n, (bad, v) in enumerate(zip(faults, values, strict=True))
    ]
    return stage_tables(plates)["coat"]


def shape_of(table):
    made, sides = shaped(table, *suspects(table), weigh)
    at = next(j for j, side in enumerate(sides) if side.name == "shelf lamp")
    return made, at, max(sides[at].shapes, key=lambda one: one.share)


def test_plates_choose_between_a_slope_a_cliff_and_both_ends():
    random = np.random.default_rng(5)
    lamp = random.normal(0.0, 1.0, 240)
    luck = random.random(240)
    cliff = shape_of(with_lamp(luck < np.where(lamp > 0.4, 0.8, 0.05), lamp))
    ends = shape_of(with_lamp(luck < np.where(np.abs(lamp) > 1.0, 0.8, 0.05), lamp))
    slope = shape_of(with_lamp(luck < 1.0 / (1.0 + np.exp(1.0 - 1.2 * lamp)), lamp))
    assert np.isfinite(cliff[2].cut)
    assert not cliff[2].ends
    assert cliff[2].cut == pytest.approx(0.4, abs=0.2)
    assert ends[2].ends
    assert np.isnan(slope[2].cut)
    assert not slope[2].ends
    assert cliff[0].gain[cliff[1]] < 0.5  # what five shapes might have found by luck is paid


def test_a_value_that_was_not_read_may_lie_on_either_side_of_a_cliff():
    step = Shape(cut=0.5, ends=False, middle=0.3, spread=0.5, share=1.0)
    drawn = 0.2 + 0.8 * np.random.default_rng(1).standard_normal(200_000)  # outside: by lot
    over = ((drawn > 0.5) - 0.3) / 0.5
    at, doubt = step.bad(np.array([0.2, 0.6]), np.array([0.64, 0.0]), "high", WORSE)
    assert at.tolist() == pytest.approx([over.mean(), 1.4], abs=0.01)
    assert doubt.tolist() == pytest.approx([over.var(), 0.0], abs=0.02)
    low, _ = step.bad(np.array([-0.6]), np.zeros(1), "low", WORSE)
    assert low.tolist() == [1.4]


def test_words_of_a_column_are_one_suspect():
    bottles = [f"no {n // 10}" for n in range(120)]  # twelve of them, ten plates each
    plates = [
        (good if n % 4 else lost)(n, conditions={"iodine bottle": word})
        for n, word in enumerate(bottles)
    ]
    made, sides = suspects(stage_tables(plates)["coat"])
    words = [j for j, side in enumerate(sides) if side.side == "words"]
    assert len(words) == 7  # eight of them are told apart, against the first of these
    assert made.groups[0] == tuple(words)
    assert made.inclusion[0] <= trade.value("causes", "own_inclusion")
    assert (made.group_of()[words] == 0).all()
    remarks = [replace(one, conditions={"remark": f"{n}"}) for n, one in enumerate(plates[:40])]
    assert not [s for s in suspects(stage_tables(remarks)["coat"])[1] if s.side == "words"]


def test_steps_in_time_begin_at_each_sixth_of_the_sessions():
    made, sides = suspects(stage_tables(studio(60))["coat"])
    assert len(made.x) == 60
    first = [int(np.flatnonzero(made.x[:, j] > 0)[0]) for j in range(2, 7)]
    assert first == [3 * (k * 20 // 6) for k in range(1, 6)]
    assert [side.name for side in sides[2:]] == sorted(side.name for side in sides[2:])
    few = suspects(stage_tables(studio(33))["coat"])[1]
    assert not [side for side in few if side.side == SINCE]  # eleven sessions tell no change


def test_a_condition_is_suspected_at_later_stages_but_never_twice_at_its_own():
    found = {(one.stage, one.key) for one in elsewhere()}
    assert {("development", "room_c"), ("finish", "room_rh_pct"), ("coat", "buff_minutes")} <= found
    assert not [stage for stage, key in found if key == "water_us_cm"]  # nothing comes after it
    assert not found & set(BY_KEY)
    assert ("exposure", "coat_nm") not in found  # the exposure has the coat's thickness itself
    assert {one.form for one in elsewhere()} == {"free"}


def test_how_likely_a_suspect_matters_before_any_plate():
    """The trade's share among the levels of a column and the known sides of one condition."""
    share, own, other = (
        trade.value("causes", key)
        for key in ("inclusion_share", "own_inclusion", "other_side_inclusion")
    )
    words = [replace(SWITCH, key=f"bottle={word}", inclusion=0.4) for word in "abc"]
    table = SimpleNamespace(conditions=[replace(WORSE, key="damp", inclusion=0.5), *words])

    def side(column, which, *causes):
        return Side("", "", which, causes, column, 60)

    high, low, none = side(0, "high", "x"), side(0, "low", "y"), side(0, "low")
    first, unknown = side(1, "words", "z"), side(1, "words")
    cases = [
        (high, [high, none], 1, share * 0.5),
        (none, [high, none], 1, other),
        (low, [high, low, first], 1, share * 0.5 / 2.0),
        (first, [high, first], 1, share * 0.4 / 3.0),
        (unknown, [unknown], 1, min(share * 0.4 / 3.0, own)),
        (unknown, [unknown], 3, min(share * 0.4, own)),  # the words are one suspect
    ]
    for one, sides, together, want in cases:
        assert _inclusion(table, one, sides, together) == pytest.approx(want), (one, together)
    rare = SimpleNamespace(conditions=[replace(one, inclusion=0.01) for one in words])
    assert share * 0.01 / 3.0 < own
    assert _inclusion(rare, side(0, "words"), [], 1) == pytest.approx(share * 0.01 / 3.0)


def test_which_shapes_are_tried():
    x = np.linspace(-2.0, 2.0, 101)
    own = replace(FREE, source=OWN_SOURCE)
    slope = Shape(np.nan, False, 0.0, 1.0, 0.5)
    low, either = Side("", "", "low", ("x",), 0, 101), Side("", "", "either", (), 0, 101)
    (first, *cliffs) = _shapes(low, x, WORSE)
    assert str(first) == str(slope)
    assert [one.cut for one in cliffs] == pytest.approx([-0.6, 0.0, 0.6, 1.2])
    assert [one.middle for one in cliffs] == pytest.approx([0.65, 0.5, 0.35, 0.2], abs=0.01)
    for one in cliffs:
        assert one.spread == pytest.approx(np.sqrt(one.middle * (1.0 - one.middle)))
        assert (one.ends, one.share) == (False, 0.125)
    both = _shapes(either, x, own)
    assert [one.ends for one in both] == [False] * 5 + [True] * 5
    assert np.isnan(both[5].cut)
    assert (both[5].middle, both[5].spread) == pytest.approx((np.abs(x).mean(), np.abs(x).std()))
    assert [one.cut for one in both[6:]] == pytest.approx([0.72, 1.0, 1.32, 1.6])
    assert [one.share for one in both] == [0.5] + [0.5 / 9.0] * 9
    assert _shapes(low, x, SWITCH) == _shapes(either, x, WORSE) == []
    rare = np.where(np.arange(101) < 4, -1.0, 0.0)  # too few lie beyond any value
    assert len(_shapes(low, rare, WORSE)) == 1


def test_a_missing_reading_by_the_formula_of_a_regression_that_is_shrunk():
    x = np.array([[1.0, 2.0], [2.0, 3.5], [4.0, 3.0], [0.0, 1.0], [3.0, np.nan], [np.nan, 2.5]])
    filled, doubt = fill(x, np.arange(6))
    first, second = x[:5, 0] - 2.0, np.array([2.0, 3.5, 3.0, 1.0, 2.5]) - 2.4
    covariance = (first[:4] @ second[:4]) / (4.0 + 10.0)
    own = (first**2).mean(), (second**2).mean()
    gain = covariance / (1.1 * own[0]), covariance / (1.1 * own[1])
    assert filled[4, 1] == pytest.approx(2.4 + gain[0] * 1.0)
    assert filled[5, 0] == pytest.approx(2.0 + gain[1] * 0.1)
    assert doubt[4, 1] == pytest.approx(own[1] - gain[0] * covariance)
    assert doubt[5, 0] == pytest.approx(own[0] - gain[1] * covariance)
    assert not doubt[:4].any()


def test_a_missing_reading_by_the_analysis_of_variance_of_its_session():
    """Searle, Casella and McCulloch, Variance Components, 1992: a shrunk mean of the session."""
    rooms = [[4.0, 4.6], [1.0, 1.2, 1.1], [2.0], [5.0, 5.5], [3.0, 2.6], [0.0, 0.1]]
    session = np.array([n for n, room in enumerate(rooms) for _ in [*room, 0]])
    x = np.array([value for room in rooms for value in [*room, np.nan]])[:, None]
    filled, doubt = fill(x, session)
    read = np.concatenate(rooms)
    free = sum(len(room) - 1 for room in rooms)
    assert free == 6
    noise = sum(np.var(room) * len(room) for room in rooms) / free
    shared = read.var() - noise
    for room, at in zip(rooms, np.flatnonzero(np.isnan(x[:, 0])), strict=True):
        gain = shared / (shared + noise / len(room))
        assert filled[at, 0] == pytest.approx(read.mean() + gain * (np.mean(room) - read.mean()))
        assert doubt[at, 0] == pytest.approx(shared * (1.0 - gain) + noise)
    for last, told in ((-3, True), (-6, False)):  # five readings are free, or four
        part, of = x[:last], session[:last]
        alone, vague = fill(part, of)
        same = alone[2, 0] == pytest.approx(np.nanmean(part))
        assert (not same) == told == (vague[2, 0] < 0.9 * np.nanvar(part))


def test_sessions_that_do_not_agree_among_them_tell_nothing_of_a_missing_reading():
    x = np.array([1.0, -1.0, 2.0, -2.0, 1.5, -1.5, 3.0, -3.0, 2.5, -2.4, np.nan])[:, None]
    filled, doubt = fill(x, np.array([0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]))
    assert filled[10, 0] == pytest.approx(np.nanmean(x))
    assert doubt[10, 0] == pytest.approx(np.nanvar(x))


def test_what_was_read_once_has_a_mean_and_no_spread_of_its_own():
    x = np.array([[2.0, 1.0], [np.nan, 4.0], [np.nan, np.nan]])
    filled, doubt = fill(x, np.arange(3))
    assert filled[2].tolist() == [2.0, 2.5]
    assert doubt[2].tolist() == [1.0, 2.25]


def test_a_switch_has_the_spread_of_its_words_and_no_less_than_some():
    table = SimpleNamespace(conditions=[SWITCH, SWITCH, WORSE, WORSE], x=np.full((10, 4), np.nan))
    table.x[:, 0] = [1.0, 0.0] * 5
    table.x[:, 1] = [1.0] + [0.0] * 9
    table.x[:, 1] /= 10.0
    table.x[:, 2] = np.arange(10.0)
    middle, spread = spreads(table)
    assert middle[:3] == pytest.approx([0.5, 0.01, 4.5])
    assert spread[:3] == pytest.approx([0.5, 0.15, (8.1 - 0.9) / (2.0 * 1.2815515655446004)])
    assert np.isnan([middle[3], spread[3]]).all()


def test_words_of_the_makers_own_are_one_suspect_and_sides_that_have_causes_each_their_own():
    rows = (("rag=linen", "words", ()), ("room_rh_pct", "high", ()), ("rag=wool", "words", ()),
            ("rag=silk", "words", ("dust",)), ("room_rh_pct", "low", ("dry_air",)))  # fmt: skip
    sides = [Side(name, name, side, causes, at, 9) for at, (name, side, causes) in enumerate(rows)]
    assert _groups(sides) == [(0, 2), (1,), (3,), (4,)]
