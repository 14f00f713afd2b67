"""Opening the first page and planning a wish in place, in Chromium; `argentry day` offline."""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

OPENINGS, WHOLE = 40, 6
CHROMIUM = "/usr/bin/chromium"
TOOL = str(Path(sys.executable).with_name("argentry"))
REFERENCE = "/terms"  # a page of the same server with the same frame, that works nothing out
LOADED = "() => performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"
PLANNED = "() => document.querySelector('#plan [data-state]').dataset.state === 'whole'"
# from the change of a field to the plan that stands for it, as the page puts it in place
PRESS = """([count, start]) => new Promise((done) => {
  const form = document.getElementById("wishes"), plan = document.getElementById("plan");
  form.count.value = count;
  form.start.value = start;
  const began = performance.now();
  new MutationObserver((_, watch) => {
    if (plan.querySelector(".refused")) throw new Error(plan.innerText);
    watch.disconnect();
    done(performance.now() - began);
  }).observe(plan, { childList: true });
  form.start.dispatchEvent(new Event("change", { bubbles: true }));
})"""
NONE = 'source = "none"\n'
UNREACHABLE = 'source = "open-meteo"\nagreed = ["open-meteo"]\nhost = "127.0.0.1:9"\n'


def run(draws: int = OPENINGS) -> list[tuple[str, str]]:
    """Measure on the demo studio, with its year of plates in the book.

    Parameters
    ----------
    draws : int
        Openings, and as many presses; of the command three pairs for eight of them.
    """
    from benchmarks.chaos.ground import serving

    with tempfile.TemporaryDirectory() as place:
        studio = Path(place) / "studio"
        _tool("demo", str(studio))
        _tool("book", "import", str(studio / "plates.csv"), "--studio", str(studio))
        began = time.perf_counter()
        with serving(studio) as server:
            rows = _pages(server.port, began, draws)
        return rows + _commands(studio, max(3 * draws // 8, 2))


def _tool(*words: str) -> None:
    subprocess.run([TOOL, *words], check=True, stdout=subprocess.DEVNULL)


def _pages(port: int, began: float, count: int) -> list[tuple[str, str]]:
    """Measure the pages: openings by turns with the reference, then presses."""
    from playwright.sync_api import sync_playwright

    from benchmarks.server import Caller, _p95

    caller, base = Caller(port), f"http://127.0.0.1:{port}"

    def until(words: bytes) -> str:
        while words not in caller.ask("GET", "/")[1]:
            time.sleep(1.0)  # the page itself takes work
        return f"{time.perf_counter() - began:.1f} s"

    rows = [
        ("from the start of the server to the whole plan of the day", until(b'data-state="whole"')),
        ("  and to the last of the eleven days ahead", until(b'data-left="0"')),
    ]
    took: dict[str, list[float]] = {"/": [], REFERENCE: []}
    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 820, "height": 1180})
        for turn in range(count + 2):
            for path, times in took.items():
                page.goto(base + path)
                if path == "/":
                    assert page.evaluate(PLANNED)
                if turn >= 2:  # the first ones fill the browser's cache
                    times.append(page.evaluate(LOADED))
        page.goto(base)
        presses = [page.evaluate(PRESS, _wish(turn)) for turn in range(count)]
        browser.close()
    whole, caller = [], Caller(port)  # the one from before was closed by the server meanwhile
    for turn in range(count, count + WHOLE):
        plates, start = _wish(turn)
        status, body, ms = caller.ask("GET", f"/today/plan?count={plates}&start={start}")
        assert status == 200, body
        whole.append(ms)
    opened, plain = _p95(took["/"]), _p95(took[REFERENCE])
    pressed, middle = _p95(presses), statistics.median(whole)
    return [
        *rows,
        (
            f"p95 of opening, the plan in sight (limit 1 s; {count} openings)",
            f"{opened:.0f} ms, {opened / plain:.2f} times the page {REFERENCE} ({plain:.0f} ms)",
        ),
        (
            f"p95 from a wish to its plan in place (limit 3 s; {count} presses)",
            f"{pressed / 1000:.2f} s, {pressed / middle:.2f} times its whole plan",
        ),
        (
            f"  middle press; middle of {WHOLE} whole plans",
            f"{statistics.median(presses) / 1000:.2f} s; {middle / 1000:.2f} s",
        ),
    ]


def _wish(turn: int) -> list[str]:
    """Return plates and a start that were not wished before: what is kept answers at once."""
    return [str(1 + turn % 4), f"{7 + turn // 12:02d}:{5 * (turn % 12):02d}"]


def _commands(studio: Path, count: int) -> list[tuple[str, str]]:
    """Measure `argentry day` in pairs: a service that cannot be reached, and none."""
    file = studio / "studio.toml"
    text = file.read_text(encoding="utf-8")
    assert text.count(NONE) == 1
    file.write_text(text.replace(NONE, UNREACHABLE), encoding="utf-8")
    took: dict[str, list[tuple[float, float]]] = {"offline": [], "none": []}
    for turn in range(count + 1):
        order = list(took.items())[:: 1 if turn % 2 else -1]  # either goes first as often
        for way, times in order:
            more = ("--weather", "none") if way == "none" else ()
            before, began = os.times(), time.perf_counter()
            _tool("day", "tomorrow", "--plates", "2", "--studio", str(studio), *more)
            wall, after = time.perf_counter() - began, os.times()
            cpu = after.children_user + after.children_system
            cpu -= before.children_user + before.children_system
            if turn:
                times.append((wall, cpu))
    offline, none = (np.array(times) for times in took.values())
    apart = offline - none
    wall, cpu = apart.mean(axis=0)
    unsure, cpu_unsure = apart.std(axis=0, ddof=1) / math.sqrt(count)
    return [
        (
            f"argentry day, service out of reach, less --weather none (limit 0.1 s; {count} pairs)",
            f"{wall:+.3f} s (standard error {unsure:.3f}) of {np.median(none[:, 0]):.2f} s",
        ),
        ("  of a processor", f"{cpu:+.3f} s (standard error {cpu_unsure:.3f})"),
    ]
