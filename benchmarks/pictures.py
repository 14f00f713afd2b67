"""Pictures judged: CPU beside the library calls they stand on, memory, a survey with a kill."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import resource
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

import numpy as np
from PIL import Image
from scipy import ndimage

from benchmarks.seeing.change_scene import change_scene
from benchmarks.seeing.plate_scene import plate_scene
from benchmarks.seeing.scene import scene

SEED = 61000  # of pictures that nothing was tuned on
SMALL = 480, 360  # px of the pictures of a survey: reading and bookkeeping weigh most then
KINDS = 10  # different pictures in a survey; the others differ from them by one byte at the end
FIGURE = "{cpu:.2f} s of CPU ({asked} asked), {ratio:.1f} times; peak {mb:.0f} MB"
SURVEYED = "{kept} rows kept, {fresh} judged after it, {known} known; {files} files in {rows} rows"
CHILD = """
import json, sys
from benchmarks.pictures import cpu, peaks
from pathlib import Path
import argentry.keeping.seeing.{module} as desk
files = [Path(one) for one in sys.argv[1:]]
began = cpu()
desk.{call}
spent = cpu() - began
print(json.dumps([spent, max(peaks())]))
"""
SURVEY = """
import json, os, signal, sys
from pathlib import Path
from benchmarks.pictures import peaks
from argentry.keeping.seeing.many import survey
from argentry.keeping.seeing.plate import AskedPlate

def progress(done, count):
    if done == int(sys.argv[4]):
        os.kill(os.getpid(), signal.SIGKILL)

if __name__ == "__main__":
    found = survey(Path(sys.argv[1]), AskedPlate("quarter"), Path(sys.argv[2]),
                   processes=int(sys.argv[3]), progress=progress)
    print(json.dumps([found.judged, found.known, *peaks()]))
"""


def cpu():
    """Return the CPU seconds of this process and of those it has waited for."""
    spent = (resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in spent)


def peaks():
    """Return the peak memory of this process and of the largest it has waited for. [MB].

    Its own comes from the kernel's page: what getrusage says was that of who started it.
    """
    own = re.search(r"VmHWM:\s*(\d+)", Path("/proc/self/status").read_text())
    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return int(own[1]) / 1024, children / 1024


def enlarged(content, width, height):
    """Return a picture drawn at another size, as the bytes of a JPEG."""
    image, out = Image.open(io.BytesIO(content)).convert("RGB"), io.BytesIO()
    image.resize((width, height), Image.Resampling.BICUBIC).save(out, "JPEG", quality=93)
    return out.getvalue()


def library(file, most):
    """CPU of decoding a file with Pillow and one Gaussian of SciPy on it, as it is looked at."""
    began = cpu()
    with Image.open(file) as image:
        image.draft("RGB", (most, most))
        image.thumbnail((most, most))
        ndimage.gaussian_filter(np.asarray(image, float), (1.5, 1.5, 0.0))
    return cpu() - began


def judged(module, call, files):
    """Return CPU and peak memory of one question, asked in a process of its own."""
    code = CHILD.format(module=module, call=call)
    asked = [sys.executable, "-c", code, *map(str, files)]
    done = subprocess.run(asked, check=True, capture_output=True, text=True)
    return json.loads(done.stdout)


def single(folder):
    """Yield the three questions on large pictures."""
    before, after, _ = change_scene(SEED, "areas")
    pictures = {
        "coat": enlarged(scene(SEED)[1], 4000, 3000),
        "plate": enlarged(plate_scene(SEED)[0], 5600, 4200),
        "before": enlarged(before, 5600, 4300), "after": enlarged(after, 5600, 4300),
    }  # fmt: skip
    files = {name: folder / f"{name}.jpg" for name in pictures}
    for name, content in pictures.items():
        files[name].write_bytes(content)
    for what, module, call, names, most, asked in (
        ("a coat of 12 MP", "coat", "judge_coat_file(files[0], desk.AskedCoat())",
         ("coat",), 800, "0.6 s"),
        ("a plate of 24 MP", "plate", "judge_plate_file(files[0], desk.AskedPlate())",
         ("plate",), 2400, "4 s"),
        ("a change between two of 24 MP", "change",
         "judge_change_files(*files, desk.AskedChange(same_light=True))",
         ("before", "after"), 2400, "none"),
    ):  # fmt: skip
        own = [files[name] for name in names]
        spent, peak = judged(module, call, own)
        base = sum(library(file, most) for file in own)
        yield what, FIGURE.format(cpu=spent, asked=asked, ratio=spent / base, mb=peak)


def surveyed(folder, table, processes, end=-1):
    """Survey a folder, killed when so many files are done; return seconds and what it printed."""
    script = table.with_suffix(".py")
    script.write_text(SURVEY)
    began = perf_counter()
    here = os.pathsep.join([str(Path(__file__).parents[1]), os.environ.get("PYTHONPATH", "")])
    done = subprocess.run(
        [sys.executable, script, folder, table, str(processes), str(end)],
        capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": here},
    )  # fmt: skip
    if done.returncode not in (0, -signal.SIGKILL):
        raise RuntimeError(done.stderr)
    return perf_counter() - began, json.loads(done.stdout or "null")


def many(folder, count):
    """Yield a survey of so many pictures, killed half-way, and one process beside two."""
    first, all_of = folder / "first", folder / "all"
    for one in (first, all_of):
        one.mkdir()
    drawn = [plate_scene(SEED + k, size=SMALL)[0] for k in range(KINDS)]
    for number in range(count):
        content = drawn[number % KINDS] + number.to_bytes(4, "big")
        (all_of / f"{number:05d}.jpg").write_bytes(content)
        if number < count // 5:
            (first / f"{number:05d}.jpg").write_bytes(content)
    table = folder / "all.csv"
    before, _ = surveyed(all_of, table, 2, count // 2)
    kept = len(table.read_text().splitlines()) - 1
    after, (fresh, known, own, child) = surveyed(all_of, table, 2)
    with table.open(newline="") as stream:
        names = [row["file"] for row in csv.DictReader(stream)]
    yield (
        f"survey of {count} pictures by two processes, killed half-way",
        SURVEYED.format(
            kept=kept, fresh=fresh, known=known, files=len(set(names)), rows=len(names)
        ),
    )
    yield "its seconds for 100 pictures", f"{100 * (before + after) / count:.0f}"
    yield "its peak memory: parent, largest child", f"{own:.0f} and {child:.0f} MB"
    for processes in (1, 2):
        seconds, _ = surveyed(first, folder / f"first{processes}.csv", processes)
        each = 100 * seconds / (count // 5)
        yield f"seconds for 100 pictures by {processes} of 2 cores", f"{each:.0f}"
    same = [(folder / f"first{processes}.csv").read_bytes() for processes in (1, 2)]
    yield "the same table from one process and from two", str(same[0] == same[1])


def run(draws=500):
    with tempfile.TemporaryDirectory() as held:
        yield from single(Path(held))
        yield from many(Path(held), draws)
