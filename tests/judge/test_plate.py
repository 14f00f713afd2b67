"""Faults of finished plates, found in pictures of a plate and a camera of their own."""

import io

import numpy as np
import pytest
from benchmarks.seeing import plate_other
from benchmarks.seeing.plate import findings, seen_of
from benchmarks.seeing.plate_scene import GREYS, plate_scene
from PIL import Image, ImageFilter

from argentry import trade
from argentry.judge import plate as seeing
from argentry.judge.bare_silver import NO_COLOUR
from argentry.judge.buff_lines import buff_lines
from argentry.judge.grey_scale import BEYOND, NO_SCALE
from argentry.judge.outline.plate_edges import NOT_FOUND
from argentry.judge.scratches import scratches, weight_of
from argentry.judge.sharpness import sharpness
from argentry.judge.spots import spots
from argentry.keeping.seeing.blur import SOFT_COPY, blur_of
from argentry.physics.coat import colour

SMALL = (1000, 750)


@pytest.fixture(scope="module")
def faulty():
    content, truth = plate_scene(41, ("fog", "blue", "rim", "buff", "spots"), size=SMALL)
    return content, truth, seen_of(content, truth)


@pytest.fixture(scope="module")
def clean():
    content, truth = plate_scene(42, size=SMALL)
    return content, truth, seen_of(content, truth)


@pytest.fixture(scope="module")
def little():
    """A picture of which nothing fine is asked."""
    return plate_scene(42, size=(600, 450))


def test_a_clean_plate_has_no_finding_and_its_edges_are_found(clean):
    _, truth, seen = clean
    assert findings(seen) == set()
    assert np.abs(seen.corners - truth.corners).max() < 2.0
    assert seen.fog == pytest.approx(truth.fog, abs=0.02)
    assert seen.spots == ()


def test_plates_of_another_build_that_nothing_was_set_on_are_told_alike():
    content, truth = plate_other.plate_scene(21, size=(900, 690))
    seen = seen_of(content, truth)
    assert findings(seen) == set()
    assert np.abs(seen.corners - truth.corners).max() < 2.5
    assert seen.fog == pytest.approx(truth.fog, abs=0.02)
    content, truth = plate_other.plate_scene(22, ("fog", "buff"), size=(900, 690))
    seen = seen_of(content, truth)
    assert findings(seen) == {"fog", "buff"}
    assert seen.fog == pytest.approx(truth.fog, abs=0.02)
    assert abs((seen.buff.direction_deg - truth.buff_deg + 90) % 180 - 90) < 3.0


@pytest.mark.parametrize(
    ("make", "blur", "kind"),
    [
        (plate_scene, None, "sharp"),
        (plate_scene, ("focus", 6.0, 0.0), "unknown"),
        (plate_scene, ("motion", 14.0, 65.0), "motion"),
        (plate_other.plate_scene, None, "sharp"),
        (plate_other.plate_scene, ("focus", 7.0, 0.0), "unknown"),
    ],
)
def test_sharp_is_told_from_soft_and_motion_only_with_evidence(make, blur, kind):
    told, _ = blur_of(seen_of(*make(13, size=SMALL, blur=blur)), 1.0)
    assert told.kind == kind
    assert told.odds >= 0.5
    assert told.copy_px < 1.1


@pytest.mark.parametrize(("make", "seed"), [(plate_scene, 5), (plate_other.plate_scene, 20)])
def test_scratches_are_found_where_they_lie_and_lines_of_a_buff_are_none(make, seed):
    content, truth = make(seed, ("scratches",), size=SMALL)
    seen = seen_of(content, truth)
    assert seen.scratches
    assert "scratches" in findings(seen)  # one alone is long enough
    for one in seen.scratches:
        middle = np.add(one.start, one.end) / 2
        off = [_from_line(middle, hair) for hair in truth.hairs]
        assert min(off) < 12.0  # those of the second build are bent
    assert seen.evenness < 0.2
    assert seen_of(*make(seed, ("buff",), size=SMALL)).scratches == ()


def _hair(sheet, start, end, light=1.4):
    """Draw a line 1.5 px wide on a sheet of luminance."""
    y, x = np.mgrid[0 : sheet.shape[0], 0 : sheet.shape[1]]
    way = np.subtract(end, start) / np.hypot(*np.subtract(end, start))
    along = (x - start[0]) * way[0] + (y - start[1]) * way[1]
    across = np.abs((y - start[1]) * way[0] - (x - start[0]) * way[1])
    on = (along >= 0) & (along <= np.hypot(*np.subtract(end, start)))
    return sheet * np.where(on, 1 + (light - 1) * np.clip(1.25 - across, 0, 1), 1.0)


