"""Files of public archives as they are downloaded, in their documented shapes.

Shapes: PVGIS user manual (hourly radiation, TMY) and the notes in pvlib's readers, which are asked
about the same text where they read text; NSRDB PSM CSV (SAM's standard time series); Open-Meteo's
documentation; ECMWF's short names with accumulations over the hour that ends at the time.
"""

import io
import json

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.exchange.weather.file import one_after_the_other, read_weather_file

PVGIS = """Latitude (decimal degrees):\t45.000
Longitude (decimal degrees):\t8.000
Elevation (m):\t250
Radiation database:\tPVGIS-SARAH2


Slope: 0 deg.
Azimuth: 0 deg.
time,Gb(i),Gd(i),Gr(i),H_sun,T2m,WS10m,Int
20190601:0910,400.5,120.25,0.0,50.1,19.5,1.0,0.0
20190601:1010,500.0,130.0,1.0,58.0,20.5,1.1,0.0
20190601:1110,520.0,140.0,0.0,64.0,21.5,1.1,0.0

Gb(i): Beam (direct) irradiance on the inclined plane (plane of the array) (W/m2)
PVGIS (c) European Union, 2001-2026
"""
TMY = """Latitude (decimal degrees): 45.000
Longitude (decimal degrees): 8.000
Elevation (m): 250.0
Irradiance Time Offset (h): 0.1667
month,year
1,2014
2,2008
time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP
{rows}

T2m: 2-m air temperature (degree Celsius)
PVGIS (c) European Union, 2001-2026
"""
NSRDB = """Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation
NSRDB,123456,-,-,-,33.45,-111.98,{zone},337
Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Wind Speed,Surface Albedo
2024,6,1,10,30,850,800,120,31.5,2.1,0.18
2024,6,1,11,30,950,830,125,32.5,1.8,0.18
2024,6,1,12,30,990,840,130,33.5,1.8,0.18
"""
OPEN_METEO = """latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation
52.54833,13.407822,38.0,0,GMT,GMT

time,shortwave_radiation (W/m²),direct_normal_irradiance (W/m²),cloud_cover (%)
2020-06-01T09:00,500.0,400.0,20
2020-06-01T10:00,600.0,500.0,40
2020-06-01T11:00,650.0,,60
"""
ERA5 = """valid_time,u10,v10,d2m,t2m,ssrd,latitude,longitude
2020-06-01 09:00:00,1.0,2.0,283.1,291.15,1800000.0,52.5,13.5
2020-06-01 10:00:00,1.0,2.0,283.1,292.15,2160000.0,52.5,13.5
2020-06-01 11:00:00,1.0,2.0,283.1,293.15,2340000.0,52.5,13.5
"""


