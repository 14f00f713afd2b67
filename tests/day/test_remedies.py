"""What would make room for one more plate: named as an option, and true."""

import re
from datetime import date

import pytest
from tests.day.test_plan import plan, studio

from argentry.cli.planning.day import day as command
from argentry.desk.wishes import OPTIONS, plan_day, read_wishes
from argentry.records.studio import Hours

DAY = date(2026, 6, 21)
QUICK = {"effort": 0.5, "simulated_days": 20}


def remedies(made):
    notes = [note for note in made.warnings if note.startswith("One more plate would fit with")]
    return re.findall(r"\((--[a-z-]+)(?: ([\d:]+))?\)", notes[0]) if notes else []


@pytest.mark.parametrize(
    ("asked", "hours", "named"),
    [
        (7, Hours(breaks=(("13:00", "13:45"),)), {"--workers", "--seal-later"}),
        (5, Hours("09:00", "16:30"), {"--workers", "--seal-later"}),
        (3, Hours("10:00", "15:30"), {"--from"}),
    ],
)
def test_each_remedy_is_an_option_and_makes_room_for_one_more(asked, hours, named):
    made = studio(hours=hours)
    short = plan(DAY, made=made, plates=asked, **QUICK)
    assert 0 < short.plates_placed < asked
    found = remedies(short)
    assert named <= {option for option, _ in found}
    known = {option for param in command.params for option in param.opts}
    fields = {option: field for field, option in OPTIONS.items()}
    for option, value in found:
        assert option in known
        wishes = read_wishes({fields[option]: value or "yes"})
        more = plan_day(made, DAY, wishes, plates=short.plates_placed + 1, by_rule=True, **QUICK)
        assert more.plates_placed == short.plates_placed + 1, option


def test_nothing_is_said_where_all_are_placed_or_none():
    assert remedies(plan(DAY, plates=1, **QUICK)) == []
    dark = plan(date(2026, 12, 21), made=studio(hours=Hours("17:00", "20:00")), plates=1, **QUICK)
    assert dark.plates_placed == 0
    assert remedies(dark) == []


def test_hours_are_not_moved_out_of_the_day():
    from argentry.day.remedies import HOUR, _moved

    late = studio(hours=Hours("00:30", "23:30"))
    assert _moved(late, "start", -HOUR) is None
    assert _moved(late, "end", HOUR) is None
    assert _moved(studio(hours=Hours("08:00", "24:00")), "end", HOUR) is None
    assert _moved(studio(), "end", HOUR).hours.end == "20:00"


def test_a_plate_more_is_named_with_the_step_after_which_it_may_be_begun():
    short = plan(DAY, made=studio(hours=Hours("10:00", "15:40")), plates=2, **QUICK)
    words = [note for note in short.warnings if note.startswith("One more plate may be begun")]
    assert short.plates_placed == 1
    found = re.fullmatch(
        r".* after “(.+)” of plate 1 until ([\d:]+): begun on (\d+) % of days, "
        r"finished on (\d+) %\. (.+) Materials are counted for it too\.",
        words[0],
    )
    follows = "Each of its steps comes after the same step of plate 1, about %d min later."
    assert found[5] in ("It waits for all other work.", follows % 30, follows % 60)
    step, until, begun, sound = found.groups()[:4]
    own = next(row for row in short.steps if row.title == step)
    assert f"{own.start:%H:%M}" < until < f"{short.end:%H:%M}"
    assert 0 < int(sound) <= int(begun) <= 100
    assert short.finished.high == 2.0
    assert short.one_more
    both = plan(DAY, made=studio(hours=Hours("08:00", "20:00")), plates=2, by_rule=True)
    assert (both.plates_placed, both.one_more) == (2, False)
    assert short.materials == both.materials, "the plate more is counted"
