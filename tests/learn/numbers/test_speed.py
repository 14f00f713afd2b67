"""Plate speed, latitude, box factor and dose from few plates: closed forms and recovery."""

import datetime as dt
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from tests.edges import is_taken_within

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.numbers import speed
from argentry.learn.numbers.box_and_dose import box_factor, development_dose
from argentry.learn.numbers.exposure_belief import (
    GradedExposure,
    believed,
    drifts_believed,
    quantiles,
    wander,
    weigh,
)
from argentry.learn.numbers.speed import (
    drift_number,
    found,
    in_turn,
    last_change,
    learn_exposure,
    light_given,
    offsets,
    speed_numbers,
)

DAY = dt.date(2026, 5, 2)


def plate(stops, verdict, **more):
    return GradedExposure((stops,), (verdict,), **more)


def verdict_of(stops, right, half, noise):
    z = stops + noise - right
    return (
        "under" if z < -half else "right" if z < half else "over" if z < half + 1.5 else "solarised"
    )


def test_what_is_believed_is_the_trades():
    belief = believed()
    assert belief.mean == pytest.approx(0.0, abs=1e-12)
    assert belief.sd == pytest.approx(trade.value("exposure", "plate_speed_sigma"), rel=1e-3)
    assert not found(belief)
    speed, half, noise = speed_numbers(belief, 3e-4)
    assert speed.value == pytest.approx(3e-4, rel=1e-6)
    assert speed.high / speed.low == pytest.approx(2 ** (2 * NormalDist().inv_cdf(0.9)), rel=0.01)
    assert half.value == pytest.approx(trade.value("decide", "half_latitude"), rel=1e-6)
    assert all(row.mostly_prior and row.plates == 0 for row in (speed, half, noise))


def test_the_speed_is_recovered_with_honest_ranges():
    rng = np.random.default_rng(11)
    inside, off = 0, []
    for _ in range(60):
        right, half, noise = rng.normal(0, 1), 0.5 * np.exp(rng.normal(0, 0.3)), 0.3
        given_ = rng.uniform(-1.5, 1.5, 12) + right
        plates = [plate(x, verdict_of(x, right, half, rng.normal(0, noise))) for x in given_]
        belief = learn_exposure(plates)
        low, high = quantiles(belief.shift, belief.marginal(0), (0.1, 0.9))
        inside += low <= right <= high
        off.append(abs(belief.mean - right))
    assert 39 <= inside <= 58  # 80 % of 60 is 48; outside this once in some thousands
    assert np.median(off) < 0.25


def test_the_order_of_plates_in_one_session_does_not_matter():
    plates = [plate(0.0, "under"), plate(1.0, "right"), plate(2.0, "over", day=DAY)]
    a, b = learn_exposure(plates), learn_exposure(plates[::-1])
    assert a.weight == pytest.approx(b.weight)
    assert a.plates == 3
    assert a.day == DAY


def test_between_sessions_the_speed_wanders():
    belief = learn_exposure([plate(0.0, "right")] * 6)
    later = wander(belief, 4)
    assert later.mean == pytest.approx(belief.mean, abs=0.02)
    drift = trade.value("decide", "speed_drift") * 2
    assert later.sd == pytest.approx(np.hypot(belief.sd, drift), rel=0.05)
    split = [plate(0.0, "right", session=str(i)) for i in range(6)]
    assert learn_exposure(split).sd > belief.sd


def test_how_far_the_speed_wanders_is_learned():
    rng = np.random.default_rng(4)
    found = []
    for drift in (0.0, 0.5):
        right = np.cumsum(rng.normal(0.0, drift, 40))
        given = right[:, None] + rng.uniform(-1.0, 1.0, (40, 3))
        plates = [
            plate(x, verdict_of(x, right[day], 0.5, rng.normal(0, 0.3)), session=str(day))
            for day in range(40)
            for x in given[day]
        ]
        found.append(drift_number(learn_exposure(plates)))
    steady, wandering = found
    trades = trade.value("decide", "speed_drift")
    assert steady.value < 0.7 * trades < trades < 1.5 * trades < wandering.value
    assert wandering.low < 0.5 < 1.3 * wandering.high
    assert (steady.what, steady.unit, steady.plates) == ("speed_drift", "stops", 120)
    assert steady.believed == wandering.believed == pytest.approx(trades)
    none = drift_number(believed())
    assert (none.value, none.low, none.high) == (
        none.believed,
        none.believed_low,
        none.believed_high,
    )
    assert none.mostly_prior


