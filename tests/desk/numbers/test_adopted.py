"""Files of other studios kept in this one: which may be, under which names."""

from dataclasses import replace

import pytest

from argentry.desk.numbers.adopted import NOTHING, adopt, adopted_in, note_own, read_files
from argentry.errors import BadInput
from argentry.exchange.shared_file import shared_text
from argentry.records.learned import OLD_VERSION, SharedFigure, SharedStudio

GOOD = SharedFigure("good", "", "", 0.5, 0.4, 0.6, 60.0, 0.5, 0.1, 0.9)


def written(folder, name, figure=GOOD, *, version=2, plates=60):
    file = folder / name
    file.write_text(shared_text(SharedStudio("", plates, (), (figure,), version)))
    return file


@pytest.fixture
def others(tmp_path):
    place = tmp_path / "others"
    place.mkdir()
    return place


def test_files_are_numbered_in_their_order_and_take_the_place_of_those_before(tmp_path, others):
    named = "b" * 70 + ".toml"
    files = [written(others, name, plates=60 + n) for n, name in enumerate(("z.toml", named))]
    assert adopted_in(None) == adopted_in(tmp_path) == NOTHING
    both = adopt(tmp_path, files)
    kept = sorted(one.name for one in (tmp_path / "adopted").iterdir())
    assert kept == ["001-z.toml", f"002-{'b' * 60}.toml"]
    assert both.files == tuple(kept)
    assert both.plates == 121
    assert adopted_in(tmp_path) == both
    assert (tmp_path / "adopted" / "001-z.toml").read_text() == files[0].read_text()
    one = adopt(tmp_path, files[:1])
    assert one.files == ("001-z.toml",)
    assert one.plates == 60
    assert adopt(tmp_path, []) == NOTHING
    assert list((tmp_path / "adopted").iterdir()) == []


def test_what_a_studio_wrote_itself_and_what_says_the_same_are_not_adopted(tmp_path, others):
    first, same = written(others, "a.toml"), written(others, "b.toml")
    other = written(others, "c.toml", plates=61)
    with pytest.raises(BadInput, match=r"b\.toml: it says the same as a\.toml"):
        read_files([first, same], tmp_path)
    assert len(read_files([first, same])) == 2, "adopted before"
    note_own(tmp_path, other.read_text())
    note_own(tmp_path, "another\n")
    noted = (tmp_path / "shared.txt").read_text()
    note_own(tmp_path, "another\n")
    assert (tmp_path / "shared.txt").read_text() == noted
    assert len(set(noted.splitlines())) == 2
    with pytest.raises(BadInput, match=r"c\.toml: this studio wrote it"):
        adopt(tmp_path, [first, other])
    assert not (tmp_path / "adopted").exists()


def test_a_hundred_files_are_weighed_at_once(others):
    file = written(others, "a.toml")
    assert len(read_files([file] * 100)) == 100
    with pytest.raises(BadInput, match="101 files are more than can be weighed; give at most 100"):
        read_files([file] * 101)


@pytest.mark.parametrize(
    "wrong", [{"low": 0.0}, {"high": 1.0}, {"believed_low": 0.0}, {"believed_high": 1.0}]
)
def test_a_share_lies_between_0_and_1(others, wrong):
    right = {"low": 1e-3, "high": 0.999, "believed_low": 1e-3, "believed_high": 0.999}
    (read,) = read_files([written(others, "a.toml", replace(GOOD, **right))])
    assert read.figures[0] == replace(GOOD, **right)
    with pytest.raises(BadInput, match=r"b\.toml, figure 1: .* cannot be; .* between 0 and 1"):
        read_files([written(others, "b.toml", replace(GOOD, **wrong))])


def test_an_older_file_does_not_say_what_its_studio_began_with(others):
    old = written(others, "a.toml", version=OLD_VERSION)
    assert "believed" not in old.read_text()
    assert read_files([old])[0].figures[0].high == 0.6


def test_a_figure_that_is_not_known_here_is_named(others):
    strange = replace(GOOD, kind="number", of="moon")
    with pytest.raises(BadInput, match="figure 1: 'moon' is not known here as number"):
        read_files([written(others, "a.toml", strange)])
