"""The next exposure counts from the day plan's, and only what a maker sets can be asked about."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from tests.bench_studio import studio
from tests.digits import places_of

from argentry.desk.learning import next_trial
from argentry.desk.learning.batch import of_a_plate
from argentry.desk.learning.next_trial import (
    _exposure,
    _of_studio,
    _stage_of,
    check_setting,
    metal_worth,
)
from argentry.desk.numbers.makings import Gathered
from argentry.errors import BadInput
from argentry.learn.numbers.exposure_belief import believed
from argentry.learn.numbers.exposure_trials import next_exposure
from argentry.out.learning.tables import next_lines
from argentry.records.decision import Trial
from argentry.records.studio import Prices


def made_with(conditions):
    return SimpleNamespace(conditions=conditions)


@pytest.mark.parametrize("commissioned", [False, True])
def test_an_exposure_is_told_from_the_day_plans_to_a_thousandth_of_a_stop(commissioned):
    """The plan has learned that plates are 2.6 times as fast: it gives 1.38 stops less."""
    belief = believed(0.1234567)
    speed = SimpleNamespace(value=2.6e-3)
    numbers = SimpleNamespace(belief=belief, start_speed_iso=1e-3, of=lambda what: speed)
    plain = next_exposure(belief, commissioned=commissioned)
    told = _exposure(numbers, commissioned=commissioned)
    assert told.unit == "stops from the day plan's exposure"
    for ours, theirs in zip((told.to, *told.steps), (plain.to, *plain.steps), strict=True):
        assert ours == (None if theirs is None else pytest.approx(theirs + 1.3785, abs=6e-4))
    assert (told.from_ is None) == (plain.from_ is None)
    if plain.from_ is not None:
        assert told.from_ == pytest.approx(plain.from_ + 1.3785, abs=6e-4)
    places = places_of(replace(told, reason="").__dict__)
    assert max(places.get(key, 0) for key in ("from_", "to", "steps")) == 3
    unlearned = SimpleNamespace(belief=belief, start_speed_iso=1e-3, of=lambda what: None)
    assert _exposure(unlearned, commissioned=commissioned).to == pytest.approx(plain.to, abs=6e-4)


def test_a_change_is_of_its_stage_and_an_exposure_of_its_own():
    assert (_stage_of("coat_nm"), _stage_of("exposure"), _stage_of("")) == (
        "coat",
        "exposure",
        None,
    )


def test_what_a_maker_does_not_set_cannot_be_asked_about():
    check_setting("--about", "coat_nm")
    with pytest.raises(BadInput, match=r"--about: 'coat_mn' is not a setting.*coat_nm"):
        check_setting("--about", "coat_mn")
    with pytest.raises(BadInput, match="use one of"):
        check_setting("--about", "moonlight")


def test_a_micrometre_of_silver_is_worth_what_it_weighs():
    """A quarter plate, 3.25 in by 4.25 in; silver of 10.49 g/cm3 (CRC Handbook of Chemistry)."""
    own = studio(prices=Prices(silver_per_g=2.0, gold_per_g=80.0, hour=0.0))
    gathered = Gathered((), {}, {}, {}, "the book", (), own)
    metal = metal_worth(gathered, 0.5, 0.0)
    area, _, gold_mg = of_a_plate(gathered)
    assert area == pytest.approx(3.25 * 4.25 * 2.54**2, rel=0.01)
    silver_g = 10.49 * area * 1e-4  # a micrometre is 1e-4 cm
    assert metal.silver_um / metal.gold == pytest.approx(
        silver_g * 2.0 / (1e-3 * gold_mg * 80.0), rel=1e-6
    )
    dearer = metal_worth(gathered, 0.25, 0.0)  # a good plate takes twice as many
    assert dearer.silver_um == pytest.approx(metal.silver_um / 2.0)


def test_the_usual_settings_are_those_of_the_studio_while_no_plate_says_more():
    own = studio()
    box = replace(own.boxes[0], temperature_c=26.5)
    warm = replace(own, boxes=(box,), water=replace(own.water, conductivity_us_cm=310.0))
    assert _of_studio(None) == {}
    assert _of_studio(own) == {"coat_nm": own.habits.coat_nm, "box_c": 20.0}
    assert _of_studio(warm) == {"coat_nm": own.habits.coat_nm, "box_c": 26.5, "water_us_cm": 310.0}


@pytest.mark.parametrize(
    ("given", "named", "off"),
    [(0.9, True, 0.8), (-0.5, True, -0.6), (0.3, True, None), (0.9, False, None)],
)
def test_exposures_named_as_a_cause_are_told_by_how_far_they_lie_off(
    monkeypatch, given, named, off
):
    """Plates ask for .1 stop more than the start; what lay off before the last ten is past."""
    made = [made_with({"exposure_stops": -3.0})] * 5 + [made_with({"exposure_stops": given})] * 10
    cause = SimpleNamespace(named=named, conditions=("exposure_stops",))
    other = SimpleNamespace(named=True, conditions=("room_rh_pct",))
    fit = SimpleNamespace(causes=SimpleNamespace(causes=(other, cause)))
    monkeypatch.setattr(next_trial, "fitted", lambda *_: fit)
    monkeypatch.setattr(next_trial, "best_centre", lambda _: 0.1)
    gathered = SimpleNamespace(makings=[*made, made_with({})], assumed=None)
    assert next_trial._exposed_off(gathered, None) == (off, 0 if off is None else 10)


@pytest.mark.parametrize(("off", "word"), [(0.8, "long"), (-0.6, "short")])
def test_where_exposures_lie_off_the_next_one_goes_by_the_day_plan(monkeypatch, off, word):
    belief = believed(0.0)
    numbers = SimpleNamespace(belief=belief, notes=())
    kept = Trial(
        change="", title="no change", from_=None, to=None, unit="", steps=(), explores=False,
        chance=0.5, chance_low=0.3, chance_high=0.7, chance_before=0.5, doubt=0.1, doubt_after=0.1,
        teaches="", plates=60, reason="Keep.",
    )  # fmt: skip
    monkeypatch.setattr(next_trial, "learned_numbers", lambda *_, **__: numbers)
    monkeypatch.setattr(next_trial, "_condition", lambda *_, **__: (kept, None))
    monkeypatch.setattr(next_trial, "_exposed_off", lambda *_: (off, 10))
    gathered = SimpleNamespace(source="plates.csv", notes=())
    told = next_trial.next_plate(gathered, about="conditions")
    assert told.exposed_off_stops == off
    assert told.reason == (
        "Keep. But expose by the day plan, whose camera time goes by how your exposures were "
        f"judged: your last 10 were {abs(off):.1f} stops too {word}."
    )
    assert next_lines(told)[0] == "Expose the next plate by the day plan, and change nothing else."
    plain = replace(told, exposed_off_stops=None)
    assert next_lines(plain)[0] == "Change nothing on the next plate."
