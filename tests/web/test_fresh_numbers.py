"""A running server follows its book: what new plates teach changes the lengths at the bench."""

from __future__ import annotations

import asyncio
import json
import re
from contextlib import redirect_stdout
from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from tests.web.test_kept import Taught

from argentry.book.makings import add_making
from argentry.book.plates import add_plate, makings
from argentry.cli.main import main
from argentry.desk.numbers.adopted import adopt
from argentry.exchange.shared_file import shared_text
from argentry.needs.over_iodine import box_today, computed_seconds
from argentry.records.ids import new_id
from argentry.records.learned import SharedFigure, SharedStudio
from argentry.records.plate import Making, Plate
from argentry.web.advisor import FRESH_SECONDS
from argentry.web.limits import Refused

FACTOR = 1.4  # by which these plates' box is slower than the physics says


def coat(book, studio, number):
    """Put down a graded plate that was timed over iodine to a known coat."""
    plate = Plate(new_id(), f"T-{number}", size="quarter")
    add_plate(book, plate)
    seconds = FACTOR * float(computed_seconds(box_today(studio), [25.0], [20.0])[0])
    conditions = {"fuming_seconds": seconds, "coat_nm": 25.0, "box_c": 20.0}
    day = date(2026, 5, 1) + timedelta(days=number)
    making = Making(
        new_id(), plate.id, None, f"{day}", number, day, grade="good", conditions=conditions
    )
    add_making(book, making, at=datetime(2026, 6, 1, tzinfo=UTC))


def iodise(host, run):
    state = host.get(f"/api/runs/{run}").json()["state"]
    step = next(one for one in state["plates"][0]["steps"] if one["key"] == "iodise")
    return step["planned_s"], step["changes"]


@pytest.fixture
def freshened(app):
    def go():
        async def once():
            moved = await app.state.advisor.freshen()
            await app.state.advisor.close()
            return moved

        return asyncio.run(once())

    return go


def test_plates_that_teach_change_the_bench_of_a_running_server(app, host, book, run, freshened):
    studio = app.state.house.studio
    before, _ = iodise(host, run)
    assert not freshened(), "nothing new in the book"
    for number in range(8):
        coat(book, studio, number)
    assert freshened()
    after, changes = iodise(host, run)
    assert 1.2 * before < after < 1.45 * before
    assert changes, "the run says why its step lasts longer now"
    opened_now = host.post("/api/runs", {"plates": ["Q-9"]}).json()["run"]
    assert iodise(host, opened_now)[0] == pytest.approx(after, abs=0.2)
    assert not freshened(), "the same book teaches the same"


def test_files_of_other_studios_change_the_bench_of_a_running_server(app, host, run, freshened):
    """The command adopts them while the server runs; it went by the old numbers until restarted."""
    figure = SharedFigure(
        "number", "box_factor", "", 1.4, 1.35, 1.45, 90.0, believed=1.0, believed_low=0.64,
        believed_high=1.57,
    )  # fmt: skip
    folder, before = app.state.house.studio_dir, iodise(host, run)[0]
    file = folder.parent / "theirs.toml"
    file.write_text(shared_text(SharedStudio("", 90, (), (figure,))))
    adopt(folder, [file])
    assert freshened()
    assert iodise(host, run)[0] > 1.05 * before
    assert not freshened()


def planned(folder, *more):
    said = StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit) as ended:
        main(["day", "2026-06-22", "--plates", "1", "--full", "--studio", str(folder), *more])
    assert ended.value.code == 0
    return said.getvalue()


def test_an_exposure_judged_under_moves_tomorrows_camera_time_and_every_door_says_so(
    app, host, book, finished, freshened
):
    """Grade on the plate's page; plan tomorrow by the command, ask the sheet and the first page."""

    def camera(plan):
        [step] = [one for one in plan["steps"] if one["step"] == "expose"]
        return step["minutes"]["middle"]

    folder = app.state.house.studio_dir
    before = json.loads(planned(folder, "--json"))
    [made] = makings(book)
    fields = {"label": "Q-1", "making": made.id, "grade": "lost", "verdict": "under"}
    assert host.form("/plates/grade", **fields).status_code == 303
    after = json.loads(planned(folder, "--json"))
    assert camera(after) > 1.1 * camera(before)

    def speed(plan):
        return next(one for one in plan["numbers_in_use"] if one["what"] == "plate_speed")

    assert speed(before)["before"] is None
    assert speed(after)["before"] == pytest.approx(speed(before)["value"], rel=1e-6)
    assert freshened()
    first = re.sub("<[^>]+>", "", host.get("/runs").text)
    told = " ".join(planned(folder).split())
    line = re.search(r"Learned from your plates: plate speed [^;]* before that day\)", told)[0]
    was = re.search(r"1 plate, last 2026-06-21 \(([\d.]+) before that day\)", line)[1]
    assert float(was) == pytest.approx(speed(before)["value"], rel=0.1)
    assert line in first
    app.state.taught._helper = Taught(app.state.house)
    assert "before that day" in host.get("/learned?fresh=1").text


def test_a_grade_tells_within_a_minute():
    assert FRESH_SECONDS <= 30.0


def test_the_server_asks_again_and_again_by_itself(app, monkeypatch):
    """Even when what the plates taught cannot be worked out now."""
    asked = []

    async def refused():
        raise Refused(503, "not now")

    monkeypatch.setattr(app.state.taught, "freshen", refused)

    async def go():
        advisor = app.state.advisor
        enough = asyncio.Event()

        async def freshen():
            asked.append(1)
            if len(asked) == 3:
                enough.set()
            return False

        monkeypatch.setattr(advisor, "freshen", freshen)
        monkeypatch.setattr("argentry.web.advisor.FRESH_SECONDS", 0.0)
        async with app.router.lifespan_context(app), asyncio.timeout(90):
            await enough.wait()

    asyncio.run(go())
    assert len(asked) >= 3
