"""A plate's record lays its light beside what the other plates teach, never beside itself."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.demo.studio import invented_studio
from argentry.desk.pages.plate_record import _given_up, plate_record
from argentry.exchange.plates.into_book import import_plates
from argentry.exchange.plates.table import read_plate_table
from argentry.out.plates.words import dose_line
from argentry.records.plate import Making
from argentry.records.run import GivenUp

STUDIO = invented_studio(0.0003)
HEADS = (
    "plate,date,session,order,coat_nm,f_number,subject_plane,exposure_start,exposure_seconds,"
    "development_start,development_end,stage_polish,stage_coat,stage_exposure,stage_development,"
    "exposure_verdict,grade"
)
ROW = (
    "{plate},2025-06-{day},{day},1,20,4,sun,2025-06-{day}T11:00:00+02:00,100,"
    "2025-06-{day}T11:30:00+02:00,2025-06-{day}T14:00:00+02:00,ok,ok,ok,ok,right,good"
)


def test_a_plate_lies_beside_what_the_others_teach(tmp_path):
    """The first plate's own light stood beside a need that it had taught itself."""
    book, zone = open_book(tmp_path, folder=tmp_path), STUDIO.site.time_zone

    def doses(*plates):
        rows = [ROW.format(plate=plate, day=9 + int(plate[1:])) for plate in plates]
        table = tmp_path / "few.csv"
        table.write_text("\n".join((HEADS, *rows)), encoding="utf-8")
        read = read_plate_table(table, time_zone=zone)
        assert not read.problems
        import_plates(book, read, at=datetime.now(UTC))
        return plate_record(book, "P1", STUDIO, tmp_path, ZoneInfo(zone)).outcomes[-1].doses

    alone = doses("P1")
    assert [one.plates for one in alone] == [0, 0]
    assert all("the studio's starting value" in dose_line(one) for one in alone)
    assert alone[1].needed == pytest.approx(480.0, rel=0.01)  # trade.toml, before any plate
    among = doses("P1", "P2", "P3")
    assert [one.plates for one in among] == [2, 2]
    assert "learned from 2 other plates" in dose_line(among[0])
    for before, after in zip(alone, among, strict=True):
        assert before.received == after.received
        nearer = abs(after.needed - after.received) < abs(before.needed - before.received)
        assert nearer  # the others were as long and came out right
    close_book(book)


def test_a_record_says_whether_a_plate_given_up_had_a_fault():
    def told(**up):
        made = Making("m", "p", None, "s", 1, date(2026, 6, 21), given_up=GivenUp(**up))
        return _given_up(made)

    light = told(stage="exposure", reason="outward", defect=None, outward="light_gone", why="dark")
    assert light == "no fault of the plate, at the exposure stage: dark"
    fault = told(stage="", reason="fault", defect=None, outward=None, why="grey")
    assert fault == "something was wrong at the unknown stage: grey"
    assert _given_up(Making("m", "p", None, "s", 1, date(2026, 6, 21))) == ""