def test_a_plate_is_foreseen_by_what_stood_before_it():
    plates = [plate(0.0, "right", session="1"), plate(0.5, "over", session="2", day=DAY)]
    (first, _, after_one), (second, last, after_two) = in_turn(plates)
    assert first.weight == pytest.approx(believed().weight)
    assert after_one.weight == pytest.approx(weigh(believed(), plates[0]).weight)
    assert second.sd > after_one.sd  # a session has passed
    assert last is plates[1]
    assert after_two.weight == pytest.approx(learn_exposure(plates).weight)
    assert (after_two.plates, after_two.day) == (2, DAY)


def test_slips_do_not_break_it():
    plates = [plate(0.0, "right")] * 5 + [plate(3.0, "under"), plate(-3.0, "solarised")]
    belief = learn_exposure(plates)
    assert np.isfinite(belief.weight).all()
    assert abs(belief.mean) < 0.4


def test_speed_numbers_turn_stops_into_speed():
    belief = learn_exposure([plate(1.0, "right", day=DAY)] * 8)
    speed, half, _noise = speed_numbers(belief, 3e-4)
    assert speed.value == pytest.approx(1.5e-4, rel=0.15)
    assert speed.low < speed.value < speed.high
    assert half.low < half.value < half.high
    assert (speed.plates, speed.day, speed.mostly_prior) == (8, DAY, False)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-6, 6), st.sampled_from(["under", "right", "over"])), max_size=8)
)
def test_any_log_gives_weights(rows):
    belief = learn_exposure([plate(x, v) for x, v in rows])
    assert belief.weight.sum() == pytest.approx(1.0)
    assert np.all(belief.weight >= 0)
    speed, *_ = speed_numbers(belief, 3e-4)
    assert 0 < speed.low <= speed.value <= speed.high


def test_a_shady_light_is_told_from_a_sunny_one():
    rng = np.random.default_rng(4)
    plates = []
    for i in range(40):
        group, extra = ("shade", 0.7) if i % 2 else ("sun", 0.0)
        x = rng.uniform(-1, 1.7)
        plates.append(plate(x, verdict_of(x, extra, 0.4, rng.normal(0, 0.2)), group=group))
    shade, sun = offsets(learn_exposure(plates), plates)
    assert (shade.of, sun.of) == ("shade", "sun")
    assert shade.low > 0 > sun.high
    assert shade.plates == 20
    assert offsets(believed(), [plate(0, "right")]) == ()


def test_light_given():
    assert light_given(1.0, 4.0) == -2.0
    with pytest.raises(BadInput):
        light_given(0.0, 1.0)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: GradedExposure((), ()),
        lambda: GradedExposure((1.0, 2.0), ("right",)),
        lambda: plate(0.0, "pretty"),
        lambda: plate(np.nan, "right"),
        lambda: plate(0.0, "right", light_sd=-1.0),
        lambda: believed(np.nan),
        lambda: believed(0.0, 0.0),
        lambda: speed_numbers(believed(), 0.0),
        lambda: box_factor([1.0], []),
        lambda: box_factor([0.0], [1.0]),
        lambda: box_factor([np.nan], [1.0]),
        lambda: development_dose([100.0], []),
        lambda: development_dose([100.0], ["done"]),
        lambda: development_dose([-1.0], ["ripe"]),
    ],
)
def test_bad_input(wrong):
    with pytest.raises(BadInput):
        wrong()


def test_numbers_are_read_off_the_belief_and_turned_into_speed():
    belief = learn_exposure([GradedExposure((0.5,), ("right",))] * 3)
    speed, half, noise = speed_numbers(belief, 0.0004)
    for told, points, axis in (
        (speed, belief.shift, 0), (half, np.log(belief.half), 1), (noise, np.log(belief.noise), 2)
    ):  # fmt: skip
        fine = np.linspace(points[0], points[-1], 4001)
        curve = CubicSpline(points, np.log(belief.marginal(axis)))(fine)
        low, middle, high = quantiles(fine, np.exp(curve), (0.1, 0.5, 0.9))
        want = (
            np.exp([low, middle, high]) if axis else 0.0004 / 2.0 ** np.array([high, middle, low])
        )
        assert (told.low, told.value, told.high) == pytest.approx(tuple(want), rel=0.01)
    assert speed.believed == pytest.approx(0.0004)
    assert speed.believed_low < speed.believed < speed.believed_high
    assert {one.plates for one in (speed, half, noise)} == {3}
    assert [one.unit for one in (speed, half, noise)] == ["ISO", "stops", "stops"]


