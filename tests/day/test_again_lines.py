"""What is said of a plan made again, and which plans are worth a word."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from tests.day.test_again import DAY, MINUTE, again, studio

from argentry.day.again_lines import MadeAgain, lines_of
from argentry.day.plan import make_day
from argentry.records.again import PlateStanding


@pytest.fixture(scope="module")
def planned():
    return make_day(studio(), DAY, plates=2, effort=0.5, simulated_days=40)


def test_the_odds_of_the_day_are_told_once(planned, monkeypatch):
    """The offer tells them by both orders: rounded in the line as well they came out as two."""
    monkeypatch.setattr("argentry.day.again_lines.WORTH_TELLING", 1.1)
    monkeypatch.setattr("argentry.day.again.WORTH_TELLING", 1.1)
    later, line = again(planned, "10:00", late=45.0).lines
    assert later.endswith("later than planned.")
    assert line.startswith("More likely than not")
    assert "%" not in line
    assert again(planned, "14:30").lines == (), "the plan that stands says the same"


@pytest.mark.parametrize(("text", "late", "told"), [("14:30", 12.0, 0), ("10:00", 45.0, 1)])
def test_a_plan_that_only_ends_later_is_told_once_times_are_out_of_date(planned, text, late, told):
    """With the odds of the plan that stands it betters nothing but its times."""
    made = again(planned, text, late=late)
    assert round(100 * made.share) <= round(100 * made.kept_share)
    last, before = (max(s.start for s in p.steps) for p in (made.plan, planned))
    assert last - before >= 10 * MINUTE
    assert len(made.lines) == told


@pytest.mark.parametrize(
    ("kept", "reordered", "late", "told"),
    [(0.96, False, 118, True), (0.93, False, 118, False), (0.96, True, 118, False),
     (0.96, False, -40, False)],
)  # fmt: skip
def test_a_plan_with_lower_odds_says_why_it_may_be_taken(planned, kept, reordered, late, told):
    """“93 % instead of 96 %” and no word of what the 3 points bring."""
    steps = [step for step in planned.steps if step.plate == 1]
    before = {step.step: step.start - late * MINUTE for step in steps}
    again = SimpleNamespace(
        kept_share=kept,
        reordered=reordered,
        faults=(),
        not_finished=(),
        planned=SimpleNamespace(placed=0),
    )
    plan = replace(planned, steps=tuple(steps))
    made = MadeAgain(None, again, [0], [PlateStanding(planned=before)], plan, (), 0.93, None)
    words = "Its times can be kept; those that stand are up to 118 min out."
    assert (words in lines_of(made)) is told
    assert len(lines_of(made)) > 0


def test_a_plan_whose_next_step_is_long_gone_is_out_of_date_though_it_ends_as_planned(planned):
    """A plate an hour late that catches up in its waits: its old times stood without a word."""
    steps = [step for step in planned.steps if step.plate == 1]
    first, last = steps[0], steps[-1]
    same = SimpleNamespace(
        kept_share=0.93, reordered=False, faults=(), not_finished=(),
        planned=SimpleNamespace(placed=0),
    )  # fmt: skip
    plan = replace(planned, steps=tuple(steps))
    for late, told in (
        (29, ()),
        (59, ("Its times can be kept; those that stand are up to 59 min out.",)),
    ):
        before = {first.step: first.start - late * MINUTE, last.step: last.start}
        standing = [PlateStanding(planned=before)]
        assert lines_of(MadeAgain(None, same, [0], standing, plan, (), 0.93, None)) == told
    before = {step.step: step.start for step in steps} | {
        steps[-2].step: steps[-2].start - 59 * MINUTE
    }
    later = MadeAgain(None, same, [0], [PlateStanding(planned=before)], plan, (), 0.93, None)
    assert lines_of(later) == (), "its time is still to come"
