from __future__ import annotations

import copy
import math
from datetime import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.records.studio import Hours, Studio
from argentry.studio.file import check_studio, read_studio, studio_from_tables


def mistakes(tables):
    studio, found = studio_from_tables(tables)
    assert (studio is None) == bool(found)
    return [str(mistake) for mistake in found]


def test_smallest_studio_takes_every_default(small):
    studio, found = studio_from_tables(small)
    assert not found
    assert isinstance(studio, Studio)
    assert studio.hours == Hours()
    assert studio.site.horizon == ()
    assert studio.site.haze_aod is None
    assert studio.boxes[0].temperature_c is None
    assert studio.habits.coat_nm == 25.0
    assert not studio.invented


def test_every_section_reaches_its_record(full):
    studio, found = studio_from_tables(full)
    assert not found
    assert studio.invented
    assert studio.site.horizon == ((90.0, 12.0), (150.0, 5.5), (240.0, 8.0))
    assert studio.lenses[1].near_uv_transmission == 0.7
    assert studio.boxes[0].rested is False
    assert studio.frames[1].lamp.power_w == 500
    assert studio.frames[1].lamp.kind == "halogen"
    assert studio.hours.breaks == (("12:30", "13:15"), ("15:00", "15:20"))
    assert studio.subject.plane == "shade"
    assert studio.habits.good_share_plates == 12


def test_every_mistake_is_told_at_once(full):
    full["site"]["latitude_deg"] = 142
    full["lens"][1]["f_number"] = 0
    full["frame"][1]["lamp"]["power_w"] = "strong"
    full["room"].pop("temperature_c")
    full["habits"]["plate_size"] = "postage"
    found = mistakes(full)
    assert len(found) == 5
    for words in ("latitude_deg", "[[lens]] 2 f_number", "lamp power_w", "room", "plate_size"):
        assert sum(words in sentence for sentence in found) == 1, words


def test_misspelt_required_key_is_one_mistake_not_two(small):
    small["lens"][0]["focal_lenght_mm"] = small["lens"][0].pop("focal_length_mm")
    (sentence,) = mistakes(small)
    assert "there is no key focal_lenght_mm" in sentence
    assert "did you mean focal_length_mm" in sentence


def test_unknown_section_names_the_nearest(small):
    small["habbits"] = {}
    assert "did you mean habits" in mistakes(small)[0]


def test_unknown_key_without_a_near_one_lists_the_keys(small):
    small["room"]["zzz"] = 1
    (sentence,) = mistakes(small)
    assert "temperature_c" in sentence


