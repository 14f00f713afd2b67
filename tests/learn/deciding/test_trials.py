"""What to try next: exposures, one change at a time, pairs."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.deciding.pairs import (
    chances_to_decide,
    judge_pairs,
    pairs_made,
    pairs_that_decide,
    plan_pairs,
    share_won,
)
from argentry.learn.deciding.recent_settings import chance_of, usual_settings
from argentry.learn.deciding.trials import doubt_after, explores, next_change, reachable
from argentry.learn.numbers.exposure_belief import GradedExposure, believed, weigh
from argentry.learn.numbers.exposure_trials import (
    best_centre,
    expected_sd,
    expected_strip_sd,
    next_exposure,
    right_chances,
)
from argentry.learn.numbers.speed import found, learn_exposure
from argentry.learn.stages.likelihood import normal_cdf
from argentry.records.plate import Making
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings

CONDITIONS = {condition.key: condition for condition in conditions()}


def known():
    told = [(-0.7, "under"), (-0.5, "under"), (0.0, "right"), (0.5, "over"), (0.7, "over")]
    return learn_exposure([GradedExposure((x,), (verdict,)) for x, verdict in told * 3])


# --- exposures ---


def test_strips_come_first_and_pictures_when_the_speed_is_found():
    first = next_exposure(believed())
    assert first.explores
    assert len(first.steps) == trade.value("decide", "trial_strips")
    assert np.diff(first.steps) == pytest.approx(trade.value("decide", "trial_strip_step"))
    assert np.mean(first.steps) == pytest.approx(first.to)
    assert first.doubt_after < 0.6 * first.doubt
    belief = known()
    assert found(belief)
    picture = next_exposure(belief)
    assert not picture.explores
    assert picture.steps == ()
    assert picture.chance == pytest.approx(picture.chance_before)
    assert picture.plates == 15


def test_a_promised_plate_is_never_tried_upon():
    trial = next_exposure(believed(), commissioned=True, calibrate=True)
    assert not trial.explores
    assert trial.to == best_centre(believed())
    assert trial.steps == ()


def test_a_whole_plate_that_teaches_is_off_the_centre():
    trial = next_exposure(believed(), strips=False)
    assert trial.explores
    assert abs(trial.to) > 0.3
    assert trial.doubt_after < expected_sd(believed(), np.array([0.0]))[0]


def test_expected_doubt_is_the_mean_over_what_may_be_seen():
    """Brute force: weigh each verdict's own posterior variance by its chance."""
    belief, stops = believed(), 0.5
    from argentry.learn.numbers.exposure_belief import grade_chances

    chances = (grade_chances(belief, np.array([stops]))[:, 0] * belief.weight).sum(axis=(1, 2, 3))
    verdicts = ("under", "right", "over", "solarised")
    left = sum(
        c * weigh(belief, GradedExposure((stops,), (v,))).sd ** 2
        for c, v in zip(chances, verdicts, strict=True)
    )
    assert expected_sd(belief, np.array([stops]))[0] == pytest.approx(np.sqrt(left), rel=1e-9)


def test_strips_teach_more_than_a_plate():
    belief = believed()
    strips = expected_strip_sd(belief, np.array([-1.5, -0.75, 0.0, 0.75, 1.5]))
    assert strips < 0.75 * expected_sd(belief, np.linspace(-1.5, 1.5, 19)).min()


def test_the_best_exposure_follows_the_speed():
    high = learn_exposure([GradedExposure((1.0,), ("right",))] * 8)
    assert best_centre(high) == pytest.approx(1.0, abs=0.35)
    assert right_chances(high, np.array([1.0]))[0] > right_chances(high, np.array([-0.5]))[0]


# --- conditions ---


def studio(best_coat=35.0, doubt=3.0, draws=400):
    """A made-up studio: the coat has a window about `best_coat` nm, all else is alike."""
    rng = np.random.default_rng(8)
    optimum = rng.normal(best_coat, doubt, draws)

    def chance(stage, now):
        eta = np.full(draws, 0.8)
        if stage == "coat":
            eta = 1.2 - ((float(now.get("coat_nm", 25.0)) - optimum) / 10.0) ** 2
        return normal_cdf(eta)

    return chance


NOW = {"coat_nm": 25.0, "gilding_minutes": 3.0, "buff_minutes": 20.0}


def test_one_plate_in_three_and_never_a_promised_one():
    log, since = [], 99
    for _ in range(12):
        log.append(explores(since))
        since = 0 if log[-1] else since + 1
    assert sum(log) == 4
    assert log[0]
    assert not any(explores(n, commissioned=True) for n in range(100))


def test_the_change_goes_towards_the_best_value():
    trial = next_change(studio(), NOW, exploring=False, plates=33)
    assert trial.change == "coat_nm"
    assert trial.start == 25.0
    step = settings()["coat_nm"].step * CONDITIONS["coat_nm"].width
    assert 25.0 < trial.to <= 25.0 + step + 0.5
    assert trial.chance > trial.chance_before
    assert trial.plates == 33
    assert trial.chance_low <= trial.chance <= trial.chance_high


