"""`argentry book export` and `book import` as a maker calls them; refusals in one sentence."""

import json
import shutil

import openpyxl
import pytest

LEDGER = """My ledger;;;;
Nr;Tag;T;Urteil;Mond
L1;21.06.2026;21,5;gut;voll
L2;22.06.2026;19;hin;halb
"""
MAPPING = """
head_row = 2
decimal = ","
date_format = "%d.%m.%Y"
[columns]
plate = "Nr"
date = "Tag"
room_c = "T"
grade = { column = "Urteil", words = { gut = "good", hin = "lost" } }
"""


@pytest.fixture
def ledger(tmp_path):
    (tmp_path / "ledger.csv").write_text(LEDGER, encoding="utf-8")
    (tmp_path / "ledger.toml").write_text(MAPPING, encoding="utf-8")
    return tmp_path / "ledger.csv", tmp_path / "ledger.toml"


def plates(run):
    return json.loads(run("plate", "list", "--json")[1])["plates"]


def test_a_ledger_goes_in(run, studio, ledger):
    table, mapping = ledger
    code, out, err = run("book", "import", table, "--mapping", mapping, "--dry-run")
    assert (code, err) == (0, "")
    assert "Read Nr as plate, Tag as date, T as room_c, Urteil as grade." in out
    assert "Kept as conditions of your own: Mond." in out
    assert "2 would be added, 0 in the book before." in out
    assert not (studio / "book.sqlite").exists()
    code, out, err = run("book", "import", table, "--mapping", mapping)
    assert (code, err) == (0, "")
    assert "2 were added, 0 in the book before." in out
    assert (
        "0 were added, 2 in the book before."
        in run(*("book", "import", table, "--mapping", mapping))[1]
    )
    assert [(row["label"], row["grade"]) for row in plates(run)] == [("L1", "good"), ("L2", "lost")]
    shown = json.loads(run("plate", "show", "L1", "--json")[1])
    assert shown["outcomes"][0]["conditions"] == {"Mond": "voll", "room_c": 21.5}


def test_a_dry_run_tells_every_problem_and_the_real_one_takes_what_is_clear(run, studio, ledger):
    table, mapping = ledger
    table.write_text(LEDGER.replace("19", "hot").replace("hin", "bad"), encoding="utf-8")
    code, out, err = run("book", "import", table, "--mapping", mapping, "--dry-run")
    assert code == 2
    assert err.splitlines() == [
        "ledger.csv row 4, column T: 'hot' is not a number; give a number from -10 to 50 °C.",
        "ledger.csv row 4, column Urteil: 'bad' is not known; use one of lost, study, good, fine.",
    ]
    assert "Problems: 2, of different kinds: 2. Rows to mend: 1." in out
    assert "1 would be added" in out
    code, out, _ = run("book", "import", table, "--mapping", mapping, "--dry-run", "--json")
    assert code == 2
    found = json.loads(out)
    assert [(row["row"], row["column"]) for row in found["problems"]] == [(4, "T"), (4, "Urteil")]
    assert plates(run) == []
    code, out, err = run("book", "import", table, "--mapping", mapping)
    assert code == 1
    assert [row["label"] for row in plates(run)] == ["L1"]
    rest = table.with_name("ledger-to-mend.csv")
    assert f"To mend: 1, in {rest}. Correct it" in out
    text = rest.read_text(encoding="utf-8-sig")
    assert "C4: 'hot' is not a number" in text
    rest.write_text(text.replace(",hot,", ',"19,5",').replace(",bad,", ",hin,"), encoding="utf-8")
    code, out, err = run("book", "import", rest)  # it knows by itself how it is read
    assert (code, err) == (0, "")
    assert [(row["label"], row["grade"]) for row in plates(run)] == [("L1", "good"), ("L2", "lost")]
    assert "0 were added, 1 in the book before." in run("book", "import", rest)[1]


