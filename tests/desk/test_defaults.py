"""What the desk takes where nothing is said: what was learned is used, and no act is doubted."""

from tests.defaults import beyond_nothing, modules_of

from argentry import desk

TAKEN = {
    "bench.acts.Act.sure": True,
    "learning.batch.plates_needed.weekdays": ("mon", "tue", "wed", "thu", "fri", "sat", "sun"),
    "learning.comparison.compare_settings.pairs": 10,
    "learning.kept_plates.keep_plates.most": 12,
    "numbers.kept.own_numbers.with_odds": True,
    "numbers.own_numbers.learned_numbers.with_odds": True,
    "numbers.own_numbers.learned_numbers.adopted": True,
    "runs.run_heads.limit": 200,
    "season.season.years": 20,
    "season.season.seed": 1,
}


def test_what_is_taken_where_nothing_is_said():
    assert modules_of(desk)
    assert beyond_nothing(desk) == TAKEN
