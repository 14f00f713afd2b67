"""The tests side by side: every file runs once, and no failure or lost process is passed over."""

import os
import subprocess
import sys
from pathlib import Path

FILES = {
    "test_one.py": "def test_a(): pass\ndef test_b(): pass",
    "test_two.py": (
        "import pytest\ndef test_c(): assert 1 == 2\n@pytest.mark.skip\ndef test_d(): pass"
    ),
    "test_three.py": "import os\ndef test_e(): os._exit(7)",
    "test_four.py": "def test_f(",
}
RUN = """
import sys
from pathlib import Path
from tests import __main__ as tests
tests.READ_ONCE, tests.HERE = (), Path.cwd()
sys.exit(tests.main(sys.argv[1:]))
"""


def side_by_side(folder, *names, words=()):
    for name in names:
        (folder / name).write_text(FILES[name])
    env = os.environ | {
        "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "PYTHONPATH": str(Path(__file__).parents[1]),
    }  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", RUN, "-n", "2", "-q", *words],
        cwd=folder, env=env, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout


def test_every_file_runs_once_and_a_failure_and_an_unreadable_file_are_told(tmp_path):
    code, told = side_by_side(tmp_path, "test_one.py", "test_two.py", "test_four.py")
    assert code == 1
    assert "FAILED test_two.py::test_c" in told
    assert "ERROR test_four.py" in told
    assert "2 passed, 1 failed, 1 skipped, 1 error in" in told


def test_a_process_that_is_lost_is_told_with_its_last_file(tmp_path):
    code, told = side_by_side(tmp_path, "test_one.py", "test_three.py")
    assert code == 1
    assert "THIS PROCESS ENDED WITH 7" in told
    assert str(tmp_path / "test_three.py") in told


def test_where_all_pass_the_end_is_good(tmp_path):
    code, told = side_by_side(tmp_path, "test_one.py")
    assert code == 0
    assert "2 passed, 0 failed, 0 skipped in" in told
    code, told = side_by_side(tmp_path, words=["-k", "no_such_test"])
    assert (code, "0 passed" in told) == (1, True)
