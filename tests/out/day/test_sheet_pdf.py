from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from functools import cached_property

import pytest
from pypdf import PdfReader
from tests.out.pdf_look import beyond, lines_of, run_together, words_on

from argentry.errors import BadInput
from argentry.out.day.rows import rows as day_rows
from argentry.out.day.sheet_pdf import day_pdf, sheet_data
from argentry.records.day import Range

MANY = {"workers": 4, "pace": 0.7, "begin": "05:30", "end": "22:00"}
MARGIN = 22.68  # 8 mm. [pt]
ROWS_PT, LEAST_PT = 10.0, 8.25  # of the rows, read at arm's length; of anything (11 px)
# the paper that is shorter with the most rows, the narrower one with long ones
SHEETS = pytest.mark.parametrize(
    ("plates", "paper"), [(1, "a4"), (3, "us-letter"), (6, "a4"), (12, "us-letter")]
)
PAPERS = {"a4": (595.28, 841.89), "us-letter": (612.0, 792.0)}


class Printed:
    """A sheet as it was printed; what is read of a page is read once."""

    def __init__(self, pdf: bytes) -> None:
        self.pages = PdfReader(io.BytesIO(pdf)).pages

    @cached_property
    def texts(self) -> list[str]:
        return [" ".join(page.extract_text().split()) for page in self.pages]

    @property
    def text(self) -> str:
        return " ".join(self.texts)

    @cached_property
    def words(self):
        """The words of each page that are seen."""
        return [[word for word in words_on(page) if word.words.strip()] for page in self.pages]


def plan_of(make_plan, plates, **changes):
    return make_plan(plates, **(MANY if plates > 6 else {}), **changes)


@SHEETS
def test_the_day_on_page_one_its_steps_on_page_two(make_plan, plates, paper):
    """Of twelve plates with one pair of hands the rows take two pages."""
    plan = make_plan(plates, begin="04:00", end="23:30", pace=0.4)
    printed = Printed(day_pdf(plan, paper))
    assert len(printed.pages) == (3 if plates == 12 else 2)
    for page in printed.pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx(PAPERS[paper], abs=0.5)
    first, *_, last = printed.texts
    assert "begin at" in first
    assert "fulminating gold" in last  # the last cautions are on it too
    assert "Each step" in last
    assert "Each step" not in first
    assert "fix within 15 min of ripe" in printed.text
    rows, _ = rows_of(printed)
    assert [row[0].words for row in rows] == [
        row.start for row in day_rows(plan, each_step=plates == 1)
    ]


@SHEETS
def test_rows_are_read_at_arms_length_and_no_word_is_small_cut_or_covered(make_plan, plates, paper):
    printed = Printed(day_pdf(plan_of(make_plan, plates), paper))
    rows, words = rows_of(printed)
    assert min(word.size for word in words) >= ROWS_PT
    assert min(row[0].size for row in rows) >= 1.1 * ROWS_PT  # the planned start
    for page, there in zip(printed.pages, printed.words, strict=True):
        assert min(word.size for word in there) >= LEAST_PT
        assert beyond(there, page, MARGIN) == []
        assert run_together(there) == []


def test_the_planned_start_is_bold_and_the_limit_in_words(make_plan):
    rows, _ = rows_of(Printed(day_pdf(make_plan(3))))
    assert all("Bold" in row[0].face for row in rows)
    told = [" ".join(word.words.strip() for word in row) for row in rows]
    assert sum("within 15 min of ripe" in row for row in told) == 3
    shots = [row for row in told if "camera" in row]
    assert len(shots) == 3
    assert all(re.search(r"camera \d+ min \([\d.]+–\d+\)", row) for row in shots)


def rows_of(printed):
    """Return the lines of the rows that begin with a time, and every word of the rows."""
    lines, inside = [], False
    for words in printed.words:
        for line in lines_of(words):
            if line[0].words == "start":
                inside = True
            elif line[0].words.startswith(("Waits", "Each step")):
                inside = False
            if inside:
                lines.append(line)
    rows = [line for line in lines if re.fullmatch(r"\d\d:\d\d", line[0].words)]
    return rows, [word for line in lines for word in line]


def test_what_a_studio_writes_is_never_markup(make_plan):
    nasty = '#panic("x") *bold* $x^2$ <label> @ref `raw` \\ "quotes" // not a comment'
    plan = make_plan(1, studio=nasty, place=nasty, warnings=(nasty,), weather=nasty)
    text = Printed(day_pdf(plan)).text
    assert text.count('#panic("x") *bold* $x^2$ <label> @ref `raw`') == 5


