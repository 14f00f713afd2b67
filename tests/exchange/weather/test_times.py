from __future__ import annotations

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.exchange.weather.times import starts


def read(cells, *, form="ISO", zone="Europe/Madrid", stamp="start", step=None, gaps=False):
    wheres = [f"sky.csv row {n}" for n in range(2, len(cells) + 2)]
    start, step_s = starts(wheres, cells, form, zone, stamp, step, gaps=gaps)
    return [str(moment) for moment in start], step_s


def test_wall_clock_becomes_utc():
    start, step = read(["2026-06-21T12:00", "2026-06-21T13:00"])
    assert start == ["2026-06-21T10:00:00", "2026-06-21T11:00:00"]
    assert step == 3600


@pytest.mark.parametrize(
    ("stamp", "first"),
    [("start", "10:00:00"), ("middle", "09:45:00"), ("end", "09:30:00")],
)
def test_stamp_moves_the_start(stamp, first):
    start, _ = read(["2026-06-21T12:00", "2026-06-21T12:30"], stamp=stamp)
    assert start[0] == f"2026-06-21T{first}"


def test_offsets_and_unix_seconds_need_no_zone():
    start, _ = read(["2026-06-21T12:00+02:00", "2026-06-21T13:00+02:00"], zone=None)
    assert start[0] == "2026-06-21T10:00:00"
    # 1 782 036 000 s = 2026-06-21T10:00Z, from `date -u -d @1782036000`
    start, _ = read([1782036000, 1782039600], form="unix", zone=None)
    assert start[0] == "2026-06-21T10:00:00"


def test_own_form():
    start, _ = read(["21.06.2026 12:00", "21.06.2026 13:00"], form="%d.%m.%Y %H:%M", zone="UTC")
    assert start[0] == "2026-06-21T12:00:00"


def test_repeated_hour_in_autumn_is_told_apart_by_order():
    # Europe/Madrid set its clocks back on 2026-10-25 at 03:00 summer time.
    cells = ["2026-10-25T01:00", "2026-10-25T02:00", "2026-10-25T02:00", "2026-10-25T03:00"]
    start, step = read(cells)
    assert step == 3600
    assert start == [f"2026-10-2{d}:00:00" for d in ("4T23", "5T00", "5T01", "5T02")]


def test_repeated_hour_in_quarters():
    cells = [f"2026-10-25T02:{m:02d}" for m in (0, 15, 30, 45)] * 2
    start, step = read(cells)
    assert step == 900
    assert np.all(np.diff(np.array(start, dtype="datetime64[s]")) == np.timedelta64(900, "s"))


def test_skipped_hour_in_spring_is_refused_with_its_row():
    # Europe/Madrid set its clocks forward on 2026-03-29 at 02:00.
    with pytest.raises(BadInput, match=r"row 3: the time 2026-03-29T02:00 does not exist"):
        read(["2026-03-29T01:00", "2026-03-29T02:00", "2026-03-29T03:00"])


def test_spring_day_without_the_skipped_hour_is_even():
    _, step = read(["2026-03-29T00:00", "2026-03-29T01:00", "2026-03-29T03:00"])
    assert step == 3600


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (["2026-06-21T12:00", "2026-06-21T12:00"], "row 3: .* is the same as in the row above"),
        (["2026-06-21T13:00", "2026-06-21T12:00"], "row 3: .* is before the row above"),
        (["2026-06-21T12:00", ""], "row 3: the time is missing"),
        (["2026-06-21T12:00", None], "row 3: the time is missing"),
        (["2026-06-21T12:00", float("nan")], "row 3: 'nan' is not a time"),
        (["noon", "2026-06-21T12:00"], "row 2: 'noon' is not a time"),
        (["0026-06-21T12:00", "0026-06-21T13:00"], "year .* out of range"),
        (["2026-06-21T12:00"], "only one row"),
        (["2026-06-21T12:00", "2026-06-22T12:00"], "1440 min apart"),
        (["2026-06-21T12:00:00", "2026-06-21T12:00:30"], "0.5 min apart"),
        (
            [f"2026-06-21T{h:02d}:00" for h in (8, 9, 10, 13)],
            "row 5: this row is 180 min after the one above, others 60 min",
        ),
    ],
)
def test_wrong_times(cells, words):
    with pytest.raises(BadInput, match=words):
        read(cells)


def test_unix_nan_and_overflow():
    for cell in ("nan", "1e300", "x"):
        with pytest.raises(BadInput, match="is not a time"):
            read([cell, "1"], form="unix")


def test_no_zone_and_unknown_zone():
    with pytest.raises(BadInput, match="has no offset from UTC"):
        read(["2026-06-21T12:00", "2026-06-21T13:00"], zone=None)
    with pytest.raises(BadInput, match="'Mars/Base' is not a known time zone"):
        read(["2026-06-21T12:00", "2026-06-21T13:00"], zone="Mars/Base")


def test_gaps_when_allowed():
    start, step = read([f"2026-06-21T{h:02d}:00" for h in (8, 9, 10, 13)], gaps=True)
    assert step == 3600
    assert start[-1] == "2026-06-21T11:00:00"


def test_one_row_with_its_length():
    start, step = read(["2026-06-21T12:00"], step=1800.0, stamp="end")
    assert (start, step) == (["2026-06-21T09:30:00"], 1800.0)
