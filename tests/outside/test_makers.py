"""The product against published makers' figures, by its own commands: see ``makers.toml``."""

import pytest
from tests.outside.makers import checks


@pytest.mark.parametrize("check", checks(), ids=lambda one: one.key)
def test_the_product_meets_the_trade_or_is_known_not_to(check):
    """A known miss that begins to hit fails too: its row must then lose its `miss`."""
    assert check.hits() == (not check.miss), f"{check.value():.3g} {check.unit}"


def test_there_are_enough_of_them_and_each_says_where_it_was_read():
    rows = checks()
    assert len({one.key for one in rows}) == len(rows) >= 25
    for one in rows:
        assert one.basis in ("read", "memory"), one.key
        assert one.source, one.key
        assert one.why, one.key
        assert one.must[0] < one.must[1], one.key