@pytest.mark.parametrize(
    ("lines", "count", "offered"),
    [
        ([((100, 80), (400, 240)), ((110, 230), (410, 90))], 2, True),  # they cross
        ([((80, 150), (180, 160)), ((240, 166), (340, 176))], 1, True),  # one that fades
        ([((150, 150), (195, 162))], 1, False),  # as short as a sliver of the picture
        ([((60, 60), (200, 120))], 1, True),
    ],
)
def test_scratches_that_cross_are_two_and_a_long_one_counts_alone(lines, count, offered):
    rng = np.random.default_rng(4)
    sheet = 0.2 * np.exp(0.01 * rng.normal(size=(330, 900)))
    for start, end in lines:
        sheet = _hair(sheet, start, end)
    found = scratches(sheet)
    assert len(found) == count
    assert (weight_of(found) >= trade.value("seeing", "scratches_from")) is offered
    long = max(np.hypot(*np.subtract(end, start)) for start, end in lines)
    assert found[0].share * 900 > 0.85 * long


def test_a_cast_makes_no_light_blue_and_an_overexposed_light_is_not_told(clean):
    content, _, _ = clean
    shown = np.asarray(Image.open(io.BytesIO(content)))
    levels = colour.from_srgb_bytes(shown)
    for cast in ((0.78, 1.0, 1.4), (1.15, 1.0, 0.8)):
        drawn = 255 * np.clip(levels * cast, 0.0, 1.0) ** (1 / 2.4)  # another tone curve as well
        seen = seeing.see_plate((drawn + 0.5).astype("uint8"), seeing.PlateLook())
        assert seen.blue < trade.value("seeing", "blue_from_share")
    over = (np.clip(shown * 2.2, 0, 255)).astype("uint8")
    assert ("blue_share", seeing.CLIPPED) in seeing.see_plate(over, seeing.PlateLook()).whys


def test_a_picture_packed_hard_has_no_lines_of_a_buff(clean):
    content, truth, _ = clean
    out = io.BytesIO()
    Image.open(io.BytesIO(content)).save(out, "JPEG", quality=70)
    assert seen_of(out.getvalue(), truth).buff.strength < 0.8 * trade.value("seeing", "buff_from")


def _from_line(point, hair):
    start, end = np.array(hair[:2]), np.array(hair[2:])
    along = np.clip((point - start) @ (end - start) / ((end - start) @ (end - start)), 0.0, 1.0)
    return float(np.hypot(*(point - start - along * (end - start))))


def test_a_page_on_a_dark_table_is_not_judged_as_a_plate():
    rng = np.random.default_rng(8)
    picture = np.full((600, 800, 3), 12.0)
    picture[60:540, 90:710] = 225.0
    for row in range(90, 520, 18):  # lines of print
        picture[row : row + 5, 130:670] = np.where(rng.random((5, 540, 1)) < 0.5, 40.0, 225.0)
    picture = np.clip(picture + rng.normal(0, 2, picture.shape), 0, 255).astype("uint8")
    seen = seeing.see_plate(picture, seeing.PlateLook())
    assert seen.corners is not None
    assert seen.why == seeing.PAPER
    # who marks a part of it says that it is a plate
    assert seeing.see_plate(picture, seeing.PlateLook(unlit=(400.0, 300.0))).why == ""


def test_a_soft_copy_of_a_sharp_picture_is_not_told(clean):
    content, truth, _ = clean
    picture = Image.open(io.BytesIO(content)).filter(ImageFilter.GaussianBlur(2.0))
    out = io.BytesIO()
    picture.save(out, "PNG")
    none, (why,) = blur_of(seen_of(out.getvalue(), truth), 1.0)
    assert (none, why.why) == (None, SOFT_COPY)
    flat = sharpness(np.full((300, 400), 0.2))
    assert (flat.widths, flat.own) == ((None,) * 6, None)


def test_the_width_of_a_step_drawn_soft_by_pillow_is_found():
    """Outside: Pillow's own Gaussian blur; the widths of the formula are those of a bell."""
    for width in (1.0, 1.5, 2.5):
        sheet = Image.new("L", (400, 300), 40)
        sheet.paste(160, (40, 40, 360, 260))
        sheet.paste(90, (120, 100, 280, 200))
        drawn = (np.asarray(sheet.filter(ImageFilter.GaussianBlur(width))) / 255.0) ** 2
        told = [one for one in sharpness(drawn).widths if one is not None]
        assert told == pytest.approx([width] * len(told), abs=0.25)
        assert len(told) >= 2


