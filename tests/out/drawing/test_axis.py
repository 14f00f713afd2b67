from __future__ import annotations

from datetime import UTC, datetime

from argentry.out.drawing.axis import Axis, Frame, round_steps


def test_an_axis_holds_what_lies_beyond_it():
    axis = Axis(0.0, 10.0, 100.0, 200.0)
    assert (axis.at(-5.0), axis.at(5.0), axis.at(50.0)) == (100.0, 150.0, 200.0)
    assert axis.beyond(20.0) == 300.0
    assert Axis(3.0, 3.0, 0.0, 10.0).at(3.0) == 0.0


def test_steps_are_round_and_end_below_the_top():
    assert round_steps(22.0) == [0.0, 10.0, 20.0]
    assert round_steps(0.9, 4) == [0.0, 0.2, 0.4, 0.6000000000000001, 0.8]
    assert round_steps(0.0) == [0.0]


def test_a_frame_of_one_moment_is_an_hour():
    noon = datetime(2026, 6, 14, 12, 0, tzinfo=UTC)
    frame = Frame.around([noon], 120.0)
    assert (frame.left, frame.minutes) == (noon, 60.0)


def test_hours_are_thinned_to_the_room():
    day = [datetime(2026, 6, 14, hour, 0, tzinfo=UTC) for hour in (0, 23)]
    assert len(Frame.around(day, 1000.0).spaced(20.0)) == 24
    few = [word for _, word in Frame.around(day, 120.0).spaced(20.0)]
    assert few == ["00", "04", "08", "12", "16", "20"]
