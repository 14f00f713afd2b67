"""OR-Tools' CP-SAT, loaded without pandas.

Its Python module imports pandas, for tables of variables that nothing here asks for: 40 MB and
0.2 s of every command that plans. A stand-in answers while the module is loaded, and is gone
afterwards.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import Any


class _Table:
    """What the module takes a table of pandas for: no value is ever one."""


def load() -> Any:
    """Return the module ``cp_model``, as it is where pandas is loaded already.

    Returns
    -------
    module
        `ortools.sat.python.cp_model`.
    """
    if "pandas" in sys.modules or "ortools.sat.python.cp_model" in sys.modules:
        return import_module("ortools.sat.python.cp_model")
    stand_in: Any = ModuleType("pandas")
    stand_in.Index = stand_in.Series = stand_in.DataFrame = _Table
    sys.modules["pandas"] = stand_in
    try:
        return import_module("ortools.sat.python.cp_model")
    finally:
        del sys.modules["pandas"]