def test_every_fault_is_found_with_its_figure(faulty):
    _, truth, seen = faulty
    assert findings(seen) == {"fog", "blue", "rim", "buff", "spots"}
    assert seen.fog == pytest.approx(truth.fog, abs=0.03)  # fog, blue and rim at once
    off = (seen.buff.direction_deg - truth.buff_deg + 90) % 180 - 90
    assert abs(off) < 4.0
    assert 0.0 < seen.rim < 0.15
    for x, y, diameter, light in truth.spots:
        near = min(seen.spots, key=lambda one: np.hypot(one.x - x, one.y - y))
        assert np.hypot(near.x - x, near.y - y) < max(3.0, diameter / 2)
        assert near.tone == ("light" if light else "dark")


@pytest.mark.parametrize(
    ("change", "what", "why"),
    [
        ({"grey": None}, "fog_share", NO_SCALE),
        ({"unlit": None}, "fog_share", seeing.NO_UNLIT),
        ({"unlit": (5000.0, 10.0)}, "fog_share", BEYOND),
        ({"smooth": None}, "spots", seeing.NO_GROUND),
        ({"smooth": (5000.0, 10.0, 90.0, 90.0)}, "spots", seeing.NO_ROOM),
    ],
)
def test_what_is_missing_is_said(little, change, what, why):
    content, truth = little
    known = {
        "grey": truth.grey,
        "trap": truth.trap,
        "unlit": truth.unlit,
        "smooth": truth.smooth,
        **change,
    }
    look = seeing.PlateLook(densities=GREYS, **known)
    seen = seeing.see_plate(np.asarray(Image.open(io.BytesIO(content))), look)
    assert (what, why) in seen.whys
    assert (seen.fog is None) == (what == "fog_share")
    assert (seen.spots is None) == (what == "spots")


def test_a_plate_that_is_small_in_the_picture_is_not_judged(clean):
    small = Image.open(io.BytesIO(clean[0])).resize((240, 180))
    assert seeing.see_plate(np.asarray(small), seeing.PlateLook()).why == seeing.TOO_SMALL


def test_a_black_and_white_picture_tells_neither_blue_lights_nor_tarnish(little):
    content, truth = little
    grey = np.asarray(Image.open(io.BytesIO(content)).convert("L").convert("RGB"))
    seen = seeing.see_plate(grey, seeing.PlateLook(truth.grey, GREYS, None, truth.unlit))
    assert (seen.blue, seen.rim, seen.rim_colour) == (None, None, pytest.approx(0.0, abs=0.1))
    whys = dict(seen.whys)
    assert [whys[what] for what in ("blue_share", "rim_share", "rim_mm")] == 3 * [NO_COLOUR]
    assert whys["fog_share"] == seeing.NO_TRAP


def test_a_picture_without_a_plate_says_so():
    grey = np.full((300, 400, 3), 90, dtype="uint8")
    assert seeing.see_plate(grey, seeing.PlateLook()).why == NOT_FOUND


@pytest.mark.parametrize("angle", [0.0, 30.0, 120.0])
def test_lines_are_told_anticlockwise_from_the_horizontal(angle):
    y, x = np.mgrid[0:300, 0:400]
    turn = np.radians(angle)
    # rows count downwards: a line at 30 degrees rises to the right
    across = x * np.sin(turn) + y * np.cos(turn)
    found = buff_lines(0.2 * (1 + 0.05 * np.sin(across * 1.3)))
    assert (found.direction_deg - angle + 90) % 180 - 90 == pytest.approx(0.0, abs=1.0)
    assert found.strength > 0.9


def test_a_line_on_the_ground_is_not_a_spot():
    rng = np.random.default_rng(3)
    ground = 0.3 * (1 + 0.01 * rng.normal(0, 1, (120, 160)))
    ground[60:62, 10:150] = 0.6
    y, x = np.mgrid[0:120, 0:160]
    ground[np.hypot(y - 30, x - 40) < 4] = 0.12
    (one,) = spots(ground, (0, 0, 160, 120))
    assert (round(one.x), round(one.y), one.tone) == (40, 30, "dark")
    assert one.diameter == pytest.approx(8.0, abs=1.5)


def test_streaks_of_a_picture_that_moved_are_no_lines_of_a_buff():
    from scipy import ndimage

    rng = np.random.default_rng(52)
    fine = ndimage.uniform_filter1d(rng.normal(0.0, 1.0, (600, 900)), 18, axis=1)
    moved = 0.2 * (1.0 + 0.03 * fine / fine.std())
    assert buff_lines(moved).strength == 0.0
    assert buff_lines(0.2 * (1.0 + 0.01 * np.eye(600, 900))).strength == 0.0  # nothing else there
    across = np.arange(600)[:, None] + 0.05 * np.arange(900)[None, :]
    buffed = buff_lines(moved * (1.0 + 0.1 * np.sin(across * 1.3)))
    assert buffed.strength > trade.value("seeing", "buff_from")
    off = buffed.direction_deg - np.degrees(np.arctan(0.05))
    assert abs((off + 90.0) % 180.0 - 90.0) < 1.5
