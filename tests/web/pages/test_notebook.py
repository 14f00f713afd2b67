"""Taking in an old notebook on the pages: chosen, put right, imported; files made to do harm."""

import re
from html import unescape

import pytest
from tests.exchange.notebook.notebooks import ALL, english, german, two_forms, two_years

from argentry.book.plates import makings, plates
from argentry.web.pages.notebook import MOST_WAITING
from argentry.web.uploads import file_in

EDGE = "----edge7a1"


def body_of(name, content, edge=EDGE):
    head = f'--{edge}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n'
    head += "Content-Type: application/octet-stream\r\n\r\n"
    return head.encode() + content + f"\r\n--{edge}--\r\n".encode()


def send(caller, name, content, kind=f"multipart/form-data; boundary={EDGE}", **more):
    return caller(
        "POST", "/notebook", headers={"Content-Type": kind}, content=body_of(name, content), **more
    )


def fields_of(text):
    """Return the fields of the page's form as a browser would send them."""
    out = {}
    for name, inner in re.findall(
        r'<select id="[^"]*" name="([^"]*)">(.*?)</select>', text, re.DOTALL
    ):
        chosen = re.search(r'<option value="([^"]*)" selected', inner)
        first = re.search(r'<option value="([^"]*)"', inner)
        out[unescape(name)] = unescape((chosen or first)[1])
    for name, value in re.findall(r'<input id="[^"]*" name="([^"]*)" value="([^"]*)"', text):
        out[unescape(name)] = unescape(value)
    return out


def take(caller, place, fields):
    return caller.form(place, **fields, do="take")


def test_a_notebook_is_chosen_looked_at_and_taken_in(host, book):
    assert 'type="file"' in host.get("/notebook").text
    made = english()
    answer = send(host, made.name, made.content)
    assert answer.status_code == 303
    place = answer.headers["location"]
    shown = host.get(place).text
    assert "4 plates: 4 clear, 0 to mend" in shown
    assert "Above the column names: Plate ledger" in shown
    done = take(host, place, fields_of(shown))
    assert done.status_code == 200
    assert "4 plates were added" in done.text
    assert [plate.label for plate in plates(book)] == ["101", "102", "103", "104"]
    again = take(host, place, fields_of(shown))
    assert "0 plates were added, 4 were in the book before" in again.text
    assert len(makings(book)) == 4


def test_a_paper_notebook_is_typed_in_on_the_page(host, book):
    lines = ["Plate; Date; Size; Exposure; Grade; Defect"]
    lines += ["1; 12.3.2025; quarter; 4 min; good;", "2; 14.3.2025; quarter; 5 min; lost; spots"]
    answer = host.form("/notebook/typed", typed="\r\n".join(lines))
    assert answer.status_code == 303
    shown = host.get(answer.headers["location"]).text
    assert "2 plates: 1 clear, 1 to mend" in shown
    assert '<option value="fog@coat">grey veil overall (coat)</option>' in shown
    assert "@coat</option>" not in shown
    assert "1 plate was added" in take(host, answer.headers["location"], fields_of(shown)).text
    assert [plate.label for plate in plates(book)] == ["1"]


def test_what_is_asked_is_answered_and_a_cell_put_right_on_the_page(tablet, book):
    made = two_forms()
    place = send(tablet, made.name, made.content).headers["location"]
    shown = tablet.get(place).text
    assert "Grade: what does &#39;+++&#39; mean?" in shown
    fields = fields_of(shown)
    assert fields["word:grade:+++"] == "?"
    assert fields["cell:E5"] == "half an hour"
    fields |= {"word:grade:+++": "fine", "word:grade:++": "good", "word:grade:o": "study"}
    fields["cell:E5"] = "30 min"
    looked = tablet.form(place, **fields, do="look").text
    assert "4 plates: 4 clear, 0 to mend" in looked
    done = take(tablet, place, fields_of(looked))
    assert "4 plates were added" in done.text
    assert {one.grade for one in makings(book)} == {"fine", "good", None, "study"}
    assert {one.conditions["buff_minutes"] for one in makings(book)} >= {30.0}


def test_forms_of_dates_are_told_in_words(tablet, book):
    place = send(tablet, "old.csv", b"Nr,Datum,grade\n1,3.5.24,good\n2,4.5.24,lost\n").headers
    shown = tablet.get(place["location"]).text
    assert ">day.month.year</option>" in shown
    assert ">month.day.year</option>" in shown
    assert ">%" not in shown


def test_the_rows_to_mend_are_downloaded_and_sent_again(host, book):
    made = german()
    place = send(host, made.name, made.content).headers["location"]
    fields = fields_of(host.get(place).text)
    fields = {key: value for key, value in fields.items() if not key.startswith("cell:")}
    done = take(host, place, fields)
    assert "3 plates were added. 2 to mend." in done.text
    text = host.get(f"{place}/to-mend.csv").content.decode("utf-8-sig")
    mended = text.replace(",warm,", ',"20,5",').replace(",lau,", ",21,").replace("Mondlicht", "")
    place = send(host, "to-mend.csv", mended.encode()).headers["location"]
    assert "2 plates: 2 clear, 0 to mend" in host.get(place).text
    assert "2 plates were added" in take(host, place, {}).text
    assert len(plates(book)) == 5