def test_nothing_to_gain_means_no_change():
    trial = next_change(studio(25.0, 0.1), NOW, exploring=False)
    assert trial.change == ""
    assert trial.to is None
    assert "keep the settings" in trial.reason


def test_exploring_tries_what_is_doubtful():
    tried = {next_change(studio(25.0, 8.0), NOW, exploring=True, seed=s).to for s in range(20)}
    assert min(tried) < 25.0 < max(tried)
    trial = next_change(studio(25.0, 8.0), NOW, exploring=True, seed=1)
    assert trial.explores
    assert trial.doubt_after < trial.doubt


def test_hard_limits_hold_wherever_the_studio_stands():
    for key, setting in settings().items():
        condition = CONDITIONS[key]
        for now in (setting.low, setting.high, (setting.low + setting.high) / 2):
            values = reachable(condition, setting, now)
            assert values.size
            assert values.min() >= setting.low
            assert values.max() <= setting.high
            assert now not in values
        # one who stands outside is led to the edge or not at all, never further out
        for now in (setting.high * 10.0, setting.low / 10.0 - 1.0, np.nan):
            values = reachable(condition, setting, now)
            assert np.all((values >= setting.low) & (values <= setting.high))


def test_no_setting_is_worked_out_from_what_cannot_be_set():
    assert set(settings()) <= set(CONDITIONS)
    assert not set(settings()) & {"room_rh_pct", "cloud_okta", "times_repolished", "silver_um"}


def test_stock_and_finished_stages_bind():
    narrow = next_change(studio(), NOW, exploring=False, stock={"coat_nm": (20.0, 27.0)})
    assert narrow.to is None or narrow.to <= 27.0
    for left_out in ({"fixed": ("coat_nm",)}, {"done": ("coat",)}):
        assert next_change(studio(), NOW, exploring=True, **left_out).change != "coat_nm"


def test_nothing_written_down():
    trial = next_change(studio(), {}, exploring=True)
    assert trial.change == ""
    assert "written down" in trial.reason


def test_doubt_after_is_the_mean_posterior_variance():
    before, after = np.zeros(2), np.array([0.0, 1.0])
    ok = normal_cdf(after)
    left = 0.0
    for chance in (ok, 1 - ok):
        share = chance / chance.sum()
        left += chance.mean() * share[0] * share[1]  # variance of a two-point law on 0 and 1
    assert doubt_after(before, after) == pytest.approx(np.sqrt(left))
    assert doubt_after(before, after, 30) < doubt_after(before, after, 5) < 0.5
    with pytest.raises(BadInput):
        doubt_after(before, after, 0)


@pytest.mark.parametrize("value", ["thick", np.nan, np.inf])
def test_a_setting_must_be_a_number(value):
    with pytest.raises(BadInput, match="coat_nm"):
        next_change(studio(), {"coat_nm": value}, exploring=True)


def test_usual_settings_are_medians_of_late():
    condition = CONDITIONS["gilding_minutes"]
    doubled = CONDITIONS["fuming_seconds_20c"]
    x = np.array([[9.0, 1.0]] * 5 + [[0.0, np.nan], [1.0, 1.0]] * 6)
    seen = []

    def probability(row, session):
        seen.append((row, session))
        return np.full(3, 0.5)

    stage = SimpleNamespace(
        table=SimpleNamespace(conditions=(condition, doubled), x=x), probability=probability
    )
    fitted = SimpleNamespace(stages={"finish": stage}, sessions=("1", "2"))
    usual = usual_settings(fitted)
    assert usual["gilding_minutes"] == pytest.approx(
        condition.centre + 0.5 * condition.width, rel=0.03
    )
    assert usual["fuming_seconds_20c"] == pytest.approx(2 * doubled.centre)
    assert chance_of(fitted)("finish", {"gilding_minutes": 4.5}) == pytest.approx(0.5)
    row, session = seen[0]
    assert row[0] == pytest.approx((4.5 - condition.centre) / condition.width)
    assert np.isnan(row[1])
    assert session == 2


# --- pairs ---


def test_pairs_are_balanced_and_in_drawn_order():
    plates = plan_pairs(25.0, 33.0, 10, seed=3)
    assert len(plates) == 20
    for pair in range(1, 11):
        mine = [p for p in plates if p.pair == pair]
        assert [p.order for p in mine] == [1, 2]
        assert {p.to for p in mine} == {25.0, 33.0}
    first = [p.to for p in plates if p.order == 1]
    assert first.count(33.0) == 5
    assert plates == plan_pairs(25.0, 33.0, 10, seed=3)
    assert plates != plan_pairs(25.0, 33.0, 10, seed=4)


