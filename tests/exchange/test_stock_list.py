"""A maker's list of stock, as messy as such lists are: each row a lot, or a sentence."""

from datetime import date, datetime

import pytest

from argentry.errors import BadInput
from argentry.exchange.stock_list import read_stock_list
from argentry.records.material import LotFacts
from argentry.trade.facts import toml
from argentry.trade.notebook import plain_words

GERMAN = """\
Stoff;Menge;Einheit;Rest;Lieferant;Gekauft am;Reinheit;Preis;Angebrochen;Haltbar bis;Fach;Lieferzeit
Jod;100;g;72,5;Chemiehaus Muster;3.4.2026;99,8 %;48,50 €;4.4.2026;03/2029;A1;2 Wochen
Natriumthiosulfat;2,5;kg;;Chemiehaus Muster;13.4.2026;≥99%;1.022,00;;;A2;
Deckglas;50;Stück;41;;;;;;2027-02;C;5
"""


def listed(tmp_path, text, name="shelf.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_stock_list(path)


def test_a_list_in_german_with_commas_and_months(tmp_path):
    found = listed(tmp_path, GERMAN)
    assert found.problems == ()
    assert (found.name, found.left_out) == ("shelf.csv", ("Fach",))
    iodine, hypo, glass = found.lots
    assert (iodine.row, iodine.name, iodine.amount, iodine.unit) == (2, "Jod", 100.0, "g")
    assert (iodine.used, iodine.supplier) == (27.5, "Chemiehaus Muster")
    assert iodine.received_on == date(2026, 4, 3)
    # a month ends on its last day, and begins on its first
    day = date(2029, 3, 31)
    assert iodine.facts == LotFacts(
        purity=0.998, price=48.5, opened_on=date(2026, 4, 4), expires_on=day, lead_days=14.0
    )
    assert (hypo.amount, hypo.unit, hypo.used) == (2.5, "kg", 0.0)
    assert (hypo.facts.purity, hypo.facts.price) == (0.99, 1022.0)
    assert (glass.unit, glass.used, glass.received_on) == ("Stück", 9.0, None)
    assert glass.facts == LotFacts(expires_on=date(2027, 2, 28), lead_days=5.0)


@pytest.mark.parametrize(
    ("head", "row", "amount", "unit"),
    [
        ("Item,Quantity", "Iodine,100 g", 100.0, "g"),
        ("Name,Amount (g)", "Iodine,12.5", 12.5, "g"),
        ("Name,Amount [g],Unit", "Iodine,12.5,kg", 12.5, "kg"),  # the row knows better
        ("name,amount,unit", "Iodine,100 g,G", 100.0, "g"),
        ("Name,Amount", "Lens,90 cm2", 90.0, "cm2"),
        ("Nombre,Cantidad,Unidad", 'Yodo,"2,5",g', 2.5, "g"),
        ("Nom,Quantité,Unité", "Iode,1 500 g,g", 1500.0, "g"),
    ],
)
def test_a_unit_stands_in_the_cell_its_column_or_the_head(tmp_path, head, row, amount, unit):
    found = listed(tmp_path, f"{head}\n{row}\n")
    assert found.problems == ()
    assert [(one.amount, one.unit) for one in found.lots] == [(amount, unit)]


ROWS = [
    ("Iodine,100 g,120,,,,", "Left", "120 are left of 100; give at most what came in"),
    ("Iodine,100 g,-1,,,,", "Left", "-1 are left of 100"),
    ("Iodine,100 g,3 kg,,,,", "Left", "its unit is 'kg', of what came in 'g'"),
    ("Iodine,,,,,,", "Quantity", "it is empty; write how much came in"),
    ("Iodine,1.200 g,,,,,", "Quantity", "'1.200 g' is not a number that can be read one way"),
    ("Iodine,5e12 g,,,,,", "Quantity", "'5e12 g' is not a number"),
    ("Iodine,5 x 10 g,,,,,", "Quantity", "'5 x 10 g' is not a number"),
    ("Iodine,some,,,,,", "Quantity", "'some' is not a number"),
    ("Iodine,10,,,,,", "Quantity", "no unit stands with it; write it, such as 100 g"),
    (",5 g,,,,,", "Item", "it is empty; say what the lot is"),
    ("Iodine,5 g,,2026-04-31,,,", "Received", "'2026-04-31' is in no calendar"),
    ("Iodine,5 g,,,p.a.,,", "Purity", "'p.a.' is not a number"),
    ("Iodine,5 g,,,140 %,,", "Purity", "'140 %' is no share by mass"),
    ("Iodine,5 g,,,0,,", "Purity", "'0' is no share by mass"),
    ("Iodine,5 g,,,5 ppm,,", "Purity", "'5 ppm' is no share by mass"),
    ("Iodine,5 g,,,,soon,", "Expires", "'soon' is no day; write it as 2026-06-21"),
    ("Iodine,5 g,,,,13/2027,", "Expires", "'13/2027' is no day"),
    ("Iodine,5 g,,,,,cheap", "Price", "'cheap' is not a number"),
]


@pytest.mark.parametrize(("row", "column", "says"), ROWS)
def test_a_wrong_row_is_told_with_its_column_and_the_others_are_read(tmp_path, row, column, says):
    text = f"Item,Quantity,Left,Received,Purity,Expires,Price\n{row}\nRouge,5 g,2,,99,,3\n"
    found = listed(tmp_path, text)
    (problem,) = found.problems
    assert (problem.row, problem.column) == (2, column)
    assert says in problem.sentence
    assert "\n" not in problem.sentence
    assert [(one.row, one.name, one.used) for one in found.lots] == [(3, "Rouge", 3.0)]


def test_two_units_for_one_amount_are_asked_about(tmp_path):
    found = listed(tmp_path, "name,amount,unit\nIodine,100 g,kg\n")
    assert "the units 'g' and 'kg' stand with it" in found.problems[0].sentence


@pytest.mark.parametrize("nothing", ["", "-", "–", "?"])
def test_marks_for_not_known_are_left_out(tmp_path, nothing):
    text = f"name,amount,left,purity,expires\nIodine,5 g,{nothing},{nothing},{nothing}\n"
    found = listed(tmp_path, text)
    assert found.problems == ()
    assert (found.lots[0].used, found.lots[0].facts) == (0.0, LotFacts())


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a,b\n1,2\n", "no column says what a lot is; name a column"),
        ("name,b\nIodine,2\n", "no column says how much came in; name a column"),
        ("name,item,amount\nx,y,5 g\n", "the columns 'name' and 'item' say the same"),
    ],
)
def test_a_list_that_cannot_be_used_gets_one_sentence(tmp_path, text, says):
    with pytest.raises(BadInput, match=says) as caught:
        listed(tmp_path, text)
    assert "shelf.csv" in str(caught.value)


