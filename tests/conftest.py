"""Settings for every test, an invented studio as parsed TOML, and books on both stores.

Hypothesis draws the same examples every time unless it is told to explore (HYPOTHESIS_PROFILE), and
four times as many then; it times none of them.
The tests run in four processes, a file in one of them; each has its own database server, ports and
folders.
"""

from __future__ import annotations

import ctypes
import faulthandler
import gc
import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the commands have it, before numpy is read
from contextlib import suppress
from functools import cache
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from _pytest.faulthandler import fault_handler_stderr_fd_key
from hypothesis import HealthCheck, settings

from argentry.book import engine
from argentry.book import open as opening
from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.demo.write import write_demo
from argentry.exchange.plates.table import read_plate_table
from argentry.keeping.studio import new_studio
from argentry.web import helper

# a busy machine is slow, not wrong
UNTIMED = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("same", derandomize=True, database=None, **UNTIMED)
settings.register_profile("explore", derandomize=False, max_examples=400, **UNTIMED)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))

SAFE = engine.PRAGMAS


def _beside(name):
    spec = spec_from_file_location(f"argentry_{name}", Path(__file__).with_name(f"{name}.py"))
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


stores, asserts, nursery = _beside("stores"), _beside("asserts"), _beside("nursery")


asserts.compare_arrays_at_once()

# What `make quick` leaves out beside every test that asks for PostgreSQL: browsers, real servers,
# cut power, pages set by the typesetter, fits of many books, and dozens of planned days.
SLOW = (
    "api/", "cli/studio/test_demo.py", "cli/test_learning.py", "day/test_random_wishes.py", "demo/",
    "desk/bench/test_advice.py", "desk/learning/test_causes.py", "desk/test_book_journey.py",
    "desk/test_wishes.py",
    "learn/causes/test_studio_causes.py", "out/day/test_band.py", "out/day/test_sheet_pdf.py",
    "outside/test_job_shops.py", "outside/test_mqtt_broker.py",
    "outside/test_posterior_reference.py", "pages/", "plan/test_day.py", "power/",
    "web/pages/test_learning.py", "web/test_advisor.py", "web/test_forms_in_chromium.py",
    "web/test_hostile.py", "web/test_serve.py",
)  # fmt: skip


def pytest_configure(config):
    """Keep what is given back, and begin what the processes of the tests share.

    The C library would return the memory of a large array to the system, and have it cleared again
    for the next one.
    """
    with suppress(OSError, AttributeError):  # another C library than GNU's
        library = ctypes.CDLL(None)
        for trim_threshold_or_mmap_threshold in (-1, -3):  # as malloc.h numbers them
            library.mallopt(trim_threshold_or_mmap_threshold, 1 << 30)
    if config.getoption("numprocesses", None):  # none in the processes themselves
        shared = nursery.Nursery(helper.COMMAND[-1])
        shared.share()
        config.add_cleanup(shared.close)


LONGEST = ("circle/", "plan/test_day.py", "pages/test_whole_run.py")  # a test is never divided


@pytest.hookimpl(wrapper=True)
def pytest_collection(session):
    """Collect without looking for garbage: ten thousand tests stay in memory to the end.

    What looks for it afterwards need not walk through them.
    """
    gc.disable()
    asserts.rewrite_share(session.config)
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()
        gc.set_threshold(20_000, 20, 50)  # a test makes much and keeps little


def pytest_collection_modifyitems(items):
    """Mark the slow ones; the longest files come first: what is taken over at the end is quick."""
    here = Path(__file__).parent

    @cache
    def one_of(files, path):
        return path.as_posix().startswith(tuple(f"{here.as_posix()}/{one}" for one in files))

    for item in items:
        if one_of(SLOW, item.path) or "postgresql" in item.name or "postgres" in item.fixturenames:
            item.add_marker("slow")
    items.sort(key=lambda item: (not one_of(LONGEST, item.path), not one_of(SLOW, item.path)))


HANGS_S, AGAIN_S = 600.0, 60.0
_alarm = {"set": -AGAIN_S}


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item, nextitem):
    """Let a test that hangs say where it stands, and end.

    Pytest would set its alarm for each test, begin a thread for it and wait for that thread's end.
    Here it is set once a minute, and rings so much earlier at most.
    """
    if not float(item.config.getini("faulthandler_timeout") or 0.0):
        if time.monotonic() >= _alarm["set"] + AGAIN_S:
            told = item.config.stash[fault_handler_stderr_fd_key]
            faulthandler.dump_traceback_later(HANGS_S, exit=True, file=told)
            _alarm["set"] = time.monotonic()
        if nextitem is None:  # a process waits for the others at the end
            try:
                return (yield)
            finally:
                faulthandler.cancel_dump_traceback_later()
                _alarm["set"] = -AGAIN_S
    return (yield)


