"""Write docs/first-plate.md and its pictures: from `make run` to a graded plate, all presses.

Run from anywhere: ``python builders/docs_path.py``. It drives Chromium over the real server on a
new studio, lets the time of each step pass, and notes every press with the words on what is
pressed.
"""

from __future__ import annotations

import io
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import sync_playwright  # noqa: E402
from tests.pages.conftest import (  # noqa: E402
    ARGUMENTS,
    CHROMIUM,
    FAST,
    HEARD,
    SMALL,
    Glass,
    Server,
    until,
)

PAGE, PICTURES = ROOT / "docs" / "first-plate.md", ROOT / "docs" / "pictures" / "first-plate"
PHONE = (390, 844)
COLOURS = 16
GO = ".action, .choices button.chosen"
ASKED = "document.querySelector('.plate')?.innerText.startsWith('How did')"
SHOWN = (
    "buff",
    "iodise",
    "expose",
    "develop",
    "fix",
    "gild",
)  # steps with a picture, while they run
SAYS = "The screen says: {title}."
DAY = """## Today

The first page is the plan of the day. It may be looked at, changed, or left alone."""
BENCH = """## At the bench

Black and pure red from here on. One place is pressed, or one key; the screen says what the hands
do."""
RECORD = """## The plate's record

*Plates*, then the label: what was planned, what was done, and how it came out. From now on it
counts in the odds and in the next day's plan."""
HEAD = """# From `make run` to a graded plate

Written by `builders/docs_path.py`, which presses all of this in Chromium; do not edit by hand. The
studio is invented. A plate takes most of a day at the bench; the presses are few.

`make run` sets argentry up, writes an invented studio, prints tomorrow's day sheet and serves the
pages at the address that it says. For a studio of your own: `argentry studio new my-studio`, then
`argentry serve --studio my-studio`. Open the address.

"""


def lined(words: str) -> str:
    return " ".join(words.split())


class Story:
    """Notes each press and keeps the pictures."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.count = 0

    def say(self, words: str) -> None:
        self.lines.append(f"\n{words}\n")

    def press(self, words: str, where: str = "") -> None:
        self.count += 1
        on = f" ({lined(where)})" if where else ""
        self.lines.append(f"{self.count}. **{lined(words)}**{on}")

    def picture(self, page, name: str, words: str) -> None:
        image = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        file = PICTURES / f"{name}.png"
        image.quantize(COLOURS).save(file, optimize=True)
        self.lines.append(
            f'\n<img src="pictures/first-plate/{name}.png" width="260" alt="{words}">\n'
        )


def rest(server: Server, glass: Glass, run: str) -> str:
    """Let the step that runs take its time; return its key, empty when none runs."""
    if not glass.page.locator("[data-act=end], [data-act=endWith]").count():
        return ""
    until(lambda: "running" in [step.state for step in server.state(run).plates[0].steps], 180)
    step = next(one for one in server.state(run).plates[0].steps if one.state == "running")
    checks = server.state(run).step(step.key).checks
    looks = [60.0 * one.at_minutes for one in checks if one.at_minutes is not None]
    ahead = [at for at in looks if at > step.elapsed_s + 1.0]
    glass.later(max(min([step.planned_s, *ahead]) - step.elapsed_s, 0.0) + 1.0)
    return step.key


def work(server: Server, glass: Glass, run: str, path: Story) -> None:
    page, shown, before = glass.page, set[str](), ""
    for _ in range(80):
        if page.evaluate(ASKED):
            return
        key = rest(server, glass, run)
        head = page.locator("h1")
        title = lined((head if head.count() else page.locator(".plate")).first.inner_text())
        if title != before:
            path.say(SAYS.format(title=title.rstrip(".")))
            before = title
        wanted = next((one for one in SHOWN if one in key and one not in shown), "")
        if wanted:
            shown.add(wanted)
            path.picture(page, wanted, title)
        path.press(page.locator(GO).first.inner_text())
        glass.tap(GO)
    raise RuntimeError("the run does not end")


def main() -> None:
    PICTURES.mkdir(parents=True, exist_ok=True)
    path = Story()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as started:
        server = Server(Path(folder) / "studio")
        browser = started.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            walk(server, browser, Path(folder), path)
        finally:
            browser.close()
            server.close()
    PAGE.write_text(HEAD + "\n".join(path.lines).strip() + "\n", encoding="utf-8")
    sys.stdout.write(f"wrote {PAGE.relative_to(ROOT)}: {path.count} presses\n")


def walk(server: Server, browser, folder: Path, path: Story) -> None:
    clock = server.app.state.house.clock
    now = clock.now()
    morning = (now + timedelta(days=1)).replace(hour=7, minute=0, second=0)
    server.later = (morning - now).total_seconds()  # there must be light for the plate
    clock.wall = clock.now  # the machine of this story is in that morning as well
    context = browser.new_context(
        viewport={"width": PHONE[0], "height": PHONE[1]}, has_touch=True, reduced_motion="reduce"
    )
    context.add_init_script(SMALL + HEARD + FAST)
    base = f"http://localhost:{server.port}"
    page = context.new_page()
    page.set_default_timeout(240_000)
    page.goto(f"{base}/")
    page.locator("[data-state=whole]").wait_for()
    path.say(DAY)
    path.picture(page, "today", "The first page: the day's plan")
    path.press("Runs", "at the top")
    page.get_by_role("link", name="Runs").click()
    page.get_by_label("Plates, by their labels").fill("Q-1")
    path.say("Type what is scratched on the back of the plate, here `Q-1`.")
    path.press("Open the run")
    page.clock.install()
    page.get_by_role("button", name="Open the run", exact=True).click()
    page.wait_for_url("**/bench/*")
    page.wait_for_selector("[data-act=start]")
    glass = Glass(page, folder, server, clock=True)
    run = page.evaluate("document.body.dataset.run")
    path.say(BENCH)
    path.picture(page, "ready", "The bench before the first step")
    path.press(page.locator("[data-act=start]").inner_text())
    glass.act("start")
    work(server, glass, run, path)
    path.say("## How did it come out?")
    path.picture(page, "grade", "How did it come out?")
    for words in ("Fine", "Right"):
        path.press(words)
        glass.tap(f"button:has-text({words!r})")
    until(lambda: "making_graded" in server.kinds(run))
    glass.wait_words("Every plate is finished.")
    path.press(page.locator("[data-act=closeNow]").inner_text())
    glass.act("closeNow")
    until(lambda: server.state(run).state == "closed")
    page.goto(f"{base}/plates/Q-1")
    path.say(RECORD)
    path.picture(page, "record", "The record of the graded plate")


if __name__ == "__main__":
    main()
