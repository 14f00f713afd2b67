import numpy as np

from argentry.plan import rules
from argentry.plan.day import _shop, plan_day
from argentry.plan.shop import Rule
from argentry.plan.tasks import blocks_of


def finish_when_begun_at(day, minute):
    """Length of a one-plate day that is begun at a given minute, with nothing uncertain."""
    blocks = blocks_of(day.tasks)
    shop = _shop(day, blocks, 1)
    rule = Rule(np.zeros((1, len(blocks))), 1, np.array([minute]))
    run = rules.median_day(shop, rule)
    return run.length if run.sound.all() else np.inf


def test_a_sure_day_can_be_begun_at_its_latest_start_and_hardly_later(build_day):
    day = build_day(plates=1, breaks=(), log_sd=0.0, dose_log_sd=0.0, spread=0.0)
    planned = plan_day(day, simulated_days=5)
    latest = float(planned.latest[0, 0])
    assert latest > planned.starts[0, 0] + 60
    # idle hands look up every ten minutes, so the start is tried at whole tens
    tens = 10.0 * np.floor((latest - 20.0) / 10.0) + 20.0
    assert finish_when_begun_at(day, tens) <= day.last_minute
    assert finish_when_begun_at(day, latest + 15.0) == np.inf


def test_doubt_makes_the_latest_start_earlier(build_day):
    sure = plan_day(build_day(plates=1, log_sd=0.0, dose_log_sd=0.0, spread=0.0), simulated_days=5)
    unsure = plan_day(build_day(plates=1, log_sd=0.3, dose_log_sd=0.4), simulated_days=5)
    assert unsure.latest[0, 0] < sure.latest[0, 0] - 10


def test_a_step_may_never_be_later_than_its_keeping_limit(build_day):
    planned = plan_day(build_day(plates=2), simulated_days=5)
    for index, block in enumerate(planned.blocks):
        if block.within is not None:
            limit = planned.ends[:, index - 1] + block.within
            assert (planned.latest[:, index] <= limit + 1e-6).all()


def test_later_finishing_work_waits_for_earlier_on_the_same_hands(build_day):
    day = build_day(plates=2, log_sd=0.0, dose_log_sd=0.0, spread=0.0)
    planned = plan_day(day, simulated_days=5)
    # both plates must be sealed one after the other before the day ends
    seal = np.sort(planned.latest[:, -1])
    assert seal[1] <= 660 - 40 + 1e-6
    assert seal[0] <= 660 - 80 + 1e-6