@pytest.mark.parametrize(
    ("section", "key", "value", "words"),
    [
        ("site", "latitude_deg", 90.01, "from -90 to 90 deg"),
        ("site", "longitude_deg", -181, "from -180 to 180 deg"),
        ("site", "latitude_deg", math.nan, "nan is not a number"),
        ("site", "elevation_m", math.inf, "out of range"),
        ("site", "latitude_deg", "42 N", '"42 N" is not a number'),
        ("site", "latitude_deg", True, "true is not a number"),
        ("site", "time_zone", "Europe/Madrit", 'did you mean "Europe/Madrid"'),
        ("site", "time_zone", "", "is not known here"),
        ("site", "time_zone", "../etc/x", "is not known here"),
        ("site", "time_zone", 1, "1 is not known here"),
        ("site", "horizon", [90, 12], "is not a list of pairs"),
        ("site", "horizon", [[90, 12, 1]], "is not a list of pairs"),
        ("site", "horizon", [[361, 12]], "361 is out of range"),
        ("site", "horizon", [[90, 91]], "91 is out of range"),
        ("site", "horizon", [[90, 5], [90, 6]], "two elevations"),
        ("site", "horizon", [[0, 5], [360, 6]], "two elevations"),
        ("site", "name", "  ", "the name is empty"),
        ("site", "name", "x" * 81, "longer than 80"),
        ("site", "name", "a\nb", "line breaks"),
        ("site", "ground_albedo", 1.0, "out of range"),
        ("room", "relative_humidity_pct", 0, "out of range"),
        ("water", "kind", "destilled", 'did you mean "distilled"'),
        ("hours", "start", "25:00", "is not a clock time"),
        ("hours", "start", "8:00", "is not a clock time"),
        ("hours", "start", "24:00", 'give a clock time from "00:00" to "23:59"'),
        ("hours", "end", "24:01", 'give a clock time from "00:00" to "24:00"'),
        ("hours", "workers", 1.5, "is not a whole number"),
        ("hours", "workers", 0, "out of range"),
        ("hours", "breaks", [["13:00", "12:00"]], "does not go forward"),
        ("hours", "breaks", [["10:00", "11:00"], ["10:30", "12:00"]], "begins before"),
        ("hours", "breaks", [["16:00", "18:00"]], "outside the hours"),
        ("hours", "end", "09:00", "is not after start"),
        ("subject", "plane", "moon", "is not known here"),
        ("subject", "distance_m", 0.18, "not beyond the focal length"),
        ("habits", "coat_nm", -25, "out of range"),
        ("habits", "good_share", 1.2, "out of range"),
    ],
)
def test_wrong_values(full, section, key, value, words):
    full[section][key] = value
    found = mistakes(full)
    assert len(found) == (2 if key == "distance_m" else 1)  # two lenses, both too long
    assert words in found[0]
    assert "\n" not in found[0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda t: t.pop("site"), "[site]: missing"),
        (lambda t: t.pop("lens"), "[[lens]]: missing"),
        (lambda t: t.update(lens=[]), "[[lens]]: missing"),
        (lambda t: t.update(lens=t["lens"][0]), "write [[lens]] with two brackets"),
        (lambda t: t.update(lens=[3]), "is not a section"),
        (lambda t: t.update(site=7), "is not a section"),
        (lambda t: t["lens"][1].update(name="Portrait lens"), "two are called"),
        (lambda t: t["box"][0].update(crystal_area_cm2=500), "more than the floor"),
        (lambda t: t["frame"][0].update(lamp=1), "is not a section"),
        (lambda t: t["frame"][1]["lamp"].update(kind="candle"), "is not known here"),
        (lambda t: t["habits"].pop("good_share"), "give both or neither"),
    ],
)
def test_wrong_structure(full, change, words):
    change(full)
    found = mistakes(full)
    assert len(found) == 1
    assert words in found[0]


def test_toml_clock_times_without_quotes_are_read(full):
    full["hours"]["start"] = time(8, 30)
    studio, _ = studio_from_tables(full)
    assert studio.hours.start == "08:30"


def test_a_day_may_end_at_the_midnight_that_ends_it(small):
    """A sentence said that a day may end at 24:00 at the most, and 24:00 was refused."""
    small["hours"] = {"start": "14:00", "end": "24:00"}
    studio, found = studio_from_tables(small)
    assert not found
    assert studio.hours.end == "24:00"


def test_azimuth_360_is_north(small):
    small["site"]["horizon"] = [[360, 4], [180, 6]]
    studio, _ = studio_from_tables(small)
    assert studio.site.horizon == ((0.0, 4.0), (180.0, 6.0))


anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.times()
    | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=8,
)


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_any_value_anywhere_is_read_or_told_in_one_line(full, data):
    tables = copy.deepcopy(full)
    name = data.draw(st.sampled_from(sorted(tables)))
    part = tables[name]
    target = part[0] if isinstance(part, list) else part
    if isinstance(target, dict):
        target[data.draw(st.sampled_from([*target, "lamp", "x"]))] = data.draw(anything)
    else:
        tables[name] = data.draw(anything)
    for sentence in mistakes(tables):
        assert len(sentence.splitlines()) == 1
        assert sentence.endswith(".")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"name = ", "this is not TOML"),
        (
            b'name = "{a}"\n  silver = 1,1 \n',
            "2, column 13); correct the line: silver = 1,1.",
        ),
        (b'name = "a"\nname = "b"\n', "this is not TOML"),
        (b"\xff\xfe\x00", "is not UTF-8"),
        (b"", "missing"),
    ],
)
def test_unreadable_files(tmp_path, content, words):
    (tmp_path / "studio.toml").write_bytes(content)
    studio, found = check_studio(tmp_path)
    assert studio is None
    assert any(words in str(mistake) for mistake in found)


def test_no_folder_and_no_file(tmp_path):
    with pytest.raises(BadInput, match="no such studio folder"):
        read_studio(tmp_path / "nowhere")
    with pytest.raises(BadInput, match=r"no studio\.toml here"):
        read_studio(tmp_path)


def test_reading_tells_the_first_mistake_and_counts_the_rest(tmp_path):
    (tmp_path / "studio.toml").write_text('name = "x"\n', encoding="utf-8")
    with pytest.raises(BadInput, match=r"\[site\]: missing.*more: argentry studio check"):
        read_studio(tmp_path)
