"""`argentry book import` on a notebook nobody explained: asked at a terminal, drafted, taken in."""

import json
import sys

import pytest
from tests.cli.plates.test_book_transfer import plates
from tests.exchange.notebook.notebooks import ALL, english, german, two_forms, two_years

from argentry.book.notebooks import FOLDER, MEMORY, sha256_of


@pytest.fixture
def notebook_of(tmp_path):
    def written(made):
        (tmp_path / made.name).write_bytes(made.content)
        return tmp_path / made.name

    return written


@pytest.fixture
def at_terminal(monkeypatch):
    """Answer as a maker would; returns the list of what was asked."""
    asked = []

    def begin(*answers):
        lines = iter(answers)
        monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)

        def prompt(text, **more):
            asked.append(text)
            return next(lines) or more.get("default", "")

        monkeypatch.setattr("click.prompt", prompt)
        monkeypatch.setattr("click.confirm", lambda *_, **__: True)
        return asked

    return begin


def test_a_clear_notebook_needs_no_question_and_no_mapping(run, studio, notebook_of):
    path = notebook_of(english())
    code, out, err = run("book", "import", path)
    assert (code, err) == (0, "")
    assert "4 were added" in out
    assert "Iodine as fuming_seconds" in out
    assert "Cells: 7 taken as written, 29 translated" in out
    assert len(plates(run)) == 4
    assert "0 were added, 4 in the book before." in run("book", "import", path)[1]
    kept = studio / FOLDER / sha256_of(path.read_bytes())
    assert kept.read_bytes() == path.read_bytes()


def test_open_questions_are_not_guessed_without_a_terminal(run, studio, notebook_of, tmp_path):
    path = notebook_of(two_forms())
    code, _, err = run("book", "import", path)
    assert code == 2
    assert "3 still to be answered" in err
    assert plates(run) == []
    code, out, _ = run("book", "import", path, "--json")
    assert code == 2
    asked = json.loads(out)
    assert [one["key"] for one in asked["questions"]] == [
        "word:grade:+++", "word:grade:++", "word:grade:o",
    ]  # fmt: skip
    draft = tmp_path / "draft.toml"
    assert run("book", "import", path, "--draft", draft)[0] == 0
    text = draft.read_text(encoding="utf-8")
    assert text.count("# not asked yet: ") == 3
    grade = 'grade = { column = "Grade", words = { "+++" = "fine", "++" = "good", "o" = "" } }'
    text = text.replace('grade = "Grade"', grade)
    draft.write_text(text, encoding="utf-8")
    code, _, err = run("book", "import", path, "--draft", draft)  # it wrote over what was edited
    assert code == 2
    assert "draft.toml is there already and holds something else; name another file" in err
    assert draft.read_text(encoding="utf-8") == text
    code, out, _ = run("book", "import", path, "--mapping", draft)
    assert code == 1
    assert "3 were added" in out


def test_yes_takes_the_suggestions_and_lists_the_rest(run, studio, notebook_of):
    code, out, err = run("book", "import", notebook_of(two_forms()), "--yes")
    assert code == 1
    assert "forms.csv rows 2, 3, 5 (3 in all), column Grade: '+++' is not known; use one of" in err
    assert "1 were added" in out  # the plate without a grade
    assert out.count("Left for the list to mend: Grade: what does ") == 3


def test_what_is_taken_without_asking_is_said(run, studio, tmp_path):
    path = tmp_path / "old.csv"
    path.write_text(
        "Nr,Datum,iodine,grade\n"
        "1,5.5.24,1 1/2 min,good\n2,6.6.24,2½ min,lost\n3,first of May,90 s,good\n"
        "4,3.5.24,90 s,good\n"
    )
    code, out, err = run("book", "import", path, "--yes")
    assert code == 1
    assert "Left for the list to mend: Dates such as 5.5.24: day or month first?" in out
    assert "'first of May' is not written as day.month.year or month.day.year" in err
    assert "'3.5.24' can be two days: day and month may stand either way" in err
    assert [row["label"] for row in plates(run)] == ["1", "2"]
    made = json.loads(run("book", "import", path, "--yes", "--json")[1])
    assert [(one["key"], one["suggested"]) for one in made["questions"]] == [("dates", "?")]
    told = [json.loads(run("plate", "show", one, "--json")[1]) for one in ("1", "2")]
    assert [
        one["outcomes"][0]["conditions"]["fuming_seconds"] for one in told
    ] == [90.0, 150.0]  # fmt: skip


