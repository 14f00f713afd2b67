"""Other studios: what they let assume, what one file can do, what is left out, what is shared."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import digamma, polygamma
from tests.learn.plates import good, lost, studio

from argentry import trade
from argentry.learn.numbers.box_doubt import elsewhere
from argentry.learn.odds.fitting import fit
from argentry.learn.odds.odds import odds
from argentry.learn.pooling.pool import assumed_of, pool
from argentry.learn.pooling.scales import scale_of, with_trade
from argentry.learn.pooling.share import figures_of
from argentry.learn.stages.assumed import of_trade
from argentry.physics.stops import Z80
from argentry.records.decision import Learned
from argentry.records.learned import SharedFigure, SharedStudio
from argentry.trade.conditions import conditions

DAMP = ("effect", "coat", "room_rh_pct")
SPEED = ("number", "", "plate_speed")
KEYS = (("good", "", ""), ("stage", "", "coat"), DAMP, SPEED, ("number", "", "box_factor"))


def figure(key, z, sd, plates):
    """Return a figure so many of the trade's standard deviations off its word."""
    scale = scale_of(*key)
    low, value, high = (
        scale.back(scale.mean + (z + step * sd) * scale.sd) for step in (-Z80, 0.0, Z80)
    )
    return with_trade(SharedFigure(key[0], key[2], key[1], value, low, high, plates))


def message(z, sd):
    """Return estimate and precision that move a standard normal to mean z and deviation sd."""
    precision = 1.0 / sd**2 - 1.0
    return z / sd**2 / precision, precision


def expected(claims, weights):
    """Return the mean of estimates and of the trade's 0 by weights that are given."""
    shared = trade.value("decide", "pool_shared_doubt")
    whole = sum(weights) + 1.0 / shared
    return sum(w * message(*claim)[0] for claim, w in zip(claims, weights, strict=True)) / whole


def weight(sd):
    """Return the weight of a random-effects mean: 1 / (variance between + variance within)."""
    return 1.0 / (1.0 - trade.value("decide", "pool_shared_doubt") + 1.0 / message(0.0, sd)[1])


def file(name, z, *, sd=0.3, plates=60.0, keys=KEYS):
    return SharedStudio(name, int(plates), (), tuple(figure(k, z, sd, plates) for k in keys))


def off(adopted, key):
    """Return how far an assumption lies off the trade's word, in its standard deviations."""
    found = next(f for f in adopted.figures if (f.kind, f.stage, f.of) == key)
    scale = scale_of(*key)
    return (scale.to(found.value) - scale.mean) / scale.sd


@pytest.mark.parametrize(
    ("of", "middle"),
    [
        ("plate_speed", trade.value("exposure", "plate_speed")),
        ("half_latitude", trade.value("decide", "half_latitude")),
        ("plate_noise", trade.value("decide", "plate_noise")),
        ("box_factor", 1.0),  # a box as the trade's law has it
        ("development_dose", trade.value("development", "dose")),
    ],
)
def test_a_number_of_the_studio_is_taken_about_the_trades_middle(of, middle):
    scale = scale_of("number", "", of)
    assert scale.back(scale.mean) == pytest.approx(middle)
    assert (scale.to(scale.high), scale.to(scale.low)) == pytest.approx(
        (scale.mean + 8.0, scale.mean - 8.0)
    )


