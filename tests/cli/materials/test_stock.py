"""Stock from the command line."""

import json

import pytest

pytestmark = pytest.mark.usefixtures("studio")


def test_a_lot_from_new_to_used_up(run):
    code, out, err = run("stock", "list")
    assert (code, err) == (0, "")
    assert "No stock." in out
    code, out, err = run(
        *("stock", "new", "Rouge", "5", "g", "--supplier", "a shop", "--received", "2026-06-01")
    )
    assert (code, err) == (0, "")
    assert out == "Lot Rouge: 5 g of 5 g left, for 10 (2–50) plates\n"
    code, out, err = run("stock", "use", "Rouge", "4.5", "--by", "Ana", "--remark", "buffs")
    assert (code, err) == (0, "")
    assert out == "Lot Rouge: 0.5 g of 5 g left, for 1 (0–5) plates\n"
    assert run("stock", "use", "Rouge", "-1")[1].startswith("Lot Rouge: 1.5 g of 5 g left")
    code, out, err = run("stock", "list")
    assert (code, err) == (0, "")
    assert "2026-06-01" in out
    assert "a shop" in out
    assert "Rouge runs out within the next 10 plates." in out
    run("stock", "use", "Rouge", "1.5")
    assert run("stock", "list")[1] == "Nothing is left of: rouge.\n"
    assert "0 g" in run("stock", "list", "--all")[1]
    code, out, err = run("stock", "list", "--json", "--all")
    row = json.loads(out)["lots"][0]
    assert (row["left"], row["supplier"], row["received_on"]) == (0.0, "a shop", "2026-06-01")


def test_a_list_of_stock_is_read_once_and_its_wrong_rows_are_told(run, tmp_path):
    shelf = tmp_path / "shelf.csv"
    shelf.write_text("name,amount,shelf\nRouge,5 g,A\nTape,some,B\n", encoding="utf-8")
    code, out, err = run("stock", "import", str(shelf))
    assert code == 2
    assert err == (
        "shelf.csv: row 3, column amount: 'some' is not a number that can be read one way; "
        "write a number, such as 2.5.\n"
    )
    assert out == (
        "Columns left out: shelf.\nNothing was noted. Mend these rows and import the list again.\n"
    )
    shelf.write_text("name,amount,shelf\nRouge,5 g,A\n", encoding="utf-8")
    code, out, err = run("stock", "import", str(shelf), "--dry-run")
    assert (code, out) == (
        0,
        "Columns left out: shelf.\nLots that would be noted: 1; known already: 0.\n",
    )
    code, out, err = run("stock", "import", str(shelf))
    assert (code, err) == (0, "")
    assert out.endswith(
        "for 10 (2–50) plates\nColumns left out: shelf.\nLots noted: 1; known already: 0.\n"
    )
    assert run("stock", "import", str(shelf))[1].endswith("Lots noted: 0; known already: 1.\n")


def test_a_name_is_shown_as_it_is(run):
    run("stock", "new", "[bold]Wax[/bold]", "1", "piece")
    assert "[bold]Wax[/bold]" in run("stock", "list")[1]


def test_a_unit_that_measures_nothing_is_told(run):
    """Ten "grm" of iodine were kept without a word, and stood for no plate."""
    assert "'grm' is not a unit that measures it" in run("stock", "new", "Iodine", "10", "grm")[1]
    assert "is not a unit" not in run("stock", "new", "Iodine 2", "10", "g")[1]
    assert "is not a unit" not in run("stock", "new", "Silvered plates", "10", "pieces")[1]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["new", "Bromide", "5", "g"], "'Bromide' is refused"),
        (["new", "mercury", "5", "g"], "'mercury' is refused"),
        (["new", "KCN", "5", "g"], "'KCN' is refused"),
        (["new", "Rouge", "5", "g"], "5 g of lot 'Rouge' are left; tell them apart"),
        (["new", " ", "5", "g"], "name: it is empty"),
        (["new", "Wax", "5", " "], "unit: it is empty"),
        (["new", "Wax", "0", "g"], "0 g is out of range"),
        (["new", "Wax", "nan", "g"], "out of range"),
        (["new", "Wax", "much", "g"], "is not a number; give one such as 25"),
        (["new", "Wax", "5", "g", "--received", "1.6.2026"], "'1.6.2026' is not a date"),
        (["new", "Wax", "5", "g", "--received", "9999-12-31"], "is in the future"),
        (["use", "Ruoge", "1"], "no lot is named 'Ruoge'; did you mean 'Rouge'"),
        (["use", "Rouge", "0"], "nothing is taken"),
        (["use", "Rouge", "nan"], "out of range"),
        (["use", "Rouge", "5.5"], "lot Rouge: 5.5 g cannot be taken; 5 g are left"),
        (["use", "Rouge", "-1"], "lot Rouge: 1 g cannot be put back; only 0 g were taken"),
        (["use", "Rouge", "1", "--bi", "Ana"], "unexpected extra argument"),
    ],
)
def test_a_slip_ends_in_one_sentence_and_changes_nothing(run, arguments, words):
    run("stock", "new", "Rouge", "5", "g")
    before = run("stock", "list", "--all", "--json")[1]
    code, out, err = run("stock", *arguments)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1
    assert run("stock", "list", "--all", "--json")[1] == before
