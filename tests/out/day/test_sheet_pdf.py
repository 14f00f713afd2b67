from __future__ import annotations

import io
import math
from dataclasses import replace

import pytest
from pypdf import PdfReader

from argentry.errors import BadInput
from argentry.out.day.sheet_pdf import day_pdf, sheet_data, type_size
from argentry.records.day import Range

MANY = {"workers": 2, "pace": 0.7, "begin": "05:30", "end": "22:00"}
SERIF = 1.06  # the step's words are set in the serif at this share of the body size


def read(pdf: bytes) -> tuple[PdfReader, str]:
    reader = PdfReader(io.BytesIO(pdf))
    return reader, " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize(
    ("paper", "width", "height"), [("a4", 595.28, 841.89), ("us-letter", 612.0, 792.0)]
)
@pytest.mark.parametrize("plates", [1, 3, 6, 12])
def test_one_page_for_any_number_of_plates(make_plan, plates, paper, width, height):
    reader, text = read(day_pdf(make_plan(plates, **(MANY if plates > 6 else {})), paper))
    assert len(reader.pages) == 1
    assert float(reader.pages[0].mediabox.width) == pytest.approx(width, abs=0.5)
    assert float(reader.pages[0].mediabox.height) == pytest.approx(height, abs=0.5)
    assert "begin at" in text
    assert "fulminating gold" in text  # the last cautions are on it too


@pytest.mark.parametrize("plates", [1, 2, 3])
def test_the_words_of_few_plates_are_large_enough_to_read(make_plan, plates):
    plan = make_plan(plates)
    assert SERIF * type_size(plan, "a4") >= 8.5
    assert SERIF * type_size(plan, "us-letter") >= 8.0


def test_what_a_studio_writes_is_never_markup(make_plan):
    nasty = '#panic("x") *bold* $x^2$ <label> @ref `raw` \\ "quotes" // not a comment'
    plan = make_plan(1, studio=nasty, place=nasty, warnings=(nasty,), weather=nasty)
    _, text = read(day_pdf(plan))
    assert text.count('#panic("x") *bold* $x^2$ <label> @ref `raw`') == 4


def test_the_answer_warnings_and_ground_are_on_the_page(make_plan):
    _, text = read(day_pdf(make_plan(3)))
    assert "3 plates: begin at 07:30, at the latest 08:05" in text
    assert "INVENTED" in text
    assert "Air is damp" in text
    assert "Ranges hold 80 % of 400 simulated days." in text
    assert "forecast.csv" in text
    _, own = read(day_pdf(make_plan(3, invented=False)))
    assert "INVENTED" not in own


def test_every_plate_and_every_step_is_on_the_page(make_plan):
    plan = make_plan(3)
    data = sheet_data(plan, "a4")
    assert {row["plate"] for row in data["order"]} == {"", "1", "2", "3"}
    assert len(data["steps"]) == len({step.step for step in plan.steps})
    single = sheet_data(make_plan(1), "a4")
    assert [row["what"].removesuffix(" (no hands)") for row in single["steps"]] == [
        step.title for step in make_plan(1).steps
    ]
    assert all(row["start"] and row["range"] and row["minutes"] for row in single["steps"])
    hands = [step.attended for step in make_plan(1).steps]
    assert [bool(row["latest"]) for row in single["steps"]] == hands


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
    reader, text = read(day_pdf(none))
    assert len(reader.pages) == 1
    assert "No plate can be made" in text


def test_a_development_that_may_never_end_is_told(make_plan):
    plan = make_plan(2)
    steps = tuple(
        step if step.attended else replace(step, minutes=Range(80, 120, math.inf))
        for step in plan.steps
    )
    reader, text = read(day_pdf(replace(plan, steps=steps)))
    assert len(reader.pages) == 1
    assert "–never" in text


def test_what_an_event_binds_is_told_by_the_event(make_plan):
    """Half an hour and an hour by what they run from, three hours by the clock as well."""
    told = {"ripe": 15.0, "the end of look": 60.0, "the end of load": 180.0}
    shown = set()
    for event, minutes in told.items():
        bound = tuple(
            replace(step, event=event, within_minutes=minutes) for step in make_plan(2).steps
        )
        shown |= {row["latest"] for row in sheet_data(make_plan(2, steps=bound), "a4")["order"]}
    assert {"within 15 min of ripe", "within 60 min of look"} <= shown
    assert all(":" in words for words in shown - {"within 15 min of ripe", "within 60 min of look"})


def test_many_long_warnings_still_fit(make_plan):
    loud = tuple(f"Warning {n}: " + "the light may fail in the afternoon, " * 5 for n in range(8))
    reader, text = read(day_pdf(make_plan(6, warnings=loud), "us-letter"))
    assert len(reader.pages) == 1
    assert "Warning 7" in text


def test_fonts_are_inside_the_file(make_plan):
    reader, _ = read(day_pdf(make_plan(1)))
    fonts = reader.pages[0]["/Resources"]["/Font"]
    names = {str(fonts[key].get_object()["/BaseFont"]) for key in fonts}
    assert any("B612" in name for name in names)
    assert any("Libertinus" in name for name in names)
    assert all("+" in name for name in names)  # a subset tag: embedded


def test_an_unknown_paper_is_refused(make_plan):
    with pytest.raises(BadInput, match="a4, us-letter"):
        day_pdf(make_plan(1), "a5")
