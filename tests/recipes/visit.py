"""Goes to every door of a house in which the recipes were done, and prints what it found as JSON.

Run in a process of its own, with the copy of the source first on its path:
``python visit.py TESTS FOLDER SENT``, with the folder of the tests, an empty one, and what a
sensor sends.
"""

from __future__ import annotations

import json
import re
import sys
from datetime import UTC, datetime
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import argentry
from argentry.records.ids import new_id

DAY = "2026-06-21"
DEFECT = "defect.holder_marks.exposure"
WINDY_KM_H, WINDY_M_S = 36.0, 10.0


def module_of(path):
    """Return a module of a file that belongs to no package."""
    spec = spec_from_file_location(path.stem, path)
    module = sys.modules[path.stem] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class Visit:
    """One studio, its commands and its server."""

    def __init__(self, tests, folder):
        self.tests, self.folder, self.doors = tests, folder, module_of(tests / "circle/doors.py")
        self.command = self.doors.Commands(folder / "house")
        self.studio = ("--studio", folder / "house")
        self.command("demo", folder / "house")
        self.command("book", "import", folder / "house/plates.csv", *self.studio)
        self.server = self.doors.Server(folder / "house", datetime(2026, 6, 21, 6, tzinfo=UTC))

    def plan(self):
        """The day: its steps as JSON, its words in the terminal and on paper."""
        pdf = self.folder / "day.pdf"
        day = self.command.json("day", DAY, "--plates", 1, "--pdf", pdf)
        return {"steps": day["steps"], "pdf": str(pdf)}

    def sheet(self):
        """The sheet of the tests' own invented day, of one plate and of three."""
        from argentry.out.day.sheet_pdf import day_pdf

        make_plan = module_of(self.tests / "out/day_fixture.py").make_plan
        out = {}
        for plates in (1, 3):
            plan = make_plan(plates)
            for paper in ("a4", "us-letter"):
                file = self.folder / f"{plates}-{paper}.pdf"
                file.write_bytes(day_pdf(plan, paper))
                out[file.stem] = str(file)
        return out

    def table(self):
        """A maker's own table, its wind in another unit; and one with a slip in it."""
        rows, mapping = self.folder / "own.csv", self.folder / "own.toml"
        mapping.write_text(
            'columns.wind_m_s = { column = "wind", unit = "km/h" }\n', encoding="utf-8"
        )
        out = {}
        for name, wind in (("slip", 900.0), ("own", WINDY_KM_H)):
            rows.write_text(f"plate,date,wind,grade\nW-1,2025-08-30,{wind},good\n", "utf-8")
            try:
                self.command("book", "import", rows, "--mapping", mapping, *self.studio)
            except AssertionError as refused:
                out[name] = str(refused)
        return out

    def bench(self):
        """One plate through the new step and the exposure, then graded with the new defect."""
        self.run = self.server.post("/api/runs", plates=["R-1", "R-2"])["run"]
        state = self._state()
        self.plate = state["plates"][0]["id"]
        page = self.server.page(f"/bench/{self.run}")
        keys = sorted({c["key"] for step in state["steps"] for c in step["cautions"]})
        self._say("cautions_read", cautions=keys)
        for step in state["steps"]:
            for caution in step["cautions"]:
                if caution["asks_again"]:
                    self._say("caution_shown", step["key"], caution=caution["key"])
        for step in state["steps"]:
            key = step["key"]
            if key in ("focus", "expose"):
                self._do(key, [check["when"] for check in step["checks"]])
            else:
                self._say("step_skipped", key, why="not this time")
            if key == "expose":
                break
        self._say("plate_abandoned", stage="exposure", reason="fault", defect="holder_marks",
                  outward=None, why="it moved")  # fmt: skip
        return {
            "steps": state["steps"],
            "asks": page,
            "record": self.server.page("/plates/R-1"),
            "why": self.command.json("why", "R-1"),
        }

    def graded(self):
        """A plate of the table graded on its page, the new defect among those chosen."""
        page = self.server.page("/plates/W-1")
        making = re.search(r'name="making" value="([^"]+)"', page)[1]
        form = {"making": making, "label": "W-1", "grade": "study", DEFECT: "on"}
        after = self.server.ask("POST", "/plates/grade", data=form, follow_redirects=True).text
        return {"before": page, "after": after}

    def _do(self, key, checks):
        self._say("step_begun", key)
        what, value = {"focus": ("outside_c", 24.5), "expose": ("wind_m_s", WINDY_M_S)}[key]
        self._say("reading_taken", key, what=what, value=value, unit="", source="maker")
        self.server.wait(120.0)
        self._say("step_ended", key)
        for when in checks:
            self._say("check_answered", key, answer="right", when=when)

    def _state(self):
        return self.server.get(f"/api/runs/{self.run}")["state"]

    def _say(self, kind, step=None, **body):
        plate = None if kind in ("cautions_read", "caution_shown") else self.plate
        event = {"id": new_id(), "kind": kind, "plate": plate, "step": step, "body": body}
        answer = self.server.post(f"/api/runs/{self.run}/events", events=[event])
        assert answer["refused"] == [], (event, answer)

    def sensor(self, body):
        """What a probe sends by HTTP: on the first page, and in the steps still to come."""
        token = self.command.json("device", "new-sensor", "probe")["token"]
        before = self._lengths()
        kept = self.server.ask(
            "POST", "/api/readings", json=body, headers={"Authorization": f"Bearer {token}"}
        ).json()
        return {
            "kept": kept,
            "page": self.server.page("/runs"),
            "before": before,
            "after": self._lengths(),
        }

    def _lengths(self):
        return {step["key"]: step for step in self._state()["plates"][1]["steps"]}

    def page(self):
        """The new page with a bath on it, and the first page that leads there."""
        self.command("bath", "new", "Hypo 3", "fixer", "--volume-ml", 500, *self.studio)
        return {"page": self.server.page("/baths"), "first": self.server.page("/")}

    def learned(self):
        """What learning makes of the new condition, and the book's table with it."""
        out = self.folder / "out"
        self.command("book", "export", out, *self.studio)
        calm, windy = (
            self.command.json("odds", "P001", "--set", f"wind_m_s={wind}")["probability"]
            for wind in (0.0, WINDY_M_S)
        )
        return {
            "causes": self.command.json("why", "--studio-wide")["causes"],
            "calm": calm,
            "windy": windy,
            "plates": (out / "data/plates.csv").read_text(encoding="utf-8"),
        }

    def docs(self):
        """The pages that are made from the data."""
        builders = self.tests.parent / "builders"
        tables = module_of(builders / "docs_tables.py")
        plates = module_of(builders / "docs_plates.py")
        units = module_of(builders / "docs_import.py")
        return {
            "trade": tables.page(),
            "plates-csv": plates.columns_page(),
            "import": units.units_page(),
        }


if __name__ == "__main__":
    visit = Visit(Path(sys.argv[1]), Path(sys.argv[2]))
    found = {
        "source": argentry.__file__,
        "table": visit.table(),
        "plan": visit.plan(),
        "sheet": visit.sheet(),
        "bench": visit.bench(),
        "graded": visit.graded(),
        "sensor": visit.sensor(json.loads(sys.argv[3])),
        "page": visit.page(),
        "learned": visit.learned(),
        "docs": visit.docs(),
    }
    visit.server.close()
    sys.stdout.write(json.dumps(found))
