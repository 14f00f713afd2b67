"""A new plan of a live run: when it is wanted, what it offers, how it is answered."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from tests import bench_studio as made
from tests.weather_stub import sample

from argentry.bench.off_plan import off_plan, told_of
from argentry.book.engine import close_book
from argentry.book.log import events
from argentry.book.open import open_book
from argentry.day.plan import make_day
from argentry.desk.bench.replan import plan_body, plan_or_nothing, runs_to_plan, say_plan
from argentry.desk.bench.standing import standing
from argentry.desk.wishes import OPTIONS
from argentry.errors import BadInput
from argentry.records.wishes import Sitter, Wishes
from argentry.studio.today import studio_today


@pytest.fixture(scope="module")
def plan():
    """Two plates on a long day, planned in the morning."""
    table = made.Table(None, made.studio())
    return make_day(table.studio, date(2026, 6, 21), plates=2, now=table.clock.now())


def wanted(table, considered=None):
    return list(runs_to_plan(table.book, table.folder, table.clock, considered or {}))


def body_of(table):
    return plan_body(table.book, table.studio, table.folder, table.run, table.clock.now())


def say(table, body):
    return say_plan(table.book, table.folder, table.run, body, table.clock)


def kinds(table):
    return [event.kind for event in events(table.book, table.run)]


def fake(table, *lines, **more):
    """Return a body as the planner would give it now, without its work."""
    later = {}
    for plate in table.state().plates:
        later[plate.id] = {
            step.key: {"start": (step.plan.start + timedelta(hours=1)).isoformat()}
            for step in plate.steps
            if step.plan is not None and step.state in ("waiting", "ready")
        }
    body = {
        "plan": later, "lines": list(lines), "moved": [], "left_out": [], "why": "",
        "kept_share": 0.4, "share": 0.7, "knows": dict(told_of(off_plan(table.state()))),
    }  # fmt: skip
    return body | more


def hours_later(text):
    return (datetime.fromisoformat(text) + timedelta(hours=1)).isoformat()


def test_nothing_is_wanted_while_the_plates_keep_to_their_plan(table):
    assert wanted(table) == []
    table.wait(60.0)
    assert wanted(table) == []


def test_a_step_that_does_not_begin_asks_though_nobody_pressed(table):
    table.wait(30 * 60.0)
    assert wanted(table) == [table.run]


def test_on_another_day_or_without_a_plan_nothing_is_wanted(table):
    table.wait(86400.0)
    assert wanted(table) == []
    with pytest.raises(BadInput, match="without a plan"):
        body_of(table)
    table.open("C1")
    table.wait(3 * 3600.0)
    assert wanted(table) == []


def test_the_real_planner_offers_what_the_day_still_holds(table):
    """Hours late the second plate no longer fits; taken, the new plan stands and is kept."""
    table.wait(5.2 * 3600.0)
    body = body_of(table)
    second = table.state().plates[1]
    assert body["left_out"] == [second.id]
    assert body["more"] is None
    assert "no longer fits" in body["lines"][0]
    assert body["kept_share"] is None, "the plan that stood held one plate more"
    assert body["share"] > 0.0
    assert "late" in body["why"]
    said, considered = say(table, body)
    assert (said, considered) == ("offered", None)
    offer = table.state().offer
    assert offer.lines == tuple(body["lines"])
    assert wanted(table) == [], "what is known is not asked again"
    table.say("plan_taken", offer=offer.event)
    state = table.state()
    assert [plate.left_out for plate in state.plates] == [False, True]
    assert standing(state, state.plates[1]).lost, "it is not told a second time"
    first = state.plates[0]
    assert all(step.plan.start >= state.now for step in first.steps if step.key != "ready_room")
    assert first.step("ready_room").plan.end <= first.step("scour").plan.start
    assert first.step("ready_room").float_s > 0.0
    assert wanted(table) == []
    table.wait(30 * 60.0)
    assert wanted(table) == [table.run], "late by the new plan"
    body = body_of(table)
    assert second.id in body["left_out"], "a newer plan leaves it too"
    assert not any(second.label in line for line in body["lines"])


def test_what_is_not_worth_a_word_is_remembered_and_not_written(table):
    table.wait(30 * 60.0)
    said, considered = say(table, fake(table))
    assert said == "nothing"
    assert "plan_offered" not in kinds(table)
    assert wanted(table, {table.run: considered}) == []
    assert wanted(table) == [table.run], "after a restart it is looked at once more"
    table.wait(6 * 60.0)
    assert wanted(table, {table.run: considered}) == [table.run]


def test_a_plan_made_while_the_hands_went_on_is_made_again(table):
    table.wait(30 * 60.0)
    body = fake(table, "later")
    plate = table.plate().id
    table.say("plate_abandoned", plate, why="scratched")
    assert say(table, body) == ("overtaken", None)
    assert "plan_offered" not in kinds(table)


def test_a_plan_knows_nothing_of_what_came_after_the_moment_it_is_made_for(table, monkeypatch):
    """Asked for at 12:30, worked out at 12:53: it took a loss of 12:52 for told; none was made."""

    def none(*_, **__):
        raise BadInput("plan", "it cannot be made", "wait")

    monkeypatch.setattr("argentry.day.again.plan_again", none)
    table.wait(30 * 60.0)
    asked = table.clock.now()
    table.wait(60.0)
    table.say("plate_abandoned", table.plate().id, why="scratched")
    body = plan_or_nothing(table.book, table.studio, table.folder, table.run, asked)
    assert body["knows"]["lost"] == []
    assert say(table, body) == ("overtaken", None)


def test_a_plan_without_a_time_in_it_is_taken_once(table):
    table.wait(30 * 60.0)
    say(table, fake(table, "No order keeps every limit.", plan={}))
    table.say("plan_taken", offer=table.state().offer.event)
    assert wanted(table) == []
    table.wait(6 * 60.0)
    assert wanted(table) == [table.run]


def test_what_a_plan_does_not_move_is_no_reason_for_the_next(table):
    """The first plate ended a step an hour early; a plan taken that leaves it so asks no more."""
    table.up_to("rouge_buff", each_s=60.0)
    assert wanted(table) == [table.run], "early"
    second = table.state().plates[1].id
    body = fake(table, "later")
    say(table, body | {"plan": {second: body["plan"][second]}})
    table.say("plan_taken", offer=table.state().offer.event)
    assert wanted(table) == []
    again = fake(table, "later")
    assert say(table, again | {"plan": {}})[0] == "nothing", "what was taken says it"


def test_the_same_is_not_offered_twice(table):
    table.wait(30 * 60.0)
    assert say(table, fake(table, "later"))[0] == "offered"
    assert say(table, fake(table, "later"))[0] == "nothing", "it still waits"
    assert say(table, fake(table, "much later"))[0] == "offered"
    assert kinds(table).count("plan_offered") == 2


def test_a_plan_turned_down_is_offered_again_only_when_it_says_something_else(table):
    table.wait(30 * 60.0)
    say(table, fake(table, "later"))
    table.say("plan_declined", offer=table.state().offer.event)
    assert wanted(table) == []
    table.wait(6 * 60.0)
    assert wanted(table) == [table.run]
    assert say(table, fake(table, "later"))[0] == "nothing"
    assert say(table, fake(table, "too late"))[0] == "offered"


def test_a_few_minutes_more_are_no_news_to_who_turned_it_down(table):
    table.wait(30 * 60.0)
    say(table, fake(table, "Done at 17:10, 20 min later."))
    table.say("plan_declined", offer=table.state().offer.event)
    body = fake(table, "Done at 17:31, 41 min later.")
    assert say(table, body)[0] == "nothing"
    assert say(table, body | {"share": 0.55})[0] == "offered", "the day has become worse"
    table.say("plan_declined", offer=table.state().offer.event)
    assert say(table, body | {"share": 0.55})[0] == "nothing"
    later = {
        plate: {key: {"start": hours_later(row["start"])} for key, row in own.items()}
        for plate, own in body["plan"].items()
    }
    assert say(table, body | {"share": 0.55, "plan": later})[0] == "offered", "by an hour it is"


def test_an_offer_that_says_nothing_any_more_is_taken_back(table):
    table.wait(30 * 60.0)
    say(table, fake(table, "later"))
    said, considered = say(table, fake(table))
    assert said == "withdrawn"
    assert table.state().offer is None
    assert wanted(table, {table.run: considered}) == []


def test_a_late_phone_takes_the_plan_that_it_saw(table):
    """Its answer is older than a newer offer: both are in the log, and the newer one waits."""
    table.wait(30 * 60.0)
    say(table, fake(table, "later"))
    first = table.state().offer.event
    table.wait(600.0)
    say(table, fake(table, "much later"))
    second = table.state().offer.event
    table.wait(60.0)
    table.say("plan_taken", age_s=500.0, offer=first)
    state = table.state()
    assert (state.standing, state.offer.event) == (first, second)
    assert wanted(table) == [table.run], "the newer one was made from the plan before"
    assert say(table, fake(table))[0] == "withdrawn"
    assert "the plan was taken already" in table.why("plan_taken", offer=first)
    assert "no such plan" in table.why("plan_taken", offer=second)


def test_a_device_offers_no_plan_and_answers_only_one_that_is_there(table):
    assert "not a kind that a device may send" in table.why("plan_offered", lines=[])
    assert "no such plan was offered" in table.why("plan_taken", offer="none")
    assert "it is missing" in table.why("plan_declined")


def test_a_new_forecast_in_the_studio_folder_asks(table):
    assert wanted(table) == []
    file = table.folder / "forecast.csv"
    file.write_text("time,cloud_pct\n2026-06-21T06:00Z,80\n", encoding="utf-8")
    assert wanted(table) == [table.run]


def test_a_plan_made_by_a_forecast_says_whose_data_it_is(table, monkeypatch):
    """The licences of the services ask for it wherever their data are shown."""
    from argentry.desk.bench import replan
    from argentry.exchange.services.asking import Ask
    from argentry.exchange.services.open_meteo import CREDIT, parse

    ask = Ask(48.14, 11.58, datetime(2026, 6, 20, 12, tzinfo=UTC))
    weather = parse(sample("open-meteo", "clear"), ask)
    start = np.datetime64("2026-06-21T00:00:00")
    weather = replace(weather, start_utc=weather.start_utc - weather.start_utc[0] + start)
    monkeypatch.setattr(replan, "_weather", lambda *_: weather)
    table.wait(5.2 * 3600.0)
    lines = body_of(table)["lines"]
    assert len(lines) > 1
    assert lines[-1] == CREDIT


def test_where_the_plates_stand_is_what_the_bench_saw(table):
    first, second = table.state().plates
    table.up_to("to_frame")
    state = table.state()
    stands = standing(state, state.plates[0])
    assert (
        set(stands.begun)
        == set(stands.ended)
        == {s.key for s in state.plates[0].steps if s.state == "done"}
    )
    assert (stands.frame, stands.lost, stands.label) == ("", False, first.label)
    assert stands.planned["expose"] == state.plates[0].step("expose").plan.start
    table.up_to("fix")
    state = table.state()
    assert standing(state, state.plates[0]).frame == "Red frame"
    table.up_to("gild")
    assert standing(table.state(), table.plate()).frame == "Red frame", "it lay in that one"
    # what is done once for the whole run is not over because the second plate never does it
    assert "ready_room" not in standing(state, state.plates[1]).ended
    table.say("plate_abandoned", second.id, why="scratched")
    state = table.state()
    assert standing(state, state.plates[1]).lost


def test_a_redo_asks_and_only_what_was_done_since_counts(table):
    table.up_to("warm")
    plate = table.plate().id
    table.say("step_redone", plate, "rouge_buff", why="a drag line")
    state = table.state()
    assert wanted(table) == [table.run]
    stands = standing(state, state.plates[0])
    assert set(stands.begun) == {"ready_room", "scour"}


def test_what_was_wished_for_the_day_goes_into_the_new_plan(tmp_path, plan, monkeypatch):
    book = open_book(tmp_path)
    table = made.Table(book, made.studio())
    table.folder = tmp_path
    table.open(plan=replace(plan, wishes=Wishes(end="17:00", breaks=(("12:00", "12:30"),))))
    seen = []

    def stop(studio, *_, **__):
        seen.append(studio.hours)
        raise BadInput("run", "seen", "stop")

    monkeypatch.setattr("argentry.day.again.plan_again", stop)
    table.wait(1800.0)
    with pytest.raises(BadInput, match="seen"):
        body_of(table)
    assert (seen[0].end, seen[0].breaks) == ("17:00", (("12:00", "12:30"),))
    body = plan_or_nothing(book, table.studio, tmp_path, table.run, table.clock.now())
    assert body["lines"] == []
    assert body["knows"]["late_s"]
    close_book(book)


def test_the_light_that_was_read_goes_into_the_new_plan(table):
    """Under an overcast sky the exposure waits, or the day ends later, than under a clear one."""
    table.up_to("expose", each_s=480.0)
    plate = table.plate().id

    def ends(okta):
        said = table.say("reading_taken", what="cloud_okta", value=okta, unit="okta")
        assert wanted(table) == [table.run]
        body = body_of(table)
        assert "the light was read" in body["why"]
        table.say("corrected", event=said.id, withdrawn=True)
        return body["plan"][plate]["develop"]["end"], body["share"]

    clear, dull = ends(0.0), ends(8.0)
    assert clear[0] < dull[0]
    assert clear[1] >= dull[1]


def test_a_run_keeps_its_sitters_and_what_came_polished(tmp_path):
    sitter = Sitter("12:00", "Anna", 1200.0, 4.5, "sixth")
    wishes = Wishes(sitters=(sitter,), polished=1, seal_later=True)
    book = open_book(tmp_path)
    try:
        table = made.Table(book, made.studio())
        table.folder = tmp_path
        plan = make_day(
            studio_today(table.studio, wishes, OPTIONS), date(2026, 6, 21), plates=2, wishes=wishes,
            now=table.clock.now(), effort=0.5, simulated_days=40,
        )  # fmt: skip
        (one,) = plan.appointments
        table.open(plan=plan)
        table.cautions()
        stands = [standing(table.state(), plate) for plate in table.state().plates]
        assert stands[one.plate - 1].sitter == sitter
        assert [plate.sitter for n, plate in enumerate(stands, 1) if n != one.plate] == [None]
        assert tuple(n for n, plate in enumerate(stands, 1) if plate.polished) == plan.polished
        # the new plan holds the time: within ten minutes of it
        body = body_of(table)
        mine = table.state().plates[one.plate - 1].id
        pose = datetime.fromisoformat(body["plan"][mine]["expose"]["start"])
        assert timedelta(0) <= pose - one.time <= timedelta(minutes=10)
    finally:
        close_book(book)
