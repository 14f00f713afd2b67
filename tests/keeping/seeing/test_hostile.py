"""Forty files that mean no good, whatever is asked of them: a sentence or a sound answer."""

import pytest
from tests.book.hostile_pictures import HOSTILE

from argentry.errors import BadInput
from argentry.keeping.seeing.change import AskedChange, judge_change_files
from argentry.keeping.seeing.coat import AskedCoat, judge_coat_file
from argentry.keeping.seeing.plate import AskedPlate, judge_plate_file
from argentry.keeping.seeing.wedge import AskedWedge, judge_wedge_file

LINE, BELOW = (20.0, 50.0, 280.0, 50.0), (20.0, 150.0, 280.0, 150.0)
ASKED = {
    "coat": lambda file: judge_coat_file(file, AskedCoat(seconds=60.0)),
    "coat, all said": lambda file: judge_coat_file(
        file, AskedCoat("tungsten", "left", (24.0, 5.0), 60.0)
    ),
    "wedge": lambda file: judge_wedge_file(file, AskedWedge(ends=LINE, grey=BELOW)),
    "plate": lambda file: judge_plate_file(
        file,
        AskedPlate("quarter", BELOW, None, (9.0, 9.0), (60.0, 60.0), (50.0, 40.0, 150.0, 60.0)),
    ),
    "change": lambda file: judge_change_files(file, other_than(file), AskedChange("quarter")),
}


def other_than(file):
    """Return the same picture as another file: trailing bytes are no part of it."""
    again = file.with_name("again")
    again.write_bytes(file.read_bytes() + b"\0")
    return again


def test_there_are_forty():
    assert len(HOSTILE) == 40


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_a_sentence_or_a_sound_answer(name, tmp_path):
    content, _, why = HOSTILE[name]
    file = tmp_path / "\x1b[2Jof <b>another kind.pdf"
    file.write_bytes(content)
    for what, ask in ASKED.items():
        try:
            seen = ask(file)
        except BadInput as refused:
            said = str(refused)
            assert why is not None or "JPEG" in said, (what, said)
        else:
            said = seen.line
            assert seen.not_told, what
            assert all(one.why for one in seen.not_told)
            # nothing is measured where there is neither coat nor wedge
            assert getattr(seen, "thickness_nm", None) is None, what
            assert getattr(seen, "speed_point_log_exposure", None) is None, what
            assert "\x1b" not in seen.file
        assert said, what
        assert "\n" not in said, what
        assert "Traceback" not in said, what
