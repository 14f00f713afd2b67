import pytest

from argentry.judge.odds import odds_over


@pytest.mark.parametrize("power", [1.0, 3.0, 6.0])
def test_odds_are_even_at_the_limit_and_mirrored_about_it(power):
    assert odds_over(2.0, 2.0, power) == 0.5
    assert odds_over(6.0, 2.0, power) == pytest.approx(3.0**power / (1.0 + 3.0**power))
    assert odds_over(2.0, 6.0, power) == pytest.approx(1.0 - odds_over(6.0, 2.0, power))
    assert odds_over(0.0, 2.0, power) == pytest.approx(0.0, abs=1e-9)
