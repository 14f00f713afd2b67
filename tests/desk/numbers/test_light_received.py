"""The exposure received, as a condition: by the light of place and hour, drawn in by its doubt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from argentry import trade
from argentry.demo.write import write_demo
from argentry.desk.learning.causes import why_failed
from argentry.desk.learning.odds import plate_odds
from argentry.desk.learning.standing import Asked
from argentry.desk.numbers import light_received
from argentry.desk.numbers.light_received import condition_keys, lit_by
from argentry.desk.numbers.makings import gather
from argentry.desk.numbers.plates_seen import coat_at_exposure_nm
from argentry.learn.stages.derived_conditions import value_of
from argentry.needs.plate_light import dose_needed, shots

STOPS, IN_DEVELOPMENT = condition_keys()


@pytest.fixture(scope="module")
def plates(tmp_path_factory):
    folder = tmp_path_factory.mktemp("received") / "demo"
    write_demo(folder)
    return gather(folder)


def test_a_short_exposure_without_a_meter_is_told_by_its_light(plates):
    """P104 had a quarter of the light it needed, and no reading of a meter is in the book."""
    (made,) = plates.of_plate("P104")
    assert "meter_ev" not in made.conditions
    assert made.conditions[STOPS] == made.conditions[IN_DEVELOPMENT] < -1.3
    before = plate_odds(plates, "P104", Asked(after="coat"))
    after = plate_odds(plates, "P104", Asked(after="exposure"))
    assert before.probability > 0.4, "the exposure is not known before it was made"
    assert after.probability < 0.5 * before.probability
    told = {one.stage: one.probability for one in plate_odds(plates, "P104").looked_back}
    assert told["exposure"] < 0.5 * told["coat"], "looking back knows no sooner"


def test_it_is_blamed_for_its_light_and_not_for_a_meter_nobody_read(plates):
    first = why_failed(plates, "P104").causes[0]
    assert first.cause == "too_little_light"
    assert any("exposure received" in reason for reason in first.because)


def test_where_a_meter_was_read_and_misled_it_is_said(plates):
    """truth.json: the sun was low, and the meter overstated its violet."""
    told = {
        label: next(
            one for one in why_failed(plates, label).causes if one.cause == "too_little_light"
        )
        for label in ("P104", "P112", "P114")
    }
    misled = {
        label: [said for said in one.because if said.startswith("by the meter alone")]
        for label, one in told.items()
    }
    assert misled["P104"] == [], "nobody read it"
    assert misled["P114"] == [], "its seconds were too short by the meter too"
    (said,) = misled["P112"]
    assert said.endswith("it misjudged the violet of this light")


def test_it_is_the_light_that_the_record_shows(plates):
    """As on the plate's page: light received over light needed, but by the starting speed."""
    made, lit = next(one for one in plates.makings if STOPS in one.conditions), plates.lit
    (shot,) = shots(plates.studio, [made])
    coat, speed = coat_at_exposure_nm(plates.studio, made), trade.value("exposure", "plate_speed")
    told = np.log2(shot.dose_j_m2 / dose_needed(plates.studio, shot, coat, speed))
    drawn = lit.mean + (told - lit.mean) * lit.variance / (lit.variance + shot.light_sd**2)
    assert made.conditions[STOPS] == pytest.approx(drawn, abs=1e-4)


def test_light_in_doubt_is_drawn_in_as_a_straight_line_fits_it(plates, monkeypatch):
    """Regression calibration: for normal exposures and doubts it is the least squares line."""
    lit = replace(plates.lit, mean=0.4, variance=0.5)
    rng = np.random.default_rng(11)
    true = rng.normal(0.4, np.sqrt(0.5), 200_000)
    seen = true + rng.normal(0.0, 0.7, true.size)
    slope, start = np.polyfit(seen, true, 1)
    for stops in (-2.0, 0.4, 1.5):
        monkeypatch.setattr(light_received, "_received", lambda *_, s=stops: [(s, 0.7)])
        assert lit.known({})[STOPS] == pytest.approx(start + slope * stops, abs=0.02)


def test_a_book_of_more_exposures_than_are_kept_is_worked_out_once(plates, monkeypatch):
    asked = []

    def counted(studio, makings):
        asked.append(len(makings))
        return shots(studio, makings)

    monkeypatch.setattr(light_received, "shots", counted)
    monkeypatch.setattr(light_received, "_kept", {})
    monkeypatch.setattr(light_received, "KEPT", 20)
    bare = [
        replace(
            one,
            conditions={
                k: v for k, v in one.conditions.items() if k not in (STOPS, IN_DEVELOPMENT)
            },
        )
        for one in plates.makings
    ]
    lit = light_received.lit_by(plates.studio, bare)
    told = light_received.with_light(bare, lit)
    assert len(asked) == 1
    assert asked[0] > light_received.KEPT
    for one, whole in zip(told, plates.makings, strict=True):
        # the light of plates worked out together is read from a table of their own moments
        assert one.conditions.keys() == whole.conditions.keys()
        lit_now, lit_before = (each.conditions.get(STOPS, 0.0) for each in (one, whole))
        assert lit_now == pytest.approx(lit_before, abs=1e-6)


def test_a_change_of_the_seconds_changes_what_was_received(plates):
    (made,) = plates.of_plate("P104")
    twice = 2.0 * made.conditions["exposure_seconds"]
    known = plates.known(made.conditions, {"exposure_seconds": twice})
    assert 0.5 < known[STOPS] - made.conditions[STOPS] < 1.0, "one stop, drawn in by its doubt"
    bare = plates.known(made.conditions, {"room_c": 20.0})
    assert bare[STOPS] == made.conditions[STOPS]
    said = plates.known(made.conditions, {STOPS: 0.25})
    assert said[STOPS] == 0.25, "what the maker says goes before it"


def test_without_an_hour_the_meter_is_asked_and_moved_to_the_same_scale(plates):
    given = {"f_number": 4.0, "exposure_seconds": 300.0, "meter_ev": 14.5}
    assert plates.lit.apart < -0.5, "in this studio the meter reads more than plates receive"
    assert plates.lit.known(given)[STOPS] == pytest.approx(
        value_of(STOPS, given) + plates.lit.apart
    )
    assert STOPS not in plates.lit.known({"f_number": 4.0})


def test_few_plates_with_much_doubt_keep_a_spread(plates):
    few = [one for one in plates.makings if one.conditions.get("cloud_okta") == 8.0][:3]
    bare = [
        replace(
            one,
            conditions={
                k: v for k, v in one.conditions.items() if k not in (STOPS, IN_DEVELOPMENT)
            },
        )
        for one in few
    ]
    lit = lit_by(plates.studio, bare)
    assert lit.variance > 0.05
    assert lit_by(plates.studio, []).variance == pytest.approx(0.5), "the trade's, of no plate"