def test_every_scale_goes_there_and_back_about_the_trades_word():
    windows = [c for c in conditions() if c.form == "window"]
    assert len({c.scale for c in windows}) > 1
    keys = [*KEYS, ("matters", "coat", "room_rh_pct")]
    keys += [("best", c.stage, c.key) for c in windows]
    keys += [("number", "", n) for n in ("half_latitude", "plate_noise", "development_dose")]
    for key in keys:
        scale = scale_of(*key)
        for z in (-1.5, 0.0, 1.5):
            value = scale.back(scale.mean + z * scale.sd)
            assert scale.low < value < scale.high
            assert scale.to(value) == pytest.approx(scale.mean + z * scale.sd)
    for c in conditions():  # the trade's range of an effect is the scale's 80 %
        effect = scale_of("effect", c.stage, c.key)
        assert effect.low < effect.back(effect.mean) < effect.high
        ends = [effect.back(effect.mean + z * effect.sd) for z in (-Z80, Z80)]
        told = [c.effect_low, c.effect_high]
        if c.form not in ("free", "switch"):
            ends, told = np.log(ends), np.log(told)
        assert np.ptp(ends) == pytest.approx(np.ptp(told))
    matters = scale_of("matters", "coat", "room_rh_pct")  # one standard deviation: e times the odds
    near, far = (matters.back(matters.mean + z * matters.sd) for z in (0.0, 1.0))
    assert far / (1.0 - far) == pytest.approx(np.e * near / (1.0 - near))
    for key in (("good", "", "x"), ("stage", "", "frying"), ("effect", "coat", "nobody")):
        assert scale_of(*key) is None


def test_files_weigh_by_what_their_plates_say_next_to_the_trade():
    """DerSimonian and Laird, Controlled Clinical Trials 7 (1986) 177: a random-effects mean."""
    claims = [(1.0, 0.5), (-0.5, 0.4)]
    told = pool([file(n, z, sd=sd, plates=60.0) for n, (z, sd) in zip("ab", claims, strict=True)])
    middle = expected(claims, [weight(sd) for _, sd in claims])
    assert [off(told, key) for key in KEYS] == pytest.approx([middle] * len(KEYS))
    assert told.plates == 120
    assert told.files == ("a", "b")


def test_the_range_holds_what_is_left_of_the_middle_and_how_far_studios_lie_apart():
    shared = trade.value("decide", "pool_shared_doubt")
    apart = 1.0 - shared
    claims = [(0.5, 0.4), (-0.4, 0.5)]
    told = pool([file(n, z, sd=sd) for n, (z, sd) in zip("ab", claims, strict=True)])
    figures = {(f.kind, f.stage, f.of): f for f in told.figures}
    weights = [weight(sd) for _, sd in claims]
    middle = expected(claims, weights)
    # each studio as a normal about that middle, by its message; the trade as one with nothing said
    narrow = [1.0 / (1.0 / apart + message(*one)[1]) for one in claims]
    means = [
        v * (middle / apart + np.prod(message(*one))) for v, one in zip(narrow, claims, strict=True)
    ]
    each = [v + (m - middle) ** 2 for v, m in zip(narrow, means, strict=True)]
    variance = np.average([*each, apart], weights=[*weights, 1.0 / shared])
    sd = (variance + 1.0 / (sum(weights) + 1.0 / shared)) ** 0.5
    for key in KEYS:
        scale, found = scale_of(*key), figures[key]
        got = [(scale.to(v) - scale.mean) / scale.sd for v in (found.low, found.value, found.high)]
        assert got == pytest.approx([middle - Z80 * sd, middle, middle + Z80 * sd])
        assert scale.to(found.believed_low) == pytest.approx(scale.mean - Z80 * scale.sd)
        assert (found.plates, found.files) == (120.0, ("a", "b"))


def test_what_a_studio_only_began_with_says_nothing():
    """Its range is as wide as before: the trade's word stays as it was, wherever its middle is."""
    began = []
    for key in KEYS:  # a maker's own habit, or conditions taken to matter less at this stage
        one = figure(key, -1.5, 1.0, 60.0)
        began.append(replace(one, believed=one.value, believed_low=one.low, believed_high=one.high))
    told = pool([SharedStudio(n, 60, (), tuple(began)) for n in "abcdefgh"])
    for found in told.figures:
        assert found.value == pytest.approx(found.believed)
        assert (found.low, found.high) == pytest.approx((found.believed_low, found.believed_high))


def test_eight_studios_that_each_know_little_know_much_together():
    """What is said eight times counts eight times: nothing is drawn in to the trade twice."""
    each, sd = message(0.3, 0.8), 0.8  # alone a studio says 0.83, and believes 0.3 of it
    told = pool([file(f"{n}", 0.3, sd=sd) for n in range(8)])
    assert off(told, SPEED) == pytest.approx(expected([(0.3, sd)] * 8, [weight(sd)] * 8))
    assert off(told, SPEED) > 0.6 * each[0] > 1.5 * 0.3


