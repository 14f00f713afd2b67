"""A day of six plates: a first plan, the answer with its proof or gap, memory; and --help."""

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def _timed(arguments: list[str], repeats: int) -> tuple[float, float, str]:
    """Return (median wall seconds, peak MB of the process, last output)."""
    walls, peak, output = [], 0.0, ""
    for _ in range(repeats):
        began = time.perf_counter()
        with tempfile.TemporaryFile("w+") as out:
            child = subprocess.Popen(arguments, stdout=out, stderr=subprocess.DEVNULL)
            _, status, usage = os.wait4(child.pid, 0)
            walls.append(time.perf_counter() - began)
            assert os.waitstatus_to_exitcode(status) == 0, arguments
            peak = max(peak, usage.ru_maxrss / 1024)
            out.seek(0)
            output = out.read()
    return sorted(walls)[len(walls) // 2], peak, output


def run() -> list[tuple[str, str]]:
    tool = str(Path(sys.executable).with_name("argentry"))
    bare, _, _ = _timed([sys.executable, "-c", "pass"], 9)
    shown, _, _ = _timed([tool, "--help"], 9)
    rows = [
        (
            "argentry --help, against a bare interpreter (limit 0.3 s)",
            f"{shown:.3f} s against {bare:.3f} s, {shown / bare:.1f} times",
        )
    ]
    # What any planner of this size must first do: start and import the same libraries.
    libraries = "import numpy; from ortools.sat.python import cp_model"
    imports, _, _ = _timed([sys.executable, "-c", libraries], 3)
    with tempfile.TemporaryDirectory() as folder:
        studio = Path(folder) / "studio"
        subprocess.run([tool, "demo", str(studio)], check=True, stdout=subprocess.DEVNULL)
        for date in ("2026-06-21", "2026-09-21", "2026-12-21"):
            command = [tool, "day", date, "--studio", str(studio), "--plates", "6", "--json"]
            wall, peak, output = _timed(command, 3)
            plan = json.loads(output)
            proof = plan["proof"]
            gap = (
                "proved"
                if proof["optimal"]
                else f"gap {proof['finish_minutes'] - proof['bound_minutes']:.0f} min"
                if proof["finish_minutes"] is not None
                else "no plate placed"
            )
            figure = (
                f"{wall:.2f} s, {gap}; first plan {proof['first_plan_seconds']:.2f} s; "
                f"{wall / imports:.1f} times the bare imports ({imports:.2f} s); "
                f"peak {peak:.0f} MB"
            )
            what = f"day {date}, 6 plates asked, {plan['plates_placed']} placed (limit 5 s)"
            rows.append((what, figure))
    return rows