@pytest.mark.parametrize("made", ALL, ids=[one.__name__ for one in ALL])
def test_each_of_the_twelve_comes_in_on_the_pages(host, book, made):
    notebook = made()
    place = send(host, notebook.name, notebook.content).headers["location"]
    fields = fields_of(host.get(place).text) | notebook.answers
    if any(key.startswith("need:") for key in notebook.answers):
        fields = dict(notebook.answers)
    fields = {key: value for key, value in fields.items() if not key.startswith("cell:")}
    done = take(host, place, fields)
    assert done.status_code == 200
    assert len(makings(book)) == notebook.plates
    counted = sum(map(int, re.findall(r"<dd>(\d+)</dd>", done.text)))
    assert counted == notebook.cells


def test_only_the_last_few_wait(host):
    places = [
        send(host, "p.csv", f"plate,date\nP{i},2026-06-01\n".encode()).headers["location"]
        for i in range(MOST_WAITING + 1)
    ]
    assert host.get(places[0]).status_code == 404
    assert host.get(places[-1]).status_code == 200


@pytest.mark.parametrize(
    ("name", "content", "status", "words"),
    [
        ("a.csv", b"", 422, "no column is named"),
        ("", b"plate,date\nP1,2026-06-01\n", 422, "No file was chosen"),
        ("a.csv", bytes(range(256)) * 40, 422, "CSV, ODS or XLSX"),
        ("a.xlsx", b"PK\x03\x04" + b"x" * 500, 422, "damaged"),
        ("a.csv", b"<html><body>hello</body></html>\n<p>x</p>\n", 422, "no column plate"),
        ("a.csv", b"x" * (10 * 1024 * 1024), 413, "too long"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_one_sentence(host, name, content, status, words):
    answer = send(host, name, content)
    assert answer.status_code == status
    assert words in unescape(answer.text)


def test_a_foreign_page_and_a_stranger_are_refused(host, stranger):
    made = english()
    assert send(host, made.name, made.content, origin="http://evil.test").status_code == 403
    assert send(host, made.name, made.content, origin=None).status_code == 403
    assert send(stranger, made.name, made.content).status_code == 401
    assert stranger.get("/notebook").status_code == 303
    assert send(host, "a.csv", b"x", kind="application/json").status_code in (400, 415)
    assert host.get("/notebook/" + "0" * 64).status_code == 404
    assert host.get("/notebook/..%2F..%2Fstudio.toml/to-mend.csv").status_code in (404, 422)
    assert host.get(f"/notebook/{'0' * 64}/to-mend.csv").status_code == 422


def test_names_of_columns_never_become_part_of_the_page(host):
    content = b'plate no,day,"<script>alert(1)</script>"\nP1,2026-06-01,"<img src=x>"\n'
    place = send(host, "<b>.csv", content).headers["location"]
    shown = host.get(place).text
    assert "<script>alert" not in shown
    assert "<img src=x" not in shown
    assert "<b>.csv" not in shown


def test_a_file_is_found_in_its_part():
    content = b"a\r\n--\r\n----edg\r\nplate"
    assert file_in(body_of("C:\\old\\book.csv", content), EDGE.encode()) == ("book.csv", content)


def test_each_sheet_of_a_file_is_imported_by_itself_with_its_own_list(host, book):
    place = send(host, "ledger.xlsx", two_years()).headers["location"]
    first = host.get(place).text
    assert "This is the sheet 2025." in first
    done = take(host, place, fields_of(first)).text
    assert "1 plate was added" in done
    assert f'<a href="{place}?sheet=2026">2026</a>' in done
    second = host.get(f"{place}?sheet=2026").text
    assert "B1" in second
    assert "A1" not in second
    assert "1 plate was added" in take(host, place, {**fields_of(second), "sheet": "2026"}).text
    assert [plate.label for plate in plates(book)] == ["A1", "B1"]
    one, two = (host.get(f"{place}/to-mend.csv?sheet={name}").text for name in ("2025", "2026"))
    assert ("A2" in one, "B2" in one) == (True, False)
    assert ("A2" in two, "B2" in two) == (False, True)
    answer = host.get(f"{place}?sheet=1999")
    assert answer.status_code == 422
    assert "there is no sheet &#39;1999&#39;" in answer.text


def test_an_import_is_corrected_and_taken_back_on_the_page(host, book):
    head, row = "plate,date,room_c,grade", "K1,2026-05-03,{},good"
    place = send(host, "k.csv", "\n".join((head, row.format(61))).encode()).headers["location"]
    assert "wrong" not in host.get(place).text
    wrong = head + "\n" + row.format(11)
    place = send(host, "k.csv", wrong.encode()).headers["location"]
    assert "1 plate was added" in take(host, place, fields_of(host.get(place).text)).text
    right = head + "\n" + row.format(21)
    place = send(host, "k.csv", right.encode()).headers["location"]
    fields = fields_of(host.get(place).text)
    assert "is in the book already with other values" in take(host, place, fields).text
    done = take(host, place, {**fields, "instead": "yes"}).text
    assert "1 making of an earlier import counts no more" in done
    assert [one.conditions["room_c"] for one in makings(book)] == [21.0]
    assert f'action="{place}/back"' in done
    assert f'action="{place}/back"' in take(host, place, fields).text  # nothing new, all known
    back = host.form(f"{place}/back", sheet="").text
    assert "1 making counts no more" in back
    assert makings(book) == plates(book) == []


def test_a_cell_sent_as_it_stands_is_not_called_corrected(host):
    made = two_forms()
    place = send(host, made.name, made.content).headers["location"]
    fields = fields_of(host.get(place).text)
    assert "(corrected)" not in host.form(place, **fields, do="look").text
    fields["cell:E5"] = "30 min"
    assert "E5 (corrected)" in host.form(place, **fields, do="look").text
