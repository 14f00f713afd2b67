"""Why no other plate is begun, in words."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from argentry.day.no_more import no_more_line
from argentry.plan.not_offered import NotOffered

BEGIN = datetime(2026, 6, 21, 8, 0, tzinfo=UTC)
CLOCK = SimpleNamespace(at=lambda minute: BEGIN + timedelta(minutes=minute))
NEVER = float("nan")


@pytest.mark.parametrize(
    ("times", "told"),
    [
        ((NEVER, NEVER, NEVER), "too little light is left for it to ripen."),
        ((400.0, NEVER, NEVER), "too little light is left for it to ripen."),
        ((400.0, 640.0, NEVER), "begun at 14:40, it would not be ripe until 18:40."),
        (
            (400.0, 520.0, 680.0),
            "begun at 14:40, it would be ripe at 16:40 and done at 19:20, 20 min after your hours.",
        ),
        (
            (400.0, 520.0, 655.0),
            (
                "begun at 14:40, it would be done at 18:55 if all goes well, but within your hours "
                "on only 27 % of days."
            ),
        ),
    ],
)
def test_the_reason_is_what_it_fails_by(times, told):
    line = no_more_line(NotOffered(*times, 0.27), CLOCK, BEGIN + timedelta(hours=11))
    assert line == f"No other plate today: {told}"
