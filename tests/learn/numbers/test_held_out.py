"""How far plates strayed from what was said of them before: learned from residuals held out."""

import datetime as dt
from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, stats

from argentry import trade
from argentry.learn.numbers.exposure_belief import GradedExposure, half_normal
from argentry.learn.numbers.held_out import (
    LAWS,
    SPOILT,
    SPREADS,
    TIMES,
    coat_scatter,
    end_chances,
    end_scatter,
    exposure_scatter,
    scatter,
)

FIRST = dt.date(2026, 5, 2)
DAYS = [FIRST + dt.timedelta(days=number // 2) for number in range(200)]


def strayed(times, count=100, seed=3):
    """Return the scatter learned from residuals that stray so many times as far as foreseen."""
    off = np.random.default_rng(seed).normal(0.0, times, count)
    seen = [5.0 + 0.3 * one for one in off]
    return scatter("fuming", seen, [(5.0, 0.3)] * count, DAYS[:count])


@pytest.mark.parametrize("times", [0.5, 1.0, 1.8])
def test_the_spread_of_standardised_residuals_is_recovered(times):
    found = strayed(times)
    assert found.low < times < found.high
    assert found.value == pytest.approx(times, rel=0.15)
    assert (found.of, found.what, found.unit, found.plates) == ("fuming", "scatter", "1", 100)
    assert not found.mostly_prior


def test_a_few_plates_hardly_move_it():
    assert abs(np.log(strayed(0.5, count=2).value)) < 0.15
    assert strayed(0.5, count=2).mostly_prior
    none = scatter("fuming", [], [], [])
    assert (none.value, none.low, none.high) == pytest.approx(
        (none.believed, none.believed_low, none.believed_high)
    )
    assert none.value == pytest.approx(1.0)
    # 80 % of the normal of its logarithm
    sd = trade.value("decide", "scatter_log_sd")
    assert none.high == pytest.approx(np.exp(1.2816 * sd), rel=0.05)
    assert (none.plates, none.day, none.before) == (0, None, None)


def test_a_slip_of_the_pen_does_not_widen_every_range():
    off = np.random.default_rng(5).normal(0.0, 1.0, 60)
    plain, slipped = (
        scatter("fuming", values, [(0.0, 1.0)] * 60, DAYS[:60])
        for values in (off.tolist(), [12.0, *off[1:].tolist()])
    )
    assert slipped.value == pytest.approx(plain.value, rel=0.08)


def test_the_median_before_is_that_without_the_last_day():
    off = np.random.default_rng(6).normal(0.0, 0.6, 21).tolist()
    whole = scatter("fuming", off, [(0.0, 1.0)] * 21, DAYS[:21])
    without = scatter("fuming", off[:20], [(0.0, 1.0)] * 20, DAYS[:20])
    assert whole.day == DAYS[20]
    assert whole.before == pytest.approx(without.value)


def exposed(noise, count=160, seed=8):
    """Return exposures in sun and shade, judged by a latitude of half a stop, with their noise."""
    rng = np.random.default_rng(seed)
    plates = []
    for number in range(count):
        given = rng.uniform(-1.5, 1.5)
        off = given + rng.normal(0.0, noise)
        verdict = "under" if off < -0.5 else "right" if off < 0.5 else "over"
        plates.append(
            GradedExposure(
                (given,), (verdict,), light_sd=0.5, day=DAYS[number // 2],
                session=str(number // 4), group="sun" if number % 4 else "shade",
            )
        )  # fmt: skip
    return plates


def test_exposures_that_stray_less_than_their_light_was_doubted_say_so():
    close, far = (exposure_scatter(exposed(noise)) for noise in (0.15, 1.5))
    assert [row.of for row in close] == ["shade", "sun"]
    assert [row.plates for row in close] == [40, 120]
    # three quarters of the plates are in the sun: theirs is the better known
    assert close[1].high / close[1].low < close[0].high / close[0].low
    assert close[1].value < 0.8 < 1.05 < far[1].value
    assert all(a.value < b.value for a, b in zip(close, far, strict=True))


def test_the_speed_is_foreseen_by_the_plates_before():
    # all plates of a studio whose starting speed was wrong by two stops: the first strays, and the
    # others, foreseen by those before them, do not
    rng = np.random.default_rng(2)
    plates = [
        GradedExposure((2.0 + float(one),), ("under" if one < -0.5 else "right",), group="sun")
        for one in rng.uniform(-1.0, 0.4, 60)
    ]
    assert exposure_scatter(plates)[0].value < 1.1
    assert exposure_scatter(()) == ()


def test_end_points_and_coats_are_set_beside_what_those_before_them_taught():
    rng = np.random.default_rng(9)
    each = trade.value("decide", "end_point_log_sd")
    found = []
    for share in (0.5, 1.0, 1.6):
        doses = (500.0 * np.exp(rng.normal(0.0, share * each, 80))).tolist()
        found.append(end_scatter(doses, ["ripe"] * 80, [0.0] * 80, DAYS[:80]).value)
    assert all(a < b for a, b in pairwise(found))
    assert found == pytest.approx([0.5, 1.0, 1.6], rel=0.25)
    # light that is known badly explains the same scatter
    assert end_scatter(doses, ["ripe"] * 80, [0.8] * 80, DAYS[:80]).value < 0.8 * found[2]
    computed = np.full(80, 30.0)
    measured = (1.4 * computed * np.exp(rng.normal(0.0, 0.1, 80))).tolist()
    coats = coat_scatter(measured, computed.tolist(), [0.2] * 80, DAYS[:80])
    assert coats.value == pytest.approx(0.5, rel=0.25)
    assert coats.of == "fuming"


def called(own, eye, window, seed, count=60, *, spoilt_by_eye=True):
    """Return ends as a watching eye calls them, in stops: those too far off are spoilt."""
    rng = np.random.default_rng(seed)
    late = rng.normal(0.0, 1.0, count) * eye
    doses = 500.0 * 2.0 ** (rng.normal(0.0, own, count) + late)
    if not spoilt_by_eye:
        late = rng.permutation(late)  # as many are spoilt, wherever their ends lie
    return doses, np.select([late > window, late < -window], ["too long", "unripe"], "ripe")


def ends_scatter(doses, ends):
    return end_scatter(doses.tolist(), ends.tolist(), [0.0] * len(ends), DAYS[: len(ends)]).value


def test_what_the_eye_is_wrong_by_is_not_taken_for_the_plates_own():
    # twelve studios of 60 ends: from plate to plate 0.30 stops; the eye 0.25 stops, or none
    said = trade.value("decide", "end_point_log_sd") / np.log(2.0)
    own, with_eye, ripe_alone = [], [], []
    for seed in range(12):
        doses, ends = called(0.30, 0.25, 0.35, seed)
        well = ends == "ripe"
        with_eye.append(ends_scatter(doses, ends))
        ripe_alone.append(ends_scatter(doses[well], ends[well]))
        own.append(ends_scatter(*called(0.30, 0.0, 0.35, seed)))
    assert np.mean(own) == pytest.approx(0.30 / said, rel=0.06)
    assert np.mean(with_eye) == pytest.approx(0.30 / said, rel=0.10)
    assert np.mean(ripe_alone) > 1.06 * np.mean(own)


def test_plates_spoilt_wherever_their_ends_lay_say_less_of_the_eye():
    by_eye, by_others = (
        np.mean(
            [ends_scatter(*called(0.30, 0.25, 0.35, seed, spoilt_by_eye=by)) for seed in range(8)]
        )
        for by in (True, False)
    )
    assert by_others > 1.05 * by_eye


def test_without_spoilt_plates_little_is_taken_for_the_eyes():
    said = trade.value("decide", "end_point_log_sd")
    doses, ends = called(0.36, 0.0, 2.0, seed=11)
    assert set(ends) == {"ripe"}
    alone = scatter("development", np.log(doses), [(np.log(500.0), said)] * 60, DAYS[:60])
    assert 0.93 * alone.value < ends_scatter(doses, ends) < 1.03 * alone.value


@pytest.mark.parametrize(("end", "off"), [("ripe", 0.2), ("unripe", -0.4), ("too long", 0.1)])
@pytest.mark.parametrize("law", [0, 1])
def test_the_chance_of_an_end_is_that_of_its_two_causes_together(end, off, law):
    # the same, summed over all that the eye may have been late by: SciPy's quadrature
    eyes, sd, (spread, eye, long, short) = half_normal(0.25)[0], 0.3, (7, 4, 2, 3)
    shape = (TIMES.size, eyes.size, len(LAWS), SPOILT.size, SPOILT.size)
    found = end_chances(off, sd, end, eyes).reshape(shape)[spread, eye, law, long, short]
    own = sd * TIMES[spread] * SPREADS
    fogged, slip = (trade.value("decide", key) for key in ("other_fog", "misread_share"))

    def at(late):
        return LAWS[law] @ stats.norm.pdf(off - late, 0.0, own) * stats.norm.pdf(late / eyes[eye])

    spans = ((-3.0, -SPOILT[short]), (-SPOILT[short], SPOILT[long]), (SPOILT[long], 3.0))
    early, well, late = (integrate.quad(at, *span, epsabs=1e-12)[0] / eyes[eye] for span in spans)
    chance = {
        "unripe": (1.0 - fogged) * early,
        "ripe": (1.0 - fogged) * well,
        "too long": late + fogged * (early + well),
    }[end]
    # densities are told without a constant that is the same for all
    wanted = ((1.0 - slip) * chance + slip / 3.0 * (early + well + late)) * np.sqrt(2.0 * np.pi)
    assert found == pytest.approx(wanted, rel=1e-6)


def test_a_plate_that_cannot_stray_ends_where_the_eye_calls_it():
    # then those that came out too late are a normal law cut off at the window; beyond 1.4 of its
    # standard deviations its mean lies at 0.14973 / 0.08076 = 1.854 (ordinate over tail, any table)
    eye = SPOILT[2] / 1.4
    offs = np.linspace(0.0, 4.0 * eye, 2001)
    shape = (TIMES.size, len(LAWS), SPOILT.size, SPOILT.size)
    chance = np.array(
        [
            end_chances(off, 1e-4, "too long", np.array([eye])).reshape(shape)[5, 1, 2, 3]
            for off in offs
        ]
    )
    beyond = offs > SPOILT[2]
    found = np.average(offs[beyond], weights=chance[beyond]) / eye
    assert found == pytest.approx(0.14973 / 0.08076, rel=0.01)
    # and of the rest of the later half, 0.5 - 0.08076, none but those that others fogged or misread
    fogged, slip = (trade.value("decide", key) for key in ("other_fog", "misread_share"))
    others = (1.0 - slip) * fogged + slip / 3.0
    share = 0.08076 * (1.0 - slip + slip / 3.0) / (0.5 - 0.08076) / others
    assert chance[beyond].sum() / chance[~beyond].sum() == pytest.approx(share, rel=0.02)
