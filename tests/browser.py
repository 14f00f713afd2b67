"""Debian's Chromium for the tests, driven by Playwright: how it is started, how its screen is read.

Without a GPU and on a busy machine the browser now and then has no frame to give yet ("Unable to
capture screenshot"), mostly when the window has just been resized; it is asked again then.
"""

from __future__ import annotations

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
