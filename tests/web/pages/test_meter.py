"""The page of the light meter, and its card, through the server."""

import io
import json
import re

import pypdf
import pytest
from tests.web.pages.test_learning import plain

from argentry.cli.main import main
from argentry.out.meter_card import thirds


def test_the_page_shows_day_and_card(host):
    answer = host.get("/meter?date=2026-06-21&meter=generic+selenium+meter")
    assert answer.status_code == 200
    text = plain(answer.text)
    assert "Generic selenium meter" in text
    assert "To write on its back" in text
    assert text.count("−⅔") >= 7
    assert answer.text.count('role="img"') == 2  # for a phone and for a wider screen
    assert "/meter.pdf?meter=generic+selenium+meter&amp;date=2026-06-21" in answer.text


def test_without_a_choice_it_is_the_studios_meter_today(host, tablet):
    assert "Light meter" in plain(host.get("/meter").text)
    assert tablet.get("/meter").status_code == 200


def test_page_and_command_say_the_same_by_the_studios_spectra(host, studio_dir, capsys):
    file = studio_dir / "studio.toml"
    before = plain(host.get("/meter?date=2026-06-21").text)
    own = file.read_text(encoding="utf-8")
    for part, spectrum in (
        ("[[lens]]", "generic uncoated crown lens"),
        ("[[frame]]", "generic deep red long-pass 620 nm"),
        ("[meter]", "generic selenium meter"),
    ):
        own = own.replace(f"{part}\n", f'{part}\nspectrum = "{spectrum}"\n', 1)
    own = re.sub(
        r"^(glass|cut_on_nm|transmission|blocking_density) =", r"# \1 =", own, flags=re.MULTILINE
    )
    file.write_text(own, encoding="utf-8")
    text = plain(host.get("/meter?date=2026-06-21").text)
    with pytest.raises(SystemExit) as ended:
        main(
            ["light", "--meter", "own", "--at", "2026-06-21", "--studio", f"{studio_dir}", "--json"]
        )
    assert ended.value.code == 0
    told = json.loads(capsys.readouterr().out)
    assert told["spectrum"] == "generic selenium meter"
    for row in told["card"]:
        kinds = ("sun", "shade", "overcast", "development")
        assert f"{row['elevation_deg']:.0f}° " in text
        assert " ".join(thirds(row[f"{kind}_stops"]) for kind in kinds) in text, row
    assert before != text


def test_the_card_comes_as_pdf(host):
    answer = host.get("/meter.pdf?date=2026-06-21")
    assert answer.headers["content-type"] == "application/pdf"
    printed = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    assert "Light meter: stops to add" in " ".join(printed.split())


def test_what_is_not_known_is_one_sentence(host):
    for path in (
        "/meter?meter=../../etc/passwd",
        "/meter.pdf?meter=studio.toml",
        "/meter?date=soon",
        "/meter?date=3000-01-01",
    ):
        answer = host.get(path)
        assert answer.status_code == 422, path
        assert "Traceback" not in answer.text
    assert "there is no meter ../../etc/passwd" in plain(
        host.get("/meter?meter=../../etc/passwd").text
    )


def test_a_card_is_not_made_while_too_many_sheets_wait(host, monkeypatch):
    monkeypatch.setattr("argentry.web.sheet.MOST_WAITING", 0)
    answer = host.get("/meter.pdf?date=2026-06-21")
    assert answer.status_code == 503
    assert "try it again in a minute" in answer.text
