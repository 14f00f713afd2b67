"""Coats told from pictures of another room, camera and film than the judge's own."""

from dataclasses import replace

import numpy as np
import pytest
from benchmarks.seeing.scene import CARD, LIGHTS, scene

from argentry import trade
from argentry.judge import bare_silver, coat_map
from argentry.judge.coat import (
    BLOWN,
    CARD_BLOWN,
    NAME_LIGHT,
    NO_CARD,
    NO_COAT,
    RED_LIGHT,
    TWO_COATS,
    Look,
    band_colours,
    see_coat,
)
from argentry.judge.evenness import evenness
from argentry.judge.outline import plate_edges
from argentry.physics.coat import colour, interlayer
from argentry.physics.coat.camera import beside_silver, camera_doubt


def look_of(truth, **more):
    names = [truth.light] if truth.light in LIGHTS else ["window"]
    lights = {name: colour.light(LIGHTS[name]) for name in names}
    known = {"bare": truth.bare, "expected": truth.expected, **more}
    return Look(lights, interlayer.likely(), **known)


@pytest.fixture(scope="module")
def tidy():
    truth, _ = scene(2001, kind="thin edge")
    return truth, see_coat(truth.picture, look_of(truth))


def test_a_tidy_picture_tells_thickness_corners_strip_and_thin_edge(tidy):
    truth, seen = tidy
    best = seen.coats[0]
    assert best.thickness_nm == pytest.approx(truth.mean, abs=5.0)
    assert best.low_nm < best.thickness_nm < best.high_nm
    assert np.abs(seen.corners - truth.corners).max() < 4.0
    assert (seen.strip.side, seen.light, seen.why) == (truth.bare, truth.light, "")
    both = np.isfinite(best.fields_nm) & np.isfinite(truth.thickness)
    assert both.sum() > 120
    assert np.quantile(np.abs(best.fields_nm - truth.thickness)[both], 0.95) < 7.0
    assert evenness(best.fields_nm).thin_edge == truth.thin_edge
    # bare silver is never taken for a coat
    assert not np.isfinite(best.fields_nm[np.isnan(truth.thickness)]).any()


def test_two_coats_that_meet_along_a_line_are_not_read_as_one(tidy):
    truth, _ = tidy
    light = truth.picture.copy()
    light[:, 400:] = light[:, 400:] * 0.6  # a shadow is not another coat
    assert see_coat(light, look_of(truth)).coats
    other = truth.picture.copy()
    other[:, 400:] = other[:, 400:] * np.array([1.0, 0.88, 0.8])
    seen = see_coat(other, look_of(truth))
    assert (seen.coats, seen.order, seen.why) == ((), None, TWO_COATS)


def test_the_strip_is_found_where_nobody_says_where_it_is(tidy):
    truth, seen = tidy
    found = see_coat(truth.picture, look_of(truth, bare=None))
    assert found.strip.side == truth.bare
    assert found.coats[0].thickness_nm == pytest.approx(seen.coats[0].thickness_nm, abs=1.0)


def test_an_edge_that_is_coated_is_not_taken_for_silver(tidy):
    truth, _ = tidy
    other = next(one for one in bare_silver.SIDES if one not in (truth.bare, truth.thin_edge))
    seen = see_coat(truth.picture, look_of(truth, bare=other))
    assert seen.coats == ()
    assert seen.why == bare_silver.NOT_BARE.format(side=other)


DOUBTS = trade.value("seeing", "light_sd"), trade.value("seeing", "chroma_sd")


def test_without_a_clock_the_two_blues_are_told_as_two():
    grid = coat_map.GRID_NM
    layers = interlayer.likely()
    looks = [(w, beside_silver(grid, colour.light("D65"), layer=one)) for w, one in layers]
    fields = np.broadcast_to(looks[1][1][168], (12, 16, 3))
    found, _ = coat_map.coats(fields, looks, None, DOUBTS)
    told = sorted(one.thickness_nm for one in found if one.weight > 0.1)
    assert told == pytest.approx([45, 168], abs=5)
    assert sum(one.weight for one in found) == pytest.approx(1.0)
    for clock, nm in (((44.0, 10.0), 45), ((160.0, 30.0), 168)):
        best = coat_map.coats(fields, looks, clock, DOUBTS)[0][0]
        assert best.thickness_nm == pytest.approx(nm, abs=5)
        assert best.weight > 0.9


def day_looks():
    light = colour.light("D65")
    looks = [
        (weight, beside_silver(coat_map.GRID_NM, light, layer=one))
        for weight, one in interlayer.likely()
    ]
    return looks, camera_doubt(coat_map.GRID_NM, light)


