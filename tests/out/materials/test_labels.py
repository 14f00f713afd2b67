"""Labels and sheets of materials: nothing is cut off, codes are read back, papers are known."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader
from tests.out.materials.qr_reader import codes_in, read_qr
from tests.out.pdf_look import words_on

from argentry.errors import BadInput
from argentry.keeping.stock.labels import Label, bath_address
from argentry.keeping.stock.mixing_sheet import BathToMix, MixingSheet
from argentry.out.materials.labels import label_data, labels_pdf
from argentry.out.materials.paper import LABEL_PAPERS, PAPERS, WALL_PAPERS, code_svg
from argentry.out.materials.sheets import mixing_pdf, sleeve_pdf
from argentry.out.typeset import compiler
from argentry.trade.chemistry.hazards import advice, hazards, statement

DAY = date(2026, 6, 3)
MM = 72.0 / 25.4
BATH = "0197900a-0001-7000-8000-000000000005"


def full(one):
    return Label(
        title=one.title,
        lines=("Received 2026-06-01", "Opened 2026-06-02", "Use until 2030-01-01",
               "Lot 00000005, 100 g", "Purity 99.8 %", "From a shop of some name", one.number),
        signal=one.signal,
        pictograms=one.pictograms,
        statements=tuple(f"{statement(code)}." for code in one.h),
        advice=tuple(advice(code) for code in one.p),
        address=bath_address("http://studio.local:8440", BATH),
        foot="A studio. Refilled from the supplier's package; its safety data sheet decides.",
    )  # fmt: skip


def words_of(data):
    reader = PdfReader(io.BytesIO(data))
    return reader, " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize("paper", PAPERS)
def test_every_material_goes_on_every_paper_with_all_its_words(paper):
    made = [full(one) for one in hazards()]
    reader, words = words_of(labels_pdf(made, paper, day=DAY, studio="A studio"))
    assert reader.metadata.creation_date.date() == DAY, "the studio's day, not the machine's"
    on = LABEL_PAPERS[paper]
    assert len(reader.pages) == (len(made) if on.roll else -(-len(made) // (on.columns * on.rows)))
    joined = words.replace("- ", "-")  # a title may be set on two lines
    for label in made:
        assert label.title in joined
    if on.full:
        for label in made:
            for text in (*label.statements, *label.advice[:6], label.foot):
                assert " ".join(text.split()) in words, (label.title, text)
    if on.roll:
        assert float(reader.pages[0].mediabox.width) == pytest.approx(62.0 * MM, abs=0.1)


@pytest.mark.parametrize("paper", ["a4", "us-letter", "38x21"])
def test_no_word_lies_below_its_label(paper):
    on = LABEL_PAPERS[paper]
    for one in hazards():
        page = PdfReader(io.BytesIO(labels_pdf([full(one)], paper, day=DAY))).pages[0]
        floor = float(page.mediabox.height) - (on.top + on.height) * MM
        assert min(word.baseline for word in words_on(page)) > floor, one.key


def test_copies_and_used_places_are_counted():
    one = Label("A1", ("Quarter plate",))
    assert len(label_data([one], "38x21", DAY, copies=3, skip=2)["labels"]) == 5
    assert len(label_data([one], "roll-62", DAY, copies=3, skip=2)["labels"]) == 3


@pytest.mark.parametrize(
    "address",
    [
        "http://studio.local:8440/plates/A1",
        bath_address("https://argentry.example:8440/", BATH),
        "http://studio.local:8440/plates/%C3%84%201",
    ],
)
def test_a_code_is_read_back_as_the_address_it_leads_to(address):
    assert read_qr(code_svg(address)) == address


@pytest.mark.parametrize("paper", PAPERS)
def test_the_codes_are_read_back_from_the_pixels_of_the_printed_page(paper):
    """At 300 dots an inch, as a cheap printer has them; three pictograms leave no room on 38x21."""
    some = [one for one in hazards() if len(one.pictograms) < 3][:2]
    at = [bath_address("http://studio.local:8440", BATH[:-1] + str(n)) for n in range(2)]
    made = [replace(full(one), address=to) for one, to in zip(some, at, strict=True)]
    shown = {"data": json.dumps(label_data(made, paper, DAY, "A studio"))}
    pages = compiler("label.typ").compile(format="png", ppi=300.0, sys_inputs=shown)
    pages = pages if isinstance(pages, list) else [pages]
    read = [text for page in pages for text in codes_in(page)]
    assert sorted(read) == at


def test_sleeves_stay_whole_and_their_code_is_read_from_the_page():
    made = [Label(name, ("Quarter plate",), address=f"http://s/{name}") for name in ("A1", "A2")]
    pages = PdfReader(io.BytesIO(sleeve_pdf(made, [(82.6, 108.0)] * 2, "us-letter", DAY))).pages
    said = [page.extract_text() for page in pages]
    assert ["Sleeve for A1" in said[0], "Sleeve for A2" in said[0]] == [True, False]
    assert "Sleeve for A2" in said[1]


def way_of(sleeve, words):
    """Return which way words run on the only page, as the sine of the page's own matrix."""
    (page,) = PdfReader(io.BytesIO(sleeve)).pages
    found: list[float] = []
    page.extract_text(visitor_text=lambda text, page_at, *_: (
        found.append(page_at[1]) if words in text else None))  # fmt: skip
    return found


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_a_sleeve_is_turned_where_only_that_goes_on_the_paper(paper):
    made = [Label("H1", ("Of a shop",), address="http://s/H1")]
    assert way_of(sleeve_pdf(made, [(82.6, 108.0)], paper, DAY), "Of a shop") == [0.0]  # quarter
    assert way_of(sleeve_pdf(made, [(108.0, 139.7)], paper, DAY), "Of a shop") == [-1.0]  # half
    with pytest.raises(BadInput, match="a sleeve of 262 by 194 mm does not go on this paper"):
        sleeve_pdf(made, [(127.0, 177.8)], paper, DAY)


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_mixing_sheet_of_a_usual_day_is_one_page_and_its_cautions_are_never_in_two(paper):
    steps, cautions = ("Dissolve 8 g of hypo in 100 mL of water.", "Filter."), ("Wear goggles.",)
    bath = BathToMix("fix", "Fixing bath", steps, (), ("Let it stand.",))
    for count, whole in ((2, 1), (9, 2)):
        sheet = MixingSheet("", "", "For 4 plates.", (bath,) * count, cautions * 12)
        pages = PdfReader(io.BytesIO(mixing_pdf(sheet, DAY, paper))).pages
        said = [page.extract_text() for page in pages]
        assert len(said) == whole
        assert said[-1].count("Wear goggles.") == 12
        assert "Cautions" in said[-1]


