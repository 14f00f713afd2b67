"""What a name on a bottle stands for: the longest known phrase in it."""

import pytest

from argentry.trade.notebook import meant

KNOWN = [("jod", "iodine"), ("jod tinktur", "tincture"), ("gold", "gold"), ("salz", "salt")]


@pytest.mark.parametrize(
    ("name", "stands_for"),
    [
        ("JOD", "iodine"),
        ("Jod, 99,8 %", "iodine"),
        ("Jod-Tinktur", "tincture"),
        ("Jodid", None),
        ("", None),
        ("Gold Salz", "gold"),  # of one length: the first
        ("Sälz", "salt"),
    ],
)
def test_the_longest_phrase_in_a_name_decides(name, stands_for):
    assert meant(name, KNOWN) == stands_for
