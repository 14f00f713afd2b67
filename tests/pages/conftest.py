"""Chromium on the real server: the pages as a tablet sees them.

Chromium is Debian's, driven by Playwright. The server is uvicorn in a thread of the test, on a free
port, with a studio and a book of its own; ``studio.test`` stands for a name on the studio's network
and is not a secure origin, as there.
"""

from __future__ import annotations

import io
import os
import threading
import time
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from PIL import Image
from tests.browser import ARGUMENTS, CHROMIUM, LAN, PATIENCE_MS, seen
from tests.ports import free_port

from argentry.book.engine import close_book
from argentry.book.log import append, events
from argentry.book.open import open_book
from argentry.book.runs.fold import fold
from argentry.desk.bench.run import add_events
from argentry.desk.runs import open_plain_run
from argentry.keeping.clock import seconds_passed
from argentry.keeping.sensors.devices import new_device
from argentry.keeping.studio import new_studio
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.web.app import create_app
from argentry.web.guard import COOKIE
from argentry.web.settings import Settings
from argentry.web.tls.authority import certificates

PHONE, TABLET, SIDE = (390, 844), (820, 1180), (844, 390)
# The page takes two presses nearer than 0.3 s for one. So that runs need not wait, it is told that
# time flies; one test does without.
FAST = """const real = Object.getOwnPropertyDescriptor(Event.prototype, "timeStamp").get;
Object.defineProperty(Event.prototype, "timeStamp", { get() { return 20 * real.call(this); } });"""
RUN_ON_S = 5.0  # the last of a long time passes second by second
BOUNCE_MS = 35
# How many presses the page has taken in: a busy machine takes one late, and the next must not come
# before. The window hears an event after the page's own listeners have done with it.
HEARD = """window.heard = 0;
for (const kind of ["keydown", "click"]) window.addEventListener(kind, () => { heard += 1; });"""
PAGES: list = []
# The whole screen would change the size that the test asked for.
SMALL = "Element.prototype.requestFullscreen = async () => {};"


