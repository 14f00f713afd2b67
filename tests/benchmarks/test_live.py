"""The season of the plan's judge, piece by piece, on a small day whose luck is set by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest

from argentry.demo.studio import invented_studio

DAY = date(2026, 6, 21)


@pytest.fixture(scope="module")
def judge(request):
    """Return the modules of the benchmark; they lie outside of the package."""
    path = pytest.MonkeyPatch()
    path.syspath_prepend(str(request.config.rootpath))
    from benchmarks.plan_judge import bench, days, live, makers, season

    yield SimpleNamespace(bench=bench, days=days, live=live, makers=makers, season=season)
    path.undo()


@pytest.fixture(scope="module")
def day(judge):
    """Return two plates under a clear sky, everything as long as expected."""
    studio = invented_studio(0.002)
    weather = judge.days.clear(studio, DAY)
    judged = judge.days.plan_through_the_door(
        "small", studio, DAY, plates=2, weather=weather, effort=0.3, simulated_days=40
    )
    steps = tuple(
        (task.key, work, index)
        for work, block in enumerate(judged.planned.blocks)
        for index, task in enumerate(block.tasks)
    )
    light = judged.question.light
    plates = 2 + judge.season.MORE_PLATES
    usual = tuple(t.minutes for block in judged.planned.blocks for t in block.tasks)
    luck = judge.season.Luck(
        late=0.0, ready=20.0, calls=(), sitter=(0.0,) * plates,
        lengths=((usual,) * judge.season.TRIES,) * plates,
        faults=(({},) * judge.season.TRIES,) * plates,
        light=light.exposure_middle, behind=light.frames[0].middle,
        metered=light.exposure_dose, doses=(light.frames[0].dose,) * plates,
    )  # fmt: skip
    return judge.season.BenchDay("small", judged, studio, weather, None, luck, steps)


def with_luck(day, **luck):
    return replace(day, luck=replace(day.luck, **luck))


def faulty(day, plate, **steps):
    faults = [list(tries) for tries in day.luck.faults]
    faults[plate][0] = steps
    return with_luck(day, faults=tuple(map(tuple, faults)))


@pytest.mark.parametrize("maker", ["BySheet", "ByLetter"])
def test_a_day_as_expected_is_played_as_planned(judge, day, maker):
    bench = judge.bench.Bench(day, getattr(judge.makers, maker)(day))
    out = bench.run()
    assert (out.finished, out.in_hours, out.lost_for_time, out.faults) == (2, 2, 0, 0)
    assert 1.5 < out.good <= 2.0
    planned = judge.makers.planned_minutes(day.judged.sheet)
    for plate in bench.plates:
        for key, at in plate.begun.items():
            assert abs(at - planned[plate.number, key][0]) < 10.0, key


def test_hands_do_one_thing_at_a_time(judge, day):
    by_rule = judge.bench.Bench(day, judge.makers.ByRule())
    assert by_rule.run().finished == 2
    spans = sorted(
        (plate.begun[key], plate.ended[key])
        for plate in by_rule.plates
        for key in plate.begun
        if key != "develop"
    )
    assert all(end <= low + 1e-6 for (_, end), (low, _) in pairwise(spans))


def test_a_fault_of_the_coat_is_done_again_from_the_buff(judge, day):
    bench = judge.bench.Bench(faulty(day, 0, iodise="redo"), judge.makers.BySheet(day))
    out = bench.run()
    assert [what for _, plate, what in out.log if plate == 0][:3] == [
        "begin scour", "redo", "begin rouge_buff",
    ]  # fmt: skip
    assert bench.plates[0].begun["rouge_buff"] > bench.plates[0].ended["scour"] + 10.0


def test_a_plate_lost_is_no_loss_of_time(judge, day):
    out = judge.bench.Bench(faulty(day, 0, look="lost"), judge.makers.BySheet(day)).run()
    assert (out.finished, out.faults, out.lost_for_time) == (1, 1, 0)


def test_who_keeps_to_the_letter_lays_aside_what_has_no_start_left(judge, day):
    """The coat fails and is made again: its printed latest start before the camera goes by."""
    makers = judge.makers.ByLetter(day), judge.makers.BySheet(day)
    again = faulty(day, 0, iodise="redo")
    for maker in makers:
        maker.latest[0, "expose"] = maker.planned[0, "expose"][0] + 5.0
    out = [judge.bench.Bench(again, maker).run() for maker in makers]
    assert [(one.finished, one.lost_for_time) for one in out] == [(1, 1), (2, 0)]


@pytest.mark.parametrize(("until", "begun"), [(1e4, 3), (0.0, 2)])
def test_the_plate_more_that_a_sheet_names_is_begun_in_time(judge, day, until, begun):
    one = SimpleNamespace(plate=0, block=0, until=until, follows=1, behind=30.0)
    planned = replace(day.judged.planned, further=one)
    more = replace(day, judged=replace(day.judged, planned=planned))
    for maker in (judge.makers.BySheet(more), judge.makers.ByLetter(more)):
        assert judge.bench.Bench(more, maker).run().begun == begun


def test_no_plate_is_begun_that_cannot_end(judge, day):
    late = day.judged.setting.last - 120.0
    makers = judge.makers
    for maker in (makers.BySheet(day), makers.ByLetter(day), makers.ByRule()):
        assert judge.bench.Bench(with_luck(day, late=late), maker).run().begun == 0


def test_a_maker_who_asks_knows_no_more_than_the_bench_does(judge, day, monkeypatch):
    seen = []

    def listen(_studio, standing, *, now, **_rest):
        seen.append((now, standing))
        steps = day.judged.sheet.steps
        return SimpleNamespace(
            plan=replace(day.judged.sheet, steps=steps), moved=(), lines=("as before",),
            left_out=(), not_finished=(), one_more=False,
        )  # fmt: skip

    monkeypatch.setattr(judge.makers, "plan_again", listen)
    usual = judge.makers.Asking(day)
    assert judge.bench.Bench(day, usual).run().finished == 2
    calm = len(seen)
    unlucky = judge.makers.Asking(day)
    out = judge.bench.Bench(faulty(with_luck(day, late=30.0), 1, look="lost"), unlucky).run()
    assert out.finished == 1
    assert len(unlucky.asked) > calm
    assert unlucky.asked[0].why == "late start"
    assert any(one.why == "plate 2 lost" for one in unlucky.asked)
    assert seen[-1][1][1].lost
    for now, standing in seen:
        for plate in standing:
            assert all(at <= now for at in (*plate.begun.values(), *plate.ended.values()))
    assert sum(len(one.lines) for one in unlucky.asked) == 1  # the same line is told once


def test_dark_spells_are_as_many_as_the_clouds_ask_for(judge):
    rng = np.random.default_rng(5)
    for share in (0.05, 0.5, 0.9):
        dark = np.concatenate([judge.season._dark(rng, np.full(600, share)) for _ in range(60)])
        assert dark.mean() == pytest.approx(share, abs=0.06)


def test_a_season_is_summed_up(judge, day, monkeypatch):
    monkeypatch.setattr(judge.live, "season", lambda count: [day] * count)
    rows = dict(judge.live.rows(2))
    assert rows["good plates per day: sheet"].startswith(
        "2.00 ± 0.00; begun 4, finished 4 (4 in the hours)"
    )
    assert "target at least +8 %" in " ".join(rows)
    assert "± 0.00" in rows["good plates per day: rule"]
