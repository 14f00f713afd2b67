from __future__ import annotations

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.exchange.weather.file import read_weather_file

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
# Years of the months, as a typical year has them; 1996 was a leap year.
YEARS = (1988, 1996, 1990, 1980, 1986, 1989, 1981, 2001, 2003, 1980, 1994, 1980)


def epw_row(year, month, day, hour, **cells):
    """One row in the order of the EPW data dictionary (EnergyPlus, Auxiliary Programs)."""
    row = [year, month, day, hour, 60, "?9?9", 12.5, 5.0, 60, 98000, 0, 1367, 300]
    row += [cells.get("ghi", 0), cells.get("dni", 0), cells.get("dhi", 0)]
    row += [0, 0, 0, 0, 180, 2.0, cells.get("cloud", 5), 5, 20.0, 77777, 9, 999999999, 15]
    row += [0.1, 0, 88, 0.2, 0.0, 1.0]
    row[6] = cells.get("temperature", 12.5)
    row[8] = cells.get("humidity", 60)
    return ",".join(map(str, row))


def epw(rows, zone=1.0, per_hour=1):
    head = [
        f"LOCATION,Orraga,-,INV,INVENTED,999999,42.00,-1.00,{zone},350.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,an invented place",
        "COMMENTS 2,for a test",
        f"DATA PERIODS,1,{per_hour},Data,Sunday,1/1,12/31",
    ]
    return "\n".join([*head, *rows]) + "\n"


def year_rows(**special):
    """A year whose global irradiance is 10 times the number of the hour; `special` by date."""
    return [
        epw_row(year, month, day, hour, ghi=10 * hour, **special.get(f"d{month}_{day}_{hour}", {}))
        for year, month, length in zip(YEARS, range(1, 13), DAYS, strict=True)
        for day in range(1, length + 1)
        for hour in range(1, 25)
    ]


def read(tmp_path, text, name="orraga.epw", encoding="utf-8"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return read_weather_file(path)


@pytest.fixture(scope="module")
def year(tmp_path_factory):
    special = {
        "d1_1_1": {"dni": 9999, "dhi": 9999, "cloud": 99, "temperature": 99.9, "humidity": 999},
        "d1_1_2": {"cloud": 10, "temperature": 20.0, "humidity": 104},
        "d1_1_3": {"cloud": 0, "temperature": 10.0, "humidity": 90},
    }
    return read(tmp_path_factory.mktemp("epw"), epw(year_rows(**special)))


def test_epw_hour_1_begins_at_midnight_standard_time(year):
    assert year.kind == "typical year"
    assert year.step_s == 3600
    assert len(year.start_utc) == 8760
    # Zone +1: local hour 1 is 00:00 to 01:00, which begins at 23:00 UTC of the day before.
    assert str(year.start_utc[0]) == "2000-12-31T23:00:00"
    assert year.ghi_w_m2[0] == 10
    noon = np.flatnonzero(year.start_utc == np.datetime64("2001-06-21T11:00"))[0]
    assert year.ghi_w_m2[noon] == 130  # local 12:00 to 13:00 is hour 13
    assert np.all(np.diff(year.start_utc) == np.timedelta64(3600, "s"))


def test_epw_missing_values_are_not_known(year):
    assert np.isnan(year.dni_w_m2[0])
    assert np.isnan(year.dhi_w_m2[0])
    assert np.isfinite(year.dni_w_m2[1:]).all()
    assert np.isnan(year.haze_aod).all()
    assert np.isnan(year.sunshine_share).all()


def test_epw_readings_at_the_stamp_become_means_of_the_hour(year):
    # Readings: 0.5 at the year's end, missing at 01:00, 1.0 at 02:00, 0.0 at 03:00.
    np.testing.assert_allclose(year.cloud_share[:4], [0.5, 1.0, 0.5, 0.25])
    np.testing.assert_allclose(year.temperature_c[:3], [12.5, 20.0, 15.0])
    np.testing.assert_allclose(year.relative_humidity_pct[:3], [60, 100, 97])


def test_leap_day_is_left_out(tmp_path):
    rows = year_rows()
    at = (31 + 28) * 24
    leap = [epw_row(1996, 2, 29, hour) for hour in range(1, 25)]
    weather = read(tmp_path, epw(rows[:at] + leap + rows[at:]))
    assert len(weather.start_utc) == 8760
    assert np.all(np.diff(weather.start_utc) == np.timedelta64(3600, "s"))


def test_epw_names_in_old_encoding(tmp_path):
    text = epw([epw_row(2001, 6, 21, hour, ghi=1) for hour in range(1, 25)])
    weather = read(tmp_path, text.replace("Orraga", "Orrága"), encoding="latin-1")
    assert "Orrága" in weather.source
    assert len(weather.start_utc) == 24


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        (" \n\n", "is empty"),
        ("LOCATION,Orraga\n", "this is not an EPW file"),
        (epw([]), "this is not an EPW file"),
        (epw(["1,2,3"]), "row 9: 3 cells"),
        (epw([epw_row(2001, 6, 21, 1)], per_hour=4), "4 rows per hour"),
        (epw([epw_row(2001, 6, 21, "x")]), "row 9: 6/21 x is not a month, day and hour"),
        (epw([epw_row(2001, 13, 21, 1)]), "row 9: 13/21 1 is not"),
        (epw([epw_row(2001, "", 21, 1)]), "row 9: month, day or hour is missing"),
        (epw([epw_row(2001, 6, 21, 1, ghi="bright")]), "global .* is not all numbers"),
        (epw([epw_row(2001, 2, 30, 1)]), "row 9: 2/30 1 is not"),
        (epw([epw_row(2001, 6, 21, 1)], zone="x"), "row 1: its time zone x h is not possible"),
        (epw([epw_row(2001, 6, 21, 1)], zone=30), "row 1: its time zone 30 h is not possible"),
        (epw([epw_row(2001, 6, 21, 2), epw_row(2001, 6, 21, 1)]), "row 10: this hour is not after"),
        (epw([epw_row(2001, 6, 21, 2), epw_row(2001, 6, 21, 2)]), "row 10: this hour is not after"),
        (epw([epw_row(2001, 6, 21, 1, ghi=2500)]), "row 9: 2500 cannot be global"),
        (epw([epw_row(2001, 6, 21, 1, ghi=-800)]), "row 9: -800 cannot be global"),
    ],
)
def test_wrong_epw(tmp_path, text, words):
    with pytest.raises(BadInput, match=words):
        read(tmp_path, text)