class Server:
    """The real server, which a test may stop, start again and move in time."""

    def __init__(self, folder: Path, *, tls: bool = False) -> None:
        new_studio(folder, {"--lat": 42.0, "--lon": -1.0, "--tz": "Europe/Madrid"})
        self.folder, self.tls, self.later, self.stands = folder, tls, 0.0, None
        self.book = open_book(folder)
        self.port = free_port()
        self.token = new_device(self.book, "tablet", "bench")[1]
        self.keys = certificates(folder, ("localhost", LAN)) if tls else None
        self.start()

    def start(self) -> None:
        settings = Settings(port=self.port, tls=self.tls, names=(LAN,))
        self.app = create_app(self.folder, self.book, settings=settings)
        self.app.state.house.clock.passed = self.passed
        files = {} if self.keys is None else {
            "ssl_certfile": str(self.keys.server), "ssl_keyfile": str(self.keys.key),
        }  # fmt: skip
        config = uvicorn.Config(
            self.app, host="127.0.0.1", port=self.port, log_level="critical", ws="none",
            timeout_graceful_shutdown=2, **files,
        )  # fmt: skip
        self.uvicorn = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.uvicorn.run, daemon=True)
        self.thread.start()
        until(lambda: self.uvicorn.started)

    def passed(self) -> float:
        """The seconds of the house's clock: those that pass, or those a test lets pass."""
        return (seconds_passed() if self.stands is None else self.stands) + self.later

    def stop(self) -> None:
        self.app.state.broadcast.close_soon()  # the open streams end, as at Ctrl-C
        self.uvicorn.should_exit = True
        self.thread.join(90)
        assert not self.thread.is_alive()

    def close(self) -> None:
        if self.thread.is_alive():
            self.stop()
        close_book(self.book)

    def open_run(self, *labels: str, read: bool = True) -> str:
        """Open a run; `read`: the cautions of the day are read already, by another device."""
        run = open_plain_run(self.app.state.house, list(labels), "Morning", "host")
        if read:
            keys = [caution.key for caution in self.state(run).cautions_unread()]
            self.send(run, "cautions_read", cautions=keys)
        return run

    def url(self, run: str, host: str = LAN) -> str:
        return f"{'https' if self.tls else 'http'}://{host}:{self.port}/bench/{run}"

    def events(self, run: str):
        return events(self.book, run)

    def state(self, run: str):
        return fold(self.events(run), now=self.app.state.house.clock.now())

    def kinds(self, run: str) -> list[str]:
        return [event.kind for event in self.events(run)]

    def send(self, run: str, kind: str, plate=None, step=None, **body) -> None:
        """Let another device say something that must be taken."""
        house = self.app.state.house
        event = {"id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body}
        added = add_events(self.book, house.studio, run, [event], "phone", house.clock)
        assert added.refused == ()
        self.app.state.broadcast.ring_soon()

    def up_to(self, run: str, key: str, order: int = 0) -> str:
        """Let another device do every step of a plate before that one; return the plate's id."""
        state = self.state(run)
        for step in state.steps:
            for caution in state.cautions_due(step.key):
                self.send(run, "caution_shown", None, step.key, caution=caution.key)
        plate = state.plates[order]
        for step in plate.steps[: [s.key for s in plate.steps].index(key)]:
            if step.state == "skipped":
                continue
            moments = [check.when for check in state.step(step.key).checks]
            about = (plate.id, step.key)
            if "before" in moments:
                self.send(run, "check_answered", *about, answer="right", when="before")
            self.send(run, "step_begun", *about)
            self.send(run, "step_ended", *about)
            if "after" in moments:
                self.send(run, "check_answered", *about, answer="right")
        return plate.id

    def correct_last(self, run: str, step: str, **body) -> None:
        """Let another device correct the last event about a step."""
        last = next(one for one in reversed(self.events(run)) if one.step == step)
        self.send(run, "corrected", event=last.id, body=body)

    def advise(self, run: str, plate: str, step: str, line: str, back_to=None, **more) -> None:
        """Let the house say what to do with a plate."""
        body = {"stage": "polish", "answer": "right", "since": None, "line": line, **more}
        body |= {"advice": "redo" if back_to else "continue", "back_to": back_to}
        now = self.app.state.house.clock.now()
        append(self.book, [Event(new_id(), run, "advice_given", now, plate, step, body, "house")])
        self.app.state.broadcast.ring_soon()


def until(true, seconds: float = 90.0) -> None:
    """Wait for a condition; the bound is only there so that a failing test ends.

    What takes long is looked at less often: looking is work that the awaited has to wait for.
    """
    end, pause_ms = time.monotonic() + seconds, 20.0
    while not true():
        assert time.monotonic() < end, "it did not come about"
        if PAGES:  # Playwright must be let run: it hands on what the page asks for
            PAGES[-1].wait_for_timeout(pause_ms)
        else:
            time.sleep(pause_ms / 1000.0)
        pause_ms = min(1.25 * pause_ms, 250.0)


class Glass:
    """One page, handled as a person would: by touch or by keys."""

    def __init__(self, page, folder: Path, server: Server, *, clock: bool = False) -> None:
        self.page, self.folder, self.shots = page, folder, 0
        self.server, self.clock = server, clock
        if clock:  # both times stand still until a test lets them pass, however slow the machine
            server.stands = seconds_passed()
            page.clock.install()
            page.clock.pause_at(time.time() + 1.0)
        self.errors: list[str] = []
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        PAGES.append(page)
        page.on("close", lambda _: PAGES.remove(page))

    def settle(self) -> None:
        """Let enough time pass that the next press is a new one."""
        if self.clock:  # the page's time is ours, and an event's stamp is taken from it
            self.later(0.35)
        else:
            self.page.wait_for_timeout(BOUNCE_MS)

    def later(self, seconds: float) -> None:
        """Let time pass, for the page and for the server alike."""
        self.server.later += seconds
        if seconds > 2 * RUN_ON_S:  # every second of an hour of ripening would be drawn else
            self.page.clock.fast_forward(round(1000 * (seconds - RUN_ON_S)))
            seconds = RUN_ON_S
        self.page.clock.run_for(round(1000 * seconds))

    def link_brings(self, true) -> None:
        """Wait for what the page does when it looks for the server again.

        It asks by its own clock, which goes on where an answer took longer than that clock allows.
        """

        def asked_again() -> bool:
            nonlocal soon
            if time.monotonic() > soon:
                self.later(1.0)
                soon = time.monotonic() + 1.0
            return true()

        soon = time.monotonic() + 1.0
        until(asked_again)

    def begin(self) -> None:
        """Begin the step in hand, by its one big target."""
        self.tap("[data-act=begin], [data-act=seen]")

    def tap(self, what: str) -> None:
        self.settle()
        self.heard(lambda: self.page.tap(what))

    def press(self, key: str) -> None:
        self.settle()
        self.heard(lambda: self.page.keyboard.press(key))

    def heard(self, press) -> None:
        """Press, and wait until the page has taken it in."""
        before = self.page.evaluate("window.heard ?? -1")
        press()
        if before >= 0:
            self.wait(f"window.heard !== {before}")

    def act(self, name: str) -> None:
        self.tap(f"[data-act={name}]")

    def say(self, selector: str = "h1") -> str:
        return self.page.inner_text(selector)

    def wait(self, expression: str) -> None:
        """Wait until JavaScript says true; the page's own clock may stand still meanwhile."""
        until(lambda: self.page.evaluate(expression))

    def wait_words(self, words: str) -> None:
        self.wait(f"document.body.innerText.includes({words!r})")

    def keep(self, name: str) -> None:
        """Take a screenshot where ARGENTRY_SHOTS says that it is to be looked at."""
        if os.environ.get("ARGENTRY_SHOTS"):
            self.picture(name)

    def picture(self, name: str) -> Image.Image:
        """Take a screenshot; kept where ARGENTRY_SHOTS says."""
        data = seen(self.page)
        self.shots += 1
        if os.environ.get("ARGENTRY_SHOTS"):
            kept = Path(os.environ["ARGENTRY_SHOTS"])
            kept.mkdir(parents=True, exist_ok=True)
            where = f"{self.page.viewport_size['width']}-{self.folder.name}"
            plain = name.replace("/", "-")
            (kept / f"{where}-{self.shots:02d}-{plain}.png").write_bytes(data)
        return Image.open(io.BytesIO(data)).convert("RGB")

    def red(self, name: str) -> int:
        """Assert that no pixel has green or blue in it; return the brightest red."""
        (_, most_red), green, blue = self.picture(name).getextrema()
        assert green == (0, 0), f"green light on {name}"
        assert blue == (0, 0), f"blue light on {name}"
        return most_red


@pytest.fixture
def server(tmp_path):
    running = Server(tmp_path / "studio")
    yield running
    running.close()


@pytest.fixture
def tablets(chromium, server, tmp_path):
    """Make a new device: its own storage, let in by a cookie, with the run's page open."""
    contexts = []

    def make(
        run,
        size=TABLET,
        *,
        host=LAN,
        begin=True,
        script="",
        clock=False,
        fast=True,
        workers="allow",
    ) -> Glass:
        context = chromium.new_context(
            viewport={"width": size[0], "height": size[1]},
            has_touch=True,
            reduced_motion="reduce",
            service_workers=workers,
        )
        contexts.append(context)
        address = server.url(run, host)
        context.add_cookies([{"name": COOKIE, "value": server.token, "domain": host, "path": "/"}])
        context.add_init_script(SMALL + HEARD + (FAST if fast else "") + script)
        page = context.new_page()
        glass = Glass(page, tmp_path, server, clock=clock)
        page.goto(address)
        page.wait_for_selector("[data-act=start]")
        if begin:
            glass.act("start")
        return glass

    yield make
    for context in contexts:
        context.close()


@pytest.fixture
def tls_server(tmp_path):
    running = Server(tmp_path / "studio", tls=True)
    yield running
    running.close()


@pytest.fixture
def trusting(playwright, tmp_path):
    """A browser that trusts one server's key, as a tablet with the studio's authority does."""
    import base64
    import hashlib

    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    @contextmanager
    def open_browser(server: Server):
        certificate = x509.load_pem_x509_certificate(server.keys.server.read_bytes())
        key = certificate.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        pin = base64.b64encode(hashlib.sha256(key).digest()).decode()
        context = playwright.chromium.launch_persistent_context(
            str(tmp_path / "profile"),
            executable_path=str(CHROMIUM),
            args=[*ARGUMENTS, f"--ignore-certificate-errors-spki-list={pin}"],
            viewport={"width": TABLET[0], "height": TABLET[1]},
            has_touch=True,
        )
        context.set_default_timeout(PATIENCE_MS)
        context.add_init_script(SMALL + HEARD + FAST)
        try:
            yield context
        finally:
            context.close()

    return open_browser


@pytest.fixture
def glass_of(tmp_path):
    return lambda page, server: Glass(page, tmp_path, server)


@pytest.fixture(name="until")
def _until():
    return until


@pytest.fixture(scope="module")
def blank(chromium):
    """A page of the real server, only for its modules."""
    module = __import__("argentry.web.app", fromlist=["WEB"])
    context = chromium.new_context()
    page = context.new_page()
    static = Path(module.WEB) / "static"

    def serve(route):
        path = route.request.url.split("/static/", 1)
        if len(path) == 2:
            route.fulfill(path=static / path[1], content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html><title>Cases</title>", content_type="text/html")

    page.route("**/*", serve)
    page.goto("http://localhost/")
    yield page
    context.close()
