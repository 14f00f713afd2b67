"""The file that studios share: there and back, and every way it may be wrong in one sentence."""

from math import isnan

import pytest

from argentry.errors import BadInput
from argentry.exchange.shared_file import read_shared, shared_text
from argentry.records.learned import SharedFigure, SharedStudio

FIGURES = (
    SharedFigure("good", "", "", 0.5123, 0.4, 0.6, 60.0, 0.5, 0.1, 0.9),
    SharedFigure("effect", "room_rh_pct", "coat", 0.31, 0.1, 0.8, 44.0, 0.4, 0.2, 0.9),
)
TEXT = shared_text(SharedStudio("", 60, (("water", "distilled"),), FIGURES))


OTHER = 'kind = "effect"\nof = "room_rh_pct"\nstage = "coat"'


def kept(tmp_path, text):
    path = tmp_path / "other.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_it_comes_back_as_it_went(tmp_path):
    read = read_shared(kept(tmp_path, TEXT))
    assert read == SharedStudio("other.toml", 60, (("water", "distilled"),), FIGURES)


def test_a_file_of_version_1_is_read_and_kept_as_it_is(tmp_path):
    """It does not say what its studio began with."""
    lines = [one for one in TEXT.splitlines() if "believed" not in one]
    text = "\n".join(lines).replace("version = 2", "version = 1") + "\n"
    read = read_shared(kept(tmp_path, text))
    assert read.version == 1
    assert all(isnan(one.believed) for one in read.figures)
    assert shared_text(read) == text


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('format = "argentry learned"', 'format = "x"', "not a file of what a studio learned"),
        ("version = 2", "version = 3", "this program reads versions 1 and 2"),
        ("version = 2", "version = true", "this program reads versions 1 and 2"),
        ("version = 2", "version = 1", "'believed' is not a key"),
        ("believed = 0.5\n", "", "figure 1, believed: 'None' is not a number"),
        (
            "believed = 0.5\n",
            "believed = 0.95\n",
            "give believed_low, believed, believed_high",
        ),
        ("plates = 60\n", "plates = -1\n", "not a number from 0"),
        ("plates = 60\n", "plates = 60\nplace = 'home'\n", "'place' is not a key"),
        ('kind = "good"', 'kind = "god"', "'god' is not a kind of figure; did you mean"),
        ('kind = "good"', "kind = 3", "'3' is not a word"),
        ("value = 0.5123", "value = 0.7", "does not hold its value"),
        ("low = 0.4", "low = nan", "'nan' is not a number"),
        ("high = 0.6", "high = true", "'True' is not a number"),
        ("high = 0.6\n", "", "'None' is not a number"),
        ('of = "room_rh_pct"', 'of = "room_rh_pct"\nwho = "me"', "'who' is not a key"),
        ('water = "distilled"', "water = 4", "they are not words"),
        (
            OTHER,
            'kind = "good"',
            "stands in it twice",
        ),
    ],
)
def test_a_wrong_file_gets_one_sentence(tmp_path, old, new, says):
    assert old in TEXT
    with pytest.raises(BadInput, match=r"other\.toml") as caught:
        read_shared(kept(tmp_path, TEXT.replace(old, new, 1)))
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe", "not UTF-8"),
        (b"a = [", "not TOML"),
        (b"", "not a file of what a studio learned"),
        (b"x = " + b"[" * 60, "nested deeper"),
        (TEXT.split("[[figure]]")[0].encode(), "it holds no figure"),
        (TEXT.split("[materials]")[0].encode() + b"figure = 3\n", "cannot be read"),
        (TEXT.split("[materials]")[0].encode() + b"figure = [3]\n", "it is not a table"),
    ],
)
def test_what_is_not_such_a_file_gets_one_sentence(tmp_path, data, says):
    with pytest.raises(BadInput) as caught:
        read_shared(kept(tmp_path, data))
    assert says in str(caught.value)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(BadInput, match="there is no such file"):
        read_shared(tmp_path / "none.toml")