def test_a_spreadsheet_with_real_dates_and_numbers(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.title = "old"
    page = book.create_sheet("shelf")
    page.append(["Name", "Amount", "Unit", "Received", "Expires", "Purity"])
    page.append(
        [
            "Iodine",
            100,
            "g",
            datetime(2026, 4, 3, 12),  # noqa: DTZ001 - as a spreadsheet has it
            date(2029, 3, 1),
            0.998,
        ]
    )
    book.save(tmp_path / "shelf.xlsx")
    (one,) = read_stock_list(tmp_path / "shelf.xlsx", "shelf").lots
    assert (one.amount, one.received_on) == (100.0, date(2026, 4, 3))
    assert one.facts == LotFacts(purity=0.998, expires_on=date(2029, 3, 1))


def test_every_word_for_a_column_is_written_as_it_is_looked_up_and_means_one_thing():
    columns = toml("stock_list")["columns"]
    words = [word for known in columns.values() for word in known]
    assert [plain_words(word) for word in words] == words
    assert len(words) == len(set(words))


def test_days_and_amounts_that_could_be_two_are_told_as_in_a_notebook(tmp_path):
    """One row of two orders ended in a traceback; "1.200 g" was 1200 g next to a price of 17,50."""
    text = (
        "name;amount;received;opened;price\nIodine;1.200 g;6.5.2025;;17,50\n"
        "Gold;1 g;13.5.2025;14.5.2025;9,90\nRouge;100 g;13/5/2025;6/7/2025;3\n"
        "Hypo;5 kg;5/13/2025;;3\n"
    )
    found = listed(tmp_path, text)
    assert [(one.row, one.column) for one in found.problems] == [(2, "amount"), (4, "opened")]
    assert "'6/7/2025' can be two days" in found.problems[1].sentence
    assert [one.received_on.day for one in found.lots] == [13, 13]
