"""Debian's Chromium for the tests, driven by Playwright: how it is started, how its screen is read.

Without a GPU and on a busy machine the browser now and then has no frame to give yet ("Unable to
capture screenshot"), mostly when the window has just been resized; it is asked again then.
"""

from __future__ import annotations

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


def seen(page) -> bytes:
    """Return the screen of a page as a PNG file."""
    from playwright.sync_api import Error

    for _ in range(TIMES - 1):
        try:
            return page.screenshot()
        except Error as error:
            if NO_FRAME not in str(error):
                raise
        time.sleep(PAUSE_S)
    return page.screenshot()


def picture_of(page) -> Image.Image:
    """Return the screen of a page as an RGB picture."""
    return Image.open(io.BytesIO(seen(page))).convert("RGB")
