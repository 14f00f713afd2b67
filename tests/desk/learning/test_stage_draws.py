"""What a check told of one plate, and of the plate that would be begun in its place."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from tests.learn.plates import good, lost

import argentry
from argentry.desk.learning.stage_draws import shares_to_come, usual_shares
from argentry.desk.learning.standing import Asked
from argentry.desk.numbers.run_so_far import PlateSoFar
from argentry.learn.odds.odds import fit, odds

PLATES = 90


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Return a notebook in which a short buff spoils every polish, a long one none."""
    rows = []
    for n in range(PLATES):
        short = n % 3 == 0
        bad = short
        row = {
            "plate": f"P{n}", "date": f"2026-{1 + n // 28:02d}-{1 + n % 28:02d}", "session": n,
            "buff_minutes": 8 if short else 30, "grade": "lost" if bad else "good",
            "stage_polish": "fault" if bad else "ok",
        }  # fmt: skip
        others = ("coat", "exposure", "development", "finish")
        rows.append(row | ({} if bad else {f"stage_{s}": "ok" for s in others}))
    rows.append({"plate": "NOW", "date": "2026-06-01", "session": PLATES})
    path = tmp_path_factory.mktemp("notebook") / "plates.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]) + [f"stage_{s}" for s in others], restval="")
        writer.writeheader()
        writer.writerows(rows)
    return argentry.load_plates(table=path)


def after_a_bad_breath(book, minutes):
    """Return the odds of a plate buffed so long, in the morning, on which breath showed grease."""
    plate = PlateSoFar(
        run="run", plate=book.plate("NOW"), label="NOW", state="open",
        known={"buff_minutes": minutes}, done="polish", answers={"polish": "wrong"},
        checked=("polish",), now=None,
    )  # fmt: skip
    beside = replace(book, in_making={"NOW": plate})
    return argentry.odds(beside, "NOW", Asked(minutes_left=456.0))


def test_a_plate_spoilt_by_its_own_setting_is_given_up_for_a_usual_one(book):
    told = after_a_bad_breath(book, 8.0)
    worth = {one.what: one.worth for one in told.options}
    assert told.advice == "stop"
    assert worth["stop"] > worth["redo"] + 0.05, "buffed as briefly, it would fail again"


def test_a_plate_set_as_it_should_be_is_polished_once_more(book):
    told = after_a_bad_breath(book, 30.0)
    assert told.advice in {"continue", "redo"}


def test_advice_follows_odds_as_far_as_they_have_held_and_tells_them_whole(book, monkeypatch):
    followed = {}
    for share in (0.0, 1.0):
        monkeypatch.setattr("argentry.desk.learning.odds.trust", lambda _, share=share: share)
        followed[share] = after_a_bad_breath(book, 8.0)
    usual, own = followed[0.0], followed[1.0]
    assert usual.probability == own.probability
    assert (usual.advice, own.advice) == ("redo", "stop"), (
        "by the usual plate another try is worth it"
    )
    assert f"counts as {round(100.0 * own.probability)} %" in own.rule
    assert usual.rule != own.rule


def test_a_hot_room_waits_for_the_next_plate_too_and_heat_by_lot_does_not():
    rng = np.random.default_rng(6)
    made = []
    for n in range(60):
        hot = n % 30 >= 20  # ten plates on end
        given = {"conditions": {"room_c": 19.0 + 9.0 * hot + float(rng.normal(0.0, 0.3))}}
        made.append(lost(n, "coat", **given) if hot else good(n, **given))
    model = fit(made)
    told = odds(model, {})
    assert told.model_used
    usual = usual_shares(model, told)
    hot, cool = (shares_to_come(model, told, {"room_c": c}, 1.0) for c in (28.0, 19.0))
    assert hot["coat"] < usual["coat"] - 0.2 < cool["coat"] - 0.2
    assert shares_to_come(model, told, {"room_c": 28.0}, 0.0) == pytest.approx(usual)
    mixed = [replace(made[i], day=date(2024, 1, 1) + timedelta(days=7 * n), session=str(n))
             for n, i in enumerate(rng.permutation(60))]  # fmt: skip
    alone = fit(mixed)
    after = shares_to_come(alone, odds(alone, {}), {"room_c": 28.0}, 1.0)
    assert after["coat"] > hot["coat"] + 0.15, "heat of one plate only tells nothing of the next"
