"""What the processes of a run share: the asserts of the test files, rewritten once."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from _pytest.assertion import rewrite

TEXT = "def test_it():\n    total = 3\n    assert total == 4\n"


@pytest.fixture(scope="module")
def asserts():
    spec = spec_from_file_location("rewriting", Path(__file__).with_name("asserts.py"))
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_what_is_kept_is_what_pytest_reads_and_tells_of_an_assert(asserts, tmp_path, request):
    file = tmp_path / "test_it.py"
    file.write_text(TEXT)
    kept = rewrite.get_cache_dir(file) / f"test_it{rewrite.PYC_TAIL}"
    asserts.keep(file, request.config)
    code, names = rewrite._read_pyc(file, kept), {"__name__": "test_it"}
    exec(code, names)
    with pytest.raises(AssertionError, match="3 == 4"):
        names["test_it"]()
    file.write_text(TEXT.replace("3", "5"))
    assert rewrite._read_pyc(file, kept) is None
    asserts.keep(file, request.config)
    assert rewrite._read_pyc(file, kept) is not None
