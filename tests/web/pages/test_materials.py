"""The page of materials: what will not last, its forms, what is printed from it."""

import io
import json
from datetime import UTC, date, datetime
from html import unescape

import pypdf
import pytest
from tests.out.materials.qr_reader import read_qr
from tests.web.pages.test_learning import plain
from tests.web.pages.test_notebook import EDGE, body_of

from argentry.book.lots import add_lots, use_lot
from argentry.book.materials.notes import add_notes
from argentry.book.plates import add_making, add_plate
from argentry.cli.main import main
from argentry.desk.pages import materials as desk_page
from argentry.desk.pages.materials import materials_page
from argentry.keeping.book import studio_book
from argentry.keeping.moments import zone_of
from argentry.keeping.stock.baths import discard_bath, list_baths, new_bath, use_bath
from argentry.keeping.stock.corrections import note_lot
from argentry.keeping.stock.labels import bottle_labels
from argentry.keeping.stock.lots import list_stock, new_lot, use_stock
from argentry.keeping.stock.waste import waste
from argentry.out.materials.paper import code_svg
from argentry.out.stock_words import money, waste_silver
from argentry.records.ids import new_id
from argentry.records.material import LOT, Lot, LotFacts, MaterialNote
from argentry.records.plate import Making, Plate


@pytest.fixture
def folder(app):
    return app.state.house.studio_dir


def test_an_empty_book_says_what_to_do_first(host, tablet):
    text = plain(host.get("/materials").text)
    assert "no stock and no bath yet" in text
    assert "No bath is in use." in text
    assert tablet.get("/materials").status_code == 200


def test_what_will_not_last_stands_first(host, folder, app):
    new_lot(folder, "Cover glass", 2.0, "piece")
    new_lot(folder, "Iodine", 100.0, "g")
    new_bath(folder, "F1", "fix", 500.0)
    use_bath(folder, "F1", count=180)
    with studio_book(folder) as book:
        add_plate(book, Plate(new_id(), "P1", "quarter", None, 12.0))
        add_plate(book, Plate(new_id(), "P7", "quarter", None, 6.0, "", 14))
    assert [bath.name for bath in materials_page(app.state.house).tired] == ["F1"]
    text = plain(host.get("/materials").text)
    head = text[: text.index("What the coming days need")]
    assert "F1: renew it before the next plate. It holds" in head
    assert "P7 is worn: 0." in head
    assert "P1 is worn" not in head
    assert "Cover glass: 2 pieces left, 10 pieces needed for a first 10 plates." in head
    assert "plates tomorrow" not in text  # no day's work is in the book
    assert "Iodine" not in head
    assert "Harmful if inhaled" in text
    assert host.get("/materials").text.count('aria-label="health hazard"') == 1


def test_silver_and_its_range_are_the_same_by_every_door(host, folder, capsys, monkeypatch):
    for name in ("F1", "Old"):
        new_bath(folder, name, "fix", 500.0)
        use_bath(folder, name, count=6)
    discard_bath(folder, "Old")
    life = list_baths(folder).baths[0].life
    assert life.silver_low_mg < life.silver_mg < life.silver_high_mg
    assert life.silver_low_g_l < life.silver_mg / 500.0 * 0.8 < life.silver_g_l
    in_bath = f"{life.silver_mg:.1f} mg ({life.silver_low_mg:.1f}–{life.silver_high_mg:.1f})"
    (kind, _) = waste(folder).kinds
    # wrong alike: two baths are known no better than one, as a share
    assert kind.silver_high_mg / kind.silver_mg == pytest.approx(
        life.silver_high_mg / life.silver_mg, abs=0.02
    )
    assert kind.kept_silver_low_mg < kind.kept_silver_mg < 0.5 * kind.silver_mg
    text = plain(host.get("/materials").text)
    assert f"Silver in it: {in_bath}." in text
    for words in waste_silver(kind):
        assert words in text
    monkeypatch.setenv("COLUMNS", "200")
    for command, words in ((["bath", "list"], f"Silver in it: {in_bath}."),
                           (["waste"], waste_silver(kind)[0])):  # fmt: skip
        with pytest.raises(SystemExit):
            main([*command, "--studio", str(folder)])
        assert words in " ".join(capsys.readouterr().out.split())
    pages = pypdf.PdfReader(io.BytesIO(host.get("/materials/waste.pdf").content)).pages
    printed = " ".join(" ".join(one.extract_text() for one in pages).split())
    for words in waste_silver(kind):
        assert words in printed


