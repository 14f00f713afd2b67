"""Sitters by appointment: the pose at the time, a fresh coat, or one sentence."""

from datetime import date, timedelta

import numpy as np
import pytest
from tests.day.test_plan import plan, studio

from argentry import trade
from argentry.day.appointments import with_sitters
from argentry.day.setting import setting_of
from argentry.errors import BadInput
from argentry.out.day.answer import other_days
from argentry.plan.check import faults
from argentry.plan.day import plan_day
from argentry.plan.tasks import EXPOSURE, blocks_of
from argentry.records.day import by_event
from argentry.records.studio import Habits, Hours
from argentry.records.wishes import Sitter, Wishes

DAY = date(2026, 6, 21)
QUICK = {"effort": 0.5, "simulated_days": 40}
WAITS = trade.value("day", "sitter_waits")


def asked(*sitters, plates=None, made=None, day=DAY, **options):
    return plan(
        day, made=made or studio(habits=Habits(seal_later=True)), plates=plates,
        wishes=Wishes(sitters=sitters), **QUICK, **options,
    )  # fmt: skip


def setting(*sitters, made=None):
    return setting_of(
        made or studio(habits=Habits(seal_later=True)), DAY, haze=None, learned=None,
        as_written=False, now=None, seed=1, wishes=Wishes(sitters=sitters),
    )  # fmt: skip


def step(made, plate, key):
    return next(s for s in made.steps if (s.plate, s.step) == (plate, key))


def test_the_pose_begins_at_the_time_with_a_fresh_coat_and_free_hands():
    made = asked(Sitter("14:30"), Sitter("11:00", "Anna"), plates=3)
    assert made.plates_placed == 3
    anna, other = made.appointments
    assert (anna.name, f"{anna.time:%H:%M}", f"{other.time:%H:%M}") == ("Anna", "11:00", "14:30")
    for one in made.appointments:
        assert one.time <= one.pose_start <= one.time + timedelta(minutes=WAITS)
        pose = step(made, one.plate, "expose")
        assert (pose.start, pose.end) == (one.pose_start, one.pose_end)
        assert pose.latest_start <= one.time + timedelta(minutes=WAITS)
        assert not by_event(pose), "a sitter comes by the clock, whatever the coat would bear"
        coat = step(made, one.plate, "load")
        assert timedelta(0) <= pose.start - coat.end <= timedelta(minutes=40)
    # plates are numbered by their beginnings, and the sheet says whose is whose
    begun = [step(made, plate, "scour").start for plate in (1, 2, 3)]
    assert begun == sorted(begun)
    assert other_days(made)[0].startswith(f"Anna at 11:00: plate {anna.plate}, pose 11:0")


def test_a_sitters_own_lens_size_and_pose_change_that_plate_alone():
    usual = asked(Sitter("12:00"), plates=1)
    stopped = asked(Sitter("12:00", f_number=5.6), plates=1)
    large = asked(Sitter("12:00", size="half"), plates=1)

    def minutes(made, key):
        return step(made, made.appointments[0].plate, key).minutes.middle

    # twice the light through the lens is half the time: f/4 to f/5.6 is a factor 1.96
    assert minutes(stopped, "expose") == pytest.approx(1.96 * minutes(usual, "expose"), rel=0.05)
    assert minutes(large, "rouge_buff") > 1.2 * minutes(usual, "rouge_buff")
    assert minutes(large, "fix") == minutes(usual, "fix")
    # which plate is to be of which size stands on the sheet: it named the sitter's number alone
    assert other_days(large)[0].startswith("Sitter at 12:00: plate 1, half, pose 12:0")
    assert other_days(stopped)[0].startswith("Sitter at 12:00: plate 1, f/5.6, pose 12:0")
    both = asked(Sitter("12:00", size="half"), plates=2)
    others = {1, 2} - {both.appointments[0].plate}
    assert step(both, others.pop(), "rouge_buff").minutes.middle == minutes(usual, "rouge_buff")


@pytest.mark.parametrize(
    ("sitter", "told"),
    [
        (Sitter("07:30"), "07:30 is before the hours begin at 08:00; give a time within"),
        (Sitter("19:30"), "19:30 is after the hours end at 19:00"),
        (Sitter("13:10"), "13:10 lies in the break from 13:00 to 13:45"),
        (
            Sitter("12:00", pose_s=20.0),
            "20 s; the shortest of the day takes 2 min 25 s, at",
        ),
        (Sitter("08:05"), "no plate can be ready for the sitter at 08:05 and finished"),
        (Sitter("08:05", "Bo"), "no plate can be ready for Bo at 08:05"),
        (Sitter("18:30"), "no plate can be ready for the sitter at 18:30"),
    ],
)
def test_a_time_that_cannot_be_is_one_sentence(sitter, told):
    with pytest.raises(BadInput) as refused:
        asked(sitter)
    assert told in str(refused.value)
    assert str(refused.value).startswith("--sitter: ")


