"""What to try next: exposures, one change at a time, pairs."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from argentry.errors import BadInput
from argentry.learn.deciding import trials
from argentry.learn.deciding.trials import (
    PROMISED,
    SETTLES,
    Metal,
    WholePlate,
    explores,
    next_change,
    reachable,
    set_by_hand,
)
from argentry.learn.stages.likelihood import normal_cdf
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings

CONDITIONS = {condition.key: condition for condition in conditions()}


# --- exposures ---


# --- conditions ---


def studio(best_coat=35.0, doubt=3.0, draws=400):
    """A made-up studio: the coat has a window about `best_coat` nm, all else is alike."""
    rng = np.random.default_rng(8)
    optimum = rng.normal(best_coat, doubt, draws)

    def chance(stage, now):
        eta = np.full(draws, 0.8)
        if stage == "coat":
            eta = 1.2 - ((float(now.get("coat_nm", 25.0)) - optimum) / 10.0) ** 2
        return normal_cdf(eta)

    return chance


NOW = {"coat_nm": 25.0, "gilding_minutes": 3.0, "buff_minutes": 20.0}


def test_one_plate_in_three_and_never_a_promised_one():
    log, since = [], 99
    for _ in range(12):
        log.append(explores(since))
        since = 0 if log[-1] else since + 1
    assert sum(log) == 4
    assert log[0]
    assert not any(explores(n, commissioned=True) for n in range(100))


def test_the_change_goes_towards_the_best_value():
    trial = next_change(studio(), NOW, exploring=False, plates=33)
    assert trial.change == "coat_nm"
    assert trial.from_ == 25.0
    step = settings()["coat_nm"].step * CONDITIONS["coat_nm"].width
    assert 25.0 < trial.to <= 25.0 + step + 0.5
    assert trial.chance > trial.chance_before
    assert trial.plates == 33
    assert trial.chance_low <= trial.chance <= trial.chance_high


def test_nothing_to_gain_means_no_change():
    trial = next_change(studio(25.0, 0.1), NOW, exploring=False)
    assert trial.change == ""
    assert trial.to is None
    assert not trial.explores
    assert "Keep the settings" in trial.reason


def likely(share, fall=1.0, draws=400):
    """A studio in which a thicker coat is better in a share of the draws, else worse."""
    sign = np.where(np.arange(draws) < share * draws, fall, -0.1 * fall)

    def chance(stage, now):
        off = (float(now.get("coat_nm", 25.0)) - 25.0) / 10.0
        return normal_cdf(sign * off + 0.3 if stage == "coat" else np.full(draws, 1.0))

    return chance


def test_a_trial_is_what_is_likely_but_not_yet_sure():
    sure = next_change(likely(0.85), NOW, exploring=True)
    assert (sure.change, sure.explores) == ("coat_nm", False)
    trial = next_change(likely(0.7), NOW, exploring=True)
    assert (trial.change, trial.explores) == ("coat_nm", True)
    assert trial.to > 25.0
    assert trial.doubt_after < trial.doubt
    assert next_change(likely(0.7), NOW, exploring=False).change == ""
    assert next_change(likely(0.55), NOW, exploring=True).change == ""


def test_a_trial_that_would_not_settle_in_a_years_work_is_not_made():
    assert next_change(likely(0.7, fall=0.35), NOW, exploring=True).change == ""


def test_what_a_trial_settles_is_told_with_its_plates():
    trial = next_change(likely(0.7), NOW, exploring=True)
    gain = trial.chance - trial.chance_before
    p = trial.chance
    plates = int(np.ceil((norm.ppf(0.9) + norm.ppf(0.8)) ** 2 * 2 * p * (1 - p) / gain**2))
    assert trial.teaches == SETTLES.format(plates=plates, gain=100 * gain)


def test_nothing_is_tried_on_a_promised_plate():
    promised = next_change(likely(1.0), NOW, exploring=False, commissioned=True)
    assert (promised.change, promised.reason) == ("", PROMISED)
    assert next_change(likely(1.0), NOW, exploring=False).change == "coat_nm"


def better(key, gain):
    """A studio in which more of a condition raises its stage a little, for sure."""
    condition = CONDITIONS[key]

    def chance(stage, now):
        off = (float(now.get(key, condition.centre)) - condition.centre) / condition.width
        return normal_cdf(np.full(50, 0.5 + gain * off if stage == condition.stage else 9.0))

    return chance


def test_a_change_is_worth_what_it_brings_over_plates_as_they_vary():
    # beyond a cliff a third of plates is spoilt; the plate in the middle is not
    def chance(stage, now):
        spoilt = stage == "finish" and float(now["gilding_minutes"]) < 2.5
        return np.full(50, 0.4 if spoilt else 0.9)

    now = {"gilding_minutes": 3.0}
    assert next_change(chance, now, exploring=False).change == ""
    told = next_change(
        chance, now, exploring=False, spread={"gilding_minutes": np.array([2.2, 3.0, 3.8])}
    )
    assert told.change == "gilding_minutes"
    assert told.to > 3.0
    assert (told.chance_before, told.chance) == pytest.approx(((0.4 + 0.9 + 0.9) / 3.0, 0.9))


def test_what_nobody_booked_is_judged_by_the_whole_plate():
    """Shared out over the stages, a wait that spoils one plate in four seems to spoil one in 50."""

    def shared_out(stage, now):
        return np.full(50, 0.9 if stage == "exposure" and now[key] < 50.0 else 0.88)

    def whole(of, now):
        assert of == key
        return np.full(30, 0.65 if now[key] < 50.0 else 0.4)

    key = "coat_to_exposure_minutes"
    now = {key: 60.0}
    assert next_change(shared_out, now, exploring=False).change == ""
    told = next_change(
        shared_out, now, exploring=False, plate=WholePlate(whole, {key}, 1.0)
    )  # fmt: skip
    assert told.change == key
    assert (told.chance_before, told.chance) == pytest.approx((0.4, 0.65))
    assert told.reason.startswith("It raises the chance of a sound plate from 40 to 65 %")
    # of faults that are half booked, half of what is drawn is of the stages
    half = next_change(shared_out, now, exploring=True, plate=WholePlate(whole, {key}, 0.5))
    assert half.change == ""
    other = WholePlate(whole, {"gilding_minutes"}, 1.0)
    assert next_change(shared_out, now, exploring=False, plate=other).change == ""


def test_a_change_is_judged_at_the_stage_that_its_condition_is_named_to_spoil():
    """Coats that lie before the exposure fail in development; the trade looks at the exposure."""

    def chance(stage, now):
        waited = stage == "development" and now[key] > 50.0
        return np.full(50, 0.6 if waited else 0.9)

    key = "coat_to_exposure_minutes"
    assert next_change(chance, {key: 60.0}, exploring=False).change == ""
    told = next_change(chance, {key: 60.0}, exploring=False, stages={key: "development"})
    assert told.change == key
    assert (told.chance_before, told.chance) == pytest.approx((0.6, 0.9))
    assert "a sound development from 60 to 90 %" in told.reason


def test_the_minutes_of_a_change_are_paid():
    now = {"gilding_minutes": 3.0}
    assert next_change(better("gilding_minutes", 0.3), now, exploring=False).to > 3.0
    dear = next_change(better("gilding_minutes", 0.3), now, exploring=False, minute=0.2)
    assert dear.change == ""


def test_the_metal_of_a_change_is_paid():
    for key, start, gain, metal in (
        ("gold_age_hours", 26.0, -0.05, Metal(gold=1.0)),
        ("buff_minutes", 20.0, 0.02, Metal(silver_um=5.0)),
    ):
        found = next_change(better(key, gain), {key: start}, exploring=False)
        assert (found.to - start) * gain > 0.0
        assert (
            next_change(better(key, gain), {key: start}, exploring=False, metal=metal).change == ""
        )
    # a bath whose mean plate is the twelfth serves 25; one for every ninth plate is dearer
    found = next_change(better("fixer_plates", -0.2), {"fixer_plates": 12.0}, exploring=False)
    dear = next_change(
        better("fixer_plates", -0.2), {"fixer_plates": 12.0}, exploring=False,
        metal=Metal(fixer=5.0),
    )  # fmt: skip
    assert found.to < 12.0
    assert dear.to is None or dear.to > found.to
    # a bath of nine days that served two plates is dearer to mix sooner than one of forty
    sooner = [
        next_change(
            better("fixer_age_days", -0.2), {"fixer_age_days": 9.0, "fixer_plates": plates},
            exploring=False, metal=Metal(fixer=1.0),
        ).to or 9.0
        for plates in (1.0, 20.0)
    ]  # fmt: skip
    assert sooner[1] < sooner[0]
    older = next_change(
        better("gold_age_hours", 0.05), {"gold_age_hours": 12.0}, exploring=False,
        metal=Metal(gold=1.0),
    )  # fmt: skip
    assert older.to > 12.0  # a bath kept longer costs nothing


def test_nothing_is_proposed_hard_by_a_limit():
    setting = settings()["coat_nm"]
    for key, sign in (("coat_nm", 1.0), ("coat_nm", -1.0)):
        edge = setting.high if sign > 0 else setting.low
        start = edge - sign * 0.09 * (setting.high - setting.low)
        trial = next_change(better(key, 3.0 * sign), {key: start}, exploring=False)
        assert trial.to is None or abs(trial.to - edge) >= 0.05 * (setting.high - setting.low)


def test_hard_limits_hold_wherever_the_studio_stands():
    for key, setting in settings().items():
        condition = CONDITIONS[key]
        for now in (setting.low, setting.high, (setting.low + setting.high) / 2):
            values = reachable(condition, setting, now)
            assert values.size
            assert values.min() >= setting.low
            assert values.max() <= setting.high
            assert now not in values
        # one who stands outside is led to the edge or not at all, never further out
        for now in (setting.high * 10.0, setting.low / 10.0 - 1.0, np.nan):
            values = reachable(condition, setting, now)
            assert np.all((values >= setting.low) & (values <= setting.high))


def test_a_setting_beyond_a_limit_comes_back_to_it_at_once():
    """A gold bath of a week, on which plates fail, is not left as it is for being too old."""
    old = {"gold_age_hours": 150.0}
    trial = next_change(better("gold_age_hours", -0.01), old, exploring=False)
    assert trial.to <= settings()["gold_age_hours"].high
    assert next_change(better("gold_age_hours", 0.01), old, exploring=False).change == ""


def test_a_change_promises_nothing_of_plates_that_it_leaves_beyond_a_limit():
    """Plates past two days fail: 40 hours for 46 leave them so, though the limit is 48."""

    def chance(stage, now):
        return np.full(50, 0.3 if stage == "finish" and now["gold_age_hours"] > 60.0 else 0.9)

    told = next_change(
        chance, {"gold_age_hours": 46.0}, exploring=False, metal=Metal(gold=0.1),
        spread={"gold_age_hours": np.array([30.0, 46.0, 110.0])},
    )  # fmt: skip
    assert told.to * 110.0 / 46.0 <= 60.0


def test_no_setting_is_worked_out_from_what_cannot_be_set():
    assert set(settings()) <= set(CONDITIONS)
    assert not set(settings()) & {"room_rh_pct", "cloud_okta", "times_repolished", "silver_um"}


def test_what_is_fixed_is_not_changed():
    assert next_change(studio(), NOW, exploring=True).change == "coat_nm"
    assert next_change(studio(), NOW, exploring=True, fixed=("coat_nm",)).change != "coat_nm"


def test_nothing_written_down():
    trial = next_change(studio(), {}, exploring=True)
    assert trial.change == ""
    assert "written down" in trial.reason


@pytest.mark.parametrize("value", ["thick", np.nan, np.inf])
def test_a_setting_must_be_a_number(value):
    with pytest.raises(BadInput, match="coat_nm"):
        next_change(studio(), {"coat_nm": value}, exploring=True)


def test_a_value_is_set_as_a_maker_can_read_it():
    """Two digits, three from 100 up, whatever the sign."""
    read = {0.0: 0.0, 23.46: 23.0, -0.1234: -0.12, 99.4: 99.0, 99.6: 100.0, 123.4: 123.0,
            -123.6: -124.0, 1234.0: 1230.0}  # fmt: skip
    assert {value: set_by_hand(value) for value in read} == read


def test_the_price_of_a_change_by_hand():
    metal = Metal(silver_um=0.02, gold=0.06, fixer=0.5)

    def price(start, to, served=3.0, **more):
        given = {"minutes": 2.0, "silver_um": 0.5, "renews": ""} | more
        return trials._price(SimpleNamespace(**given), start, to, 0.01, metal, served)

    assert price(20.0, 25.0) == pytest.approx((0.01 * 2.0 + 0.02 * 0.5) * 5.0)
    assert price(20.0, 20.0, renews="gold") == price(20.0, 15.0) == 0.0
    assert price(2.0, 0.5, renews="gold") == pytest.approx(0.06 * 3.0)
    assert price(2.0, 0.0, renews="gold") == 0.0
    # seven plates through a bath of which the mean one is the third, then three
    assert price(6.0, 2.0, renews="fixer") == pytest.approx(0.5 * (1.0 / 3.0 - 1.0 / 7.0))


def test_nothing_is_proposed_in_the_last_twentieth_of_the_room():
    room = SimpleNamespace(low=10.0, high=30.0)
    for start, to, hard in (
        (20.0, 29.0, False), (20.0, 29.1, True), (20.0, 11.0, False), (20.0, 10.9, True),
        (29.5, 29.4, False), (29.5, 29.6, True), (10.5, 10.6, False), (10.5, 10.4, True),
    ):  # fmt: skip
        assert trials._hard_by(room, start, to) == hard, (start, to)


def test_values_in_reach_end_at_a_step_or_at_a_hard_limit():
    plain = SimpleNamespace(scale="plain", width=4.0)
    doubled = SimpleNamespace(scale="doublings", width=1.0)

    def ends(condition, now, low, high):
        values = reachable(condition, SimpleNamespace(step=0.5, low=low, high=high), now)
        return (values.min(), values.max()) if values.size else None

    assert ends(plain, 10.0, 0.0, 30.0) == (8.0, 12.0)
    assert ends(plain, 10.0, 9.0, 11.0) == (9.0, 11.0)
    assert ends(plain, 40.0, 0.0, 30.0) == (28.0, 30.0)
    assert ends(plain, 10.0, 10.0, 10.0) is None
    half = 2.0**0.5
    assert ends(doubled, 10.0, 1.0, 30.0) == pytest.approx((10.0 / half, 10.0 * half), abs=0.5)
    assert ends(doubled, 10.0, 9.0, 11.0) == pytest.approx((9.0, 11.0))
    assert ends(doubled, 10.0, 10.0, 10.0) is None
    assert ends(plain, np.nan, 0.0, 30.0) is None


def test_the_change_that_gains_most_is_taken():
    told = next_change(better("gilding_minutes", 0.5), NOW, exploring=False)
    condition, setting = CONDITIONS["gilding_minutes"], settings()["gilding_minutes"]
    most = [
        to for to in reachable(condition, setting, 3.0) if not trials._hard_by(setting, 3.0, to)
    ]
    assert told.to == max(most)


def test_shares_and_values_as_a_maker_reads_them():
    shares = (0.0, 0.0099, 0.01, 0.5, 0.99, 0.991)
    assert [trials._sure(one) for one in shares] == ["<1 %", "<1 %", "1 %", "50 %", "99 %", ">99 %"]
    by_hand = {0.0: 0.0, 0.0123: 0.012, 1.26: 1.3, 99.4: 99.0, 100.4: 100.0, 123.4: 123.0,
               -123.4: -123.0, 1.0: 1.0}  # fmt: skip
    assert {value: set_by_hand(value) for value in by_hand} == by_hand


def test_draws_of_both_readings_are_taken_by_their_share():
    stage, plate = np.arange(8.0), np.array([10.0, 11.0, 12.0])
    assert trials._shared(stage, plate, 0.5).tolist() == [4, 5, 6, 7, 10, 11, 12, 10]
    assert trials._shared(stage, plate, 0.0).tolist() == stage.tolist()
