"""What a reading says of the steps to come: how fresh it must be, and which change is told."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from argentry.bench.reactions import _change, _due, _matters, fresh_air, waited_min
from argentry.needs.step_lengths import Air, Length
from argentry.trade import steps as trade_steps

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def read(what, value, ago_s):
    return SimpleNamespace(what=what, value=value, at=NOON - timedelta(seconds=ago_s))


def test_air_is_what_was_read_last_and_not_too_long_ago():
    """Half an hour for room and bath, an hour for a box, which changes slowly."""
    readings = [
        read("room_c", 18.0, 1800.0), read("box_c", 15.0, 3600.0), read("bath_c", 40.0, 1801.0),
        read("room_rh_pct", 45.0, 60.0), read("room_rh_pct", 50.0, 30.0),
        read("light_lx", 9.0, 0.0), read("moonlight", 1.0, 0.0),
    ]  # fmt: skip
    assert fresh_air(readings, NOON) == Air(room_c=18.0, box_c=15.0, room_rh_pct=50.0)
    assert fresh_air([read("box_c", 15.0, 3600.1)], NOON) == fresh_air([], NOON) == Air()


def test_a_plate_has_waited_since_its_pose_ended():
    pose = trade_steps.by_law("exposure").key
    plate = SimpleNamespace(steps=[SimpleNamespace(key="fix", ended=NOON - timedelta(hours=9)),
                                   SimpleNamespace(key=pose, ended=NOON)])  # fmt: skip
    told = [waited_min(plate, NOON + timedelta(minutes=m)) for m in (-5, 0, 90)]
    assert told == [0.0, 0.0, 90.0]
    plate.steps[1].ended = None
    assert waited_min(plate, NOON) == waited_min(SimpleNamespace(steps=[]), NOON) == 0.0


@pytest.mark.parametrize(
    ("law", "planned_s", "least_s"),
    [("fuming", 10.0, 1.0), ("fuming", 200.0, 6.0), ("exposure", 10.0, 1.0),
     ("development", 600.0, 60.0), ("development", 6000.0, 180.0)],
)  # fmt: skip
def test_a_change_matters_from_three_in_a_hundred_on_and_a_second_or_a_minute(
    law, planned_s, least_s
):
    step = SimpleNamespace(planned_s=planned_s)
    for by, matters in ((0.0, False), (least_s - 1e-6, False), (least_s + 1e-6, True)):
        for sign in (-1.0, 1.0):
            length = SimpleNamespace(seconds=planned_s + sign * by)
            assert _matters(law, step, length) == matters


def test_a_step_that_was_changed_just_now_is_left():
    def step(*ago_s):
        return SimpleNamespace(
            changes=[SimpleNamespace(at=NOON - timedelta(seconds=one)) for one in ago_s]
        )

    assert _due(step(), NOON, 60.0)
    assert [_due(step(500.0, ago), NOON, 60.0) for ago in (59.9, 60.0)] == [False, True]


def test_a_change_holds_its_range_about_itself_to_a_tenth_of_a_second():
    plate, step = SimpleNamespace(id="p"), SimpleNamespace(key="coat", planned_s=60.04)
    told = _change(plate, step, Length(71.26, 72.0, 70.0, "15 °C at the box", "by hand"))
    assert (told.plate, told.step) == ("p", "coat")
    numbers = {key: told.body[key] for key in ("planned_s", "was_s", "low_s", "high_s")}
    assert numbers == {"planned_s": 71.3, "was_s": 60.0, "low_s": 71.3, "high_s": 71.3}
    assert told.body["why"].startswith("15 °C at the box")
    assert told.body["made_of"] == "by hand"
    wide = _change(plate, step, Length(71.26, 60.11, 85.55, "", ""), "as planned again").body
    assert (wide["low_s"], wide["high_s"], wide["why"]) == (60.1, 85.5, "as planned again")
