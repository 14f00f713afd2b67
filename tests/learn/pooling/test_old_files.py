"""Files that do not say what their studio began with: read so that nothing unlearned is pooled."""

from dataclasses import replace

import pytest

from argentry.learn.pooling.old_files import as_now
from argentry.learn.pooling.pool import pool
from argentry.learn.pooling.scales import scale_of
from argentry.physics.stops import Z80
from argentry.records.learned import SharedFigure, SharedStudio
from argentry.trade.conditions import conditions, usual_strength

SIZED = [c for c in conditions() if c.stage == "coat" and c.form not in ("free", "switch")]


def effect(condition, strength, z=0.0, sd=1.0):
    """Return an effect at so much of the trade's strength, moved by so many deviations."""
    scale = scale_of("effect", condition.stage, condition.key)
    low, value, high = (
        strength * scale.back(scale.mean + (z + k * sd) * scale.sd) for k in (-Z80, 0.0, Z80)
    )
    return SharedFigure("effect", condition.key, condition.stage, value, low, high, 50.0)


def old(figures):
    return SharedStudio("old.toml", 60, (), tuple(figures), version=1)


@pytest.mark.parametrize("strength", [0.12, 0.4, 1.0])
def test_effects_that_nobody_learned_do_not_weaken_the_trades(strength):
    assert len(SIZED) > 4
    told = pool([old(effect(c, strength) for c in SIZED) for _ in range(8)])
    for one in told.figures:
        assert one.value == pytest.approx(one.believed)
        assert one.high == pytest.approx(one.believed_high)


def test_one_that_was_learned_stands_out_of_the_others():
    figures = [effect(c, 0.3) for c in SIZED[1:]] + [effect(SIZED[0], 0.3, z=1.0, sd=0.5)]
    told = {one.of: one for one in pool([old(figures)] * 8).figures}
    found = told[SIZED[0].key]
    assert found.value > 1.5 * found.believed
    rest = [one for key, one in told.items() if key != SIZED[0].key]
    assert [one.value for one in rest] == pytest.approx([one.believed for one in rest])


def test_with_few_effects_conditions_are_taken_to_matter_as_they_usually_do():
    few = as_now(old([effect(c, usual_strength()) for c in SIZED[:2]]))
    for one in few.figures:
        assert one.value == pytest.approx(one.believed)


def test_other_figures_began_with_the_trades_word_and_a_new_file_is_left_alone():
    good = SharedFigure("good", "", "", 0.5, 0.4, 0.6, 60.0)
    told = as_now(old([good])).figures[0]
    scale = scale_of(*good.key)
    assert scale.to(told.believed) == pytest.approx(scale.mean)
    assert scale.to(told.believed_high) - scale.mean == pytest.approx(Z80 * scale.sd)
    new = replace(old([good]), version=2)
    assert as_now(new) is new
