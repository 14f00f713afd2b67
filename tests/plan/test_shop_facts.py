"""What every simulated day looks up: when rooms are held, and what can still be finished."""

import numpy as np

from argentry.plan.problem import shop_of
from argentry.plan.shop_facts import ShopFacts
from argentry.plan.spread import draw_days
from argentry.plan.tasks import blocks_of


def facts_of(day, plates=2):
    shop = shop_of(day, blocks_of(day.tasks), plates)
    return shop, ShopFacts(shop, draw_days(shop, day.light, days=3, seed=1))


def test_a_room_is_held_for_its_part_of_the_block(build_day):
    """Polishing takes 29 min: scour 6, buff 16, warm 3, then the box for 2 of the last 4."""
    assert not facts_of(build_day())[1].rooms  # one pair of hands is never in its own way
    _, facts = facts_of(build_day(workers=2))
    (take, leave), camera = facts.rooms[0], facts.rooms[1]
    assert (take[0, 0], leave[0, 0]) == (25.0 / 29.0, 27.0 / 29.0)
    assert np.isinf(take[0, 1:]).all()
    assert not leave[0, 1:].any()
    assert (camera[0][0, 1], camera[1][0, 1]) == (0.0, 1.0)


def test_a_block_can_be_finished_until_the_rest_no_longer_fits(build_day):
    day = build_day(breaks=(), spread=0.0, sun=1.0)
    shop, facts = facts_of(day)
    last = len(shop.blocks) - 1
    minutes = [b.minutes for b in shop.blocks]
    latest = [np.flatnonzero(facts.can_finish[0, block])[-1] for block in range(last + 1)]
    assert latest[last] == shop.last_minute - minutes[last]
    assert latest[last - 1] == latest[last] - minutes[last - 1]
    assert latest == sorted(latest)
    # before the camera: exposure, frame, ripening and the rest all have to fit behind it
    ripe = draw_days(shop, day.light, days=3, seed=1).hoped_ripe[0, 0]
    free = facts.free
    rest = sum(minutes[free:])
    put_out = np.flatnonzero(np.nan_to_num(ripe, nan=np.inf) + rest <= shop.last_minute)[-1]
    assert abs(latest[facts.developing] - put_out) <= 1
