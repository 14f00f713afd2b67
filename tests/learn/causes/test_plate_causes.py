"""What most likely spoilt one plate."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from tests.learn.faults import damp_studio, first, make

from argentry import trade
from argentry.errors import BadInput
from argentry.learn.causes.appearance import stage_causes
from argentry.learn.causes.findings import learned_links, plate_net
from argentry.learn.causes.plate_causes import (
    PLATE_DRAWS,
    StudioPast,
    _priors,
    studio_past,
    why_plate,
)
from argentry.learn.causes.studio_causes import why_studio
from argentry.records.plate import STAGES


def test_a_look_points_to_its_cause_even_in_an_empty_book():
    plate = make(0, {}, fault="finish", defects=("gold_veil",))
    told = why_plate([plate], plate.id)
    assert told.causes[0].cause == "old_gold"
    assert not told.enough_plates
    assert told.words.startswith("Few plates yet (1 failed)")
    assert any("veil in the shadows" in b for b in told.causes[0].because)


def test_looks_are_counted_on_plates_that_failed_and_were_looked_at():
    plates = (
        make(0, {}, fault="finish", defects=("gold_veil", "fog")),
        make(1, {}, fault="coat", defects=("fog",)),
        make(2, {}, fault="coat"),
        make(3, {}, defects=("fog",)),
    )
    assert StudioPast(plates, {}, {}, {}).looked == ({"fog": 2, "gold_veil": 1}, 2)


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
    assert (told.next_check, told.chance) == ("", 0.0)


def test_a_sure_cause_needs_no_check():
    plates = damp_studio(60)
    told = why_plate(plates, max(plates, key=lambda o: o.conditions["room_rh_pct"]).id)
    assert told.causes[0].cause == "damp_air"
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
    worth = {c.cause: c.check_worth for c in told.causes}
    assert worth[told.next_check] == max(worth.values()) > min(worth.values())
    for cause in told.causes:
        assert cause.check
        assert cause.check_minutes > 0
        assert cause.source
    assert list(told.causes) == sorted(told.causes, key=lambda c: (-c.probability, c.cause))


def test_one_plate_starts_from_what_all_plates_put_down_to_each_cause():
    plates = damp_studio(60)
    past, told = studio_past(plates), why_studio(plates, charts=False)
    by_key = {row.cause: row for row in told.causes}
    for stage, view in past.views.items():
        whole = max(told.failures, view.faults)
        for cause, spoilt in zip(stage_causes(stage), past.made[stage][:-1], strict=True):
            if view.faults:
                assert spoilt == pytest.approx(by_key[cause.key].share * whole)
        assert past.made[stage].sum() == pytest.approx(view.faults)
    assert by_key["damp_air"].share > 0.3


def test_looks_count_as_far_as_they_follow_the_table_here():
    plates = [*damp_studio(40), make(900, {}, fault="coat", defects=("chalky",))]
    past = studio_past(plates)

    def chance(follow):
        views = {stage: replace(view, follow=follow) for stage, view in past.views.items()}
        told = why_plate(plates, plates[-1].id, past=replace(past, views=views))
        return sum(c.probability for c in told.causes if c.cause in ("coat_thin", "box_not_full"))

    assert chance(0.95) > 2.0 * chance(0.05)


def test_a_look_that_most_spoilt_plates_have_says_less_of_one():
    plates = [*damp_studio(40), make(900, {}, fault="coat", defects=("chalky",))]
    past = studio_past(plates)
    chalky = tuple(
        replace(o, defects=(("chalky", "coat"),)) if o.defects else o for o in past.ordered
    )

    def chance(ordered):
        told = why_plate(plates, plates[-1].id, past=replace(past, ordered=ordered))
        return sum(c.probability for c in told.causes if c.cause in ("coat_thin", "box_not_full"))

    assert chance(chalky) < 0.8 * chance(past.ordered)


@pytest.mark.parametrize("bad", ["Ada", "Ben"])
def test_a_column_of_words_goes_by_its_name_at_both_doors_and_names_the_word_that_spoils(bad):
    # of two words one has an effect of its own in the fit; it is told against the other
    plates = [
        make(i, {"helper": who}, fault="coat" if who == bad and i % 5 else "")
        for i, who in enumerate(["Ada", "Ben"] * 45)
    ]
    lost = max((o for o in plates if o.grade == "lost"), key=lambda o: o.id)
    told = why_plate(plates, lost.id)
    every = why_studio(plates, charts=False).causes[0]
    one = told.causes[0]
    assert (one.cause, every.cause) == ("helper", "helper")
    assert one.title == f"helper: {bad}"
    assert every.title in {f"helper: {bad}", f"helper: other than {'Ben' if bad == 'Ada' else ''}"}
    assert one.because == ("36 of 45 plates with it failed; 0 of 45 without it",)
    # what the column spoilt, no accident of the day spoilt
    assert told.chance + one.probability <= 1.0
    assert told.words == f"Most likely helper: {bad}."


def test_a_column_of_the_makers_own_may_be_what_spoilt_a_plate():
    rng = np.random.default_rng(3)
    plates = []
    for i in range(90):
        lamp = float(rng.normal(100, 20))
        plates.append(make(i, {"shelf lamp lx": lamp}, fault="coat" if lamp > 112 else ""))
    bright = max(
        (o for o in plates if o.grade == "lost"), key=lambda o: o.conditions["shelf lamp lx"]
    )
    told = why_plate(plates, bright.id)
    top = told.causes[0]
    assert (top.cause, top.stage) == ("shelf lamp lx", "coat")
    assert top.low <= top.probability <= top.high <= 0.86
    assert any("your good plates had" in words for words in top.because)
    assert sum(c.probability for c in told.causes if c.stage == "coat") < 1.3
    assert told.next_check != "shelf lamp lx"


def test_where_the_cause_is_unsure_the_stage_is_told():
    plate = make(0, {}, fault="coat")
    words = why_plate([*damp_studio(50, limit=1e9), plate], plate.id)
    one, two = [c for c in words.causes if c.stage == "coat"][:2]
    assert words.words.endswith(f"Coat: cause unsure. The likeliest two: {one.title}; {two.title}.")


def test_no_stage_is_told_that_nobody_named():
    lost = replace(make(0, {}, grade="lost"), stages={})
    words = why_plate([*damp_studio(50, limit=1e9), lost], lost.id).words
    assert "cause unsure" not in words


@pytest.mark.parametrize("word", ["no 1: blue", "a=b"])
def test_a_word_may_hold_any_sign(word):
    plates = [
        make(i, {"bottle": one}, fault="coat" if one == word and i % 5 else "")
        for i, one in enumerate(["old", word] * 45)
    ]
    lost = max((o for o in plates if o.grade == "lost"), key=lambda o: o.id)
    assert why_plate(plates, lost.id).causes[0].title == f"bottle: {word}"
    every = why_studio(plates, charts=False).causes[0].title
    assert every in {f"bottle: {word}", "bottle: other than old"}


def test_at_most_ten_causes_are_listed_the_likeliest_first():
    plate = replace(make(0, {}, fault="finish"), stages={})  # nobody said which stage
    told = why_plate([plate], plate.id).causes
    likely = [one.probability for one in told]
    assert likely == sorted(likely, reverse=True)
    assert len(told) == 10
    assert likely[-1] > 0.02  # there are more, as likely


def test_a_look_put_down_to_another_stage_speaks_as_far_as_bookings_err():
    """A Beta count stays as large; of it the share of wrong bookings (trade/data/causes.toml)."""
    links = {s: learned_links(s, [], np.zeros((0, len(stage_causes(s))))) for s in STAGES}
    plain = make(0, {}, fault="exposure")
    plain = replace(plain, defects=(("blue_highlights", "exposure"),))
    other = replace(plain, defects=(("blue_highlights", "coat"),))
    here, there = plate_net(plain, links), plate_net(other, links)
    look = here.looks.index("blue_highlights")
    rows = [i for i, cause in enumerate(here.causes) if cause.stage == "exposure"]
    wrong = trade.value("causes", "booked_wrong")
    assert (here.plus[rows, look] > 0.0).any()
    np.testing.assert_allclose(there.plus[rows, look], wrong * here.plus[rows, look])
    both = here.plus[rows, look] + here.minus[rows, look]
    np.testing.assert_allclose(there.plus[rows, look] + there.minus[rows, look], both)


def test_how_often_chance_spoilt_a_stage_counts_with_the_trades_word():
    """A Beta: the trade's word as so many plates, and those of the studio that chance spoilt."""
    net = SimpleNamespace(causes=(), stages=("coat", "finish"))
    table = SimpleNamespace(table=SimpleNamespace(plates=60.0))
    past = SimpleNamespace(
        made={"coat": np.array([9.0, 8.0, 5.0]), "finish": np.array([9.0, 0.0])},
        views=dict.fromkeys(net.stages, table),
    )
    got, given = _priors(past, net, None, 0, np.random.default_rng(1))
    assert (got.shape, given) == ((1 + PLATE_DRAWS, 2), [])
    strength, share = (trade.value("causes", key) for key in ("prior_strength", "chance_share"))
    for column, (stage, spoilt) in enumerate((("coat", 5.0), ("finish", 0.0))):
        usual = sum(one.prior for one in stage_causes(stage)) * share / (1.0 - share)
        mean = (strength * min(usual, 0.5) + spoilt) / (strength + 60.0)
        assert got[0, column] == pytest.approx(mean)
        spread = np.sqrt(mean * (1.0 - mean) / (strength + 61.0))
        assert got[1:, column].mean() == pytest.approx(mean, abs=4.0 * spread / PLATE_DRAWS**0.5)
        assert got[1:, column].std() == pytest.approx(spread, rel=0.3)
