"""Which stage spoilt a plate: by rates, looks and how far it was taken; against a simulation."""

import numpy as np
import pytest
from tests.learn.plates import ALL_OK, making

from argentry import trade
from argentry.learn.causes.shared_guilt import Spoilt, shared_guilt, written
from argentry.records.plate import STAGES
from argentry.trade.conditions import stage_priors

READING = {
    "polish": {"buff_minutes": 20.0},
    "coat": {"coat_nm": 30.0},
    "exposure": {"coat_to_exposure_minutes": 30.0},
    "development": {"exposure_to_development_minutes": 20.0},
    "finish": {"fixer_age_days": 3.0},
}
NOTHING = np.zeros(len(STAGES))


def usual():
    rate = np.array([1.0 - stage_priors()[stage].ok_middle for stage in STAGES])
    return rate / rate.sum()


def asked(plates, named=None):
    every = np.ones((plates, len(STAGES)))
    return Spoilt(every, every if named is None else named, 0.0 * every, every)


def up_to(number, last, **given):
    """Return a plate with a reading of each stage up to one."""
    read = {}
    for stage in STAGES[: STAGES.index(last) + 1]:
        read |= READING[stage]
    return making(number, conditions=read, **given)


def test_where_nothing_speaks_the_trades_rates_do():
    assert shared_guilt(asked(30), NOTHING) == pytest.approx(np.tile(usual(), (30, 1)))


def test_what_was_booked_on_other_plates_counts_next_to_the_trades_few():
    plates = trade.value("causes", "stage_rate_plates")
    known = np.array([0.0, 0.0, 0.0, 0.0, 3.0 * plates])
    expected = 0.25 * usual() + np.array([0.0, 0.0, 0.0, 0.0, 0.75])
    assert shared_guilt(asked(1), known)[0] == pytest.approx(expected, abs=0.02)


def test_looks_that_name_a_stage_make_it_likely_and_not_sure():
    named = np.ones((20, len(STAGES)))
    named[0] = [0.0, 1.0, 0.0, 0.0, 0.0]
    share = shared_guilt(asked(20, named), NOTHING)[0, 1]
    follow, before = trade.value("causes", "looks_follow"), usual()[1]
    # Bayes's rule with looks that say nothing otherwise
    assert share == pytest.approx(follow + (1.0 - follow) * before, abs=0.06)
    assert share < 0.95


def test_a_plate_without_later_readings_was_not_spoilt_there():
    good = [up_to(n, "finish", stages=ALL_OK, grade="good") for n in range(20)]
    lost = [up_to(20 + n, "coat", grade="lost") for n in range(6)]
    lost += [up_to(30 + n, "finish", grade="lost") for n in range(6)]
    far = written(lost, [*good, *lost])
    every = np.ones((len(lost), len(STAGES)))
    share = shared_guilt(Spoilt(every, every, 0.0 * every, far), NOTHING)
    assert np.all(share[:6, 2:].sum(axis=1) < 0.1)
    assert np.all(share[6:, 4] > usual()[4]), "it was gone on with to the end"


def test_a_notebook_that_reads_nothing_says_nothing_of_how_far_a_plate_was_taken():
    good = [making(n, stages={}, grade="good") for n in range(20)]
    far = written([making(30, grade="lost")], good)
    every = np.ones((1, len(STAGES)))
    share = shared_guilt(Spoilt(every, every, 0.0 * every, far), NOTHING)
    assert share[0] == pytest.approx(usual(), abs=0.03)


@pytest.mark.parametrize(("right", "up"), [(0.9, 0.5), (0.2, 0.2), (0.2, 0.7)])
def test_shares_are_as_often_right_as_they_say(right, up):
    """On plates simulated by the model, with rates, looks and giving up unlike what is assumed."""
    random = np.random.default_rng(5)
    count, rate = 600, np.array([0.1, 0.1, 0.15, 0.25, 0.4])
    guilty = random.choice(len(STAGES), count, p=rate)
    told = random.random(count) < right
    named = np.zeros((count, len(STAGES)))
    named[np.arange(count), np.where(told, guilty, random.choice(len(STAGES), count, p=rate))] = 1.0
    taken = guilty + np.minimum(random.geometric(up, count) - 1, 4 - guilty)
    far = np.where(np.arange(len(STAGES)) == taken[:, None], 1.0, 1e-3)
    every = np.ones((count, len(STAGES)))
    share = shared_guilt(Spoilt(every, named, 0.0 * every, far), NOTHING)
    true = np.eye(len(STAGES))[guilty]
    assert share.mean(axis=0) == pytest.approx(true.mean(axis=0), abs=0.06)
    for low, high in ((0.0, 0.2), (0.2, 0.5), (0.5, 0.8), (0.8, 1.0)):
        inside = (share >= low) & (share < high + 1e-9)
        if inside.sum() > 60:
            off = share[inside].mean() - true[inside].mean()
            assert abs(off) < 0.04 + 2.0 * (0.25 / inside.sum()) ** 0.5, (low, high)
