"""What learning takes where nothing is said: one plate for a word, three faults at most."""

from tests.defaults import beyond_nothing, modules_of

from argentry import learn

TAKEN = {
    "causes.drift_charts.run_length.cells": 200,
    "causes.drift_charts.good_bad_run_length.cells": 400,
    "causes.guilty_stage.Unbooked.lost": 1.0,
    "causes.inclusion.weigh.most": 3,
    "causes.inclusion.weigh.keep": 8,
    "causes.inclusion.weigh.session_sd": 0.35,
    "causes.inclusion.weigh.base_mean": -0.84,
    "causes.inclusion.weigh.base_sd": 0.7,
    "causes.noisy_or.fault_sets.most": 3,
    "causes.noisy_or.posterior.most": 3,
    "causes.noisy_or.posterior.failed": True,
    "causes.noisy_or.leading.most": 12,
    "causes.noisy_or.learn_links.rounds": 3,
    "causes.noisy_or.learn_links.most": 2,
    "causes.studio_causes.why_studio.charts": True,
    "deciding.pairs.plan_pairs.seed": 1,
    "deciding.plate_value.plate_value.step": 1.0,
    "deciding.plate_value.plate_value.first": -1,
    "deciding.stage_work.StageWork.attended": 1.0,
    "deciding.stage_work.graded_check.spread": 1.0,
    "deciding.trial_doubt.doubt_after.plates": 1,
    "numbers.exposure_belief._log_normal.reach": 2.0,
    "numbers.exposure_belief.wander.sessions": 1.0,
    "odds.fitting.fit.extra": True,
    "odds.fitting.fit.seed": 1839,
    "odds.odds._beta.one": 1.0,
    "odds.odds._beta.other": 1.0,
    "stages.assumed.Assumed.good": (1.0, 1.0),
    "stages.model.model_of.strength": 1.0,
    "stages.posterior.climb.most": 60,
    "stages.posterior.walk.walks": 96,
    "stages.posterior.walk.draws": 16,
    "stages.posterior.walk.warm": 10,
    "stages.posterior.walk.leaps": 3,
    "stages.posterior.walk.seed": 1,
    "stages.posterior.grouped_rhat.groups": 4,
    "stages.scores.base_rates.good": 1.0,
    "stages.scores.base_rates.bad": 1.0,
    "stages.scores.reliability.groups": 10,
    "stages.scores.calibration_error.groups": 10,
    "stages.table.stage_tables.extra": True,
    "stages.trend.good_trend.window": 12,
    "stages.unknowns.prior_of.strength": 1.0,
}


def test_what_is_taken_where_nothing_is_said():
    assert modules_of(learn)
    assert beyond_nothing(learn) == TAKEN