def test_no_file_folder_and_no_text(tmp_path):
    with pytest.raises(BadInput, match=r"there is no such file|not a plain file"):
        read_weather_file(tmp_path / "no.csv")
    with pytest.raises(BadInput, match=r"there is no such file|not a plain file"):
        read_weather_file(tmp_path)
    with pytest.raises(BadInput, match="not a text file"):
        read(tmp_path, "a\0b", name="sky.csv")


TMY3 = "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),"
TMY3 += "TotCld (tenths),Dry-bulb (C),RHum (%)\n"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("", "has no hours"),
        ("01/01/1988,01:00,1,1,1,1,1\n", "no column for relative humidity"),
        ("13/01/1988,01:00,1,1,1,1,1,1\n", "row 3: 13/01 01 is not a month, day and hour"),
        ("01/01/1988,25:00,1,1,1,1,1,1\n", "row 3: 01/01 25 is not"),
        ("01/01/1988,xx,1,1,1,1,1,1\n", "row 3: 01/01 xx is not"),
        ("01/01/1988,01:00,bright,1,1,1,1,1\n", "global .* is not all numbers"),
        ("01/01/1988,01:00,1,1,1,12,1,1\n", "row 3: 12 cannot be share of the sky"),
        ("01/01/1988,01:00,-9900,-9900,-9900,1,1,1\n", "every value of light is missing"),
        ("01/01/1988,02:00,1,1,1,1,1,1\n01/01/1988,01:00,1,1,1,1,1,1\n", "row 4: this hour"),
    ],
)
def test_wrong_tmy3(tmp_path, rows, words):
    text = f'1,"X",Y,-5.0,36.1,-79.9,273\n{TMY3}{rows}'
    if "humidity" in words:
        text = text.replace(",RHum (%)", "")
    with pytest.raises(BadInput, match=words):
        read(tmp_path, text, name="x.csv")


def test_a_tmy3_without_its_place_or_its_time_is_refused(tmp_path):
    for text in (f"1\n{TMY3}", f'1,"X",Y,0.0\n{TMY3.replace(",Time (HH:MM)", "")}01/01/1988,1\n'):
        with pytest.raises(BadInput, match="place, time zone or time is missing"):
            read(tmp_path, text, name="x.csv")


def test_tmy3_year_end_written_as_midnight_of_the_next_day(tmp_path):
    rows = "12/31/1980,23:00,1,1,1,1,1,1\n01/01/1981,00:00,2,2,2,1,1,1\n"
    weather = read(tmp_path, f'1,"X",Y,0.0,36.1,-79.9,273\n{TMY3}{rows}', name="x.csv")
    assert [str(moment)[5:13] for moment in weather.start_utc] == ["12-31T22", "12-31T23"]


def test_mapping_beside_the_file_is_taken(tmp_path):
    (tmp_path / "sky.toml").write_text(
        'stamp = "start"\ntime_zone = "UTC"\n[columns]\ntime = "t"\nghi = "g"\n', encoding="utf-8"
    )
    weather = read(tmp_path, "t,g\n2026-06-21T10:00,1\n2026-06-21T11:00,2\n", name="sky.csv")
    np.testing.assert_equal(weather.ghi_w_m2, [1, 2])