def test_the_answer_warnings_and_ground_are_on_the_page(make_plan):
    text = Printed(day_pdf(make_plan(3))).text
    assert "3 plates: begin at 07:30, at the latest 08:05" in text
    assert "INVENTED" in text
    assert "Air is damp" in text
    assert "Ranges hold 80 % of 400 simulated days." in text
    assert "forecast.csv" in text
    own = Printed(day_pdf(make_plan(3, invented=False))).text
    assert "INVENTED" not in own


def test_every_plate_and_every_step_is_on_the_sheet(make_plan):
    plan = make_plan(3)
    data = sheet_data(plan, "a4")
    assert {row["plate"] for row in data["rows"]} == {"", "1", "2", "3"}
    assert len(data["steps"]) == len({step.step for step in plan.steps})
    plan = make_plan(1)
    single = sheet_data(plan, "a4")["rows"]
    assert len(single) == len(plan.steps)
    assert all(row["start"] and row["range"] for row in single)
    assert [bool(row["latest"]) for row in single] == [step.attended for step in plan.steps]


def test_over_iodine_one_time_stands_on_the_sheet(make_plan):
    """Who counts the handling as time over iodine has too thick a coat."""
    plan = make_plan(3, over_iodine_seconds=Range(30.0, 51.0, 86.0))
    (fumed,) = (one for one in sheet_data(plan, "a4")["steps"] if one["what"] == "Iodise")
    assert (fumed["minutes"], fumed["span"]) == ("51 s", "30–86")


def test_a_step_that_only_follows_at_once_says_so(make_plan):
    tight = tuple(replace(step, float_minutes=0.0) for step in make_plan(1).steps)
    rows = sheet_data(make_plan(1, steps=tight), "a4")["rows"]
    told = {row["what"]: row["latest"] for row in rows}
    assert told["wash"] == told["warm"] == "at once"
    assert told["fix"] == "within 15 min of ripe"
    assert re.fullmatch(r"\d\d:\d\d", told["ready room"])


def test_cautions_are_told_once_and_pointed_to(make_plan):
    data = sheet_data(make_plan(3), "a4")
    told = [one["mark"] for one in data["cautions"]]
    assert told == [f"!{number}" for number in range(1, len(told) + 1)]
    pointed = {mark for step in data["steps"] for mark in step["marks"].split()}
    assert pointed <= set(told)
    words = [one["text"] for one in data["cautions"]]
    assert len(words) == len(set(words))
    assert all(words)


def test_a_day_that_holds_no_plate_is_still_a_sheet(make_plan):
    none = make_plan(1, plates_placed=0, steps=(), days_simulated=0, coat={}, materials=())
    printed = Printed(day_pdf(none))
    text = printed.text
    assert len(printed.pages) == 1
    assert "No plate can be made" in text
    assert "Begun at that hour" in text


def test_a_development_that_may_never_end_is_told(make_plan):
    plan = make_plan(2)
    steps = tuple(
        step if step.attended else replace(step, minutes=Range(80, 120, math.inf))
        for step in plan.steps
    )
    text = Printed(day_pdf(replace(plan, steps=steps))).text
    assert "–never" in text


def test_what_an_event_binds_is_told_by_the_event(make_plan):
    """Half an hour and an hour by what they run from, three hours by the clock as well."""
    told = {"ripe": 15.0, "the end of look": 60.0, "the end of load": 180.0}
    shown = set()
    for event, minutes in told.items():
        bound = tuple(
            replace(step, event=event, within_minutes=minutes) for step in make_plan(2).steps
        )
        shown |= {row["latest"] for row in sheet_data(make_plan(2, steps=bound), "a4")["rows"]}
    assert {"within 15 min of ripe", "within 60 min of look"} <= shown
    assert all(":" in words for words in shown - {"within 15 min of ripe", "within 60 min of look"})


@pytest.mark.parametrize("paper", PAPERS)
def test_many_long_warnings_go_on_after_the_rows(make_plan, paper):
    loud = tuple(f"Warning {n}: " + "the light may fail in the afternoon, " * 5 for n in range(8))
    printed = Printed(day_pdf(make_plan(3, warnings=loud), paper))
    first, text = printed.texts[0], printed.text
    assert "Warning 0" in first
    assert "Waits:" in first
    assert text.count("Warning") == 8
    _, words = rows_of(printed)
    assert min(word.size for word in words) >= ROWS_PT


def test_fonts_are_inside_the_file(make_plan):
    fonts = Printed(day_pdf(make_plan(1))).pages[0]["/Resources"]["/Font"]
    names = {str(fonts[key].get_object()["/BaseFont"]) for key in fonts}
    assert any("B612" in name for name in names)
    assert any("Libertinus" in name for name in names)
    assert all("+" in name for name in names)  # a subset tag: embedded


def test_an_unknown_paper_is_refused(make_plan):
    with pytest.raises(BadInput, match="a4, us-letter"):
        day_pdf(make_plan(1), "a5")
