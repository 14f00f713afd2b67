"""Days of stock, costs and waste are those of the studio's clocks, not those of Greenwich.

Apia lies 13 h ahead of UTC, Pago Pago, 125 km away, 11 h behind (IANA time zone database).
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from argentry.book.baths import add_bath, bath_uses, discard_bath, use_bath
from argentry.book.lots import add_lots, lot_uses, use_lot
from argentry.book.materials.notes import add_notes
from argentry.book.plates import add_making, add_plate, add_work
from argentry.keeping.book import studio_book
from argentry.keeping.moments import today_of, zone_of
from argentry.keeping.plates.wear import wear_of
from argentry.keeping.stock.cost import cost
from argentry.keeping.stock.waste import waste
from argentry.keeping.studio import new_studio
from argentry.records.ids import new_id
from argentry.records.material import LOT, Bath, Lot, MaterialNote
from argentry.records.plate import Making, Plate
from argentry.records.plate_record import PlateWork

PLACES = {  # and an hour of its clocks
    "Pacific/Apia": (-13.8, -171.8, 2),
    "Pacific/Pago_Pago": (-14.3, -170.7, 21),
}
DAY = date(2026, 6, 21)


@pytest.fixture(params=PLACES)
def place(request, tmp_path):
    latitude, longitude, hour = PLACES[request.param]
    given = {"--lat": latitude, "--lon": longitude, "--tz": request.param}
    new_studio(tmp_path / "studio", given)
    at = datetime.combine(DAY, time(hour), ZoneInfo(request.param)).astimezone(UTC)
    assert at.date() != DAY
    return tmp_path / "studio", at


def test_today_is_that_of_the_studio(place):
    folder, at = place
    assert today_of(folder, at) == DAY


def test_what_was_used_and_thrown_away_counts_on_its_day(place):
    folder, at = place
    lot = Lot(new_id(), "Iodine", 100.0, "g", "", DAY)
    bath = Bath(new_id(), "F1", "fix", at - timedelta(days=3), 500.0)
    with studio_book(folder, None) as book:
        add_lots(book, [lot])
        add_notes(book, [MaterialNote(LOT, lot.id, "price", "60.0", at)])
        use_lot(book, lot.id, 10.0, at=at)
        add_bath(book, bath)
        use_bath(book, bath.id, 4, 360.0, at=at)
        discard_bath(book, bath.id, at)
        zone = zone_of(folder)
        assert lot_uses(book, DAY, DAY, zone) == {lot.id: 10.0}
        assert bath_uses(book, DAY, DAY, zone)[bath.id][0] == 4
    told = cost(folder, first=DAY, last=DAY)
    assert sum(part.total for part in told.parts if part.basis != "estimated") == pytest.approx(6.0)
    fixing = waste(folder, first=DAY, last=DAY).kinds[0]
    assert (fixing.made_ml, fixing.plates) == (500.0, 4)


@pytest.mark.parametrize(("after", "ready"), [(0, True), (1, False)])
def test_a_plate_polished_back_is_ready_until_it_is_made_again(place, after, ready):
    folder, at = place
    plate = Plate(new_id(), "K1", "quarter", silver_um=10.0)
    with studio_book(folder, None) as book:
        add_plate(book, plate)
        day = DAY + timedelta(days=after)
        add_making(book, Making(new_id(), plate.id, None, "s", 1, day, grade="good"))
        add_work(book, PlateWork(new_id(), plate.id, "polished_back", at, "", ""))
        assert [one.ready for one in wear_of(book).plates] == [ready]
