"""What most likely spoilt one plate."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.learn.causes.plate_causes import studio_past, why_plate
from argentry.records.plate import STAGES, Making

SOUND = dict.fromkeys(STAGES, "ok")


def make(number, conditions, *, fault="", defects=(), grade=None, session=None, verdict=None):
    stages = dict(SOUND)
    if fault:
        stages[fault] = "fault"
    return Making(
        id=f"{number:05d}",
        plate=f"P{number}",
        run=None,
        session=str(number // 2 if session is None else session),
        order=1 + number % 2,
        day=dt.date(2024, 1, 1) + dt.timedelta(days=number // 2),
        conditions=conditions,
        stages=stages,
        verdict=verdict,
        grade=grade or ("lost" if fault else "good"),
        defects=tuple((d, fault) for d in defects),
    )


def damp_studio(plates, *, seed=1, limit=58.0, looks=True):
    """Return a studio in which the coat fails above a humidity, and now and then by chance."""
    rng = np.random.default_rng(seed)
    out = []
    for i in range(plates):
        damp = float(rng.normal(50, 10))
        conditions = {
            "room_rh_pct": damp,
            "buff_minutes": float(rng.normal(20, 4)),
            "water_us_cm": float(np.exp(rng.normal(1.4, 0.4))),
            "box_c": float(rng.normal(20, 2)),
            "coat_nm": float(rng.normal(25, 3)),
        }
        if damp > limit:
            out.append(make(i, conditions, fault="coat", defects=("blues",) if looks else ()))
        elif rng.random() < 0.1:
            stage = str(rng.choice(["polish", "finish"]))
            look = {"polish": "scratches", "finish": "white_specks"}[stage]
            out.append(make(i, conditions, fault=stage, defects=(look,) if looks else ()))
        else:
            out.append(make(i, conditions))
    return out


def first(told):
    return told.causes[0].cause


def test_a_look_points_to_its_cause_even_in_an_empty_book():
    plate = make(0, {}, fault="finish", defects=("gold_veil",))
    told = why_plate([plate], plate.id)
    assert told.causes[0].cause == "old_gold"
    assert not told.enough_plates
    assert told.words.startswith("Too few plates to tell")
    assert any("veil in the shadows" in b for b in told.causes[0].because)


def test_a_reading_beside_the_good_runs_is_told_in_words():
    plates = damp_studio(60)
    lost = next(o for o in plates if o.stages["coat"] == "fault")
    top = why_plate(plates, lost.id).causes[0]
    assert top.cause == "damp_air"
    assert any("your good plates had" in b for b in top.because)


def test_the_reading_tips_the_balance():
    plates = damp_studio(60, looks=False)
    dry = make(900, {"room_rh_pct": 40.0, "box_rest_minutes": 30.0}, fault="coat")
    damp = make(901, {"room_rh_pct": 75.0, "box_rest_minutes": 30.0}, fault="coat")

    def chance(plate):
        told = why_plate([*plates, plate], plate.id)
        return next((c.probability for c in told.causes if c.cause == "damp_air"), 0.0)

    assert chance(damp) > 2 * chance(dry)


def test_the_verdict_points_the_right_way():
    over = make(0, {}, fault="exposure", verdict="over")
    under = make(1, {}, fault="exposure", verdict="under")
    assert first(why_plate([over, under], over.id)) == "too_much_light"
    low = [c.cause for c in why_plate([over, under], under.id).causes]
    assert "too_little_light" in low[:3]
    assert "too_much_light" not in low[:5]


def test_a_wrong_booking_does_not_hide_a_plain_look():
    plate = make(0, {}, fault="polish")
    plate = replace(plate, defects=(("blue_highlights", "exposure"),))
    assert "too_much_light" in [c.cause for c in why_plate([plate], plate.id).causes[:3]]


def test_stages_not_reached_are_not_blamed():
    plate = make(0, {}, fault="coat", defects=("iodine_streaks",))
    plate = replace(plate, stages={"polish": "ok", "coat": "fault"})
    assert {c.stage for c in why_plate([plate], plate.id).causes} <= {"polish", "coat"}


def test_a_good_plate_needs_no_cause():
    plates = damp_studio(20)
    good = next(o for o in plates if o.grade == "good")
    told = why_plate(plates, good.id)
    assert not told.failed
    assert told.causes == ()
    assert told.next_check == ""


def test_a_sure_cause_needs_no_check():
    plates = damp_studio(60)
    lost = next(o for o in plates if o.stages["coat"] == "fault")
    told = why_plate(plates, lost.id)
    assert told.causes[0].probability > 0.9
    assert told.next_check == ""


def test_an_unknown_plate_is_refused():
    with pytest.raises(BadInput, match="there is no making"):
        why_plate(damp_studio(3), "nobody")


def test_the_past_may_be_made_once():
    plates = damp_studio(30)
    lost = next(o for o in plates if o.grade == "lost")
    assert why_plate(plates, lost.id, past=studio_past(plates)) == why_plate(plates, lost.id)


def test_every_cause_carries_a_check_and_one_is_next():
    plate = make(0, {}, fault="coat", defects=("blues",))
    told = why_plate([plate], plate.id)
    assert told.next_check in {c.cause for c in told.causes}
    for cause in told.causes:
        assert cause.check
        assert cause.check_minutes > 0
        assert cause.source
    assert list(told.causes) == sorted(told.causes, key=lambda c: (-c.probability, c.cause))