def test_pairs_are_judged_by_those_that_differ():
    said = judge_pairs([False] * 5 + [True] * 20, [True] * 5 + [True] * 20)
    assert (said.won, said.lost, said.alike) == (5, 0, 20)
    assert said.better == pytest.approx(1 - 0.5**6)
    assert said.decided
    even = judge_pairs([True, False], [False, True])
    assert even.better == pytest.approx(0.5)
    assert not even.decided
    assert judge_pairs([], []).better == pytest.approx(0.5)


def test_chance_to_decide_by_hand():
    # of four pairs 3 to 0 and 4 to 0 decide (15/16, 31/32), 2 to 0 and 3 to 1 do not (7/8, 26/32)
    win, lose = 0.7 * 0.6, 0.4 * 0.3
    by_hand = win**4 + 4 * win**3 * (1 - win - lose)
    assert pairs_that_decide(0.4, 0.7, 4) == pytest.approx(by_hand)
    both = chances_to_decide(np.array([0.4, 0.7, 0.5]), np.array([0.7, 0.4, 0.5]), 4)
    assert both[:2] == pytest.approx(by_hand)
    assert 0.0 < both[2] < by_hand
    assert chances_to_decide(np.array([0.0]), np.array([1.0]), 200) == pytest.approx(1.0)
    assert chances_to_decide(np.array([0.0]), np.array([0.0]), 9) == pytest.approx(0.0)


def test_share_won_by_hand():
    said = judge_pairs([False] * 3 + [True] * 4, [True] * 3 + [True] * 4)
    # Beta(4, 1): the share below which a tenth lies is its fourth root
    assert share_won(said) == pytest.approx((0.8, 0.1**0.25, 0.9**0.25))
    assert share_won(judge_pairs([], [])) == pytest.approx((0.5, 0.1, 0.9))


def made(session, place, nm, grade, **more):
    known = {} if nm is None else {"coat_nm": nm}
    day = date(2026, 6, session)
    name = f"{session}-{place}"
    return Making(
        name, name, None, f"s{session}", place, day, conditions=known, grade=grade, **more
    )


def test_pairs_are_found_within_a_session_in_order():
    there = [
        made(1, 4, 31.0, "good"),  # the order of the list does not matter
        made(1, 1, 25.0, "lost"),
        made(1, 2, 26.5, "good"),  # off by less than a quarter of the way
        made(1, 3, 33.5, "study"),
        made(2, 1, 25.0, "good"),  # no other setting that day
        made(3, 1, 32.0, "fine"),
        made(3, 2, 25.0, "good"),
        made(3, 3, 25.0, "lost"),  # one more than the other setting has
    ]
    assert pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0) == (
        [False, True, True],
        [False, True, True],
    )
    said = judge_pairs(*pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0))
    assert (said.won, said.lost, said.alike) == (0, 0, 3)


@pytest.mark.parametrize(
    "other",
    [
        made(1, 2, 32.0, "good", commissioned=True),
        made(1, 2, 32.0, None),
        made(1, 2, 28.5, "good"),  # between the two
        made(1, 2, None, "good"),
        made(2, 2, 32.0, "good"),
    ],
)
def test_what_makes_no_pair(other):
    there = [made(1, 1, 25.0, "lost"), other]
    assert pairs_made(there, CONDITIONS["coat_nm"], 25.0, 32.0) == ([], [])


def test_a_setting_in_doublings_is_near_by_its_ratio():
    doubled = CONDITIONS["development_minutes"]
    assert doubled.scale == "doublings"
    there = [
        replace(made(1, place, None, "good"), conditions={"development_minutes": minutes})
        for place, minutes in enumerate((115.0, 205.0), 1)
    ]
    # 205 is 0.23 of the way from 240 to 120 by ratio, 0.29 by difference
    assert pairs_made(there, doubled, 120.0, 240.0) == ([True], [True])


def test_chance_to_decide_against_simulation():
    rng = np.random.default_rng(5)
    old, new = rng.random((2, 3000, 12)) < np.array([0.4, 0.7])[:, None, None]
    decided = [
        said.decided and said.better > 0.5
        for said in (judge_pairs(list(o), list(n)) for o, n in zip(old, new, strict=True))
    ]
    assert pairs_that_decide(0.4, 0.7, 12) == pytest.approx(np.mean(decided), abs=0.03)
    assert pairs_that_decide(0.4, 0.7, 40) > pairs_that_decide(0.4, 0.7, 10)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: plan_pairs(1.0, 1.0, 4),
        lambda: plan_pairs(1.0, np.nan, 4),
        lambda: plan_pairs(1.0, 2.0, 0),
        lambda: judge_pairs([True], []),
        lambda: pairs_that_decide(0.5, 1.5, 3),
        lambda: pairs_that_decide(0.5, 0.6, 0),
    ],
)
def test_bad_pairs(wrong):
    with pytest.raises(BadInput):
        wrong()