def test_costs_are_the_same_by_page_command_and_json(host, folder, capsys, monkeypatch):
    day, at = date(2026, 6, 21), datetime(2026, 6, 21, 12, tzinfo=UTC)
    assert "No plate was made from" in plain(host.get("/materials").text)
    monkeypatch.setattr(desk_page, "today_of", lambda *_: day)
    with studio_book(folder) as book:
        for name, price in (("Cover glass", "40.0"), ("Rouge", None)):
            lot = Lot(new_id(), name, 20.0, "piece", "", date(2026, 1, 1))
            add_lots(book, [lot])
            use_lot(book, lot.id, 4.0, at=at)
            if price:
                add_notes(book, [MaterialNote(LOT, lot.id, "price", price, at)])
        for grade, made in (("good", day), ("lost", day), ("study", date(2025, 6, 22))):
            plate = Plate(new_id(), grade, "quarter", None, 10.0)
            add_plate(book, plate)
            add_making(book, Making(new_id(), plate.id, None, "a", 1, made, grade=grade))
    monkeypatch.setenv("COLUMNS", "300")
    said = {}
    for form in ((), ("--json",)):
        with pytest.raises(SystemExit):
            main(["cost", "--studio", str(folder), "--until", str(day), *form])
        said[form] = capsys.readouterr().out
    found = json.loads(said[("--json",)])
    typed = " ".join(said[()].split())
    text = " ".join(unescape(plain(host.get("/materials").text)).split())
    text = text[text.index("What plates cost") : text.index("To print")]
    sums = [found[key] for key in ("total", "per_plate", "per_good", "failures")]
    sums += [found["one_less_saves_per_good"], found["one_less_saves"]]
    sums += [one[key] for one in found["parts"] for key in ("total", "per_plate", "per_good")]
    sums += [one[key] for one in found["grades"] for key in ("total", "per_plate")]
    assert (found["plates"], found["good"], len(found["grades"])) == (3, 1, 3)
    for amount in {money(one, found["currency"]) for one in sums}:
        count = typed.count(" ".join(amount.split()))
        assert text.count(" ".join(amount.split())) == count > 0, amount
    days = f"3 plates from 2025-06-22 to {day}, 1 of them good"
    for key in ("one_less_saves_per_good", "one_less_saves"):
        low, middle, high = (found[f"{key}{end}"] for end in ("_low", "", "_high"))
        assert low < middle < high
        assert f"{money(middle, found['currency'])} ({low:.2f}–{high:.2f})" in text
    for line in (*found["notes"], days, "No price is noted for Rouge: "):
        assert line in text
        assert line in typed
    assert "Rouge: argentry stock note 'Rouge' --price N" in typed
    assert "argentry stock note" not in text, "the page has a form for it"


def test_a_price_of_a_lot_that_is_there_or_used_up_is_noted_on_the_page(host, folder):
    """The page gave the command to type: on a tablet there is none."""
    assert "Note more about a lot" not in host.get("/materials").text
    ids = {name: new_lot(folder, name, 20.0, "g").id for name in ("Rouge", "Iodine")}
    use_stock(folder, "Iodine", 20.0)
    shown = host.get("/materials").text
    assert "Note more about a lot" in shown
    for name, lot in ids.items():
        assert f'<option value="{lot}">{name}, received ' in shown
        form = {"lot": lot, "price": "12,50", "opened": ""}
        answer = host.post("/materials/note", data=form)
        assert (answer.status_code, answer.headers["location"]) == (303, "/materials#stock")
    note_lot(folder, "Rouge", LotFacts(lead_days=9.0))  # by the command, after it: both are kept
    lots = {lot.name: lot for lot in list_stock(folder, all_of_them=True).lots}
    assert [lots[name].price for name in ids] == [12.5, 12.5]
    assert lots["Rouge"].lead_days == 9.0
    for form, said in (
        ({"lot": ids["Rouge"]}, "nothing is noted; give price, purity or another"),
        ({"lot": "", "price": "1"}, "none is chosen; choose one"),
        ({"lot": ids["Rouge"], "price": "1,234"}, "'1,234' is not a number that can be read"),
        ({"lot": ids["Rouge"], "price": "-1"}, "price: -1 is out of range"),
        ({"lot": ids["Rouge"], "opened": "1999-01-01"}, "opened: it is before the lot came in"),
    ):
        refused = host.post("/materials/note", data=form)
        assert refused.status_code == 422
        assert said in unescape(refused.text)