def test_without_a_server_there_is_no_code():
    assert code_svg("") == ""
    assert bath_address("", BATH) == ""
    with pytest.raises(BadInput, match="--address: it is too long"):
        code_svg("http://" + "x" * 400)
    for nonsense in ("nan/plates/P1", "-1", "studio.local:8440/plates/P1", "file:///etc/hosts"):
        with pytest.raises(BadInput, match="begin it with http:// or https://"):
            code_svg(nonsense)


def test_a_paper_that_is_not_known_is_refused():
    with pytest.raises(BadInput, match="--paper: 'a3' is not a paper; give one of a4"):
        labels_pdf([], "a3", day=DAY)


@pytest.mark.parametrize(
    ("paper", "sheet"), [("a4", (210.0, 297.0)), ("us-letter", (215.9, 279.4))]
)
def test_labels_for_the_wall_are_read_standing_and_none_is_cut(paper, sheet):
    """Paper sizes by ISO 216 and ANSI/ASME Y14.1."""
    longest = " ".join(["A long title of a picture"] * 5)[:120]
    lines = (
        longest,
        longest,
        "Daguerreotype, half plate, 108 × 140 mm",
        "Iodine alone, red light; gilded",
    )
    label = Label(longest, lines, address="http://studio.local:8440/plates/P2", foot="Stand there.")
    pages = PdfReader(io.BytesIO(labels_pdf([label] * 4, paper, day=DAY, wall=True))).pages
    assert [page.extract_text().count("Stand there.") for page in pages] == [3, 1]
    size = pages[1].extract_text().splitlines()[-3].removeprefix("Daguerreotype, half plate, ")
    assert size == "108\xa0×\xa0140\xa0mm", "beside a code mm stood alone on a line"
    assert [round(float(side) / MM, 1) for side in pages[0].mediabox[2:]] == list(sheet)
    sizes = []
    pages[0].extract_text(
        visitor_text=lambda text, *at: sizes.append(at[3]) if text.strip() else None
    )
    assert min(sizes) >= WALL_PAPERS[paper].least > LABEL_PAPERS[paper].type
    assert WALL_PAPERS[paper].type == 17.0, "as docs/materials.md says of both papers"
    assert label_data([label], paper, DAY, wall=True)["height"] * 3 < sheet[1]
