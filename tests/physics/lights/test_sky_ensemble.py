"""Minute skies: the same every time, true to their hours, and with spells as long as real ones.

Measured figures come from "BSRN Payerne June 2016, 1-min, from pvlib's test data" (a month of 30
days, so each is uncertain by about 0.1) and from the hours behind the table ``okta_sky``; the data
are not shipped. ``benchmarks/skies.py`` repeats the comparison on the data themselves.
"""

import numpy as np
import pytest

from argentry import trade
from argentry.physics.lights import cloud
from argentry.physics.lights import sky_ensemble as ensemble

MINUTES = 780
SUN_DNI, CLEAR_DNI = 120.0, 800.0  # threshold of sunshine: WMO; a usual clear beam


def of_okta(okta, n=400, minutes=600, **spread):
    share = cloud.from_cloud_share(np.full(minutes, okta / 8.0))
    return ensemble.sky_ensemble(
        share.beam_share, share.global_share, np.full(minutes, 30.0), n=n, seed=2, **spread
    )


@pytest.fixture(scope="module")
def month():
    """Days as varied as a month's: a forecast that knows next to nothing."""
    share = cloud.from_cloud_share(np.full(MINUTES, 7.0 / 8.0))
    return ensemble.sky_ensemble(
        share.beam_share,
        share.global_share,
        np.full(MINUTES, 40.0),
        n=300,
        seed=5,
        okta_sd=6.0,
        hour_sd=trade.value("cloud", "hour_sd"),
        haze_ln_sd=0.5,
    )


def correlation(x, lag):
    x = x - x.mean()
    return float((x[:, :-lag] * x[:, lag:]).mean() / (x * x).mean())


def windows(beam, minutes=120, past=60):
    """Sun in the past hour, unbroken sun ahead, and dose ahead, from each sunny minute."""
    sun = beam * CLEAR_DNI > SUN_DNI
    lit = np.pad(np.cumsum(sun, axis=1), ((0, 0), (1, 0)))
    dose = np.pad(np.cumsum(beam, axis=1), ((0, 0), (1, 0)))
    start = np.arange(past, beam.shape[1] - minutes)
    now = sun[:, start]
    before = (lit[:, start] - lit[:, start - past]) / past
    ahead = lit[:, start + minutes] - lit[:, start]
    got = (dose[:, start + minutes] - dose[:, start]) / minutes
    return before[now], ahead[now] == minutes, got[now]


def test_same_seed_same_days():
    first, again = of_okta(5, n=5, okta_sd=2.0), of_okta(5, n=5, okta_sd=2.0)
    assert np.array_equal(first[0], again[0])
    assert np.array_equal(first[1], again[1])


@pytest.mark.parametrize("okta", range(2, 9))
def test_hours_spread_as_measured_at_this_cloud_amount(okta):
    beam, _ = of_okta(okta, hour_sd=trade.value("cloud", "hour_sd"), haze_ln_sd=0.5)
    hours = beam.reshape(400, 10, 60).mean(axis=2)
    columns = trade.table("okta_sky").columns
    clear = columns["beam_mean"][0]
    assert hours.mean() == pytest.approx(columns["beam_mean"][okta] / clear, abs=0.03)
    for percent in (10, 50, 90):
        measured = min(columns[f"beam_p{percent}"][okta] / clear, 1.0)  # above 1 is haze, not cloud
        assert np.percentile(hours, percent) == pytest.approx(measured, abs=0.12)


@pytest.mark.parametrize("okta", range(2, 9))
def test_global_light_spreads_as_measured_at_this_cloud_amount(okta):
    _, whole = of_okta(okta, hour_sd=trade.value("cloud", "hour_sd"))
    hours = whole.reshape(400, 10, 60).mean(axis=2)
    columns = trade.table("okta_sky").columns
    for percent in (10, 50, 90):
        measured = columns[f"global_p{percent}"][okta] / columns["global_mean"][0]
        assert np.percentile(hours, percent) == pytest.approx(measured, abs=0.15)


def test_half_of_the_hours_under_cloud_are_darker_than_the_middle_share():
    # the mean of eight oktas, 0.25, is exceeded by four hours in ten (okta_sky: 0.23 of 0.27)
    _, whole = of_okta(8.0, hour_sd=trade.value("cloud", "hour_sd"))
    middle = float(cloud.middle_global_share(8.0))
    assert np.mean(whole < middle) == pytest.approx(0.5, abs=0.03)
    assert middle == pytest.approx(trade.value("light", "overcast_global_share"), abs=0.005)
    assert np.mean(whole < 0.25) > 0.58


