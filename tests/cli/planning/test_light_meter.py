"""``argentry light --meter``: the day, the card on screen and on paper."""

import json
import re
from datetime import datetime

import pypdf
import pytest

from argentry.cli.main import main
from argentry.out.meter_chart import meter_chart
from argentry.records.answers.meter import MeterHour, MeterStory

PLACE = ("--lat", "42", "--lon", "-1", "--tz", "Europe/Madrid", "--at", "2026-06-21")


def run(capsys, *arguments, code=0):
    with pytest.raises(SystemExit) as end:
        main(["light", *arguments])
    out, err = capsys.readouterr()
    assert end.value.code == code, err
    return " ".join((out or err).split())


def test_the_day_and_the_card_are_printed(capsys):
    text = run(capsys, *PLACE, "--meter", "generic eye-corrected meter")
    assert "Generic eye-corrected meter at 42.00, -1.00 on 2026-06-21" in text
    assert re.search(r"09:00 25° 15\.\d \+0\.5", text)
    assert re.search(r"20° 2\.7 m 08:32, 19:41 \+⅔ −⅔ −⅓", text)
    assert "Never look at the sun" in text
    assert "-0.0" not in text


def test_the_card_is_one_page_of_paper_with_the_same_figures(capsys, tmp_path):
    file = tmp_path / "card.pdf"
    text = run(capsys, *PLACE, "--meter", "generic selenium meter", "--pdf", str(file))
    assert str(file.name) in text
    pages = pypdf.PdfReader(file).pages
    assert len(pages) == 1
    printed = " ".join(pages[0].extract_text().split())
    assert "Generic selenium meter: stops to add" in printed
    answer = json.loads(run(capsys, *PLACE, "--meter", "generic selenium meter", "--json"))
    assert len(answer["card"]) == 7
    for row in answer["card"]:
        assert f"{row['elevation_deg']:.0f}° {row['shadow_m']:.1f} m" in printed


def test_the_studios_own_meter_is_used(capsys, tmp_path):
    with pytest.raises(SystemExit):
        main(["studio", "new", str(tmp_path / "s"), "--tz", "Europe/Madrid"])
    (tmp_path / "s" / "cell.csv").write_text(
        "\n".join(f"{nm} {nm / 700}" for nm in range(400, 701, 10))
    )
    with (tmp_path / "s" / "studio.toml").open("a") as file:
        file.write('\n[meter]\nname = "My cell"\nspectrum = "cell.csv"\n')
    text = (tmp_path / "s" / "studio.toml").read_text()
    if text.count("[meter]") > 1:  # the new studio names one already
        head, _, tail = text.partition("[meter]")
        (tmp_path / "s" / "studio.toml").write_text(head + tail[tail.rindex("[meter]") :])
    capsys.readouterr()
    told = run(capsys, "--studio", str(tmp_path / "s"), "--meter", "own", "--at", "2026-06-21")
    assert "My cell at" in told
    assert "by its spectrum (cell.csv)" in told


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--meter", "none.csv"), "--meter: none.csv is neither a spectrum known here nor a file"),
        (("--pdf", "x.pdf"), "--pdf: there is a card only for a meter; add --meter"),
        (("--meter", "own", "--lux", "5"), "--lux: --meter tells of a whole clear day; leave it"),
        (
            ("--meter", "own", "--filter", "x.csv"),
            "--filter: --meter takes window, lens and filter",
        ),
        (("--meter", "own", "--plane", "shade"), "--plane: --meter takes window, lens and filter"),
        (("--meter", "own", "--step", "5"), "--step: --meter tells of a whole clear day; leave it"),
        (("--meter", "own", "--pdf", "/"), "--pdf: / is a folder; name a file in it"),
    ],
)
def test_what_cannot_be_is_one_sentence(capsys, more, told):
    assert told in run(capsys, *PLACE, *more, code=2)


@pytest.mark.parametrize("width", [340.0, 700.0])
def test_the_chart_holds_every_value_of_the_day(width):
    hours = tuple(
        MeterHour(datetime.fromisoformat(f"2026-06-21T{h:02d}:00+02:00"), 9.0, 14.0, up, down)
        for h, up, down in ((8, 3.6, -1.4), (12, 0.0, 0.0), (18, 2.0, -1.0))
    )
    story = MeterStory(
        "cell", "cell", "yard", False, 42.0, -1.0, "Europe/Madrid", hours[0].time.date(), 60.0, 8.0,
        hours, (),
    )  # fmt: skip
    drawn = meter_chart(story, width)
    assert "+4" in drawn
    assert "-2" in drawn
    assert all(0.0 <= float(x) <= width for x in re.findall(r'\bx\d?="([\d.]+)"', drawn))
