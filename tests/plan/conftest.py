"""A made-up day of light and steps, small enough to reason about."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import numpy as np
import pytest

from argentry.physics.picture.dose import cumulative_j_m2
from argentry.plan.daylight import DayLight, Frames
from argentry.plan.problem import Day
from argentry.plan.tasks import Task

HOURS = 11
MINUTES = HOURS * 60


def make_tasks(log_sd=0.2):
    def hands(key, minutes, resource="", within=0.0):
        return Task(key, "fixed", minutes, log_sd, True, resource, within)

    return (
        hands("scour", 6, within=None),
        hands("buff", 16, within=None),
        hands("warm", 3),
        hands("iodise", 2, "box"),
        hands("load", 2),
        Task("expose", "exposure", 0.0, log_sd, True, "camera", 180.0),
        hands("to frame", 3, "frame", 110.0),
        Task("develop", "development", 0.0, log_sd, False, "frame", 10.0),
        hands("fix", 8, within=15.0),
        hands("gild", 6, "fire", 60.0),
        hands("cool", 20, within=None),
        hands("seal", 40, within=None),
    )


def make_light(frames=3, weathers=40, spread=0.1, dose_log_sd=0.3, lamp=False, sun=1.0):
    minute = np.arange(MINUTES) + 8 * 60
    bell = sun * np.maximum(0.0, np.sin((minute - 6 * 60) / (14 * 60) * np.pi))
    factor = np.clip(1 + spread * np.random.default_rng(3).standard_normal((weathers, 1)), 0.1, 2)

    def sums(light):
        return cumulative_j_m2(light, 60.0)

    kinds = [
        Frames(
            "sun", frames, sums(bell * 130), sums(bell * 130 * factor), 6.2e5, dose_log_sd, False
        )
    ]
    if lamp:
        steady = np.full(MINUTES, 80.0)
        days = np.tile(steady, (weathers, 1))
        kinds.append(Frames("lamp", 1, sums(steady), sums(days), 6.2e5, dose_log_sd, True))
    return DayLight(sums(bell * 40), sums(bell * 40 * factor), 8600.0, 60.0, 2.5, tuple(kinds))


@pytest.fixture
def tasks():
    return make_tasks()


@pytest.fixture
def light():
    return make_light()


def _build(
    plates=2,
    workers=1,
    frames=3,
    breaks=((270.0, 300.0),),
    last=float(MINUTES),
    log_sd=0.2,
    **light_options,
):
    return Day(
        tasks=make_tasks(log_sd),
        plates=plates,
        workers=workers,
        first_minute=20.0,
        last_minute=last,
        breaks=breaks,
        light=make_light(frames, **light_options),
    )


@pytest.fixture(scope="session")
def build_module_day():
    return _build


@pytest.fixture
def build_day():
    return _build


@pytest.fixture
def check_plan():
    """Check every rule of a plan: hands, rooms, frames, order, keeping limits, breaks, light."""

    def check(blocks, starts, ends, kinds, day, *, lengths=None, tolerance=1e-6):
        from argentry.plan.tasks import frame_span

        strict = lengths is None  # a plan; else a simulated day with what its blocks took

        plates, count = starts.shape
        take, free = frame_span(blocks)
        busy, rooms, frames = [], {"box": [], "camera": [], "fire": []}, {}
        for p in range(plates):
            for b in range(count):
                block = blocks[b]
                assert ends[p, b] >= starts[p, b] - tolerance
                if b:
                    assert starts[p, b] >= ends[p, b - 1] - tolerance
                    if block.within is not None and strict:
                        assert starts[p, b] <= ends[p, b - 1] + block.within + tolerance
                if block.attended:
                    busy.append((starts[p, b], ends[p, b]))
                for room, spans in rooms.items():
                    held = block.holds(room)
                    if held:
                        low, high = starts[p, b] + held[0], starts[p, b] + sum(held)
                        if block.kind == "exposure":
                            low, high = starts[p, b], ends[p, b]
                        elif not strict:  # whoever stands in line does so before the room
                            part = lengths[p, b] / block.minutes
                            left = [block.minutes - held[0], block.minutes - sum(held)]
                            low, high = (ends[p, b] - part * minutes for minutes in left)
                        spans.append((low, high))
            frames.setdefault(int(kinds[p]), []).append((starts[p, take], starts[p, free]))
        _at_most(busy, day.workers, tolerance)
        for spans in rooms.values():
            _at_most(spans, 1, tolerance)
        for kind, spans in frames.items():
            _at_most(spans, day.light.frames[kind].count, tolerance)
        if strict:
            for low, high in day.breaks:
                assert not any(s < high - tolerance and e > low + tolerance for s, e in busy)
        assert ends.max() <= day.last_minute + tolerance
        assert starts.min() >= day.first_minute - tolerance

    def _at_most(spans, most, tolerance):
        edges = sorted(
            [(s + tolerance, 1) for s, _ in spans] + [(e - tolerance, -1) for _, e in spans],
            key=lambda edge: (edge[0], edge[1]),
        )
        now = 0
        for _, step in edges:
            now += step
            assert now <= most

    return check


@pytest.fixture(scope="session")
def plain():
    """A day that can be worked out by hand, see plain_day.py."""
    path = Path(__file__).with_name("plain_day.py")
    spec = spec_from_file_location("argentry_plain_day", path)
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