def test_measured_hours_keep_their_means():
    given = np.repeat([0.1, 0.5, 0.9, 0.5, 0.3], 60)
    beam, _ = ensemble.sky_ensemble(given, given + 0.2, np.full(300, 40.0), n=400, seed=1)
    assert beam[:, 120:180].mean(axis=1).std() < 0.12  # of one hour; a free minute sky has 0.3
    assert beam.mean() == pytest.approx(given.mean(), abs=0.03)


@pytest.mark.parametrize(("minutes", "measured"), [(1, 0.96), (10, 0.79), (60, 0.61), (180, 0.49)])
def test_global_share_remembers_as_measured(month, minutes, measured):
    assert correlation(month[1], minutes) == pytest.approx(measured, abs=0.08)


@pytest.mark.parametrize(
    ("minutes", "measured"), [(5, 0.86), (15, 0.70), (30, 0.59), (60, 0.48), (120, 0.37)]
)
def test_sun_survives_as_measured(month, minutes, measured):
    sun = month[0] * CLEAR_DNI > SUN_DNI
    lit = np.pad(np.cumsum(sun, axis=1), ((0, 0), (1, 0)))
    whole = lit[:, minutes:-1] - lit[:, : -minutes - 1] == minutes
    assert whole[sun[:, :-minutes]].mean() == pytest.approx(measured, abs=0.1)


def test_a_minute_chain_would_be_wrong_by_orders_of_magnitude(month):
    sun = month[0] * CLEAR_DNI > SUN_DNI
    lost = (sun[:, :-1] & ~sun[:, 1:]).sum() / sun[:, :-1].sum()
    _, unbroken, _ = windows(month[0])
    chain = (1.0 - lost) ** 119
    assert unbroken.mean() > 0.25  # measured 0.37
    assert chain < 0.01


@pytest.mark.parametrize(
    ("low", "high", "measured"),
    [(0.999, 1.0, 0.94), (0.8, 0.999, 0.67), (0.2, 0.8, 0.45), (0.0, 0.2, 0.19)],
)
def test_dose_by_deadline_follows_the_last_hour_as_measured(month, low, high, measured):
    before, _, got = windows(month[0])
    chosen = (before >= low) & (before < high) if high < 1.0 else before >= low
    assert (got[chosen] >= 0.6).mean() == pytest.approx(measured, abs=0.12)


@pytest.mark.parametrize(
    ("okta", "measured"),
    [(2, 0.83), (3, 0.68), (4, 0.45), (5, 0.31), (6, 0.117), (7, 0.009), (8, 0.002)],
)
def test_two_sunny_hours_as_often_as_measured(okta, measured):
    # the hours behind table okta_sky: both hours at this cloud amount, beam share above 0.7
    beam, _ = of_okta(okta, hour_sd=trade.value("cloud", "hour_sd"), haze_ln_sd=0.5)
    sunny = (
        beam.reshape(400, 10, 60).mean(axis=2)
        > 0.7 / trade.table("okta_sky").columns["beam_mean"][0]
    )
    assert (sunny[:, 1:] & sunny[:, :-1]).mean() == pytest.approx(measured, abs=0.1)


def test_most_spells_are_minutes_yet_long_ones_hold_the_sun(month):
    sun = np.pad(month[0] * CLEAR_DNI > SUN_DNI, ((0, 0), (1, 1)))
    edges = np.diff(sun.astype(int), axis=1)
    length = np.nonzero(edges == -1)[1] - np.nonzero(edges == 1)[1]
    assert np.median(length) < 10  # measured 3
    assert length[length >= 120].sum() / length.sum() > 0.35  # measured 0.5


def test_a_vague_forecast_spreads_more():
    sharp, _ = of_okta(1, okta_sd=0.5)
    vague, _ = of_okta(1, okta_sd=3.0)
    assert vague.mean(axis=1).std() > sharp.mean(axis=1).std()
    assert vague.mean() < sharp.mean()


def test_clear_sky_varies_with_haze_only_and_more_at_low_sun():
    elevation = np.repeat([60.0, 10.0], 300)
    one = np.ones(600)
    beam, _ = ensemble.sky_ensemble(one, one, elevation, n=300, seed=3, haze_ln_sd=0.5)
    high, low = beam[:, 150], beam[:, 450]
    assert 0.02 < high.std() < 0.1
    assert low.std() > 2.0 * high.std()
    calm, _ = ensemble.sky_ensemble(one, one, elevation, n=20, seed=3)
    assert calm.min() == pytest.approx(1.0)


