"""The solver's library is loaded without pandas, and pandas is itself afterwards."""

import subprocess
import sys

SCRIPT = """
import sys
from argentry.plan.solver import cp_sat
cp = cp_sat.load()
assert "pandas" not in sys.modules, "the stand-in stayed"
assert cp_sat.load() is cp
model = cp.CpModel()
x = model.new_int_var(0, 9, "x")
model.add(2 * x >= 7)
model.minimize(x)
solver = cp.CpSolver()
assert solver.solve(model) == cp.OPTIMAL and solver.value(x) == 4
import pandas
assert pandas.Series([1, 2]).sum() == 3
"""


def test_plans_need_no_pandas_and_leave_it_as_it_is():
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], check=False, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr


def test_the_true_pandas_is_left_where_it_is_loaded():
    script = "import pandas as true, sys\n" + SCRIPT.replace(
        'assert "pandas" not in sys.modules, "the stand-in stayed"',
        "assert sys.modules['pandas'] is true and cp.pd is true",
    )
    done = subprocess.run(
        [sys.executable, "-c", script], check=False, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