@pytest.mark.parametrize(("head", "said"), [("grade", False), ("weather", True)])
def test_a_notebook_without_grades_is_told_to_teach_no_odds(run, studio, tmp_path, head, said):
    path = tmp_path / "old.csv"
    path.write_text(f"Nr,Datum,{head}\n1,2024-05-03,{'windy' if said else 'good'}\n")
    out = run("book", "import", path, "--yes", "--dry-run")[1]
    assert ("No column says how the plates came out" in out) is said


def test_a_maker_answers_once_and_is_not_asked_again(run, studio, notebook_of, at_terminal):
    asked = at_terminal("fine", "good", "study")
    code, out, _ = run("book", "import", notebook_of(two_forms()))
    assert code == 1
    assert len(asked) == 3
    assert "3 were added" in out
    assert {row["grade"] for row in plates(run)} == {"fine", "good", None}
    assert '"+++" = "fine"' in (studio / FOLDER / MEMORY).read_text(encoding="utf-8")
    other = two_forms()
    path = notebook_of(other)
    path.write_bytes(
        other.content.replace(b"x1", b"y1").replace(b"x2", b"y2").replace(b"x3", b"y3")
    )
    assert run("book", "import", path)[0] == 1
    assert len(asked) == 3
    assert len(plates(run)) == 6


def test_a_word_may_be_left_out_or_left_open(run, studio, notebook_of, at_terminal):
    at_terminal("-", "nonsense", "good", "")
    code, out, err = run("book", "import", notebook_of(two_forms()))
    assert code == 1
    assert "'nonsense' is not one of them." in out
    assert "'o' is not known" in err
    assert sorted(row["grade"] or "" for row in plates(run)) == ["", "", "good"]


def test_the_list_is_mended_and_comes_in(run, studio, notebook_of, at_terminal):
    at_terminal("-")
    path = notebook_of(german())
    assert run("book", "import", path)[0] == 1
    rest = path.with_name("deutsch-to-mend.csv")
    text = rest.read_text(encoding="utf-8-sig").replace(",warm,", ',"20,5",')
    rest.write_text(text.replace(",lau,", ",21 °C,"), encoding="utf-8-sig")
    code, out, err = run("book", "import", rest)
    assert (code, err) == (0, "")
    assert "2 were added" in out
    assert len(plates(run)) == 5
    shown = json.loads(run("plate", "show", "A4", "--json")[1])
    assert shown["outcomes"][0]["conditions"]["room_c"] == 20.5


@pytest.mark.parametrize("made", ALL, ids=[one.__name__ for one in ALL])
def test_no_notebook_ends_in_a_traceback_or_changes_a_second_time(run, studio, notebook_of, made):
    path = notebook_of(made())
    assert run("book", "import", path, "--yes")[0] in (0, 1)
    before = plates(run)
    run("book", "import", path, "--yes")
    assert plates(run) == before


def test_another_sheet_of_the_file_is_named_and_asked_for(run, studio, tmp_path):
    path = tmp_path / "ledger.xlsx"
    path.write_bytes(two_years())
    code, out, _ = run("book", "import", path, "--yes")
    assert code == 1
    assert "This was the sheet 2025. The file also has: Cover, 2026." in out
    code, out, _ = run("book", "import", path, "--yes", "--sheet", "2026")
    assert code == 1
    assert [one["label"] for one in plates(run)] == ["A1", "B1"]
    lists = sorted(tmp_path.glob("ledger-to-mend*.csv"))
    for path, right in zip(lists, (("no day", "2026-05-04"), ("?!", "90 s")), strict=True):
        text = path.read_text(encoding="utf-8-sig")
        path.write_text(text.replace(*right), encoding="utf-8-sig")  # both as their own sheet says
        assert "1 were added" in run("book", "import", path)[1]
    assert [one["label"] for one in plates(run)] == ["A1", "A2", "B1", "B2"]


def test_a_corrected_notebook_stands_for_the_first_and_is_taken_back(run, studio, tmp_path):
    path = tmp_path / "k.csv"
    path.write_text("plate,date,room_c,grade\nK1,2026-05-03,11,good\n")
    assert run("book", "import", path)[0] == 0
    path.write_text("plate,date,room_c,grade\nK1,2026-05-04,21,good\n")
    code, _, err = run("book", "import", path)
    assert code == 2
    assert "or let this table stand for what was imported before" in err
    code, out, _ = run("book", "import", path, "--instead")
    assert code == 0
    assert "1 makings of earlier imports count no more: this table stands for them." in out
    code, out, _ = run("book", "import", path, "--take-back")
    assert (code, out) == (
        0,
        "1 makings count no more. The file is kept; it may be imported again.\n",
    )
    assert plates(run) == []
    path.write_text("plate,date\n")
    code, _, err = run("book", "import", path, "--take-back")
    assert code == 2
    assert "no notebook of that hash is kept here" in err
