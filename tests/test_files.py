"""Files that a maker names: devices, pipes and deep nesting are refused in bounded time."""

import os
from pathlib import Path

import pytest

from argentry.errors import BadInput
from argentry.files import (
    MEGABYTE,
    read_file,
    read_toml,
    refused_by_disk,
    toml_of,
    toml_value,
    write_whole,
)


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 50_000,
        "a = " + "{b = " * 50_000,
        "a" + ".a" * 100_000 + " = 1",
        "[" + "a." * 100_000 + "a]",
        "x = {a" + ".a" * 50_000 + " = 1}",
        "a = " + "9" * 10_000,
        "a = '''" + "[" * 50_000,
        'a = "' + "\\" * 50_001,
    ],
)
def test_toml_made_to_do_harm_is_refused(text):
    """Before, the dotted keys took minutes and the deep ones ended in a traceback."""
    with pytest.raises(BadInput, match=r"nested deeper|not TOML") as told:
        toml_of("studio.toml", text.encode())
    assert "\n" not in str(told.value)


def test_plain_toml_is_read():
    text = 'title = "a.b.c [[[["\n[columns]\nwords = { "x" = "y" }\nlist = [[1, 2], [3]]\n'
    assert toml_of("m.toml", text.encode())["columns"]["list"] == [[1, 2], [3]]


@pytest.mark.parametrize(
    "value", ['a "b" \\ c', "\x7f\t\x1b\n", "Größe", 17.5, 1e20, 3, True, ["a", [1, 2]]]
)
def test_what_is_written_as_toml_is_read_as_it_was(value):
    assert toml_of("m.toml", f"value = {toml_value(value)}".encode())["value"] == value


def test_what_never_ends_or_never_begins_is_not_opened(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (
        Path("/dev/zero"),
        tmp_path / "pipe",
        tmp_path,
        tmp_path / "none",
        Path("a" * 5000),
    ):
        with pytest.raises(BadInput) as told:
            read_toml(path)
        assert "\n" not in str(told.value)


def test_no_more_is_read_than_allowed(tmp_path):
    with (tmp_path / "huge").open("wb") as stream:
        stream.truncate(40 * MEGABYTE)  # a hole: takes no room
    with pytest.raises(BadInput, match="larger than 1 MB"):
        read_file(tmp_path / "huge", MEGABYTE, "give less")


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path):
    write_whole(tmp_path / "a.txt", "one\n")
    write_whole(tmp_path / "a.txt", "größer\n")
    (tmp_path / "folder").mkdir()
    with pytest.raises(OSError, match="folder"):
        write_whole(tmp_path / "folder", "two")
    assert (tmp_path / "a.txt").read_bytes() == "größer\n".encode()
    assert {one.name for one in tmp_path.iterdir()} == {"a.txt", "folder"}


def test_what_the_disk_refuses_is_one_sentence(tmp_path):
    (tmp_path / "file").write_text("x")
    for inside in (tmp_path / "file" / "a", tmp_path / "none" / "a"):
        with (
            pytest.raises(BadInput, match=r"a: it cannot be written \((Not a|No such).*\); try it"),
            refused_by_disk(inside, "try it"),
        ):
            write_whole(inside, "y")
    with pytest.raises(BadInput, match="already told"), refused_by_disk(tmp_path, "try it"):
        raise BadInput("a", "already told", "so")
