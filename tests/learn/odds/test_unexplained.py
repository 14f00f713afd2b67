"""How far plates lie apart beyond what is predicted, against studios of which it is known."""

import numpy as np
import pytest
from scipy.stats import norm

from argentry import trade
from argentry.learn.odds.fitting import fit
from argentry.learn.odds.unexplained import by_stage, of_whole, unexplained


def usual():
    return np.sqrt(
        trade.value("decide", "unexplained_by_condition")
        + trade.value("decide", "unexplained_by_time")
    )


def whole(predicted, *log):
    return np.sqrt(sum(unexplained(predicted, predicted, *log)))


def log_of(spread, plates=600, seed=3):
    """Return plates whose log odds go up and down with a condition, predicted as all alike."""
    random = np.random.default_rng(seed)
    x = random.standard_normal((plates, 2))
    chance = 1.0 / (1.0 + np.exp(-spread * x[:, 0]))
    came = (random.random(plates) < chance).astype(float)
    return np.full(plates, 0.5), came, x, np.arange(plates) // 3


def test_without_plates_it_is_what_is_usual():
    none = np.zeros(0)
    got = whole(none, none, np.zeros((0, 3)), np.zeros(0, dtype=np.int64))
    assert got == pytest.approx(usual())


@pytest.mark.parametrize("spread", [0.0, 0.7, 1.2])
def test_many_plates_say_it_themselves(spread):
    got = np.mean([whole(*log_of(spread, seed=seed)) for seed in range(6)])
    # a large spread on the log odds bends: the score, taken at none, sees a little less of it
    assert got == pytest.approx(spread, abs=0.32 if spread else 0.25)
    assert got < whole(*log_of(spread + 0.9)) + 0.1


def test_what_the_predictions_tell_already_is_not_counted_again():
    flat, came, x, session = log_of(1.2)
    told = 1.0 / (1.0 + np.exp(-1.2 * x[:, 0]))
    assert whole(told, came, x, session) < 0.5 * whole(flat, came, x, session)


def test_conditions_are_judged_by_what_is_shown_and_weeks_by_the_past_alone():
    flat, came, x, session = log_of(1.2)
    told = 1.0 / (1.0 + np.exp(-1.2 * x[:, 0]))
    shown_knows, past_knows = (
        unexplained(*figures, came, x, session) for figures in ((told, flat), (flat, told))
    )
    assert shown_knows[0] < 0.1 < 0.5 < past_knows[0]
    week = np.repeat(np.random.default_rng(5).standard_normal(10), 20)[session]
    after = 1.0 / (1.0 + np.exp(-1.2 * week))  # what plates before and after let tell of a week
    came = (np.random.default_rng(6).random(600) < after).astype(float)
    nothing = np.full((600, 1), np.nan)
    assert unexplained(after, flat, came, nothing, session)[1] > 0.4
    assert unexplained(flat, after, came, nothing, session)[1] < 0.2


def test_weeks_that_go_better_and_worse_are_seen_without_any_condition():
    random = np.random.default_rng(5)
    session = np.arange(600) // 3
    week = np.repeat(random.standard_normal(10), 20)[session]
    came = (random.random(600) < 1.0 / (1.0 + np.exp(-1.2 * week))).astype(float)
    nothing = np.full((600, 1), np.nan)
    assert whole(np.full(600, 0.5), came, nothing, session) > 0.6
    even = (random.random(600) < 0.5).astype(float)
    assert whole(np.full(600, 0.5), even, nothing, session) < 0.65


def test_stages_scatter_so_that_the_plate_scatters_as_much():
    ok = {"polish": 0.9, "coat": 0.8, "exposure": 0.85, "development": 0.95, "finish": 0.95}
    probit = by_stage(0.6, ok)
    random = np.random.default_rng(2)
    logs = np.zeros(200_000)
    for share in ok.values():
        logs += norm.logcdf(norm.ppf(share) + probit * random.standard_normal(logs.size))
    good = np.exp(logs)
    assert np.log(good / (1.0 - good)).std() == pytest.approx(0.6, rel=0.1)
    assert by_stage(0.6, {"polish": 1.0}) == 0.0
    assert of_whole(dict.fromkeys(ok, probit), ok) == pytest.approx(0.6)


def test_it_widens_what_is_shown_and_leaves_the_middle(monkeypatch):
    from tests.learn.plates import studio

    from argentry.learn.odds import fitting
    from argentry.learn.odds.odds import odds

    plates = studio(60)
    narrow, wide = [], []
    for found, variance in ((narrow, 0.0), (wide, 0.5)):
        monkeypatch.setattr(fitting, "unexplained", lambda *_, v=variance: (v, 0.0))
        found.append(odds(fit(plates), {}).model)
    (narrow,), (wide,) = narrow, wide
    assert wide.high - wide.low > narrow.high - narrow.low + 0.03
    assert wide.probability == pytest.approx(narrow.probability, abs=0.03)