def test_a_wild_figure_is_taken_as_four_deviations_of_what_can_be_expected():
    for claim in (-9.0, 9.0):
        alone = pool([file("far", claim, sd=0.2, keys=(SPEED, DAMP))])  # too few to judge it by
        precision = message(0.0, 0.2)[1]
        most = np.sign(claim) * 4.0 * (1.0 + 1.0 / precision) ** 0.5
        shared = trade.value("decide", "pool_shared_doubt")
        part = weight(0.2) / (weight(0.2) + 1.0 / shared)
        assert off(alone, SPEED) == pytest.approx(most * part)


def test_whether_a_condition_matters_is_weighed_as_yes_or_no_of_each_studio():
    """Bayes's rule on a grid by hand: sure that it does in two studios and does not in one."""
    key = ("matters", *DAMP[1:])
    scale = scale_of(*key)
    sure, never = 0.989, 0.011
    files = [
        SharedStudio(
            f"{n}", 60, (), (with_trade(SharedFigure(key[0], key[2], key[1], v, 0.01, 0.99, 60.0)),)
        )
        for n, v in enumerate((sure, sure, never))
    ]
    x = np.linspace(-7.0, 7.0, 20001)
    p = 1.0 / (1.0 + np.exp(-scale.mean - x))
    start = scale.back(scale.mean)
    density = np.exp(-0.5 * x**2)
    for v in (sure, sure, never):
        times = v / (1.0 - v) * (1.0 - start) / start
        density *= p * times + 1.0 - p
    assert off(pool(files), key) == pytest.approx(np.average(x, weights=density), abs=1e-3)
    odd = pool([*files, *files, files[0], replace(files[2], name="odd")])
    more = pool([*files, *files, files[0]])
    values = [next(f.value for f in told.figures) for told in (more, odd)]
    assert 0.0 < values[0] - values[1] < values[0] / 8.0  # one of eight: at most its share


def test_the_range_is_how_far_studios_lie_apart():
    alike = pool([file(f"{n}", 0.5, sd=0.1) for n in range(8)])
    apart = pool([file(f"{n}", 0.5 + (-1) ** n, sd=0.1) for n in range(8)])
    widths = []
    for told in (alike, apart):
        found = next(f for f in told.figures if f.kind == "number" and f.of == "plate_speed")
        widths.append(np.log(found.high / found.low))
    trades = next(f for f in alike.figures if f.of == "plate_speed")
    assert widths[0] < 0.5 * np.log(trades.believed_high / trades.believed_low)
    assert widths[1] > 2.0 * widths[0]


@pytest.mark.parametrize("claim", [-9.0, -2.0, 1.5, 3.0, 9.0])
@pytest.mark.parametrize("plates", [60.0, 1e6])
@pytest.mark.parametrize("vague", [0.4, 0.99, 1.0])
def test_a_hostile_file_of_eight_moves_no_figure_by_more_than_its_share(claim, plates, vague):
    """However little the others know of it, and however sure it is."""
    honest = [file(f"{n}", 0.2 * (n % 3) * (1.0 - vague**2), sd=vague) for n in range(7)]
    before = pool(honest)
    after = pool([*honest, file("bad", claim, sd=0.01, plates=plates)])
    # it counts as two usual files at most, of which there are seven
    share = min(plates, 120.0) / (7 * 60.0 + min(plates, 120.0))
    for key in KEYS:
        moved = abs(off(after, key) - off(before, key))
        assert moved <= share * abs(np.clip(claim, -4.0, 4.0) - off(before, key)) + 1e-3


