"""The evening's sheet: what keeps is mixed, what does not keep is joined before use."""

import io
from datetime import UTC, date, datetime, timedelta

import pytest
from pypdf import PdfReader
from tests.own_recipes import OWN

from argentry.errors import BadInput
from argentry.keeping.stock.baths import new_bath
from argentry.keeping.stock.mixing_sheet import APART, LABELLED, STAND, mixing_sheet
from argentry.keeping.studio import new_studio
from argentry.out.materials.sheets import mixing_pdf

JOINED = (  # a fixing bath of two bottles, which keeps once they are one
    OWN.partition("\n\n")[2]
    .replace("gold_twice", "joined")
    .replace('"gild"', '"fix"')
    .replace("HAuCl4.3H2O", "Na2S2O3.5H2O")
)
LATE = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)  # in this studio's zone the third has begun


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("evening") / "studio"
    new_studio(made, {})
    (made / "recipes.toml").write_text(OWN + JOINED, encoding="utf-8")
    return made


def test_gold_is_joined_with_thiosulfate_on_the_day_alone(folder):
    sheet = mixing_sheet(folder, 2, now=LATE)
    fix, gild = sheet.baths
    assert (fix.recipe, gild.recipe) == ("fix", "gild")
    assert fix.before_use == ()
    assert [line.split()[0] for line in fix.tonight] == ["Dissolve", "Filter.", "Write"]
    assert [line.split()[0] for line in gild.tonight] == ["Dissolve", "Dissolve", "Write"]
    assert [line.split()[0] for line in gild.before_use] == ["Pour", "Filter."]
    assert all(bath.tonight[-1] == LABELLED for bath in sheet.baths)
    assert "Use it within 24 hours of joining, once." in gild.notes
    assert (fix.notes[0], gild.notes[0]) == (STAND, APART), "a joined bath does not stand overnight"
    assert not any("of joining" in note for note in fix.notes)
    assert len(sheet.cautions) == len(set(sheet.cautions))


def test_what_is_joined_and_keeps_is_finished_tonight(folder):
    (bath,) = mixing_sheet(folder, 2, ("joined",), now=LATE).baths
    assert [line.split()[0] for line in bath.tonight] == ["Dissolve", "Dissolve", "Pour", "Write"]
    assert bath.before_use == ()


def test_it_is_for_the_day_after_by_the_studios_own_clock(folder):
    sheet = mixing_sheet(folder, 3, now=LATE)
    assert sheet.day == "Wednesday 2026-03-04"
    assert sheet.ready == "For 3 plates of the size quarter on 2026-03-04. Ready by 08:00."
    assert sheet.studio == "My studio"


def test_a_day_that_ends_at_midnight_has_its_sheet(tmp_path):
    new_studio(tmp_path / "late", {})
    file = tmp_path / "late" / "studio.toml"
    text = file.read_text(encoding="utf-8")
    assert 'end = "19:00"' in text
    file.write_text(text.replace('end = "19:00"', 'end = "24:00"'), encoding="utf-8")
    new_bath(tmp_path / "late", "F1", "fix", 500.0)
    assert mixing_sheet(tmp_path / "late", 2).standing[0].endswith("that none is mixed tonight.")


def test_plates_and_no_studio(folder):
    one, many = (mixing_sheet(folder, plates, ("gild",), now=LATE) for plates in (1, 100))
    assert one.baths[0].title != many.baths[0].title
    assert mixing_sheet(None, 1, now=LATE).studio == ""
    assert "For 10 plates" in mixing_sheet(folder, now=LATE).ready  # no day's work in the book yet
    for plates in (0, 101):
        with pytest.raises(BadInput, match="--plates"):
            mixing_sheet(folder, plates)


def test_a_bath_that_stands_mixed_and_lasts_is_not_mixed_again(tmp_path):
    """A sheet asked for a new fixing bath beside 500 mL mixed the same day."""
    studio = tmp_path / "studio"
    new_studio(studio, {})
    new_bath(studio, "Big", "fix", 500.0, mixed_at=LATE - timedelta(hours=2))
    new_bath(studio, "Gold", "gild", 100.0, mixed_at=LATE - timedelta(hours=2))

    def mixed(**more):
        return [bath.recipe for bath in mixing_sheet(studio, **{"now": LATE, **more}).baths]

    assert mixed(plates=2) == ["gild"], "by the end of the day it would be over a day old"
    sheet = mixing_sheet(studio, 2, now=LATE)
    (told,) = sheet.standing
    assert told.startswith("Fixing bath, plain, as Big: it stands mixed and lasts that day")
    page = PdfReader(io.BytesIO(mixing_pdf(sheet, date(2026, 6, 3)))).pages[0].extract_text()
    assert "as Big" in page
    assert mixed(plates=2, now=LATE + timedelta(days=6)) == ["fix", "gild"], "it is too old then"
    assert mixed(plates=2, recipes=("fix",)) == ["fix"], "what is asked for is printed"
    new_bath(studio, "Small", "fix", 20.0, mixed_at=LATE - timedelta(hours=1))
    assert mixed(plates=100) == ["gild"]
    assert mixing_sheet(studio, 100, now=LATE).standing == sheet.standing
