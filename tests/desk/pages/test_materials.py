"""The forms of the page of materials: what is typed, what may be left out, what is refused."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

import pytest

from argentry.desk.pages import materials
from argentry.errors import BadInput
from argentry.records.material import LotFacts

HOUSE = SimpleNamespace(studio_dir="folder")
LOT = {"name": "iodine", "amount": " 100,5", "unit": "g", "supplier": "Chem"}
BATH = {"name": "fixer", "volume_ml": "750", "recipe": "fixer", "words": "own"}


@pytest.fixture
def done(monkeypatch):
    calls = []
    for name in ("weigh_lot", "new_lot", "new_bath", "discard", "note"):
        monkeypatch.setattr(
            materials, name, lambda *given, of=name, **more: calls.append((of, *given, more))
        )
    monkeypatch.setattr(materials, "book_address", lambda house: "address")
    return calls


def test_a_lot_comes_in_with_what_is_known_of_it(done):
    materials.add_lot(HOUSE, LOT, "host")
    facts = {"purity": "0.99", "price": "30", "opened": "2026-06-01", "expires": " 2027-01-31",
             "lead_days": "14"}  # fmt: skip
    materials.add_lot(HOUSE, LOT | facts, "host")
    first, second = done
    assert first[:-1] == ("new_lot", "folder", "iodine", 100.5, "g", "address")
    assert first[-1] == {"supplier": "Chem", "facts": LotFacts(), "by": "host"}
    assert second[-1]["facts"] == LotFacts(
        purity=0.99, price=30.0, opened_on=date(2026, 6, 1), expires_on=date(2027, 1, 31),
        lead_days=14.0,
    )  # fmt: skip


def test_a_bath_is_mixed_by_a_recipe_or_in_words(done):
    for form in (BATH, BATH | {"recipe": ""}, BATH | {"mixed": "2026-06-21T09:30"}):
        materials.add_bath(HOUSE, form, "host")
    assert [one[1:-1] for one in done] == [
        ("folder", "fixer", recipe, 750.0, "address") for recipe in ("fixer", "own", "fixer")
    ]
    assert [one[-1]["mixed_at"] for one in done] == [
        None, None, datetime(2026, 6, 21, 9, 30),  # noqa: DTZ001 - the studio's clock
    ]  # fmt: skip
    with pytest.raises(BadInput, match="recipe: none is chosen"):
        materials.add_bath(HOUSE, BATH | {"recipe": "", "words": " "}, "host")


def test_what_is_done_by_a_button(done):
    materials.weigh(HOUSE, {"lot": "l", "amount": "0"}, "host")
    materials.discard_bath(HOUSE, {"bath": "b"}, "host")
    materials.collected(HOUSE, {}, "host")
    assert done == [
        ("weigh_lot", "folder", "l", 0.0, "address", {"by": "host"}),
        ("discard", "folder", "b", "address", {}),
        ("note", "folder", "address", {"by": "host"}),
    ]


@pytest.mark.parametrize(
    ("act", "form", "wrong", "said"),
    [
        (materials.weigh, {"lot": "l", "amount": "1"}, {"amount": " "}, "amount: nothing is given"),
        (materials.add_lot, LOT, {"amount": ""}, "amount: nothing is given"),
        (materials.add_lot, LOT, {"price": "dear"}, "price: "),
        (materials.add_lot, LOT, {"opened": "soon"}, "opened: "),
        (materials.add_bath, BATH, {"volume_ml": ""}, "volume: nothing is given"),
        (materials.add_bath, BATH, {"mixed": "noon"}, "mixed: "),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(done, act, form, wrong, said):
    act(HOUSE, form, "host")
    with pytest.raises(BadInput, match=said):
        act(HOUSE, form | wrong, "host")
    assert len(done) == 1


def test_the_page_names_baths_that_are_tired_and_what_lots_gave_for_them(monkeypatch):
    baths = (SimpleNamespace(id="a", lasts=True), SimpleNamespace(id="b", lasts=False))
    taken = {"a": [("lot 1", 12.5, "g"), ("lot 2", 3.0, "g")], "b": []}
    answers = {
        "load_studio": SimpleNamespace(name="Yard"), "today_of": "today", "stock_of": "stock",
        "KnownBaths": SimpleNamespace(own={}), "baths_of": SimpleNamespace(baths=baths),
        "needs_from": "needs", "worn_of": "worn", "room_from": "room", "waste_of": "waste",
        "cost_of": "cost", "lacking_of": None,
    }  # fmt: skip
    for name, answer in answers.items():
        monkeypatch.setattr(materials, name, lambda *_, it=answer, **__: it)
    monkeypatch.setattr(materials, "taken_for", lambda book, bath: taken[bath.id])
    noon = datetime(2026, 6, 21, 12, tzinfo=UTC)
    clock = SimpleNamespace(now=lambda: noon)
    house = SimpleNamespace(book="book", studio_dir="folder", clock=clock, zone=UTC)
    page = materials.materials_page(house)
    assert page.tired == baths[1:]
    assert page.took == {"a": "12.5 g of lot 1, 3 g of lot 2"}
    assert (page.baths, page.stock, page.worn, page.cost) == (baths, "stock", "worn", "cost")
