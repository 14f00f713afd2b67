"""``argentry weather`` as typed by a maker, against a service on this machine."""

import json
from datetime import UTC, datetime, timedelta

import pypdf
import pytest
from tests.weather_stub import Stub, moved, point_to, running

from argentry.cli.main import main
from argentry.keeping.forecast import beside


@pytest.fixture
def studio(tmp_path):
    place = [
        "--lat",
        "48.1371",
        "--lon",
        "11.5849",
        "--elevation-m",
        "520",
        "--tz",
        "Europe/Berlin",
    ]
    with pytest.raises(SystemExit):
        main(["studio", "new", str(tmp_path / "studio"), *place])
    return tmp_path / "studio"


@pytest.fixture
def stub(studio):
    today = datetime.now(UTC).date()
    with running(Stub(body=moved("met-norway", "clear", today))) as made:
        point_to(made, studio)
        yield made


@pytest.fixture(autouse=True)
def started(monkeypatch):
    found = []
    monkeypatch.setattr(beside, "start", lambda folder, key: found.append(key))
    return found


def run(capsys, *arguments, code=0):
    capsys.readouterr()
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    out, err = capsys.readouterr()
    assert end.value.code == code, err
    return out, err


def test_nothing_is_agreed_to_by_nobody(capsys, studio, stub):
    _, err = run(capsys, "weather", "agree", "open-meteo", "--studio", str(studio), code=2)
    assert "place to two decimals, latitude 48.14, longitude 11.58, and nothing else" in err
    assert "nobody is here to say yes" in err
    _, err = run(capsys, "weather", "fetch", "open-meteo", "--studio", str(studio), code=2)
    assert "you have not agreed that the place is sent to Open-Meteo" in err
    _, err = run(capsys, "weather", "fetch", "--studio", str(studio), code=2)
    assert "no service is named" in err
    assert stub.asked == []


def test_from_the_yes_to_the_sheet(capsys, studio, stub, started, tmp_path):
    here = ("--studio", str(studio))
    _, err = run(capsys, "weather", "agree", "met-norway", "--yes", *here, code=2)
    assert "must be told a contact" in err
    out, _ = run(
        capsys, "weather", "agree", "met-norway", "--yes", "--contact", "me@example.org", *here
    )
    assert "Forecasts come from MET Norway" in out
    out, _ = run(capsys, "weather", "fetch", *here)
    assert out.startswith("Fetched.")
    assert stub.asked[0][1]["user-agent"].endswith("me@example.org")
    out, _ = run(capsys, "weather", "fetch", *here)
    assert "nothing was sent" in out
    assert len(stub.asked) == 1
    out, _ = run(capsys, "weather", "show", *here)
    assert "MET Norway (met-norway): used for plans" in out
    assert "CC BY 4.0" in out
    assert "Open-Meteo (open-meteo): not agreed: nothing is sent" in out

    pdf = tmp_path / "day.pdf"
    out, _ = run(capsys, "day", "tomorrow", "--plates", "1", "--json", "--pdf", str(pdf), *here)
    plan = json.loads(out)
    assert plan["weather_origin"]["service"] == "met-norway"
    assert plan["weather_origin"]["fresh"]
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(pdf).pages)
    assert "Based on data from MET Norway, CC BY 4.0." in " ".join(text.split())
    out, _ = run(capsys, "day", "tomorrow", "--plates", "1", *here)
    assert "Weather: MET Norway, fetched" in " ".join(out.split())
    assert "CC BY 4.0" in " ".join(out.split())
    out, _ = run(capsys, "day", "tomorrow", "--plates", "1", "--weather", "none", *here)
    assert "MET Norway" not in out
    assert started == []

    far = datetime.now(UTC).date() + timedelta(days=9)
    out, _ = run(capsys, "day", str(far), "--plates", "1", *here)
    assert "No forecast covers this day: that of MET Norway ends on" in " ".join(out.split())
    out, _ = run(capsys, "weather", "agree", "none", *here)
    assert "No weather service is asked" in out
    run(capsys, "day", "tomorrow", "--plates", "1", *here)
    assert len(stub.asked) == 1


def test_a_failure_is_one_sentence(capsys, studio, stub):
    here = ("--studio", str(studio))
    run(capsys, "weather", "agree", "met-norway", "--yes", "--contact", "me@example.org", *here)
    stub.says(403)
    _, err = run(capsys, "weather", "fetch", *here, code=2)
    assert len(err.strip().splitlines()) == 1
    assert "check [weather] contact" in err
    out, _ = run(capsys, "weather", "show", *here)
    assert "refuses to answer" in " ".join(out.split())
    _, err = run(capsys, "weather", "agree", "met-norwy", "--yes", *here, code=2)
    assert "did you mean met-norway" in err


def test_a_new_studio_asks_its_maker_once(capsys, tmp_path, monkeypatch):
    from argentry.cli.planning import weather
    from argentry.keeping.studio import load_studio

    monkeypatch.setattr(weather, "_is_asked", lambda: True)
    said = iter(["met-norway", "me@example.org"])
    monkeypatch.setattr(weather.click, "prompt", lambda *_args, **_more: next(said))
    monkeypatch.setattr(weather.click, "confirm", lambda *_args, **_more: True)
    _, err = run(capsys, "studio", "new", str(tmp_path / "mine"))
    assert "would be sent the place to two decimals" in err
    own = load_studio(tmp_path / "mine").weather
    assert (own.asked, own.contact) == ("met-norway", "me@example.org")

    monkeypatch.setattr(weather.click, "confirm", lambda *_args, **_more: False)
    said = iter(["open-meteo"])
    run(capsys, "studio", "new", str(tmp_path / "other"), code=1)
    assert load_studio(tmp_path / "other").weather.source == "none"
