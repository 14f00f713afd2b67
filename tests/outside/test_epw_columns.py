"""Which column of an EPW row is which, held against pvlib's reader (pvlib.iotools.read_epw)."""

from __future__ import annotations

import io

import numpy as np

from argentry.exchange.weather.file import read_weather_file

HEAD = [
    "LOCATION,Orraga,-,INV,INVENTED,999999,42.00,-1.00,1.0,350.0",
    *(f"{n},0" for n in "abcdef"),
]


def test_every_column_is_the_one_that_pvlib_reads(tmp_path):
    from pvlib import iotools

    cells = [[7 + at + hour % 3 for at in range(29)] for hour in range(24)]
    for hour in range(24):
        cells[hour][16] = hour % 11  # tenths of sky under cloud
    rows = [
        ",".join(map(str, [2001, 6, day, hour, 60, "?9", *cells[hour - 1]]))
        for day in (20, 21)
        for hour in range(1, 25)
    ]
    text = "\n".join([*HEAD, "DATA PERIODS,1,1,Data,Sunday,1/1,12/31", *rows]) + "\n"
    path = tmp_path / "orraga.epw"
    path.write_text(text)
    weather = read_weather_file(path)
    theirs, meta = iotools.read_epw(io.StringIO(text))
    assert meta["city"] in weather.source
    utc = theirs.index.tz_convert("UTC").tz_localize(None).to_numpy().astype("datetime64[s]")
    assert [str(one)[5:] for one in weather.start_utc] == [str(one)[5:] for one in utc]
    for ours, column in (("ghi_w_m2", "ghi"), ("dni_w_m2", "dni"), ("dhi_w_m2", "dhi")):
        np.testing.assert_allclose(getattr(weather, ours), theirs[column])
    at_stamp = (
        ("temperature_c", "temp_air"),
        ("relative_humidity_pct", "relative_humidity"),
        ("cloud_share", "total_sky_cover"),
    )
    for ours, column in at_stamp:
        read = theirs[column].to_numpy(float) * (0.1 if ours == "cloud_share" else 1.0)
        before = np.concatenate([read[:1], read[:-1]])
        np.testing.assert_allclose(getattr(weather, ours), (before + read) / 2)