def read(tmp_path, text, name="archive.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_weather_file(path)


def starts(weather):
    return [str(moment) for moment in weather.start_utc]


def typical_rows(years=("2014", "2008")):
    for year, month in zip(years, ("01", "02"), strict=True):
        for hour in range(9, 12):
            first = f"{year}{month}01:{hour:02d}00,5.1,70.5"
            yield f"{first},{100.0 + hour},-0.0,90.0,250.0,1.0,90.0,99000.0"


def test_pvgis_hours_are_moments_in_utc(tmp_path):
    found = read(tmp_path, PVGIS)
    assert starts(found) == [f"2019-06-01T{hour:02d}:40:00" for hour in (8, 9, 10)]
    assert found.ghi_w_m2.tolist() == [520.75, 631.0, 660.0]
    assert found.dhi_w_m2.tolist() == [120.25, 130.0, 140.0]
    assert np.isnan(found.dni_w_m2).all(), "Gb(i) lies on the level plane, not square to the sun"
    assert found.kind == "measured"
    assert found.source == "archive.csv (archive)"


def test_pvgis_hours_are_those_that_pvlib_reads(tmp_path):
    pvlib = pytest.importorskip("pvlib")
    theirs, *_ = pvlib.iotools.read_pvgis_hourly(io.StringIO(PVGIS), pvgis_format="csv")
    found = read(tmp_path, PVGIS)
    middle = found.start_utc + np.timedelta64(1800, "s")
    assert [str(at)[:16] for at in middle] == [f"{at:%Y-%m-%dT%H:%M}" for at in theirs.index]
    assert found.dhi_w_m2.tolist() == theirs["poa_sky_diffuse"].tolist()
    assert found.temperature_c.tolist() == theirs["temp_air"].tolist()


def test_pvgis_global_irradiance_alone_and_as_json(tmp_path):
    text = PVGIS.replace("Gb(i),Gd(i),Gr(i)", "G(i)").replace("400.5,120.25,0.0", "520.75")
    text = text.replace("500.0,130.0,1.0", "631.0").replace("520.0,140.0,0.0", "660.0")
    found = read(tmp_path, text)
    assert found.ghi_w_m2.tolist() == [520.75, 631.0, 660.0]
    hourly = [
        {"time": f"20190601:{hour:02d}10", "G(i)": value, "T2m": 19.5, "Int": 0.0}
        for hour, value in ((9, 520.75), (10, 631.0), (11, 660.0))
    ]
    same = read(tmp_path, json.dumps({"inputs": {}, "outputs": {"hourly": hourly}}), "a.json")
    assert np.array_equal(same.ghi_w_m2, found.ghi_w_m2)
    assert np.array_equal(same.start_utc, found.start_utc)


def test_a_plane_that_is_not_level_is_refused(tmp_path):
    with pytest.raises(
        BadInput, match=r"inclined by 35 degrees; download it again with a slope of 0"
    ):
        read(tmp_path, PVGIS.replace("Slope: 0", "Slope: 35"))
    fixed = {"mounting_system": {"fixed": {"slope": {"value": 20}}}}
    hourly = [{"time": "20190601:0910", "G(i)": 5.0}]
    with pytest.raises(BadInput, match="inclined by 20 degrees"):
        read(tmp_path, json.dumps({"inputs": fixed, "outputs": {"hourly": hourly}}), "a.json")


def test_a_pvgis_typical_year_says_how_far_its_light_lies_behind_the_hour(tmp_path):
    found = read(tmp_path, TMY.format(rows="\n".join(typical_rows())))
    assert found.kind == "typical year"
    assert starts(found)[0] == "2001-01-01T08:40:00"  # 09:00 and ten minutes, less half an hour
    assert starts(found)[3] == "2001-02-01T08:40:00"
    assert found.ghi_w_m2.tolist() == [109.0, 110.0, 111.0] * 2
    assert found.dni_w_m2.tolist() == [0.0] * 6
    rows = [
        {"time(UTC)": row.split(",")[0], "T2m": 5.1, "G(h)": float(row.split(",")[3])}
        for row in typical_rows()
    ]
    place = {"inputs": {"location": {"irradiance_time_offset": 0.1667}}}
    text = json.dumps({**place, "outputs": {"tmy_hourly": rows}})
    same = read(tmp_path, text, "a.json")
    assert np.array_equal(same.start_utc, found.start_utc)
    assert np.array_equal(same.ghi_w_m2, found.ghi_w_m2)


@pytest.mark.parametrize(("zone", "start"), [("-7", "17:00"), ("0", "10:00"), ("5.5", "04:30")])
def test_nsrdb_hours_are_in_the_standard_time_of_their_head(tmp_path, zone, start):
    found = read(tmp_path, NSRDB.format(zone=zone))
    assert starts(found)[0] == f"2024-06-01T{start}:00"
    assert found.dni_w_m2.tolist() == [800.0, 830.0, 840.0]
    assert found.temperature_c.tolist() == [31.5, 32.5, 33.5]
    assert found.kind == "measured"


def test_an_nsrdb_typical_year_is_made_of_several_years(tmp_path):
    rows = ["2016,1,31,11,30,100,0,100,5,1,0.2", "2016,1,31,12,30,101,0,100,5,1,0.2"]
    rows += ["2004,2,29,12,30,102,0,100,5,1,0.2", "2009,3,1,12,30,103,0,100,5,1,0.2"]
    head = NSRDB.format(zone="-7").splitlines()[:3]
    found = read(tmp_path, "\n".join([*head, *rows]))
    assert found.kind == "typical year"
    assert found.ghi_w_m2.tolist() == [100.0, 101.0, 103.0]


def test_open_meteo_irradiance_is_of_the_hour_before_and_cloud_of_the_moment(tmp_path):
    found = read(tmp_path, OPEN_METEO)
    assert starts(found)[0] == "2020-06-01T08:00:00"
    assert found.ghi_w_m2.tolist() == [500.0, 600.0, 650.0]
    assert np.isnan(found.dni_w_m2[2])
    assert found.cloud_share[1] == pytest.approx(0.3), "between 20 % at nine and 40 % at ten"
    assert found.kind == "forecast", "a few hours may be a forecast"
    days = [f"2020-{month:02d}-{day:02d}" for month in range(1, 7) for day in range(1, 29)]
    hours = [f"{day}T{hour:02d}:00" for day in days for hour in range(24)]
    hourly = {"time": hours, "shortwave_radiation": [100.0] * len(hours)}
    answer = {
        "latitude": 52.5, "utc_offset_seconds": 0, "hourly": hourly,
        "hourly_units": {"shortwave_radiation": "W/m²"},
    }  # fmt: skip
    assert read(tmp_path, json.dumps(answer), "a.json").kind == "measured"
    answer["utc_offset_seconds"] = 7200
    with pytest.raises(BadInput, match=r"2 h off UTC; download it again with timezone=GMT"):
        read(tmp_path, json.dumps(answer), "a.json")


def test_era5_sums_are_of_the_hour_that_ends(tmp_path):
    found = read(tmp_path, ERA5)
    assert starts(found)[0] == "2020-06-01T08:00:00"
    assert found.ghi_w_m2.tolist() == pytest.approx([500.0, 600.0, 650.0])
    assert found.temperature_c[1] == pytest.approx(18.5)
    assert found.kind == "measured"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (PVGIS.replace("20190601:1010", "soon"), "archive.csv row 11: its time cannot be read"),
        (PVGIS.replace("400.5", "much"), "'much' is not a number"),
        (PVGIS.replace(",64.0,21.5,1.1,0.0", ",64.0"), "row 12: 5 cells where the head has 8"),
        (NSRDB.format(zone="west"), "'west' is not a number"),
        (ERA5.replace("1800000.0", "-9e9"), "row 2 column ssrd"),
        (OPEN_METEO.replace("2020-06-01T10:00", "10:00"), "row 6 column time"),
        (PVGIS.split("20190601:0910", maxsplit=1)[0], "the file has no rows"),
    ],
)
def test_what_is_wrong_in_it_is_told_by_its_row(tmp_path, text, said):
    with pytest.raises(BadInput, match=said):
        read(tmp_path, text)


def test_other_json_and_csv_are_read_as_before(tmp_path):
    text = "# stamp: start\n# time_zone: UTC\ntime,ghi_w_m2\n"
    text += "2026-06-01T10:00,500\n2026-06-01T11:00,600\n"
    assert read(tmp_path, text).source == "archive.csv (CSV)"
    with pytest.raises(BadInput, match="no rows under 'hours'"):
        read(tmp_path, '{"hourly": 3}', "a.json")


def test_years_of_a_folder_are_one_after_the_other(tmp_path):
    one, two = (read(tmp_path, ERA5.replace("2020-", year), "a.csv") for year in ("2021-", "2020-"))
    both = one_after_the_other("years", [one, two])
    assert starts(both)[::3] == ["2020-06-01T08:00:00", "2021-06-01T08:00:00"]
    assert both.source == "years (2 files)"
    assert len(both.ghi_w_m2) == 6
    with pytest.raises(BadInput, match="hold the same hours twice"):
        one_after_the_other("years", [one, one])
    with pytest.raises(BadInput, match="no weather file in it"):
        one_after_the_other("years", [])
    with pytest.raises(BadInput, match="not all measured hours of one step"):
        one_after_the_other("years", [one, read(tmp_path, OPEN_METEO)])
