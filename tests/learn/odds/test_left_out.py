"""Each plate by the other sessions: against a closed form, and a fit without the session."""

import numpy as np
import pytest
from tests.learn.plates import studio

from argentry.learn.odds.fitting import fit
from argentry.learn.odds.left_out import without
from argentry.learn.odds.odds import all_stages_ok, draws_by_stage


def test_a_share_of_which_a_session_is_left_out_is_that_of_the_others():
    """Beta and binomial: the mean without a session is known in closed form.

    A. Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section 2.4.
    """
    came = np.arange(30) % 4 > 0
    session = np.arange(30) // 3
    rng = np.random.default_rng(4)
    p = rng.beta(1.0 + came.sum(), 1.0 + (~came).sum(), 40_000)[:, None]
    told = np.where(came, np.log(p), np.log1p(-p))
    good, of = np.bincount(session, weights=came)[session], np.bincount(session)[session]
    exact = (1.0 + came.sum() - good) / (2.0 + came.size - of)
    got = without(np.broadcast_to(p, told.shape), told, session)
    assert got == pytest.approx(exact, abs=0.004)
    assert np.ptp(exact) > 0.02
    assert without(p[:, :0], told[:, :0], session[:0]).size == 0


def test_it_is_what_a_fit_without_the_session_says():
    plates = studio(36, slope=1.8)
    whole = fit(plates)
    last = [one for one in whole.makings if one.session == whole.sessions[-1]]
    rest = fit([one for one in plates if one.session != whole.sessions[-1]])
    for one, told in zip(last, whole.by_others[-len(last) :], strict=True):
        alone = all_stages_ok(draws_by_stage(rest, one.conditions)).mean()
        within = all_stages_ok(draws_by_stage(whole, one.conditions)).mean()
        assert told == pytest.approx(alone, abs=0.05 + 0.5 * abs(within - alone))