@pytest.mark.parametrize("sd", [0.1, 0.2])
def test_a_latitude_known_more_closely_than_its_points_lie_is_told_as_closely(sd):
    """With straight lines between the points a range was never narrower than .9 stop."""
    prior = believed()
    for axis, values in ((1, prior.half), (2, prior.noise)):
        middle = float(values[values.size // 2]) * 1.1
        own = np.exp(-0.5 * (np.log(values / middle) / sd) ** 2)
        shape = [1, 1, 1]
        shape[axis] = own.size
        weight = prior.weight.sum(axis=axis, keepdims=True) * own.reshape(shape)
        told = speed_numbers(replace(prior, weight=weight / weight.sum()), 0.0004)[axis]
        ends = middle * np.exp(sd * NormalDist().inv_cdf(0.9) * np.array([-1.0, 0.0, 1.0]))
        assert (told.low, told.value, told.high) == pytest.approx(tuple(ends), rel=0.01)


def test_a_speed_known_more_closely_than_its_points_lie_is_told_as_closely():
    """They lie a twelfth of a stop apart; by straight lines .03 stop was told as .05."""
    prior = believed()
    middle, sd = 0.03, 0.03
    own = np.exp(-0.5 * ((prior.shift - middle) / sd) ** 2)
    weight = own[:, None, None] * prior.weight.sum(axis=0)
    told = speed_numbers(replace(prior, weight=weight / weight.sum()), 0.0004)[0]
    ends = middle + sd * NormalDist().inv_cdf(0.9) * np.array([1.0, 0.0, -1.0])
    assert np.log2(0.0004 / np.array([told.low, told.value, told.high])) == pytest.approx(
        ends, abs=0.004
    )


def test_mostly_belief_until_the_variance_is_halved():
    prior = believed()
    for factor, mostly in ((1.01, False), (0.99, True)):
        sd = prior.sd / np.sqrt(2.0) / factor
        narrow = np.exp(-0.5 * (prior.shift / sd) ** 2)
        weight = narrow[:, None, None] * prior.weight.sum(axis=0)
        told = speed_numbers(replace(prior, weight=weight / weight.sum()), 0.0004)
        assert told[0].mostly_prior is mostly
        assert told[1].mostly_prior is True


def test_an_offset_is_what_a_group_needs_beyond_the_others():
    even = [GradedExposure((x,), (v,), group="sun") for x, v in
            ((-1.0, "under"), (0.0, "right"), (1.0, "over"))] * 6  # fmt: skip
    more = [replace(one, stops=(one.stops[0] + 0.4,), group="shade") for one in even]
    shade, sun = offsets(learn_exposure(even + more), even + more)
    assert (shade.of, sun.of) == ("shade", "sun")
    assert shade.value > 0.05 > -0.05 > sun.value
    assert shade.low < shade.value < shade.high
    assert shade.believed == pytest.approx(0.0, abs=1e-9)
    assert shade.believed_low == pytest.approx(-shade.believed_high)
    assert (shade.plates, shade.unit, shade.day) == (18, "stops", None)
    assert (shade.mostly_prior, sun.mostly_prior) == (False, False)
    few = offsets(believed(), [even[0], more[0]])
    assert [one.mostly_prior for one in few] == [True, True]
    assert offsets(believed(), [GradedExposure((0.0,), ("right",))]) == ()


def bottles(names, jump=0.8, seed=4):
    """Return judged plates, two a session, of which the last ones need `jump` stops more."""
    random = np.random.default_rng(seed)
    plates = []
    for n in range(52):
        needs = jump if n >= 40 else 0.0
        light = needs * (n > 43) + random.normal(0.0, 0.35)  # the maker finds out by and by
        off = light - needs + random.normal(0.0, 0.2)
        verdict = "right" if abs(off) < 0.5 else ("under" if off < 0 else "over")
        opened = f"no {1 + (n >= 40)}" if names else ""
        plates.append(plate(light, verdict, session=f"{n // 2}", opened=opened))
    return plates


def test_a_new_bottle_is_a_change_point():
    known = np.mean([learn_exposure(bottles(True, seed=s)).mean for s in range(4)])
    unknown = np.mean([learn_exposure(bottles(False, seed=s)).mean for s in range(4)])
    assert 0.8 - known < 0.7 * (0.8 - unknown)
    first, more, low, high, plates = last_change(bottles(True))
    assert first.opened == "no 2"
    assert plates == 12
    assert low < 0.8 < high
    assert more > 0.3


def test_without_a_new_bottle_nothing_changes():
    assert last_change(bottles(False)) is None
    alike = [replace(one, opened="no 1") for one in bottles(False)]
    assert last_change(alike) is None
    assert learn_exposure(alike).mean == pytest.approx(learn_exposure(bottles(False)).mean)


def test_plates_that_no_light_explains_change_nothing_however_many():
    told = [plate(1.0, "under", group="shade")] * 4
    absurd = [plate(-8.0, "solarised", group="shade")] * 160  # each 0.0075 at any light
    alone, among = (offsets(believed(), plates)[0] for plates in (told, told + absurd))
    assert (among.value, among.low) == pytest.approx((alone.value, alone.low), rel=1e-6)
    assert alone.value > 0.1


@pytest.mark.parametrize(
    ("call", "low", "high", "open_low"),
    [
        (lambda x: light_given(x, 1.0), 0.0, 1e12, True),
        (lambda x: light_given(1.0, x), 0.0, 1e12, True),
        (lambda x: box_factor([x], [1.0], [None]), 0.0, 1e6, True),
        (lambda x: box_factor([1.0], [x], [None]), 0.0, 1e6, True),
        (lambda x: development_dose([x], ["ripe"], [None]), 0.0, 1e6, True),
        (lambda x: development_dose([1.0], ["ripe"], [None], believed_kj_m2=x), 0.0, 1e6, True),
        (lambda x: speed_numbers(believed(), x), 1e-6, 10.0, False),
    ],
)
def test_light_seconds_and_doses_go_so_far(call, low, high, open_low):
    is_taken_within(call, low, high, open_low=open_low)


def test_readings_of_what_was_meant_count_alike(monkeypatch):
    """What is learned is the mean of what each reading of the plates alone would teach."""
    one = [plate(-1.0, "under", session="1"), plate(0.0, "right", session="2")]
    other = [plate(0.5, "right", session="1"), plate(1.0, "over", session="2")]
    monkeypatch.setattr(speed, "as_meant_twice", lambda plates: [one, other])
    both = learn_exposure(one)
    alone = [speed._learned(reading, believed()) for reading in (one, other)]
    for name in ("weight", "drift"):
        want = (getattr(alone[0], name) + getattr(alone[1], name)) / 2.0
        np.testing.assert_allclose(getattr(both, name), want)
    assert both.plates == 2


def test_a_bottle_stays_open_until_another_is_named_and_the_newest_day_is_told():
    days = [None, DAY, DAY - dt.timedelta(days=3), None]
    opened = ["no 1", "", "no 1", "no 2"]
    made = [
        plate(0.0, "right", session=str(n), day=day, opened=name)
        for n, (day, name) in enumerate(zip(days, opened, strict=True))
    ]
    afters = [after for _, _, after in speed.in_turn(made)]
    assert [one.day for one in afters] == [None, DAY, DAY, DAY]
    same = [replace(one, opened="no 1") for one in made]
    doubt, less = ([before.sd for before, _, _ in speed.in_turn(one)] for one in (made, same))
    assert doubt[:3] == less[:3]
    assert doubt[3] > 1.05 * less[3], "another bottle may need other light"
    first, more, low, high, count = last_change(made)
    assert (first, count) == (made[3], 1)
    sds = afters[3].sd, afters[2].sd
    assert more == pytest.approx(afters[3].mean - afters[2].mean)
    assert (
        high - more
        == pytest.approx(more - low)
        == pytest.approx(NormalDist().inv_cdf(0.9) * (sds[0] ** 2 + sds[1] ** 2) ** 0.5)
    )


def test_a_drift_is_mostly_prior_until_its_range_is_less_than_seven_tenths():
    belief = believed()
    drifts, before = drifts_believed()
    sharp = np.where(np.arange(drifts.size) == drifts.size // 2, 1.0, 1e-9)
    assert drift_number(replace(belief, drift=before)).mostly_prior
    assert not drift_number(replace(belief, drift=sharp / sharp.sum())).mostly_prior
