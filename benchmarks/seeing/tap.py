"""From the tap on a picture of 8 MB to the line, in Chromium at phone size over plain HTTP.

Run ``python -m benchmarks seeing.tap``. The link is held to 20 Mbit/s by the browser itself.
"""

import io
import os
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image

from benchmarks.seeing.scene import scene

MBIT, LATENCY_MS = 20, 5
BETWEEN_MS = 1000  # two presses in a row count as one
SIZE, QUALITY = (4000, 3000), 97
GRAIN = 14.0  # 8-bit levels, so that a file has the size that a phone's has
FIGURE = "{middle:.1f} s in the middle, longest {most:.1f} of {count}; {mb:.1f} MB; load {load:.1f}"


def large(content):
    """Return a picture of 12 MP and some 8 MB, as a phone writes it."""
    small = Image.open(io.BytesIO(content)).resize(SIZE, Image.Resampling.BICUBIC)
    grain = np.random.default_rng(1).normal(0.0, GRAIN, (SIZE[1], SIZE[0], 1))
    out = io.BytesIO()
    pixels = np.clip(np.asarray(small) + grain, 0, 255).astype("uint8")
    Image.fromarray(pixels).save(out, "JPEG", quality=QUALITY)
    return out.getvalue()


def coated(server):
    """Return the run of a plate whose coat is to be looked at."""
    run = server.open_run("One")
    plate = server.up_to(run, "iodise")
    for reading, value in (("box_c", 22.0), ("room_c", 20.0)):
        server.send(run, "reading_taken", what=reading, value=value, unit="°C")
    server.send(run, "step_begun", plate, "iodise")
    server.later += 60.0
    server.send(run, "step_ended", plate, "iodise")
    return run


def seconds(page, glass, file, act):
    """Return how long it takes from the choice of a file to the map and the line. [s]."""
    page.wait_for_timeout(BETWEEN_MS)
    with page.expect_file_chooser() as chooser:
        glass.act(act)
    began = time.perf_counter()
    chooser.value.set_files(str(file))
    if act == "lookNew":
        page.wait_for_function("!document.querySelector('.coat-map')")
    page.wait_for_selector(".coat-map")
    return time.perf_counter() - began


def run(draws=5):
    from playwright.sync_api import sync_playwright
    from tests.browser import ARGUMENTS, CHROMIUM, LAN
    from tests.pages.conftest import PHONE, Glass, Server

    from argentry.web.guard import COOKIE

    content = large(scene(2001)[1])
    with tempfile.TemporaryDirectory() as place, sync_playwright() as started:
        file = Path(place) / "coat.jpg"
        file.write_bytes(content)
        server = Server(Path(place) / "studio")
        browser = started.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        try:
            context = browser.new_context(
                viewport={"width": PHONE[0], "height": PHONE[1]}, has_touch=True
            )
            context.set_default_timeout(90_000)
            cookie = {"name": COOKIE, "value": server.token, "domain": LAN, "path": "/"}
            context.add_cookies([cookie])
            page = context.new_page()
            glass = Glass(page, Path(place), server)
            page.goto(server.url(coated(server)))
            page.wait_for_selector("[data-act=start]")
            glass.act("start")
            rate = MBIT * 1e6 / 8
            held = {"offline": False, "latency": LATENCY_MS}
            link = context.new_cdp_session(page)
            link.send("Network.enable")
            link.send("Network.emulateNetworkConditions",
                      {**held, "downloadThroughput": rate, "uploadThroughput": rate})  # fmt: skip
            acts = ["lookAtCoat"] + ["lookNew"] * (draws - 1)
            taken = [seconds(page, glass, file, act) for act in acts]
        finally:
            browser.close()
            server.close()
    yield (
        f"tap to line, 12 MP at {MBIT} Mbit/s",
        FIGURE.format(middle=np.median(taken), most=max(taken), count=len(taken),
                      mb=len(content) / 1e6, load=os.getloadavg()[0]),
    )  # fmt: skip
