"""The plan of a day made again: numbers, what moved, and what is told."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from tests.day.test_plan import studio

from argentry.day.again import plan_again
from argentry.day.plan import make_day
from argentry.errors import BadInput
from argentry.needs import step_lengths
from argentry.plan.further import LIKELY
from argentry.records import studio as rec
from argentry.records.again import AfterStep, PlateStanding
from argentry.records.wishes import Sitter, Wishes

DAY = date(2026, 6, 21)
MINUTE = timedelta(minutes=1)


@pytest.fixture(scope="module")
def planned():
    return make_day(studio(), DAY, plates=2, effort=0.5, simulated_days=40)


def clock(plan, text):
    hour, minute = text.split(":")
    return plan.begin.replace(hour=int(hour), minute=int(minute))


def standing(plan, now, late=0.0, **changes):
    """Return the plates as they stand when everything went as planned, so much later."""
    by = timedelta(minutes=late)
    ready = {rule.key: plan.begin for rule in step_lengths.day_rules()}
    plates = []
    for number in range(1, plan.plates_placed + 1):
        steps = [step for step in plan.steps if step.plate == number]
        begun = {step.step: step.start + by for step in steps if step.start + by <= now}
        plates.append(
            PlateStanding(
                label=f"inv-{number}",
                begun=begun,
                ended=ready | {s.step: s.end + by for s in steps if s.end + by <= now},
                frame="red frame" if "develop" in begun else "",
                planned={step.step: step.start for step in steps},
                **changes,
            )
        )
    return plates


def again(plan, text, late=0.0, made=None, plates=None, **changes):
    now = clock(plan, text)
    plates = standing(plan, now, late, **changes) if plates is None else plates
    return plan_again(made or studio(), plates, now=now, simulated_days=40)


def test_nothing_is_told_when_all_goes_as_planned(planned):
    made = again(planned, "08:30")
    assert made.lines == made.left_out == made.not_finished == ()
    assert made.share == pytest.approx(planned.all_finished_share, abs=0.1)
    assert {step.plate for step in made.plan.steps} == {1, 2}
    ahead = [s for s in made.plan.steps if s.start >= clock(planned, "08:30")]
    before = {(s.plate, s.step): s.start for s in planned.steps}
    assert max(abs(s.start - before[s.plate, s.step]) for s in ahead) <= 5 * MINUTE
    assert made.moved == ()


def test_a_late_morning_moves_the_day_and_says_by_how_much(planned):
    made = again(planned, "10:00", late=45.0)
    last = max(step.end for step in made.plan.steps)
    (later,) = (line for line in made.lines if line.endswith("min later than planned."))
    assert f"The last plate is done at {last:%H:%M}, " in later
    assert last > max(step.end for step in planned.steps) + 20 * MINUTE
    assert made.moved
    assert all(step not in standing(planned, clock(planned, "10:00"), 45.0)[n - 1].begun
               for n, step in made.moved)  # fmt: skip


def test_a_plate_given_up_takes_no_more_hands(planned):
    plates = standing(planned, clock(planned, "10:00"))
    made = again(planned, "10:00", plates=[replace(plates[0], lost=True), plates[1]])
    assert {step.plate for step in made.plan.steps} == {2}
    assert made.left_out == made.not_finished == ()


def test_with_all_plates_lost_there_is_nothing_to_plan(planned):
    made = again(planned, "10:00", lost=True)
    assert made.plan.steps == made.left_out == made.not_finished == ()
    assert made.one_more  # the morning is not over
    assert made.share is None, "all of none were finished on 0 % of days"


def test_a_plate_not_begun_that_no_longer_fits_is_left(planned):
    plates = standing(planned, clock(planned, "08:30"))
    unbegun = replace(plates[1], begun={}, ended={}, frame="")
    made = again(planned, "15:30", plates=[plates[0], unbegun])
    assert 2 in made.left_out
    assert "Plate inv-2 no longer fits: leave it for another day." in made.lines


def test_a_begun_plate_is_finished_after_the_hours(planned):
    """Everything an hour late in a studio that closes early: the plate is not dropped."""
    end = max(step.end for step in planned.steps)
    short = studio(hours=rec.Hours(end=f"{end:%H:%M}", breaks=()))
    made = again(planned, "11:30", late=60.0, made=short)
    assert made.not_finished == ()
    assert any("min after your hours" in line for line in made.lines)
    assert made.plan.end == end.replace(second=0)


def half_polished(planned, minutes_to_ripe):
    """Return a morning on which one plate is nearly ripe and hands scour the other."""
    now = clock(planned, "10:30")
    first, second = standing(planned, now)
    own = [step for step in planned.steps if step.plate == 1]
    develop = next(step for step in own if step.step == "develop")
    ripe = now + minutes_to_ripe * MINUTE
    by = ripe - develop.end
    ready = {rule.key: planned.begin for rule in step_lengths.day_rules()}
    first = replace(
        first,
        begun={s.step: s.start + by for s in own if s.start + by <= now},
        ended=ready | {s.step: s.end + by for s in own if s.end + by <= now},
        frame="red frame",
        ripe=(ripe, 0.05),
    )
    return [first, replace(second, begun={"scour": now - 2 * MINUTE}, ended=ready, frame="")]


def test_a_plate_half_polished_waits_before_its_final_buff_for_one_that_is_ripe(planned):
    """In one go from scour to load, hands came a quarter of an hour late to the frame."""
    made = again(planned, "10:30", plates=half_polished(planned, 10))
    at = {(step.plate, step.step): step for step in made.plan.steps}
    ripe = at[1, "develop"].end
    assert at[2, "rouge_buff"].end <= at[1, "fix"].start <= ripe + 5 * MINUTE
    assert at[2, "final_buff"].start >= at[1, "look"].end, "the plate that can wait does"
    assert not any("opaque card" in line for line in made.lines)
    # from the final buff on the plate is not left again
    for one, after in (("final_buff", "warm"), ("warm", "iodise"), ("iodise", "load")):
        assert at[2, after].start - at[2, one].end <= MINUTE


def test_one_that_came_polished_leaves_the_others_in_one_go(planned):
    plates = half_polished(planned, 10)
    ready = plates[1].ended
    other = PlateStanding("inv-3", ended=ready, polished=True)
    made = again(planned, "10:30", plates=[*plates, other])
    at = {(step.plate, step.step): step for step in made.plan.steps}
    assert (3, "scour") not in at
    assert at[2, "final_buff"].start - at[2, "rouge_buff"].end <= MINUTE


def test_no_plate_more_is_offered_beside_plates_in_trouble(planned, monkeypatch):
    """It was told to be finished on 63 % of days next to two that were both finished on 48 %."""
    plates = standing(planned, clock(planned, "09:00"))[:1]
    assert again(planned, "09:00", plates=plates).one_more
    monkeypatch.setattr("argentry.day.again.WORTH_TELLING", 1.1)
    assert not again(planned, "09:00", plates=plates).one_more


def test_one_more_is_told_when_there_is_time_as_the_sheet_tells_it(planned):
    first = [step for step in planned.steps if step.plate == 1]
    plates = standing(planned, clock(planned, "09:00"))[:1]
    made = again(planned, "09:00", plates=plates)
    assert made.one_more
    (told,) = (line for line in made.lines if line.startswith("One more plate may be begun"))
    begun, sound = map(int, re.findall(r"(\d+) %", told))
    assert LIKELY * begun - 1 <= sound <= begun, "nobody asked for it: it must be likely"
    assert {step.plate for step in made.plan.steps} == {1}
    late = again(planned, "16:30", plates=standing(planned, clock(planned, "16:30"))[:1])
    assert not late.one_more
    assert first


def test_one_more_that_was_asked_for_may_be_less_likely(planned):
    """An hour at which nobody would begin one unasked; who asked for more is told the odds."""
    now = clock(planned, "15:00")
    plates = standing(planned, now)[:1]
    told = [
        plan_again(studio(), plates, now=now, asked=asked, simulated_days=40).lines
        for asked in (1, 2)
    ]
    (line,) = (line for line in told[1] if line.startswith("One more plate may be begun"))
    begun, sound = map(int, re.findall(r"(\d+) %", line))
    assert 0 < sound < LIKELY * begun
    assert line not in told[0]


def test_a_plate_more_for_which_the_plan_then_has_no_place_is_not_offered(planned):
    """It was, finished on 28 % of days, and left out as soon as it was taken."""
    now = clock(planned, "15:20")
    plates = standing(planned, now)[:1]
    wished = {"now": now, "asked": 2, "simulated_days": 40}
    taken = plan_again(studio(), [*plates, PlateStanding("inv-9")], **wished)
    assert taken.left_out == (2,)
    assert not plan_again(studio(), plates, **wished).one_more


def test_no_step_without_a_limit_is_planned_into_a_break(planned):
    """As on the day itself it might run ten minutes into one: the checker then refused the plan."""
    plates = [*standing(planned, clock(planned, "10:00"), lost=True), PlateStanding("inv-9")]
    made = again(planned, "10:00", plates=plates)
    assert made.left_out == ()
    (pause,) = made.plan.breaks
    rows = [step for step in made.plan.steps if step.plate == 3 and step.attended]
    assert rows
    assert all(one.end <= pause.start or one.start >= pause.end for one in rows)


def test_one_taken_on_an_offer_is_begun_after_the_step_that_it_named(planned):
    first, second = standing(planned, clock(planned, "09:00"))
    third = PlateStanding("inv-9", after=AfterStep(2, "develop", clock(planned, "16:00")))
    made = again(planned, "09:00", plates=[replace(first, lost=True), second, third])
    at = {(step.plate, step.step): step for step in made.plan.steps}
    assert at[3, "scour"].start >= at[2, "develop"].end


def test_one_in_place_of_a_plate_lost_is_looked_for_as_it_was_asked_for(planned):
    """Two were asked for and one is lost: a second is begun, though not likely to be done."""
    now = clock(planned, "15:00")
    first, second = standing(planned, now)
    plates = [first, replace(second, lost=True)]
    told = [
        plan_again(studio(), plates, now=now, asked=asked, simulated_days=40).one_more
        for asked in (1, 2)
    ]
    assert told == [False, True]


def test_it_is_offered_before_the_others_are_begun(planned):
    """It is told with what it waits for: whoever lost a plate need not ask again later."""
    now = clock(planned, "08:30")
    first, second = standing(planned, now)
    lost, fresh = replace(first, lost=True), replace(second, begun={}, frame="")
    assert again(planned, "08:30", plates=[lost, fresh]).one_more is False
    made = plan_again(studio(), [lost, fresh], now=now, asked=2, simulated_days=40)
    assert made.one_more
    assert any(line.startswith("One more plate may be begun after") for line in made.lines)


def test_when_none_fits_in_the_place_of_a_lost_one_its_time_is_told_once(planned):
    """Whoever lost a plate in the afternoon read nothing, and waited for an offer."""
    now = clock(planned, "16:30")
    first, second = standing(planned, now)
    plates, by = [first, replace(second, lost=True)], {"now": now, "simulated_days": 40}
    made = plan_again(studio(), plates, asked=2, lost_now=True, **by)
    assert not made.one_more
    (line,) = made.lines
    reason, remedy = line.split(" With sealing left for another day ")
    assert re.fullmatch(r"No other plate today: .*16:3\d.* \d+ min after your hours\.", reason)
    odds = int(re.search(r"finished on (\d+) %", remedy)[1])
    later = replace(studio(), habits=replace(studio().habits, seal_later=True))
    done_so = plan_again(later, plates, asked=2, lost_now=True, **by)
    assert done_so.one_more, "the remedy holds when it is done"
    assert any(line.endswith(f"finished on {odds} %.") for line in done_so.lines)
    assert plan_again(studio(), plates, asked=2, **by).lines == ()


def test_a_plate_whose_planned_time_no_longer_ends_in_the_hours_is_begun_sooner(planned):
    """It was left for another day, though hands were free to begin it in time."""
    now = clock(planned, "13:50")
    ready = {rule.key: planned.begin for rule in step_lengths.day_rules()}
    second = standing(planned, now)[1].planned
    late = clock(planned, "14:20") - min(second.values())
    fresh = PlateStanding(ended=ready, planned={step: at + late for step, at in second.items()})
    made = again(planned, "13:50", plates=[fresh])
    assert made.left_out == ()
    assert min(step.start for step in made.plan.steps) < clock(planned, "14:05")
    assert made.share > made.kept_share


def test_a_room_that_is_not_ready_comes_first(planned):
    now = clock(planned, "08:30")
    fresh = [PlateStanding(planned=p.planned) for p in standing(planned, now)]
    made = again(planned, "08:30", plates=fresh)
    ready = sum(rule.typical_minutes for rule in step_lengths.day_rules())
    assert min(s.start for s in made.plan.steps) >= now + timedelta(minutes=ready - 1)


def test_a_room_made_ready_for_plates_that_are_all_lost_is_ready_for_another(planned):
    """The offer counted its twenty minutes once more."""
    now = clock(planned, "10:00")
    plates = [replace(plate, lost=True) for plate in standing(planned, now)]
    made = plan_again(studio(), plates, now=now, asked=2, simulated_days=40)
    (line,) = (one for one in made.lines if one.startswith("One more plate may be begun"))
    fresh = [PlateStanding(lost=True) for _ in plates]
    unready = plan_again(studio(), fresh, now=now, asked=2, simulated_days=40)
    (late,) = (one for one in unready.lines if one.startswith("One more plate may be begun"))
    assert "may be begun at 10:00: " in line, (
        "it read: until 10:00, which was over when it was read"
    )
    assert "may be begun at 10:20: " in late


def test_the_day_after_the_last_hour_is_refused_in_a_sentence(planned):
    with pytest.raises(BadInput, match="the hours of 2026-06-21 are over"):
        again(planned, "23:59")


def with_wishes(wishes, plates=2):
    from argentry.desk.wishes import OPTIONS
    from argentry.studio.today import studio_today

    made = studio_today(studio(), wishes, OPTIONS)
    plan = make_day(made, DAY, plates=plates, wishes=wishes, effort=0.5, simulated_days=40)
    return made, plan


def seated(plan, wishes, text, late=0.0):
    """Return the plates as they stand, each with its sitter."""
    plates = standing(plan, clock(plan, text), late)
    for one, sitter in zip(plan.appointments, wishes.sitters, strict=True):
        plates[one.plate - 1] = replace(plates[one.plate - 1], sitter=sitter)
    return [
        replace(plate, polished=number in plan.polished) for number, plate in enumerate(plates, 1)
    ]


@pytest.mark.parametrize("late", [0.0, 15.0])
def test_an_appointment_is_kept_while_the_day_goes_on(late):
    sitters = (Sitter("11:00", "Anna", f_number=5.6), Sitter("14:30"))
    wishes = Wishes(sitters=sitters, seal_later=True)
    made, plan = with_wishes(wishes, plates=3)
    plates = seated(plan, wishes, "09:30", late)
    new = again(plan, "09:30", late, made=made, plates=plates)
    assert new.left_out == new.not_finished == ()
    for one in plan.appointments:
        (pose,) = [s for s in new.plan.steps if (s.plate, s.step) == (one.plate, "expose")]
        assert one.time <= pose.start <= one.time + 10 * MINUTE
    # with the lens of each: f/5.6 takes about twice as long as f/4
    lengths = {s.plate: s.minutes.middle for s in new.plan.steps if s.step == "expose"}
    anna, other = (one.plate for one in plan.appointments)
    assert lengths[anna] > 1.3 * lengths[other]


def test_a_sitter_who_has_been_taken_is_not_waited_for():
    wishes = Wishes(sitters=(Sitter("11:00"),), seal_later=True)
    made, plan = with_wishes(wishes, plates=1)
    (one,) = plan.appointments
    text = f"{one.pose_end - MINUTE:%H:%M}"  # the lens is open
    new = again(plan, text, made=made, plates=seated(plan, wishes, text))
    assert new.not_finished == ()
    (pose,) = [s for s in new.plan.steps if s.step == "expose"]
    assert abs(pose.start - one.pose_start) <= MINUTE


def test_a_plate_that_came_polished_is_not_polished_again():
    wishes = Wishes(polished=2, seal_later=True)
    made, plan = with_wishes(wishes)
    assert plan.polished == (1, 2)
    new = again(plan, "08:10", made=made, plates=seated(plan, wishes, "08:10"))
    assert {s.step for s in new.plan.steps} == {s.step for s in plan.steps if s.plate}
    assert new.lines == ()


def test_a_plate_taken_out_lies_in_no_frame(planned):
    """After the fix its frame is told as none, or by name: the plan is the same."""
    plates = standing(planned, clock(planned, "11:15"))
    assert "fix" in plates[0].begun
    named = again(planned, "11:15", plates=plates)
    taken_out = again(planned, "11:15", plates=[replace(plates[0], frame=""), plates[1]])
    assert named.plan.steps == taken_out.plan.steps
    assert {step.plate for step in taken_out.plan.steps} == {1, 2}


def test_a_plate_that_was_left_out_is_tried_again(planned):
    """It has no plan any more; with the other one lost early there is time for it."""
    plates = standing(planned, clock(planned, "08:30"))
    ready = {rule.key: planned.begin for rule in step_lengths.day_rules()}
    lost, left = replace(plates[0], lost=True), PlateStanding("inv-2", ended=ready)
    made = again(planned, "08:30", plates=[lost, left])
    assert {step.plate for step in made.plan.steps} == {2}
    start = min(step.start for step in made.plan.steps)
    assert f"Plate inv-2 has a place, begun at about {start:%H:%M}." in made.lines
    late = again(planned, "17:00", plates=[lost, left])
    assert late.left_out == (2,)
    assert "Plate inv-2 has no place today: leave it for another day." in late.lines
