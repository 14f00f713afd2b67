"""Which files are slow, and in what order the files of the tests are taken."""

from __future__ import annotations

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


# a file is never divided, so that these begin first
LONGEST = (
    "circle/", "pages/test_accessible.py", "plan/test_day.py", "pages/test_whole_run.py",
    "pages/test_bench_page.py", "recipes/", "desk/test_book_journey.py",
)  # fmt: skip


def in_order(here, asked):
    """Return the files of tests in folders or of names, those first that take longest."""
    found = {file for one in asked for file in (one.rglob("test_*.py") if one.is_dir() else [one])}

    def rank(file):
        name = file.relative_to(here).as_posix()
        long = [place for place, one in enumerate(LONGEST) if name.startswith(one)]
        return (long or [len(LONGEST)])[0], not name.startswith(SLOW), name

    return sorted(found, key=rank)
