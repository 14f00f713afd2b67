"""A day of six plates: a first plan, the answer with its proof or gap, memory; and --help."""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path


def _timed(arguments: list[str], repeats: int) -> tuple[float, float, float, str]:
    """Return (median wall seconds, median of its processor's, peak MB, last output)."""
    walls, worked, peak, output = [], [], 0.0, ""
    for _ in range(repeats):
        began = time.perf_counter()
        with tempfile.TemporaryFile("w+") as out:
            child = subprocess.Popen(arguments, stdout=out, stderr=subprocess.DEVNULL)
            _, status, usage = os.wait4(child.pid, 0)
            walls.append(time.perf_counter() - began)
            assert os.waitstatus_to_exitcode(status) == 0, arguments
            worked.append(usage.ru_utime + usage.ru_stime)
            peak = max(peak, usage.ru_maxrss / 1024)
            out.seek(0)
            output = out.read()
    return sorted(walls)[repeats // 2], sorted(worked)[repeats // 2], peak, output


def run() -> list[tuple[str, str]]:
    tool = str(Path(sys.executable).with_name("argentry"))
    bare, *_ = _timed([sys.executable, "-c", "pass"], 9)
    shown, *_ = _timed([tool, "--help"], 9)
    rows = [
        (
            "argentry --help, against a bare interpreter (limit 0.3 s)",
            f"{shown:.3f} s against {bare:.3f} s, {shown / bare:.1f} times",
        )
    ]
    # What any planner of this size must first do: start and import the same libraries.
    libraries = "import numpy; from ortools.sat.python import cp_model"
    with tempfile.TemporaryDirectory() as folder:
        studio = Path(folder) / "studio"
        subprocess.run([tool, "demo", str(studio)], check=True, stdout=subprocess.DEVNULL)
        for date in ("2026-06-21", "2026-09-21", "2026-12-21"):
            command = [tool, "day", date, "--studio", str(studio), "--plates", "6", "--json"]
            # by turns with the libraries, as a busy machine is not as fast all the time
            runs = [
                (_timed([sys.executable, "-c", libraries], 1)[1], *_timed(command, 1))
                for _ in range(5)
            ]
            imports, walls, worked, peaks, outputs = zip(*runs, strict=True)
            times = statistics.median(
                own / bare_imports for own, bare_imports in zip(worked, imports, strict=True)
            )
            plan = json.loads(outputs[-1])
            proof = plan["proof"]
            gap = (
                "proved"
                if proof["optimal"]
                else f"gap {proof['finish_minutes'] - proof['bound_minutes']:.0f} min"
                if proof["finish_minutes"] is not None
                else "no plate placed"
            )
            figure = (
                f"{statistics.median(walls):.2f} s, {gap}; "
                f"first plan {proof['first_plan_seconds']:.2f} s; "
                f"{times:.1f} times the bare imports in processor time "
                f"({statistics.median(worked):.2f} and {statistics.median(imports):.2f} s); "
                f"peak {max(peaks):.0f} MB"
            )
            what = f"day {date}, 6 plates asked, {plan['plates_placed']} placed (limit 5 s)"
            rows.append((what, figure))
    return rows