@pytest.fixture(scope="session", autouse=True)
def new_books(tmp_path_factory):
    """Let the migrations make one empty book, each other be its copy, and no commit wait."""
    with pytest.MonkeyPatch.context() as patch:
        made = stores.copies_of(tmp_path_factory.mktemp("shape"))
        patch.setattr(opening, "connect", made)
        patch.setattr(engine, "PRAGMAS", stores.QUICK)
        yield


@pytest.fixture(scope="session", autouse=True)
def usual_helper():
    """Let what a server asks beside it begin without reading its modules; give the real command."""
    usual = helper.COMMAND
    quick = nursery.Nursery(usual[-1])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(helper, "COMMAND", quick)
        yield usual
    quick.close()


@pytest.fixture(scope="session")
def driven():
    """The browser of this process, behind `chromium`."""
    from tests.browser import CHROMIUM, Driven

    if not CHROMIUM.exists():
        pytest.skip("NO CHROMIUM: install the package chromium")
    one = Driven()
    yield one
    one.close()


@pytest.fixture(scope="module")
def playwright(driven):
    """Playwright, whose event loop is in the way of every other test's only while a file asks."""
    yield driven.begin()
    driven.rest()


@pytest.fixture(scope="module")
def chromium(playwright, driven):
    """The browser that all files of this process share."""
    return driven.browser()


@pytest.fixture
def durable(monkeypatch):
    """Begin and keep books as outside the tests."""
    monkeypatch.setattr(opening, "connect", engine.connect)
    monkeypatch.setattr(engine, "PRAGMAS", SAFE)


@pytest.fixture(scope="session")
def postgres():
    """A server of our own for the session; quick rather than safe, as nothing here is kept."""
    server = stores.Server(durable=False)
    yield server
    server.remove()


@pytest.fixture(params=["sqlite", "postgresql"])
def where(request, tmp_path):
    """Where a book may be opened: a folder, or the address of a database."""
    if request.param == "sqlite":
        yield tmp_path
        return
    server = request.getfixturevalue("postgres")
    url = server.database()
    yield url
    server.drop(url)


@pytest.fixture
def book(where, tmp_path):
    """An empty book on each store."""
    opened = open_book(where, folder=tmp_path)
    yield opened
    close_book(opened)


@pytest.fixture(scope="session")
def year(tmp_path_factory):
    """The plates of the invented year, read once from its table."""
    made = tmp_path_factory.mktemp("year")
    write_demo(made)
    return read_plate_table(made / "plates.csv", time_zone="Europe/Madrid")


@pytest.fixture
def folder(tmp_path):
    """The folder of a new studio, as the maker finds it."""
    new_studio(tmp_path / "studio", {})
    return tmp_path / "studio"


@pytest.fixture
def small():
    return {
        "name": "Yard studio",
        "site": {
            "name": "Orraga, an invented place",
            "latitude_deg": 42.0,
            "longitude_deg": -1.0,
            "elevation_m": 350,
            "time_zone": "Europe/Madrid",
        },
        "lens": [{"name": "Portrait lens", "f_number": 4, "focal_length_mm": 180}],
        "box": [
            {"name": "Iodine box", "gap_mm": 20, "crystal_area_cm2": 150, "floor_area_cm2": 180}
        ],
        "frame": [{"name": "Red frame", "cut_on_nm": 600}],
        "room": {"temperature_c": 20, "relative_humidity_pct": 50},
        "water": {"kind": "distilled"},
    }


@pytest.fixture
def full(small):
    small["invented"] = True
    small["site"] |= {
        "horizon": [[240, 8], [90, 12], [150, 5.5]],
        "ground_albedo": 0.3,
        "haze_aod": 0.12,
    }
    small["lens"].append(
        {
            "name": 'Old "rapid" lens \\ 2',
            "f_number": 5.6,
            "focal_length_mm": 240,
            "near_uv_transmission": 0.7,
        }
    )
    small["box"][0] |= {"temperature_c": 18.5, "box_factor": 1.2, "rested": False}
    small["frame"][0] |= {"blocking_density": 5.2, "count": 3}
    lamp = {"power_w": 500, "distance_m": 0.4}
    small["frame"].append({"name": "Lamp frame", "cut_on_nm": 610, "lamp": lamp})
    small["water"] = {"kind": "tap", "conductivity_us_cm": 310}
    breaks = [["15:00", "15:20"], ["12:30", "13:15"]]
    small["hours"] = {"start": "09:00", "end": "17:30", "breaks": breaks, "workers": 2}
    small["subject"] = {"plane": "shade", "reflectance": 0.5, "distance_m": 3}
    small["habits"] = {
        "coat_nm": 27,
        "plate_speed": 0.0003,
        "good_share": 0.4,
        "good_share_plates": 12,
    }
    return small
