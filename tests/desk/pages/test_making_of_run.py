"""What a making's record shows of its run's readings."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

from argentry.desk.pages.making_of_run import _readings
from argentry.records.event import Event

NOON = datetime(2026, 6, 21, 10, tzinfo=UTC)
MADRID = ZoneInfo("Europe/Madrid")


def event(minutes, kind, plate=None, **body):
    at = NOON + timedelta(minutes=minutes)
    return Event(f"e{minutes}", "r", kind, at, plate, None, body, "tablet")


def test_readings_are_the_plates_own_and_the_rooms_while_it_was_worked_on():
    said = (
        event(0, "step_begun", "p"),
        event(1, "reading_taken", what="room_c", value=19.5),
        event(2, "remark_made", "p", words="a streak"),
        event(3, "reading_taken", what="lux of the wall", value=800, unit="lx", source="meter"),
        event(11, "reading_taken", what="room_c", value=23.0),  # after its last step
        event(12, "reading_taken", "p", what="coat_nm", value=30),
        event(13, "reading_taken", "p", what="room_c", value="warm"),
    )
    steps = [SimpleNamespace(begun=NOON, ended=NOON + timedelta(minutes=10))]
    found = _readings(said, steps, MADRID)
    assert [(one.what, one.value, one.unit, one.source) for one in found] == [
        ("room_c", 19.5, "°C", "tablet"),
        ("lux of the wall", 800.0, "lx", "meter"),
        ("coat_nm", 30.0, "nm", "tablet"),
    ]
    assert f"{found[0].at:%H:%M}" == "12:01", "by the studio's clock"
    going = [SimpleNamespace(begun=NOON, ended=None)]
    assert len(_readings(said, [*steps, *going], MADRID)) == 4