def test_a_file_that_does_not_fit_is_left_out_and_changes_nothing():
    honest = [file(f"{n}", 0.2, sd=0.3) for n in range(7)]
    told = pool([*honest, file("odd", -4.0, sd=0.1)])
    assert told.left_out == ("odd",)
    assert told.figures == pool(honest).figures
    # nor is it hidden by what it does not say at all, or says vaguely
    for keys in (KEYS[1:], KEYS[:1] + KEYS[2:]):
        assert pool([*honest, file("odd", -4.0, sd=0.1, keys=keys)]).left_out == ("odd",)
    own = (figure(k, -4.0, 1.0 if n == 0 else 0.1, 60.0) for n, k in enumerate(KEYS))
    assert pool([*honest, SharedStudio("odd", 60, (), tuple(own))]).left_out == ("odd",)


def test_figures_that_say_nothing_judge_no_file():
    vague = [file(f"{n}", 0.0, sd=1.0) for n in range(4)]
    assert pool([*vague, file("far", 3.0, sd=1.0)]).left_out == ()


def test_three_figures_judge_a_file_and_two_do_not():
    """Only figures narrower than nine tenths of the trade's own doubt are counted."""
    honest = [file(f"{n}", 0.2, sd=0.3) for n in range(7)]
    for sure, left_out in ((2, ()), (3, ("odd",))):
        own = (figure(k, -4.0, 0.1 if n < sure else 0.91, 60.0) for n, k in enumerate(KEYS))
        assert pool([*honest, SharedStudio("odd", 60, (), tuple(own))]).left_out == left_out
        edge = (figure(k, -4.0, 0.1 if n < 2 else 0.89, 60.0) for n, k in enumerate(KEYS[:sure]))
        assert pool([*honest, SharedStudio("odd", 60, (), tuple(edge))]).left_out == left_out


def test_no_files_change_nothing():
    assert pool([]).figures == ()
    assert assumed_of(pool([])) == of_trade()
    plates = studio(12)
    one, other = (fit(plates, assumed=a) for a in (None, assumed_of(pool([]))))
    assert odds(one, {}) == odds(other, {})


def test_assumptions_reach_conditions_stages_share_and_numbers():
    assumed = assumed_of(pool([file(f"{n}", 1.0, sd=0.2, plates=200.0) for n in range(4)]))
    by_key = {(c.stage, c.key): c for c in assumed.conditions}
    trades = {(c.stage, c.key): c for c in conditions()}
    at = DAMP[1:]
    assert by_key[at].effect_middle > 1.5 * trades[at].effect_middle
    assert by_key[at].effect_low < by_key[at].effect_middle < by_key[at].effect_high
    assert assumed.stages["coat"].ok_middle > of_trade().stages["coat"].ok_middle
    a, b = assumed.good
    assert a / (a + b) > 0.65  # of z = 1 in each file, sure of it
    assert a + b > 5.0
    assert assumed.numbers["plate_speed"][0] > np.log(trade.value("exposure", "plate_speed"))


def test_what_files_let_assume_has_the_middle_and_the_width_that_they_told():
    """A Beta's log odds: digamma and trigamma of its two numbers (any handbook)."""
    window = next(c for c in conditions() if c.form == "window")
    best = ("best", window.stage, window.key)
    matters = ("matters", *DAMP[1:])
    keys = (("good", "", ""), SPEED, best, matters)
    told = pool([file(f"{n}", 0.6, sd=0.2, plates=400.0, keys=keys) for n in range(6)])
    assumed = assumed_of(told)
    by_key = {(c.stage, c.key): c for c in assumed.conditions}

    def spread(key):
        scale, found = (
            scale_of(*key),
            next(f for f in told.figures if (f.kind, f.stage, f.of) == key),
        )
        ends = [scale.to(v) for v in (found.low, found.value, found.high)]
        return ends[1], (ends[2] - ends[0]) / (2.0 * Z80), found.value

    middle, sd, _ = spread(keys[0])
    a, b = assumed.good
    assert digamma(a) - digamma(b) == pytest.approx(middle, abs=0.1)
    assert polygamma(1, a) + polygamma(1, b) == pytest.approx(sd**2, rel=0.15)
    assert assumed.numbers["plate_speed"] == pytest.approx(spread(SPEED)[:2])
    _, sd, value = spread(best)
    assert (by_key[best[1:]].centre, by_key[best[1:]].optimum_sd) == pytest.approx((value, sd))
    assert by_key[DAMP[1:]].inclusion == pytest.approx(spread(matters)[2])