@pytest.mark.parametrize("nm", [15.0, 20.0, 24.0])
def test_a_gold_whose_layer_and_curve_are_in_doubt_is_one_coat(nm):
    looks, camera = day_looks()
    fields = np.broadcast_to(beside_silver([nm], colour.light("D65"))[0], (12, 16, 3))
    (best,), _ = coat_map.coats(fields, looks, (22.0, 8.0), DOUBTS, camera)
    assert best.low_nm < nm < best.high_nm


@pytest.mark.parametrize("nm", [20.0, 33.0, 44.0])
def test_a_film_and_camera_of_another_kind_move_the_map_and_do_not_flatten_it(nm):
    """A whole plate's colour that is off is not the fields': they are told beside each other."""
    looks, camera = day_looks()
    own = nm * np.linspace(0.9, 1.1, 16)
    colours = beside_silver(own, colour.light("D65")) * np.array([1.08, 1.03, 1.2])
    fields = np.broadcast_to(colours, (12, 16, 3))
    best = coat_map.coats(fields, looks, (nm, 0.3 * nm), DOUBTS, camera)[0][0]
    told = best.fields_nm[5] / best.fields_nm[5].mean()
    assert told == pytest.approx(own / own.mean(), abs=0.045)


def test_a_thin_edge_of_a_gold_shows_where_its_blue_hides_it():
    """By lamplight the blue of 22 nm is at its least, and the coat is read a nanometre too thin."""
    light = colour.light("LED")
    looks = [
        (weight, beside_silver(coat_map.GRID_NM, light, layer=one))
        for weight, one in interlayer.likely()
    ]
    camera = camera_doubt(coat_map.GRID_NM, light)
    for edge, thin in ((0.94, "left"), (1.0, None)):
        own = np.full((12, 16), 22.0)
        own[:, 0] *= edge
        fields = beside_silver(own.ravel(), light).reshape(12, 16, 3)
        best = coat_map.coats(fields, looks, (22.0, 4.8), DOUBTS, camera)[0][0]
        assert evenness(best.fields_nm).thin_edge == thin


def test_of_a_coat_mostly_covered_no_edge_is_told():
    for rows, columns in ((3, 16), (12, 4), (4, 4)):
        fields = np.full((12, 16), np.nan)
        fields[:rows, :columns] = 30.0
        fields[0, 0] = 20.0
        found = evenness(fields)
        assert {nm for _, nm in found.edges_nm} == {None}
        assert found.thin_edge is None


def test_the_range_is_what_the_colour_leaves_open_and_no_more():
    """A violet changes with each nanometre; hardly any blue is left of a gold by lamplight."""
    halves = {}
    for nm, name in ((20.0, "A"), (40.0, "D65")):
        light = colour.light(name)
        looks = [
            (weight, beside_silver(coat_map.GRID_NM, light, layer=one))
            for weight, one in interlayer.likely()
        ]
        fields = np.broadcast_to(beside_silver([nm], light)[0], (12, 16, 3))
        camera = camera_doubt(coat_map.GRID_NM, light)
        best = coat_map.coats(fields, looks, (nm, 0.25 * nm + 2.0), DOUBTS, camera)[0][0]
        halves[nm] = (best.high_nm - best.low_nm) / 2
    assert halves[40.0] < 2.7 < 4.0 < halves[20.0]


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"strip": False}, bare_silver.NONE_FOUND),
        ({"light": "red"}, RED_LIGHT),
        ({"blown": 2.0}, BLOWN),
    ],
)
def test_no_thickness_is_told_where_none_can_be(more, why):
    truth, _ = scene(2002, **more)
    seen = see_coat(truth.picture, look_of(truth, bare=None))
    assert seen.coats == ()
    assert seen.why in (why, bare_silver.CLIPPED)


def test_for_want_of_a_strip_a_card_in_the_picture_tells_it_with_a_wider_doubt(tidy):
    truth, _ = scene(2003, strip=False, card=True)
    known = look_of(truth, card=CARD)
    seen = see_coat(truth.picture, known)
    best = seen.coats[0]
    assert (seen.by_card, seen.strip) == (True, None)
    assert abs(best.thickness_nm - truth.mean) < 10.0
    by_strip = see_coat(tidy[0].picture, look_of(tidy[0])).coats[0]
    assert best.high_nm - best.low_nm > by_strip.high_nm - by_strip.low_nm
    unnamed = replace(known, lights={name: colour.light(name) for name in ("D65", "A")})
    blown = (np.clip(truth.picture.astype(float) * 3.0, 0, 255)).astype("uint8")
    for picture, look, why in (
        (truth.picture, replace(known, card=None), bare_silver.NONE_FOUND),
        (truth.picture, replace(known, card=(5000.0, 0.0, 40.0, 40.0)), NO_CARD),
        (truth.picture, unnamed, NAME_LIGHT),
    ):
        told = see_coat(picture, look)
        assert (told.coats, told.why) == ((), why)
    assert see_coat(blown, known).why in (BLOWN, CARD_BLOWN)


