"""The truth of the coverage benchmark keeps to what is published; its questions are answered."""

import numpy as np
import pytest
from benchmarks.coverage import ask, book, run, truth

RNG = np.random.default_rng(1)
USUAL = truth.Studio(4e-4, 1.0, 75.0, 1.0, 1.8, 0.0, 45.0, truth.HAZE, truth.SHADE)


def test_the_sun_stands_where_an_almanac_has_it():
    """Noon at 45 N: 68.4 degrees on 21 June, 21.6 on 21 December (90 - 45 +- 23.44)."""
    for day, high in ((172, 68.44), (355, 21.56)):
        noon = max(truth.sun_height(45.0, day, hour) for hour in np.arange(11.5, 12.5, 0.05))
        assert noon == pytest.approx(high, abs=0.1)


def test_near_sunset_the_light_is_five_to_ten_times_weaker():
    """A public-domain handbook of photography: near sunset 5 to 10 times noon's exposure."""
    low, high = truth.facing(np.array([10.0, 60.0]), truth.HAZE, truth.VIOLET)
    assert 4.0 < high / low < 10.0


def test_a_lamp_at_a_foot_develops_between_its_two_logs():
    assert 180.0 < truth.lamp_minutes(USUAL, 0.0, 200.0, 0.305) < 330.0


def test_a_covered_sky_spreads_by_a_factor_of_five():
    """Measured hours at 8 okta: tenth to ninetieth percentile a factor of five apart."""
    hours = [truth.draw_day(RNG, USUAL, 172, covered=True).by_hour[12] for _ in range(2000)]
    tenth, ninetieth = np.quantile(hours, [0.1, 0.9])
    assert ninetieth / tenth == pytest.approx(5.0, rel=0.35)


@pytest.mark.parametrize("covered", [False, True])
def test_a_forecast_misses_three_hours_in_ten_but_not_the_hour_asked_in(covered):
    """Half of the time of the hours missed the sky is the other: a miss of four okta."""
    other = []
    for _ in range(300):
        day = truth.draw_day(RNG, USUAL, 172, covered=covered, asked_at=600)
        turned = day.sunny if covered else day.through < 0.5
        assert not turned[:660].any()
        other.append(turned[660:].mean())
    assert np.mean(other) == pytest.approx(truth.MISSED / 2.0, abs=0.02)
    as_said = truth.draw_day(RNG, USUAL, 172, covered=covered)
    assert not as_said.sunny.any()


def test_share_counts_what_lies_within():
    tally = ask.Tally()
    for group, true in ((1, 5.0), (2, 50.0), (3, float("inf")), (4, 0.5), (5, 2.0)):
        tally.add(group, true, 5.0, 1.0, 10.0)
    assert (tally.below, tally.above) == (0.2, 0.4)
    assert tally.told().startswith(" 40.0 %")
    # of five studios: the root of 0.4 x 0.6 / 5
    assert tally.share()[1] == pytest.approx(0.219, abs=0.001)
    assert "no upper end" not in tally.told()


def test_a_range_without_an_upper_end_is_judged_by_its_lower_end_alone():
    tally = ask.Tally()
    for true, low in ((float("inf"), 3.0), (4.0, 3.0), (2.0, 3.0), (2.0, None)):
        tally.add(1, true, None, low, None)
    assert tally.open == [True, True, False, False]  # never ripe was said of the last
    assert "no upper end 100 %, of which 50 % within (90 promised)" in tally.told()
    assert (tally.below, tally.above) == (0.5, 0.0)


def test_open_ends_count_for_the_lower_end_and_two_ends_for_both():
    """One miss in ten at each end keeps 80 %, however many ranges are open above."""
    tally = ask.Tally()
    for number in range(100):
        tally.add(number, 0.5 if number < 10 else 5.0, 5.0, 1.0, None)
    for number in range(10):
        tally.add(number, (0.5, 20.0)[number] if number < 2 else 5.0, 5.0, 1.0, 10.0)
    assert tally.share()[0] == pytest.approx(0.8)
    assert tally.between == 0.8


def test_boxes_and_days_together_fill_the_working_window():
    """Humphrey 1858, ch. V: 15 to 60 s over boxes and days of all kinds, a factor of four."""
    seconds = []
    for _ in range(4000):
        studio = truth.draw_studio(RNG)
        own = truth.mixed(RNG, truth.FUME_PLATE, truth.FUME_ASTRAY)
        where = (RNG.uniform(*truth.FUME_C), RNG.uniform(*truth.FUME_GAP_MM))
        seconds.append(truth.fume_seconds(studio, own, *where))
    low, high = np.quantile(seconds, [0.1, 0.9])
    assert high / low == pytest.approx(4.0, rel=0.1)


def test_one_draw_of_every_question_is_answered():
    told = dict(run(draws=1))
    assert len(told) == 2 * len(ask.KINDS) + 1
    assert all("%" in told[f"new studio: {kind}"] for kind in ask.KINDS)


def test_a_table_of_plates_holds_what_a_maker_writes(tmp_path):
    book.write(RNG, USUAL, tmp_path / "studio", plates=12)
    rows = (tmp_path / "studio" / "plates.csv").read_text().splitlines()
    assert len(rows) == 13
    assert not {"speed", "dose", "iso"} & set(rows[0].split(","))


def test_ends_of_plates_that_came_out_well_stray_less_than_all_ends():
    """A normal law of a quarter of a stop, and the same cut off where a plate is spoilt."""
    every, well = (
        np.array([book.late_by(RNG, well=only) for _ in range(4000)]) for only in (False, True)
    )
    assert every.std() == pytest.approx(book.LATE, rel=0.05)
    # cut off at c = 1.4 deviations, a normal law has 0.707 of them: 1 - 2 c f(c) / P(|z| < c)
    assert well.std() == pytest.approx(0.707 * book.LATE, rel=0.05)
    assert abs(well).max() < book.SPOILT < abs(every).max()
