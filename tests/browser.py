"""Debian's Chromium for the tests, driven by Playwright: how it is started, how its screen is read.

Each process of the tests starts one, which takes most of a second, and its files share it; each
test has storage of its own in it.

Without a GPU and on a busy machine the browser now and then has no frame to give yet ("Unable to
capture screenshot"), mostly when the window has just been resized; it is asked again then.
"""

from __future__ import annotations

import asyncio
import base64
import io
import os
import time
from pathlib import Path

from PIL import Image

SHELL, WHOLE = Path("/usr/bin/chromium-headless-shell"), Path("/usr/bin/chromium")
CHROMIUM = SHELL if SHELL.exists() else WHOLE  # the shell does the same with a third less work
LAN = "studio.test"  # a name on the studio's network, and not a secure origin, as there
ARGUMENTS = [
    "--disable-gpu",
    "--disable-dev-shm-usage",  # small in a container
    "--disable-quic",
    "--no-first-run",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
    f"--host-resolver-rules=MAP {LAN} 127.0.0.1",
    *(["--no-sandbox"] if os.geteuid() == 0 else []),
]
TIMES = 5
PAUSE_S = 0.5
NO_FRAME = "Unable to capture screenshot"
PATIENCE_MS = 90_000  # a bound for what takes milliseconds on a quiet machine


class Driven:
    """Playwright and its browser, started when a file first asks.

    Playwright keeps an event loop in the thread of the tests, where any other test's own could not
    run beside it: so it is told to run only while a file is at work that uses it.
    """

    def __init__(self) -> None:
        self.playwright = self._browser = self._loop = None

    def begin(self):
        """Let the loop run; return Playwright."""
        if self.playwright is None:
            from playwright.sync_api import sync_playwright

            self.playwright = sync_playwright().start()
            self._loop = asyncio.get_running_loop()
        asyncio._set_running_loop(self._loop)
        return self.playwright

    def rest(self) -> None:
        """Give the thread back."""
        asyncio._set_running_loop(None)

    def browser(self):
        """Return the browser; a new one where the last has gone."""
        if self._browser is None or not self._browser.is_connected():
            path = str(CHROMIUM)
            self._browser = self.playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
            plain = self._browser.new_context

            def patient(**more):
                context = plain(**more)
                context.set_default_timeout(PATIENCE_MS)
                return context

            self._browser.new_context = patient
        return self._browser

    def close(self) -> None:
        if self.playwright is not None:
            self.begin()
            if self._browser is not None:
                self._browser.close()
            self.playwright.stop()


def seen(page) -> bytes:
    """Return the screen of a page as a PNG file, packed quickly rather than small."""
    from playwright.sync_api import Error

    session = page.context.new_cdp_session(page)
    asked = {"format": "png", "optimizeForSpeed": True}
    for again in range(TIMES - 1, -1, -1):
        try:
            told = session.send("Page.captureScreenshot", asked)
        except Error as error:
            if NO_FRAME not in str(error) or not again:
                raise
            time.sleep(PAUSE_S)
        else:
            break
    session.detach()
    return base64.b64decode(told["data"])


def picture_of(page) -> Image.Image:
    """Return the screen of a page as an RGB picture."""
    return Image.open(io.BytesIO(seen(page))).convert("RGB")
