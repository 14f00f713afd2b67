"""Bags: sealed and checked; what reaches out of them, or was changed, is refused."""

import hashlib
import os
import socket

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.exchange.archive.bag import open_bag, safe_name, seal_bag


@pytest.fixture
def bag(tmp_path):
    folder = tmp_path / "bag"
    (folder / "data" / "in").mkdir(parents=True)
    (folder / "data" / "a.txt").write_text("a")
    (folder / "data" / "in" / "b.txt").write_text("b")
    seal_bag(folder, [("Label", "value")])
    return folder


def listed(bag, name, content="a"):
    digest = hashlib.sha256(content.encode()).hexdigest()
    text = (bag / "manifest-sha256.txt").read_text() + f"{digest}  {name}\n"
    (bag / "manifest-sha256.txt").write_text(text)
    (bag / "tagmanifest-sha256.txt").unlink()


def test_sealed_and_opened(bag):
    told = []
    opened = open_bag(bag, lambda *pair: told.append(pair))
    assert set(opened.files) == {"data/a.txt", "data/in/b.txt"}
    assert opened.info == {"Label": "value", "Payload-Oxum": "2.2"}
    assert told[-1][0] == told[-1][1]


@pytest.mark.parametrize(
    "name",
    [
        "/etc/passwd",
        "../outside.txt",
        "data/../../outside.txt",
        "data/in/../../../outside.txt",
        "~/outside.txt",
        "data/c:evil",
        "data\\..\\outside.txt",
        "data//a.txt",
        "data/./a.txt",
        "data/%0Aline",
        "data/%2e%2e/x%00",
    ],
)
def test_paths_that_lead_elsewhere_are_refused(bag, name):
    (bag.parent / "outside.txt").write_text("a")
    listed(bag, name)
    with pytest.raises(
        BadInput, match=r"lies outside the archive|is missing|does not belong"
    ) as told:
        open_bag(bag)
    assert "\n" not in str(told.value)


def link(bag):
    (bag / "data" / "link.txt").symlink_to(bag / "data" / "a.txt")
    listed(bag, "data/link.txt")


def link_folder(bag):
    (bag / "data" / "out").symlink_to(bag.parent, target_is_directory=True)


def pipe(bag):
    os.mkfifo(bag / "data" / "pipe")


def socket_file(bag):
    here = os.open(bag, os.O_RDONLY)
    try:  # a name short enough for the system
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(f"/proc/self/fd/{here}/data/s")
    finally:
        os.close(here)


def changed(bag):
    (bag / "data" / "a.txt").write_text("b")


def changed_info(bag):
    (bag / "bag-info.txt").write_text("Label: other\n")


def extra(bag):
    (bag / "data" / "more.txt").write_text("x")


def gone(bag):
    (bag / "data" / "a.txt").unlink()


def fetched(bag):
    (bag / "fetch.txt").write_text("http://example.org/x 1 data/x\n")


def twice(bag):
    listed(bag, "data/a.txt")


def garbage(bag):
    (bag / "manifest-sha256.txt").write_text("what\n")


def not_text(bag):
    (bag / "manifest-sha256.txt").write_bytes(b"\xff\xfe\xff")


def no_list(bag):
    (bag / "manifest-sha256.txt").unlink()
    (bag / "tagmanifest-sha256.txt").unlink()


def other_form(bag):
    (bag / "bagit.txt").write_text("BagIt-Version: 3.0\n")


def no_bag(bag):
    (bag / "bagit.txt").unlink()


def tag_in_the_list(bag):
    listed(bag, "bagit.txt")


@pytest.mark.parametrize(
    ("spoil", "match"),
    [
        (link, "'data/link.txt' is a link"),
        (link_folder, "'data/out' is a link"),
        (pipe, "'data/pipe' is not a plain file"),
        (socket_file, "'data/s' is not a plain file"),
        (changed, "'data/a.txt' was changed or damaged"),
        (changed_info, "'bag-info.txt' was changed or damaged"),
        (extra, "'data/more.txt' is in it but not in its list"),
        (gone, "'data/a.txt' is missing from it"),
        (fetched, "it has files elsewhere"),
        (twice, "'data/a.txt' is listed twice"),
        (garbage, "line 1: the line must be a checksum and a path"),
        (not_text, "manifest-sha256.txt cannot be read as text"),
        (no_list, "it has no manifest-sha256.txt"),
        (other_form, "its version '3.0' is not supported"),
        (no_bag, "this is not an archive"),
        (tag_in_the_list, "does not belong in this list"),
    ],
)
def test_what_is_wrong_with_a_bag_is_told(bag, spoil, match):
    spoil(bag)
    with pytest.raises(BadInput, match=match) as told:
        open_bag(bag)
    assert "\n" not in str(told.value)


def test_no_folder(tmp_path):
    with pytest.raises(BadInput, match="there is no such folder"):
        open_bag(tmp_path / "none")


def test_any_other_folder_is_called_no_archive_whatever_it_holds(tmp_path):
    """Nobody is told to remove what lies in a folder that was named by mistake."""
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(BadInput, match="it has no bagit"):
        open_bag(tmp_path)


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=30))
def test_a_safe_name_stays_within(name):
    try:
        safe = safe_name("bag", name)
    except BadInput:
        return
    joined = os.path.normpath(os.path.join("/bag", safe))  # noqa: PTH118 - as a system joins it
    assert joined.startswith("/bag/")