def test_a_weighing_and_a_lot_are_noted_by_the_page(host, folder):
    form = {"name": "Rouge", "amount": "5,0", "unit": "g", "price": "12", "expires": "2036-01-01"}
    answer = host.post("/materials/lot", data=form)
    assert answer.status_code == 303
    (lot,) = list_stock(folder).lots
    assert (lot.amount, lot.price, lot.expires_on.isoformat()) == (5.0, 12.0, "2036-01-01")
    host.post("/materials/weigh", data={"lot": lot.id, "amount": "0"})
    assert 'aria-label="Rouge, weighed, g"' in host.get("/materials").text, "a slip is put right"
    answer = host.post("/materials/weigh", data={"lot": lot.id, "amount": "1.234"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/materials#stock")
    assert list_stock(folder).lots[0].left == pytest.approx(1.234), "the page alone refused it"


def send_list(caller, content):
    kind = {"Content-Type": f"multipart/form-data; boundary={EDGE}"}
    body = body_of("shelf.csv", content)
    return caller("POST", "/materials/list", headers=kind, content=body)


def test_a_list_of_stock_is_noted_whole_or_its_rows_to_mend_are_shown(host, folder):
    wrong = send_list(host, b"name,amount,box\nIodine,100 g,A\n<b>Rouge</b>,some,B\n")
    assert wrong.status_code == 422
    text = unescape(plain(wrong.text))
    assert "Nothing was noted. Mend these rows of shelf.csv" in text
    assert "row 3, column amount: 'some' is not a number" in text
    assert list_stock(folder).lots == ()
    sent = b"name,amount,box\nIodine,100 g,A\n<b>Rouge</b>,5 g,B\n"
    made = send_list(host, sent)
    assert made.status_code == 200
    text = unescape(plain(made.text))
    assert "2 lots noted from shelf.csv." in text
    assert "Columns left out: box." in text
    assert "Lot <b>Rouge</b>: 5 g of 5 g left" in text
    assert "<b>Rouge" not in made.text
    assert {lot.name for lot in list_stock(folder).lots} == {"Iodine", "<b>Rouge</b>"}
    assert "0 lots noted from shelf.csv; 2 lots known already." in plain(send_list(host, sent).text)
    assert "no column says" in send_list(host, b"a,b\n1,2\n").text
    assert send_list(host, b"").status_code == 422


def test_a_bath_is_noted_and_disposed_of_by_the_page(host, folder):
    assert '<option value="gild">' in host.get("/materials").text
    form = {"name": "F 7", "recipe": "fix", "volume_ml": "500", "mixed": "2026-02-01T18:30"}
    answer = host.post("/materials/bath", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, "/materials#baths")
    (made,) = list_baths(folder).baths
    assert (made.name, made.recipe, made.volume_ml) == ("F 7", "fix", 500.0)
    assert made.mixed_at.astimezone(zone_of(folder)).strftime("%m-%d %H:%M") == "02-01 18:30"
    host.post("/materials/bath", data={"name": "Mine", "words": "weak hypo", "volume_ml": "200"})
    assert host.post("/materials/discard", data={"bath": "F 7"}).status_code == 303
    assert [one.name for one in list_baths(folder).baths] == ["Mine"]
    again = host.post("/materials/discard", data={"bath": "F 7"})
    assert again.status_code == 422


def test_what_a_bath_took_from_the_lots_stands_with_it(host, folder):
    new_lot(folder, "Hypo", 500.0, "g", received_on=date(2026, 1, 1))
    new_bath(folder, "F1", "fix", 500.0)
    assert "took" not in plain(host.get("/materials").text), "the lot was not opened"
    note_lot(folder, "Hypo", LotFacts(opened_on=date(2026, 1, 2)))
    new_bath(folder, "F2", "fix", 500.0)  # 80 g/L of crystals: recipes.toml
    new_bath(folder, "F3", "fix", 6000.0)
    text = plain(host.get("/materials").text)
    assert text.count("took 40 g of Hypo") == 1
    assert "took 460 g of Hypo; the opened lots lack 20 g of Hypo for such a bath" in text


def test_waste_that_is_kept_is_noted_as_collected(host, folder):
    offered = 'action="/materials/collected"'
    assert offered not in host.get("/materials").text
    new_bath(folder, "Old", "fix", 500.0)
    discard_bath(folder, "Old")
    assert offered in host.get("/materials").text
    form = {"headers": {"content-type": "application/x-www-form-urlencoded"}, "content": b""}
    done = host.post("/materials/collected", **form)  # as a browser sends a form without fields
    assert (done.status_code, done.headers["location"]) == (303, "/materials#waste")
    assert [kind.kept_ml for kind in waste(folder).kinds] == [0.0, 0.0]
    assert offered not in host.get("/materials").text
    assert host.post("/materials/collected", **form).status_code == 422


@pytest.mark.parametrize(
    ("address", "form", "words"),
    [
        ("bath", {"name": "F1", "recipe": "fix"}, "nothing is given"),
        ("bath", {"name": "F1", "volume_ml": "500"}, "none is chosen"),
        (
            "bath",
            {"name": "F1", "recipe": "fix", "volume_ml": "500", "mixed": "noon"},
            "not a time",
        ),
        ("bath", {"name": "F1", "words": "bromine water", "volume_ml": "500"}, "refused"),
        ("weigh", {"lot": "nothing", "amount": "1"}, "no lot is named 'nothing'"),
        ("weigh", {"lot": "Rouge"}, "nothing is given"),
        ("weigh", {"lot": "Rouge", "amount": "much"}, "'much' is not a number"),
        ("weigh", {"lot": "Rouge", "amount": "nan"}, "amount"),
        ("lot", {"name": "Tripoli", "amount": "", "unit": "g"}, "nothing is given"),
        ("lot", {"name": "", "amount": "1", "unit": "g"}, "it is empty"),
        ("lot", {"name": "Tripoli", "amount": "1", "unit": "g", "purity": "99"}, "purity"),
        (
            "lot",
            {"name": "Tripoli", "amount": "1", "unit": "g", "opened": "x"},
            "'x' is not a date",
        ),
        ("lot", {"name": "Bromine", "amount": "1", "unit": "g"}, "is refused"),
    ],
)
def test_a_wrong_form_is_one_sentence_and_books_nothing(host, folder, address, form, words):
    new_lot(folder, "Rouge", 5.0, "g")
    answer = host.post(f"/materials/{address}", data=form)
    assert answer.status_code == 422
    assert words in unescape(plain(answer.text))
    for sent, back in ((host.base, True), ("http://elsewhere/x", False), ("", False)):
        page = {"referer": sent and sent + "/materials?a=b"}
        text = host.post(f"/materials/{address}", data=form, headers=page).text
        assert ('<a href="/materials?a=b">Back to the page' in text) == back
    (lot,) = list_stock(folder).lots
    assert lot.left == 5.0
    assert list_baths(folder).baths == ()


def test_labels_and_sheets_come_as_pdf(host, folder):
    new_bath(folder, "F 1", "fix", 500.0)
    with studio_book(folder) as book:
        plate = Plate(new_id(), "W1")
        add_plate(book, plate)
        assert "/materials/wall.pdf" not in host.get("/plates/W1").text
        made = Making(new_id(), plate.id, None, "a", 1, date(2026, 6, 1), grade="good")
        add_making(book, made)
    shown = host.get("/plates/W1").text
    assert 'action="/materials/wall.pdf"' in shown
    for kind, paper in (("sleeve", "us-letter"), ("plate", "38x21")):
        assert f'href="/materials/{kind}.pdf?paper={paper}&amp;name=W1"' in shown
    for address, words in (
        ("wall.pdf?name=W1&title=The+mill", "The mill"),
        ("wall.pdf?name=W1&title=", "Untitled"),
        ("bottle.pdf?paper=roll-62&name=F+1", "F 1"),
        ("room.pdf?paper=us-letter", "Safety in this room"),
    ):
        answer = host.get(f"/materials/{address}")
        assert answer.headers["content-type"] == "application/pdf", answer.text
        text = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
        assert words in " ".join(text.split())
    for address in ("soup.pdf", "room.pdf?paper=roll-62", "bottle.pdf?name=F9"):
        assert host.get(f"/materials/{address}").status_code == 422


def test_the_code_on_a_bottle_leads_to_its_bath(host, folder):
    bath = new_bath(folder, "F1", "fix", 500.0)
    (label,) = bottle_labels(folder, None, [], base="http://localhost:8440")
    address = read_qr(code_svg(label.address))
    answer = host.get(address.removeprefix("http://localhost:8440"))
    assert (answer.status_code, answer.headers["location"]) == (303, f"/materials#b-{bath.id}")
    assert f'id="b-{bath.id}"' in host.get("/materials").text
