"""The page of the season, and its paper, through the server."""

import io
from datetime import UTC, datetime, timedelta

import pypdf
import pytest
from tests.web.pages.test_learning import plain
from tests.web.test_kept import Here


@pytest.fixture
def soon():
    """Dates within two years of the studio's clock."""
    first = datetime.now(UTC).date() + timedelta(days=62)
    return f"from={first}&to={first + timedelta(days=27)}"


@pytest.fixture(autouse=True)
def here(app, studio_dir):
    app.state.seasons._helper = Here(studio_dir)


def test_the_page_shows_the_map_the_weeks_and_another_place(host, soon):
    answer = host.get(
        f"/season?{soon}&at=Quito,+lat=-0.2,+lon=-78.5,+zone=America/Guayaquil&fresh=1"
    )
    assert answer.status_code == 200
    text = plain(answer.text)
    assert "Best weeks for sittings" in text
    assert "Quito" in text
    assert "best for a workshop" in text
    assert answer.text.count('role="img"') == 4  # two places, for a phone and for a wider screen
    assert answer.text.count("<caption") == 5  # for those who cannot see the drawing
    assert "/season.pdf?from=" in answer.text


def test_a_paired_tablet_may_see_it_and_its_pdf(tablet, soon):
    made = tablet.get(f"/season.pdf?{soon}")
    assert made.headers["content-type"] == "application/pdf"
    words = " ".join(pypdf.PdfReader(io.BytesIO(made.content)).pages[0].extract_text().split())
    assert "Season of" in words
    assert "Light enough for an exposure" in words


def test_what_cannot_be_is_one_sentence(host, soon):
    for asked, said in (
        ("from=soon", "is not a day"),
        ("from=3000-01-01", "is not a day"),
        (f"{soon}&at=Quito", "does not say lat"),
        (f"{soon}&at=Q,lat=1,lon=2,climate=/etc/passwd", "a page reads no files"),
        ("from=2027-02-01&to=2027-01-01", "ends before it begins"),
    ):
        answer = host.get(f"/season?{asked}")
        assert answer.status_code == 422, asked
        assert said in plain(answer.text), asked
        assert "Traceback" not in answer.text
