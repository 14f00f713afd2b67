"""What to try next: exposures, one change at a time, pairs."""

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.learn.deciding.trials import doubt_after, explores, next_change, reachable
from argentry.learn.stages.likelihood import normal_cdf
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings

CONDITIONS = {condition.key: condition for condition in conditions()}


# --- exposures ---


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
    assert trial.from_ == 25.0
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


# --- pairs ---


def test_any_of_the_draws_may_be_the_one_that_is_tried():
    # the last tenth of the draws wants a thicker coat, the others a thinner one
    optimum = np.where(np.arange(400) >= 360, 60.0, 5.0)

    def chance(stage, now):
        miss = (float(now.get("coat_nm", 25.0)) - optimum) / 40.0
        return normal_cdf(1.2 - miss**2 if stage == "coat" else np.full(400, 0.8))

    tried = [next_change(chance, NOW, exploring=True, seed=s).to > 25.0 for s in range(100)]
    assert 2 <= sum(tried) <= 25