@pytest.mark.parametrize(("claim", "low", "high"), [(-9.0, 0.03, 0.1), (9.0, 0.9, 0.9)])
def test_no_condition_is_taken_as_sure_to_matter_or_not_to(claim, low, high):
    matters = ("matters", *DAMP[1:])
    many = [file(f"{n}", claim, sd=0.3, plates=5000.0, keys=(matters,)) for n in range(30)]
    found = {(c.stage, c.key): c for c in assumed_of(pool(many)).conditions}
    assert low <= found[DAMP[1:]].inclusion <= high


def test_a_young_studio_begins_where_others_are():
    """Two plates of its own next to eight studios of which three in four plates are good."""
    donors = [
        SharedStudio(
            f"{n}", 60, (), (SharedFigure("good", "", "", 0.75, 0.68, 0.82, 60.0, 0.5, 0.1, 0.9),)
        )
        for n in range(8)
    ]
    plates = [good(1), lost(2)]
    alone = odds(fit(plates), {}).base_rate
    with_them = odds(fit(plates, assumed=assumed_of(pool(donors))), {}).base_rate
    assert alone.probability == pytest.approx(0.5)
    assert with_them.probability > 0.65
    assert with_them.high - with_them.low < alone.high - alone.low


def test_conditions_that_no_plate_has_tried_are_shared_as_they_began():
    """However little conditions are taken to matter here, files do not weaken those of others."""
    untried = [c for c in conditions() if c.form.startswith("more") and c.columns == (c.key,)]
    at = {c.key: c.centre for c in untried if c.key != "room_rh_pct"}
    plates = [replace(one, conditions={**at, **one.conditions}) for one in studio(40)]
    fitted = fit(plates)
    told = pool([SharedStudio(n, 40, (), figures_of(fitted, ())) for n in "abcdefgh"])
    found = [f for f in told.figures if f.kind == "effect" and f.of in at]
    assert len(found) > 5
    assert min(fitted.stages[f.stage].strength for f in found) < 0.5
    for one in found:  # draws of a prior: to a twentieth of its width
        scale = scale_of("effect", one.stage, one.of)
        assert scale.to(one.value) == pytest.approx(scale.mean, abs=0.15 * scale.sd), one


def test_what_is_shared_names_nothing_of_the_makers_own():
    plates = [
        replace(one, conditions={**one.conditions, "helper": f"Anna {n % 2}", "lens": "Brass",
                                 "plate_c": 16.0 + n % 9})
        for n, one in enumerate(studio(40))
    ]  # fmt: skip
    shared = figures_of(fit(plates), ())
    documented = {(c.stage, c.key) for c in conditions()}
    for one in shared:
        assert one.low <= one.value <= one.high
        assert scale_of(*one.key) is not None
        if one.stage:
            assert (one.stage, one.of) in documented
    said = repr(shared)
    assert "Anna" not in said
    assert "Brass" not in said
    assert {one.kind for one in shared} >= {"good", "stage", "effect", "matters"}
    [best] = [one for one in shared if one.kind == "best"]  # of the one window that was read
    assert best.key == ("best", "coat", "plate_c")
    for one in shared:  # each next to what it began with, the trade's word
        assert one.believed_low < one.believed < one.believed_high
        trades = with_trade(one)
        if one.kind != "good":
            assert one.believed == pytest.approx(trades.believed)
    damp = next(one for one in shared if one.key == ("matters", "coat", "room_rh_pct"))
    other = next(c for c in conditions() if c.key == "room_rh_pct")
    assert damp.value > other.inclusion, "it decides here"


def test_a_dose_is_shared_with_what_another_studios_light_may_be_wrong_by():
    dose = Learned(
        "development_dose", 500.0, 490.0, 510.0, "kJ/m2", 60, None, 480.0, 250.0, 900.0, False
    )
    shared = figures_of(fit(()), (dose,))[0]
    assert (shared.low, shared.high) == elsewhere(dose)
    assert shared.low < 0.96 * shared.value
