"""The examples written in the code say what the code does."""

import doctest
import importlib
from pathlib import Path

import numpy as np
import pytest

SRC = Path(__file__).resolve().parents[2] / "src"
MODULES = sorted(
    ".".join(path.relative_to(SRC).with_suffix("").parts).removesuffix(".__init__")
    for path in SRC.rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name):
    with np.printoptions(legacy=False):  # a library of the tests changes how arrays are written
        failed, tried = doctest.testmod(importlib.import_module(name))
    assert failed == 0
    assert tried > 0
