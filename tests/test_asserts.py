"""Asserts in less time: rewritten once for all processes, long arrays compared at once."""

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import numpy as np
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


TOLERANCES = [
    {},
    {"rel": 1e-3},
    {"abs": 1e-3},
    {"rel": 1e-3, "abs": 1e-3},
    {"rel": 0.0, "abs": 0.0},
]


@pytest.mark.parametrize("tolerance", TOLERANCES)
def test_a_long_array_is_near_where_each_number_is(asserts, tolerance):
    rng = np.random.default_rng(17)
    found = set()
    for off in (0.0, 1e-13, 5e-7, 2e-6, 5e-4, 2e-3):
        for size in (1e-9, 1.0, 1e6):
            wanted = size * rng.normal(size=40)
            for there in (wanted, wanted[0]):
                actual = wanted + off * size if there is wanted else np.full(40, there * (1 + off))
                one_by_one = all(a == pytest.approx(b, **tolerance)
                                 for a, b in np.broadcast(actual, there))  # fmt: skip
                assert asserts.near(pytest.approx(there, **tolerance), actual) == one_by_one
                assert (actual == pytest.approx(there, **tolerance)) == one_by_one
                found.add(one_by_one)
    assert found == {True, False}


@pytest.mark.parametrize("odd", [np.nan, np.inf])
def test_a_long_array_with_one_number_off_or_none_is_not_near(asserts, odd):
    whole = np.ones(1000)
    assert asserts.near(pytest.approx(whole), whole)
    one_off = np.where(np.arange(1000) == 500, odd, 1.0)
    assert one_off != pytest.approx(whole)
    assert whole != pytest.approx(one_off)
    assert not asserts.near(pytest.approx(one_off), one_off)  # left to pytest, which says:
    assert (one_off == pytest.approx(one_off)) == np.isinf(odd)
    assert one_off == pytest.approx(one_off, nan_ok=True)
    assert not asserts.near(pytest.approx(np.ones((10, 100))), whole)
