"""Labels, sheets, safety, waste and cost from the command line; bad input ends in one sentence."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

PDF = ("--pdf", "held.pdf")


@pytest.fixture
def filled(studio, run, monkeypatch):
    """A studio with two baths, three lots and two plates; commands write beside it."""
    monkeypatch.chdir(studio)
    run("stock", "new", "Iodine", "100", "g", "--price", "60", "--purity", "0.998")
    run("stock", "new", "Gold chloride", "1", "g", "--supplier", "a shop")
    run("stock", "new", "Ethanol", "500", "mL")
    run("bath", "new", "F1", "fix", "--volume-ml", "500")
    run("bath", "new", "G1", "gild", "--volume-ml", "50")
    run("bath", "use", "F1", "--count", "4")
    run("plate", "new", "A1", "A2", "--silver-um", "12")
    return studio


def words(folder):
    pages = PdfReader(io.BytesIO((folder / "held.pdf").read_bytes())).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_bottle_label_says_what_when_and_how_long(filled, run):
    assert run("label", "bottle", *PDF) == (0, "Wrote held.pdf\n", "")
    said = words(filled)
    for part in (
        "F1",
        "Mixed 20",
        "plates in all, or cloudy",
        "silver-bearing waste",
        "Avoid release to the environment",  # plates went through it
        "G1",
        "WARNING",
        "Use until",
    ):
        assert part in said
    assert run("label", "bottle", "Iodine", *PDF)[0] == 0
    said = words(filled)
    for part in ("DANGER", "Harmful if inhaled.", "CAS 7553-56-2", "Purity 99.8 %", "IF IN EYES"):
        assert part in said


def test_plates_sleeves_and_sheets_are_printed(filled, run):
    assert run("label", "plate", "A1", "A2", "--copies", "2", *PDF)[0] == 0
    assert words(filled).count("Quarter plate") == 4
    assert run("label", "sleeve", "A1", *PDF)[0] == 0
    assert "Sleeve for A1" in words(filled)
    assert run("label", "handover", "A1", "A2", "A1", *PDF)[0] == 0
    said = words(filled)
    assert "2 plates of" in said
    assert (said.count("A1: Quarter plate"), said.count("A2: Quarter plate")) == (1, 1)
    assert "Handed over by" in said
    assert run("label", "room", *PDF)[0] == 0
    said = words(filled)
    assert "Keep apart Gold chloride / Ethanol" in said
    assert said.index("data sheet of what you bought") < said.index("In this room"), "not page two"
    assert run("label", "waste", *PDF)[0] == 0
    assert "D011" in words(filled)


def test_the_mixing_sheet_keeps_the_one_order(filled, run):
    assert run("label", "mixing", "gild", "--plates", "2", *PDF)[0] == 0
    said = words(filled)
    gold, hypo = said.index("gold chloride"), said.index("sodium thiosulfate")
    assert gold < hypo < said.index("Just before use") < said.index("never the other way")
    assert "fulminating gold" in said
    assert "Use it within 24 hours of joining, once." in said


def test_safety_waste_cost_and_orders_speak(filled, run):
    assert "H372: Causes damage to organs" in run("safety", "show", "iodine")[1]
    assert "Keep apart: Gold chloride and Ethanol" in run("safety", "room")[1]
    assert "nitrile gloves, hood" in " ".join(run("safety", "day")[1].split())
    assert "2.3 mg" in run("waste")[1]
    assert "No plate was made" in run("cost")[1]
    said = run("stock", "need", "--month-plates", "600")[1]
    assert "Order" in said
    assert "a shop" in said
    # without a day's work in the book nothing is known of tomorrow
    assert "For a first 10 plates and 600 in thirty days" in said
    assert "No day's work is in the book yet" in said
    assert "Tomorrow" not in said
    assert "For 1 plate tomorrow" in run("stock", "need", "--plates", "1")[1]


BAD = [
    (("label", "bottle", "Nothing"), "no lot is named 'Nothing'"),
    (("label", "bottle", "--paper", "a3"), "--paper: 'a3' is not a paper; give one of a4"),
    (("label", "sleeve", "A1", "--paper", "38x21"), "not printed on '38x21'; give one of a4"),
    (("label", "room", "--paper", "roll-62"), "not printed on 'roll-62'"),
    (("label", "plate"), "plate: none is named"),
    (("label", "plate", "A9"), "A9"),
    (("label", "sleeve"), "plate: none is named"),
    (("label", "handover"), "plate: none is named"),
    (("label", "mixing", "--plates", "0"), "--plates"),
    (("label", "mixing", "--plates", "101"), "--plates"),
    (("label", "mixing", "soup"), "'soup' is not a recipe"),
    (("label", "bottle", "--copies", "0"), "--copies"),
    (("label", "bottle", "--skip", "65"), "--skip"),
    (("label", "bottle", "--address", "http://" + "x" * 300), "--address: it is too long"),
    (("label", "room", "--pdf", "no/such/folder.pdf"), "there is no folder"),
    (("safety", "show", "mercury"), "'mercury' is refused"),
    (("safety", "show", "bromine"), "'bromine' is refused"),
    (("safety", "show", "potassium cyanide"), "is refused"),
    (("safety", "show", "moon milk"), "'moon milk' is not known here"),
    (("safety", "show", ""), "it is empty"),
    (("waste", "--from", "yesterday"), "--from: 'yesterday' is not a date"),
    (("waste", "--from", "2026-02-02", "--until", "2026-02-01"), "--from: it is after"),
    (("waste", "collected"), "nothing is kept that could be collected"),
    (("waste", "collected", "--at", "soon"), "--at: 'soon' is not a time"),
    (("waste", "collected", "--at", "2999-01-01T00:00"), "--at: .*in the future"),
    (("cost", "--until", "2026-13-01"), "--until: '2026-13-01' is not a date"),
    (("cost", "--from", "2026-02-02", "--until", "2026-02-01"), "--from: it is after"),
    (("stock", "need", "--plates", "-1"), "--plates"),
    (("stock", "need", "--month-plates", "1e9"), "--month-plates"),
    (("stock", "note", "Iodine"), "nothing is noted"),
    (("stock", "note", "Iodine", "--purity", "99"), "--purity"),
    (("stock", "note", "Iodine", "--price", "nan"), "--price"),
    (("stock", "note", "Iodine", "--lead-days", "-3"), "--lead-days"),
    (("stock", "note", "Iodine", "--expires", "soon"), "--expires: 'soon' is not a date"),
    (("stock", "note", "Iodine", "--opened", "1999-01-01"), "--opened: it is before the lot"),
    (("stock", "note", "Nothing", "--price", "3"), "no lot is named 'Nothing'"),
    (("stock", "weigh", "Iodine", "101"), "amount"),
    (("stock", "weigh", "Iodine", "inf"), "amount"),
    (("stock", "undo", "Iodine"), "nothing was taken from 'Iodine'"),
    (("stock", "new", "Rouge", "5", "g", "--purity", "0"), "--purity"),
    (("stock", "new", "Mercury", "5", "g", "--price", "3"), "is refused"),
]  # fmt: skip


def test_bad_input_ends_in_one_sentence_and_books_nothing(filled, run):
    import re

    before = (
        run("stock", "list", "--all", "--json"),
        run("waste", "--json"),
        run("bath", "list", "--json")[1][:200],
    )
    for arguments, told in BAD:
        code, out, err = run(*arguments)
        assert (code, out) == (2, ""), (arguments, out, err)
        assert len(err.strip().splitlines()) == 1, err
        assert "Traceback" not in err
        assert re.search(told, err), (arguments, err)
    after = (
        run("stock", "list", "--all", "--json"),
        run("waste", "--json"),
        run("bath", "list", "--json")[1][:200],
    )
    assert after == before
    assert not (filled / "held.pdf").exists()
    assert not (filled / "bottles.pdf").exists()
    assert not (filled / "plates.pdf").exists()


def test_a_sleeve_too_large_for_the_paper_is_refused(filled, run):
    run("plate", "new", "W1", "--size", "whole")
    code, _, err = run("label", "sleeve", "W1", *PDF)
    assert code == 2
    assert "does not go on this paper; print a label instead" in err


def test_the_mixing_sheet_speaks_in_the_studio_s_units(filled, run):
    file = filled / "studio.toml"
    file.write_text(file.read_text().replace('"celsius"\n', '"fahrenheit"\n'))
    assert run("label", "mixing", "fix", "--plates", "2", *PDF)[0] == 0
    assert "begin with water at 73 °F" in words(filled)


def test_labels_of_plates_leave_those_of_bottles_alone(filled, run):
    """Both were written to labels.pdf, the second over the first."""
    wrote = [run("label", *what)[1].split()[-1] for what in (["bottle"], ["plate", "A1"])]
    assert len(set(wrote)) == 2
    assert all((filled / name).is_file() for name in wrote)