def test_a_sitter_who_comes_when_there_is_no_light_hears_when_there_is():
    with pytest.raises(BadInput, match=r"within 60 min; give a time from \d\d:\d\d to \d\d:\d\d"):
        asked(Sitter("18:30"), day=date(2026, 12, 21))


def test_fewer_plates_than_sitters_are_refused():
    with pytest.raises(BadInput, match=r"fewer plates \(1\) are asked for than sitters come \(2\)"):
        asked(Sitter("11:00"), Sitter("15:00"), plates=1)


def test_of_two_who_come_at_once_one_is_told_that_there_is_no_plate():
    pose = {"f_number": 8.0}  # some ten minutes each, longer than anybody waits
    made = asked(Sitter("12:00", "Anna", **pose), Sitter("12:00", "Bo", **pose), plates=3)
    placed = [one for one in made.appointments if one.plate is not None]
    missed = [one for one in made.appointments if one.plate is None]
    assert (len(placed), len(missed)) == (1, 1)
    assert made.plates_placed == 2
    assert missed[0].pose_start is None
    assert any(f"No plate for {missed[0].name} at 12:00" in note for note in made.warnings)


def test_what_would_make_room_beside_a_sitter_is_looked_for_in_the_steps_of_the_day():
    """Sealing later would be the others' steps alone: it ended in a traceback."""
    made = asked(Sitter("11:00"), plates=6, made=studio(habits=Habits(seal_later=False)))
    assert 0 < made.plates_placed < 6
    room = next(note for note in made.warnings if note.startswith("One more plate would fit"))
    assert "--workers" in room
    assert "--seal-later" not in room


def test_sitters_with_time_between_them_are_all_taken():
    made = asked(Sitter("11:00"), Sitter("11:40"), Sitter("14:30"), plates=3)
    assert [one.plate for one in made.appointments] == [1, 2, 3]


@pytest.mark.parametrize("polished", [0, 2])
def test_the_checker_finds_a_pose_outside_its_time(polished):
    made = studio(habits=Habits(seal_later=True, polished=polished))
    held, wanted = with_sitters(setting(Sitter("11:00"), made=made), 2, 1)
    day = held.wanted(wanted)
    planned = plan_day(day, effort=0.5, simulated_days=20)
    blocks = blocks_of(day.tasks)
    mine = next(p for p in range(2) if held.seat_of(planned.special_of(p)) is not None)
    pose = next(i for i, b in enumerate(blocks) if b.kind == EXPOSURE)

    def found(by):
        starts, ends = planned.starts.copy(), planned.ends.copy()
        starts[mine, pose] += by
        ends[mine, pose] += by
        checked = type(day)(**{**vars(day), "special": planned.special})
        return " ".join(faults(checked, blocks, starts, ends, planned.frame_kind))

    assert found(0.0) == ""
    assert "the sitter is there from 180 to 190" in found(11.0)
    assert "the sitter is there from 180 to 190" in found(-1.0)


def test_on_the_simulated_days_nobody_is_taken_before_the_time_or_long_after():
    held, wanted = with_sitters(setting(Sitter("11:00"), Sitter("14:30")), 3, 1)
    planned = plan_day(held.wanted(wanted), effort=0.5, simulated_days=100)
    pose = next(i for i, b in enumerate(planned.blocks) if b.kind == EXPOSURE)
    for plate in range(3):
        special = planned.special_of(plate)
        if special is None:
            continue
        low, high = special.light.window
        begun = planned.days.starts[:, plate, pose]
        known = begun[np.isfinite(begun)]
        assert len(known) > 70
        assert known.min() >= low - 1e-6
        assert known.max() <= high + 1e-6


def test_a_sitter_in_the_break_of_longer_hours():
    made = studio(hours=Hours("06:00", "20:00", (("12:00", "13:00"),)))
    with pytest.raises(BadInput, match="lies in the break from 12:00 to 13:00"):
        asked(Sitter("12:59"), made=made)
    assert asked(Sitter("13:00"), made=made).plates_placed >= 1


def test_the_coat_is_begun_early_enough_for_days_on_which_hands_are_slower():
    """A pose planned for the last minute of waiting would be missed on every second day."""
    made = asked(Sitter("11:00"), Sitter("14:30"), plates=3)
    for one in made.appointments:
        assert one.pose_start <= one.time + timedelta(minutes=WAITS / 2)
        pose = step(made, one.plate, "expose")
        assert pose.start_low <= pose.start_high <= one.time + timedelta(minutes=WAITS)
        spare = one.time - step(made, one.plate, "load").end
        assert spare > timedelta(minutes=-WAITS / 2)


def test_a_pose_does_not_wait_for_an_inspection_that_can():
    """Hands inspected another plate for seven minutes while the sitter waited."""
    made = asked(Sitter("12:30"), plates=3, made=studio(habits=Habits(seal_later=False)))
    (one,) = made.appointments
    assert one.pose_start == one.time
    assert made.plates_placed == 3