def test_by_red_light_order_is_told_and_no_thickness(tidy):
    truth, _ = tidy
    seen = see_coat(truth.picture, look_of(truth, red=True))
    assert (seen.coats, seen.why) == ((), RED_LIGHT)
    assert np.nanmin(seen.order) == 0.0
    assert np.nanmax(seen.order) == 1.0


def test_a_black_and_white_picture_tells_no_coat(tidy):
    truth, _ = tidy
    grey = truth.picture[..., 1:2].repeat(3, axis=2)
    seen = see_coat(grey, look_of(truth))
    assert (seen.coats, seen.order, seen.why) == ((), None, bare_silver.NO_COLOUR)
    assert band_colours(grey, (200.0, 300.0, 500.0, 300.0), 5, truth.bare) == bare_silver.NO_COLOUR


@pytest.mark.parametrize("kind", ["noise", "grey", "stripes"])
def test_a_picture_without_a_plate_says_so(kind):
    rng = np.random.default_rng(1)
    picture = {
        "noise": rng.integers(0, 255, (300, 400, 3)),
        "grey": np.full((300, 400, 3), 128),
        "stripes": np.broadcast_to((np.arange(400) // 20 % 2 * 200)[None, :, None], (300, 400, 3)),
    }[kind]
    seen = see_coat(picture.astype("uint8"), Look({"window": colour.light("D65")}, ()))
    assert (seen.coats, seen.why, seen.corners) == ((), plate_edges.NOT_FOUND, None)


def test_what_mirrors_fingers_is_left_out():
    truth, _ = scene(2003, by_hand=True)
    best = see_coat(truth.picture, look_of(truth)).coats[0]
    hidden = np.isnan(truth.thickness)
    both = np.isfinite(best.fields_nm) & ~hidden
    assert both.sum() > 60
    assert best.thickness_nm == pytest.approx(truth.mean, abs=8.0)


def test_a_map_is_smoothed_over_what_is_seen():
    fields = np.full((4, 4), 10.0)
    fields[1, 1], fields[0, 0] = 90.0, np.nan
    smooth = coat_map.smoothed(fields)
    assert smooth[1, 1] == 10.0
    assert np.isnan(smooth[0, 0])


@pytest.mark.parametrize(("edge", "thin"), [(9.55, "left"), (9.7, None), (11.0, None)])
def test_an_edge_is_thin_from_a_share_of_the_middle_on(edge, thin):
    fields = np.full((12, 16), 10.0)
    fields[:, :2] = edge
    found = evenness(fields)
    assert found.thin_edge == thin
    assert found.middle_nm == 10.0
    assert dict(found.edges_nm)["left"] == edge
    fields[:, :2] = np.nan  # a bare strip: the edge of the coat is where it begins
    assert evenness(fields).thin_edge is None


def test_a_map_is_smoothed_without_bending_its_slopes_and_edges():
    slope = 20.0 + np.add.outer(0.3 * np.arange(12.0), 0.5 * np.arange(16.0))
    slope[-2:] = np.nan  # the bare strip
    np.testing.assert_allclose(coat_map.smoothed(slope), slope)
    spot = slope.copy()
    spot[5, 5] += 30.0
    np.testing.assert_allclose(coat_map.smoothed(spot), slope, atol=0.81)


def test_a_coat_by_an_own_scale_is_as_sure_as_the_scale_and_beyond_it_as_before():
    bands = np.array([[10.0, 0.9, 0.8, 0.7], [30.0, 0.6, 0.5, 0.4]])
    near, far = (
        coat_map.Coat(nm, nm - 9.0, nm + 9.0, 1.0, np.full((12, 16), nm)) for nm in (20.0, 31.0)
    )
    sure = coat_map.as_sure_as(near, bands)
    sd = np.hypot(
        trade.value("seeing", "scale_sd_nm"), 20.0 * trade.value("seeing", "scale_sd_share")
    )
    assert (sure.high_nm - 20.0, 20.0 - sure.low_nm) == pytest.approx(
        (1.2816 * sd, 1.2816 * sd), rel=1e-4
    )
    assert coat_map.as_sure_as(far, bands) == far


def test_a_blue_book_with_a_grey_spine_is_not_a_coat():
    picture = np.full((300, 400, 3), 40, dtype=np.uint8)
    for colour_of_it, told in (((109, 137, 217), False), ((217, 195, 120), True)):
        picture[60:240, 80:320] = 217
        picture[60:240, 104:320] = colour_of_it
        seen = see_coat(picture, Look({"window": colour.light("D65")}, interlayer.likely()))
        assert bool(seen.coats) == told
        assert seen.why == ("" if told else NO_COAT)
