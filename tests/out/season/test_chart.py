"""A season drawn and in words: whole at a phone's width, on paper, and the same figures in each."""

import re
from datetime import date, timedelta
from itertools import pairwise

import pypdf
import pytest
from tests.out.look import cut, placed

from argentry.errors import BadInput
from argentry.out.season.chart import season_map
from argentry.out.season.pdf import season_pdf
from argentry.out.season.words import (
    best_lines,
    compared,
    month_rows,
    notes_of,
    place_head,
    pose_words,
    range_words,
    week_rows,
    week_words,
)
from argentry.records.answers.season import (
    Season,
    SeasonDay,
    SeasonMonth,
    SeasonPlace,
    SeasonWeek,
    SeasonYear,
)
from argentry.records.day import Range

FIRST = date(2026, 1, 1)
HOURS = tuple(f"{hour:02d}:00" for hour in range(8, 19))


def day(at):
    bright = 1.0 if 60 <= at < 300 else 0.0
    odds = tuple(bright * (0.2 + 0.07 * hour) for hour in range(len(HOURS)))
    plates = Range(bright, 2.0 * bright, 3.0 * bright)
    return SeasonDay(
        FIRST + timedelta(days=at), plates, bright, 4.5 if bright else None, odds, odds
    )


def week(at):
    return SeasonWeek(
        FIRST + timedelta(days=4 + 7 * at), Range(10.0, 12.0, 14.0), Range(5.0, 6.0, 7.0), 0.85,
        5.25, 4.5,
    )  # fmt: skip


def place(name="Invented yard <b>"):
    weeks = tuple(week(at) for at in range(51))
    months = (SeasonMonth(FIRST, 31, Range(0.0, 0.0, 0.0), 0.0, None),)
    return SeasonPlace(
        place=name, latitude_deg=43.0, longitude_deg=-2.0, time_zone="Europe/Madrid",
        climate="clouds usual there", real_years=False, hours=HOURS,
        plates=Range(400.0, 480.0, 520.0), plate_days=Range(200.0, 220.0, 240.0),
        days=tuple(day(at) for at in range(365)), weeks=weeks,
        months=months, years=(SeasonYear(1, 480, 220),), sitting_weeks=(weeks[3].first,),
        workshop_weeks=(weeks[4].first, weeks[5].first), notes=("A note.",),
    )  # fmt: skip


def season(*places):
    return Season(
        "Trial room", False, FIRST, date(2026, 12, 31), places or (place(),), ("A rule.",)
    )


@pytest.mark.parametrize("width", [280.0, 340.0, 700.0])
def test_no_word_is_cut_or_runs_into_the_next(width):
    drawn = season_map(place(), width)
    words = placed(drawn)
    assert {"Light enough for an exposure", "Plates a day holds"} <= {one.words for one in words}
    assert cut(drawn) == []
    for row in {round(one.baseline) for one in words}:
        line = sorted((one for one in words if round(one.baseline) == row), key=lambda w: w.left)
        for before, after in pairwise(line):
            assert before.right <= after.left + 0.5, (before, after)


def test_the_map_is_dark_where_plates_are_likely_and_empty_where_there_are_none():
    drawn = season_map(place(), 700.0)
    ways = re.findall(r'<path d="([^"]*)" fill="#c4161c" fill-opacity="([^"]*)"', drawn)
    runs = [run for way, _ in ways for run in re.findall(r"M([\d.]+) [\d.]+h([\d.]+)", way)]
    at = [(float(x), float(h)) for x, h in runs if float(h) > 20.0]
    left, each = 40.0, (700.0 - 46.0) / 365.0
    for x, length in at:  # of days 60 to 300
        assert (x - left) / each == pytest.approx(60.0, abs=4.0)
        assert length / each == pytest.approx(240.0, abs=8.0)
    assert len(at) == len(HOURS)
    assert {opacity for _, opacity in ways} >= {"0.2", "0.4", "0.6", "0.8"}
    assert len(drawn) < 60_000


def test_a_phone_has_a_column_a_week():
    phone = season_map(place(), 340.0)
    assert "each column a week" in phone or "10 %" in phone
    steps = {round(float(h), 2) for h in re.findall(r"h(\d+\.?\d*)v13", phone)}
    assert min(steps) > 4.0


def test_words_of_weeks_ranges_and_poses():
    assert week_words(date(2026, 6, 1)) == "1–7 Jun"
    assert week_words(date(2026, 6, 29)) == "29 Jun–5 Jul"
    assert range_words(Range(7.0, 7.0, 7.0)) == "7"
    assert range_words(Range(5.0, 6.0, 7.0)) == "5–7"
    assert [pose_words(one, Range(0.0, 0.0, 0.0)) for one in (None, 0.6, 4.51, 61.2)] == [
        "none",
        "40 s",
        "4.5 min",
        "61 min",
    ]
    assert pose_words(None, Range(0.0, 2.0, 5.0)) == "mostly none", "some days hold a plate"


def test_tables_say_what_the_season_says():
    one = season()
    assert place_head(one, one.places[0]) == (
        "Invented yard <b>, 1 Jan 2026 to 31 Dec 2026: 200–240 of 365 days with a plate, 400–520 "
        "plates in all."
    )
    assert month_rows(place())[1] == [("January 2026", "0 of 31", "0.0", "none")]
    assert week_rows(place())[1][0] == ("5–11 Jan", "10–14", "5–7", "85 %", "5.2 h", "4.5 min")
    sitting, workshop = best_lines(place())
    assert sitting.endswith("finished: 26 Jan–1 Feb (5.2).")
    assert workshop.endswith("seven days: 2–8 Feb (10–14), 9–15 Feb (10–14).")
    assert compared(one)[1] == [
        ("Invented yard <b>", "200–240", "400–520", "26 Jan–1 Feb", "2–8 Feb")
    ]
    assert notes_of(place())[0] == "1 weather years: clouds usual there."


@pytest.mark.parametrize(("paper", "width"), [("a4", 595.3), ("us-letter", 612.0)])
def test_on_paper_a_place_has_a_page_and_its_weeks_another(tmp_path, paper, width):
    made = season_pdf(season(place(), place("Other")), paper)
    path = tmp_path / "season.pdf"
    path.write_bytes(made)
    pages = pypdf.PdfReader(path).pages
    assert len(pages) == 4
    assert float(pages[0].mediabox.width) == pytest.approx(width, abs=0.5)
    words = [" ".join(page.extract_text().split()) for page in pages]
    assert "Invented yard <b>" in words[0]
    assert "200–240" in words[0]
    assert "Light enough for an exposure" in words[0]
    assert "Week by week" in words[1]
    assert "5–11 Jan" in words[1]
    assert "Other" in words[2]
    with pytest.raises(BadInput, match="'a5' is not a paper"):
        season_pdf(season(), "a5")