def test_haze_takes_from_the_beam_by_air_mass_and_gives_half_back_as_sky_light():
    # Beer's law with the trade's exponent; the half of what is scattered comes down again.
    elevation, diffuse = np.repeat([60.0, 20.0], 200), 0.2
    one = np.ones(400)
    beam, total = ensemble.sky_ensemble(
        one, one, elevation, n=4000, seed=5, haze_aod=0.1, haze_ln_sd=0.5,
        clear_diffuse_share=diffuse,
    )  # fmt: skip
    high, low = (np.log(beam[:, at]) for at in (100, 300))
    inside = beam[:, 300] < trade.value("cloud", "beam_share_most") - 1e-9
    inside &= beam[:, 100] < trade.value("cloud", "beam_share_most") - 1e-9
    masses = ensemble.air_mass(np.array([60.0, 20.0]))
    assert low[inside] == pytest.approx(high[inside] * masses[1] / masses[0], rel=1e-3, abs=1e-5)
    # the day of the 84th percentile of haze: e^0.5 times the usual depth
    hazy = -np.quantile(low, 0.1587) / masses[1]
    factor = trade.value("cloud", "haze_beam_factor")
    assert hazy == pytest.approx(factor * 0.1 * (np.exp(0.5) - 1.0), rel=0.06)
    kept = (total - 0.02 - (1.0 - diffuse) * beam) / diffuse
    back = trade.value("cloud", "haze_kept_part") * (1.0 - beam) * (1.0 - diffuse) / diffuse
    free = total < trade.value("cloud", "global_share_most") - 1e-9
    assert (kept - 1.0)[free] == pytest.approx(back[free], abs=1e-5)


def test_strays_are_a_part_for_the_day_and_hours_that_forget_by_their_memory():
    """The part of the day is shared; the rest is correlated as exp(-t/memory)."""
    part, memory_h = 0.2, 1.7
    stray = ensemble._stray(np.random.default_rng(4), 400_000, 2, 60.0, memory_h, part)
    expected = part + (1.0 - part) * np.exp(-1.0 / memory_h)
    assert stray.std() == pytest.approx(1.0, abs=0.005)
    assert np.mean(stray[0] * stray[1]) == pytest.approx(expected, abs=0.002)


def test_step_length_does_not_change_the_weather():
    share = cloud.from_cloud_share(np.full(130, 0.75))
    coarse, _ = ensemble.sky_ensemble(
        share.beam_share,
        share.global_share,
        np.full(130, 30.0),
        n=400,
        seed=2,
        step_minutes=5.0,
        hour_sd=0.9,
    )
    fine, _ = of_okta(6, minutes=650, hour_sd=0.9)
    assert coarse.mean() == pytest.approx(fine.mean(), abs=0.03)
    assert coarse.mean(axis=1).std() == pytest.approx(fine.mean(axis=1).std(), abs=0.03)


def test_normal_table_is_close():
    from statistics import NormalDist

    x = np.linspace(-5.0, 5.0, 37)
    exact = [NormalDist().cdf(float(v)) for v in x]
    assert np.abs(ensemble.normal_share(x) - exact).max() < 2e-6
    assert np.abs(ensemble.normal_level(exact) - x).max() < 2e-3


def test_hours_stray_where_they_are_said_to_and_nowhere_else():
    sure = np.where(np.arange(240) < 120, 0.0, 0.9)
    beam, _ = ensemble.sky_ensemble(
        np.full(240, 0.5), np.full(240, 0.6), np.full(240, 40.0),
        n=60, seed=3, hour_sd=sure, minutes=False,
    )  # fmt: skip
    assert beam[:, :120].std(axis=0).max() < 1e-9
    assert beam[:, 120:].std(axis=0).min() > 0.05


def test_the_skies_of_the_last_two_questions_are_kept_and_cannot_be_changed():
    def ask(seed):
        return ensemble.sky_ensemble(0.5, 0.6, np.full(30, 40.0), n=4, seed=seed, hour_sd=0.5)

    first, second = ask(1), ask(2)
    assert ask(1) is first
    assert ask(2) is second
    ask(3)
    assert ask(2) is second
    assert ask(1) is not first
    with pytest.raises(ValueError, match="read-only"):
        second[0][0] = 1.0


def test_skies_of_many_moments_are_not_kept():
    def ask():
        return ensemble.sky_ensemble(0.5, 0.6, np.full(1001, 40.0), n=300, seed=1, hour_sd=0.5)

    assert ask() is not ask()


def test_a_step_longer_than_an_hour_is_no_mean_of_itself():
    fact = {"minute_memory": trade.value("cloud", "minute_memory")}
    stray = ensemble._minutes(np.random.default_rng(1), 400, 5, 130.0, fact)
    assert stray.std() == pytest.approx(1.0, abs=0.1)


def test_hours_that_stray_widely_keep_the_mean_share():
    """The share is the mean of the normal law widened by the stray: each stray has its own root."""
    beam, _ = ensemble.sky_ensemble(
        0.7, 0.8, np.full(1, 40.0), n=4000, seed=5, hour_sd=2.0, minutes=False
    )
    assert beam.mean() == pytest.approx(0.7, abs=0.02)
