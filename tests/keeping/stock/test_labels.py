"""What stands on labels: of baths by their kind and use, of lots by what is known, of plates."""

from datetime import UTC, date, datetime, timedelta

import pytest

from argentry.book.plates import add_making, add_plate
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.moments import zone_of
from argentry.keeping.stock.baths import new_bath, use_bath
from argentry.keeping.stock.labels import bottle_labels, plate_labels, plate_sizes_mm, wall_labels
from argentry.keeping.stock.lots import new_lot, use_stock
from argentry.keeping.stock.safety import room_safety
from argentry.keeping.studio import new_studio
from argentry.records.ids import new_id
from argentry.records.material import LotFacts
from argentry.records.plate import Making, Plate

MIXED = datetime.now(UTC).replace(second=0, microsecond=0) - timedelta(hours=2)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("labels") / "studio"
    new_studio(made, {})
    for name, recipe in (("F1", "fix"), ("F2", "fix"), ("G1", "gild"), ("Mine", "my own rinse")):
        new_bath(made, name, recipe, 89.0, mixed_at=MIXED)
    use_bath(made, "F2", count=4)
    facts = LotFacts(purity=0.998, opened_on=date(2026, 2, 1), expires_on=date(2030, 1, 1))
    came = date(2026, 1, 1)
    new_lot(made, "Iodine", 100.0, "g", supplier="a shop", received_on=came, facts=facts)
    new_lot(made, "Something", 5.0, "g", received_on=came)
    with studio_book(made) as book:
        add_plate(book, Plate(new_id(), "P 1", "half", date(2026, 3, 1), 12.0, "a shop", 2))
        add_plate(book, Plate(new_id(), "P2", "quarter"))
    return made


def test_a_bath_says_until_when_it_may_be_used_and_what_it_is(folder):
    fresh, used, gold, mine = bottle_labels(folder, None, [], base="http://s:8440/")
    there = MIXED.astimezone(zone_of(folder))
    mixed = f"Mixed {there:%Y-%m-%d %H:%M}"
    assert fresh.lines[0] == used.lines[0] == gold.lines[0] == mine.lines[0] == mixed
    week = f"Until {there + timedelta(days=7):%Y-%m-%d} or "
    assert fresh.lines[1].startswith(week)
    assert fresh.lines[1].endswith(" plates in all, or cloudy, or slow to clear")
    # four plates went through: they count for the plates in all
    assert used.lines[1] == fresh.lines[1]
    assert gold.lines[1] == f"Use until {there + timedelta(days=1):%Y-%m-%d %H:%M}"
    assert mine.lines[1].endswith(", 89 mL")
    assert mine.lines[1].startswith("Lot ")
    assert ["Used: silver-bearing waste" in one.lines for one in (fresh, used, gold, mine)] == [
        False, True, False, False,
    ]  # fmt: skip
    assert fresh.advice != used.advice
    assert (gold.signal, mine.signal) == ("Warning", "")
    assert len({one.address for one in (fresh, used, gold, mine)}) == 4
    assert fresh.address.startswith("http://s:8440/materials/bath/")


def test_a_lot_says_what_is_known_of_it_and_no_more(folder):
    iodine, other = bottle_labels(folder, None, ["Iodine", "Something"])
    number = iodine.lines[3]
    assert number.startswith("Lot ")
    assert number.endswith(", 100 g")
    assert iodine.lines == (
        "Received 2026-01-01", "Opened 2026-02-01", "Use until 2030-01-01", number,
        "Purity 99.8 %", "From a shop", "CAS 7553-56-2",
    )  # fmt: skip
    assert (iodine.signal, iodine.address) == ("Danger", "")
    assert "Harmful if inhaled." in iodine.statements
    assert len(other.lines) == 2
    use_stock(folder, "Something", 5.0)  # an empty bottle has its label still
    assert bottle_labels(folder, None, ["Something"]) == (other,)
    assert (other.signal, other.statements) == ("", ())


def test_a_plate_says_what_is_known_of_it_and_leads_to_its_page(folder):
    known, bare = plate_labels(folder, ["P 1", "P2"], base="http://s:8440/")
    assert known.lines == (
        "Half plate", "Silver 12 µm", "Silvered 2026-03-01", "From a shop", "Polished back: 2 ×",
    )  # fmt: skip
    assert known.address == "http://s:8440/plates/P%201"
    assert bare.lines == ("Quarter plate",)
    assert bare.foot.startswith("My studio. Touch")
    assert plate_labels(folder, ["P2"])[0].address == ""
    assert plate_sizes_mm(folder, ["P 1", "P2"])[0] == pytest.approx((107.95, 139.7))
    with pytest.raises(BadInput, match="plate: none is named"):
        plate_labels(folder, [])


@pytest.fixture(scope="module")
def hung(tmp_path_factory):
    """A studio of two plates, each with a finished picture on it."""
    made = tmp_path_factory.mktemp("wall") / "studio"
    new_studio(made, {})
    with studio_book(made) as book:
        for day, label, size in ((1, "P 1", "half"), (2, "P2", "quarter")):
            plate = Plate(new_id(), label, size)
            add_plate(book, plate)
            on = date(2026, 6, day)
            add_making(book, Making(new_id(), plate.id, None, label, day, on, grade="good"))
    return made


def test_a_label_for_the_wall_names_picture_maker_place_and_size(hung):
    own = {"titles": ["The mill (invented)", " "], "maker": "A. Keeper", "place": "Weir lane"}
    first, second = wall_labels(hung, ["P2", "P 1"], base="http://s:8440/", **own)
    assert (first.title, second.title) == ("The mill (invented)", "Untitled")
    assert first.lines == (
        "A. Keeper", "Weir lane, 2 June 2026", "Daguerreotype, quarter plate, 83 × 108 mm",
        "Sensitised with iodine alone, developed by red light",
    )  # fmt: skip
    assert (first.address, first.signal) == ("http://s:8440/plates/P2", "")
    assert first.foot.endswith("there the picture comes up. My studio, plate P2")
    (plain,) = wall_labels(hung, ["P2"])
    assert (plain.title, plain.lines[:2], plain.address) == (
        "Untitled", ("My studio", "2 June 2026"), "",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("plates", "own", "words"),
    [
        ([], {}, "plate: none is named"),
        (["P9"], {}, "P9"),
        (["P2", "P 1"], {"titles": ["One"]}, "--title: 1 are given for 2; give one for each plate"),
        (["P2"], {"titles": ["x" * 121]}, "--title: 'x+...' is longer than 120 signs; shorten it"),
        (["P2"], {"maker": "x" * 121}, "--maker: "),
        (["P2"], {"place": "x" * 121}, "--place: "),
    ],
)
def test_what_cannot_hang_is_refused_in_a_sentence(hung, plates, own, words):
    with pytest.raises(BadInput, match=words):
        wall_labels(hung, plates, **own)


def test_a_plate_without_a_picture_has_no_label_for_the_wall(folder):
    with pytest.raises(BadInput, match="there is no finished picture on 'P2'; grade the plate"):
        wall_labels(folder, ["P2"])


def test_the_card_for_the_room_bears_the_day_of_the_studio(tmp_path):
    new_studio(tmp_path / "east", {"--lat": -13.8, "--lon": -171.8, "--tz": "Pacific/Apia"})
    told = room_safety(tmp_path / "east")
    assert told.on.utcoffset() == timedelta(hours=13)  # IANA time zone database