def test_the_invented_year_goes_in_and_the_book_comes_out_and_in_again(run, tmp_path, monkeypatch):
    monkeypatch.delenv("ARGENTRY_BOOK", raising=False)
    run("demo", tmp_path / "demo")
    monkeypatch.setenv("ARGENTRY_STUDIO", str(tmp_path / "demo"))
    code, out, _ = run("book", "import", tmp_path / "demo" / "plates.csv", "--json")
    assert code == 0
    added = json.loads(out)["new"]
    assert added > 100
    code, out, err = run("book", "export", tmp_path / "bag")
    assert (code, err) == (0, "")
    assert f"It holds {added} plates, {added} makings" in out
    record = json.loads(run("plate", "show", "P104", "--json")[1])
    doses = {one["what"]: one for one in record["outcomes"][0]["doses"]}
    assert doses["exposure"]["plates"] > 50, "as its page tells it: learned, not assumed"
    before = run("plate", "list", "--json")[1]
    run("studio", "new", tmp_path / "empty")
    monkeypatch.setenv("ARGENTRY_STUDIO", str(tmp_path / "empty"))
    code, out, err = run("book", "import", tmp_path / "bag", "--dry-run")
    assert (code, err) == (0, "")
    assert "The archive is complete." in out
    assert not (tmp_path / "empty" / "book.sqlite").exists()
    code, out, err = run("book", "import", tmp_path / "bag")
    assert (code, err) == (0, "")
    assert run("plate", "list", "--json")[1] == before
    code, out, _ = run("book", "export", tmp_path / "again", "--json")
    assert json.loads(out)["tables"]["plate"] == added
    for path in (tmp_path / "bag" / "data").rglob("*"):
        if path.is_file():
            other = tmp_path / "again" / path.relative_to(tmp_path / "bag")
            assert other.read_bytes() == path.read_bytes()
    assert "nothing was changed" in run("book", "import", tmp_path / "bag")[1]


def hostile(tmp_path):
    """Give name, file and a part of the sentence for each thing that must be refused."""
    (tmp_path / "formula.csv").write_text("plate,date,room_c\nP1,2026-06-21,=1+1\n")
    yield "formula", tmp_path / "formula.csv", "'=1+1' is not a number"
    (tmp_path / "page.csv").write_text("<html><body>hello</body></html>\n<p>x</p>\n")
    yield "page", tmp_path / "page.csv", "there is no column plate"
    (tmp_path / "junk.csv").write_bytes(bytes(range(256)) * 10)
    yield "junk", tmp_path / "junk.csv", "it is not a table of text"
    (tmp_path / "empty.csv").write_bytes(b"")
    yield "empty", tmp_path / "empty.csv", "no column is named"
    book = openpyxl.Workbook()
    book.active["XFD1048576"] = 1
    book.save(tmp_path / "far.xlsx")
    yield "far", tmp_path / "far.xlsx", "1048576 rows by 16384 columns"
    book = openpyxl.Workbook()
    book.active.append(["plate", "date"])
    book.active.append(["=cmd|' /C calc'!A0", "=TODAY()"])
    book.save(tmp_path / "formulas.xlsx")
    yield "formulas", tmp_path / "formulas.xlsx", "no rows below the header row"
    yield "none", tmp_path / "none.csv", "there is no such file"
    folder = tmp_path / "folder"
    folder.mkdir()
    yield "folder", folder, "this is not an archive"
    (folder / "bagit.txt").touch()
    (folder / "way").symlink_to("/")
    yield "link", folder, "'way' is a link"


def test_hostile_files_end_in_one_sentence(run, studio, tmp_path):
    for name, path, words in hostile(tmp_path):
        code, out, err = run("book", "import", path)
        assert (code, out) == (2, ""), name
        assert words in err, name
        assert err.count("\n") == 1, name
        assert "Traceback" not in err, name
    assert plates(run) == []


def test_what_an_archive_and_an_export_refuse(run, studio, tmp_path):
    run("plate", "new", "A1")
    run("book", "export", tmp_path / "bag")
    code, _, err = run("book", "export", tmp_path / "bag")
    assert code == 2
    assert "there is something there already" in err
    code, _, err = run("book", "import", tmp_path / "bag", "--mapping", tmp_path / "m.toml")
    assert code == 2
    assert "an archive needs none" in err
    path = tmp_path / "bag" / "data" / "records" / "plate.jsonl"
    path.write_bytes(path.read_bytes().replace(b"A1", b"A2"))
    code, _, err = run("book", "import", tmp_path / "bag")
    assert code == 2
    assert "was changed or damaged" in err


def test_no_studio(run, tmp_path, monkeypatch):
    monkeypatch.delenv("ARGENTRY_STUDIO", raising=False)
    monkeypatch.delenv("ARGENTRY_BOOK", raising=False)
    monkeypatch.chdir(tmp_path)
    for words in (("export", tmp_path / "bag"), ("import", tmp_path / "x.csv")):
        (tmp_path / "x.csv").write_text("plate,date\nP1,2026-06-21\n")
        code, _, err = run("book", *words)
        assert code == 2
        assert "no studio is named" in err


def test_a_studio_that_cannot_be_written(run, studio, ledger, monkeypatch):
    shutil.rmtree(studio)
    code, _, err = run("book", "import", ledger[0], "--mapping", ledger[1])
    assert code == 2
    assert err.count("\n") == 1
