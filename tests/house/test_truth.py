"""docs/truth.md says what every printed figure rests on, and is what the program says today."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from argentry import trade

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def builder():
    spec = spec_from_file_location("docs_truth", ROOT / "builders/docs_truth.py")
    module = sys.modules[spec.name] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_current(builder):
    current = (ROOT / "docs/truth.md").read_text(encoding="utf-8")
    assert current == builder.page(), "run: python builders/docs_truth.py"


def test_every_number_of_a_planned_day_has_its_row(builder):
    told = {number for figure in builder.FIGURES for number in figure.numbers}
    assert builder.numbers() - told - builder.ASKED == set()
    assert told | builder.ASKED <= builder.numbers()


def test_every_fact_and_check_exists(builder):
    for figure in builder.FIGURES:
        for key in figure.facts:
            subject, name = key.split("/")
            assert name in trade.facts(subject), key
        assert figure.checks, figure.name
        for check in figure.checks:
            assert (ROOT / check).is_file(), check


def test_the_parts_of_a_doubt_make_up_the_whole(builder):
    """By squares, as independent causes do; what the command tells as a whole is their sum."""
    for ask in (builder.EXPOSE, builder.DEVELOP):
        told = builder.makers().said(ask)["doubt"]
        whole = sum(sigma**2 for _, sigma in builder.told_parts(ask)) ** 0.5
        assert whole == pytest.approx(told["sigma_stops"])
