"""A notebook is read by the clock of its studio, and by none where it has no studio."""

from datetime import UTC, datetime

import pytest
from tests import bench_studio

from argentry.desk.notebook import open_notebook
from argentry.studio.text import studio_text, write_studio

TABLE = b"plate,date,exposure_start\nP1,2026-06-21,2026-06-21 14:00\n"


@pytest.mark.parametrize(("housed", "hour"), [(True, 12), (False, 14)])
def test_a_time_is_of_the_studios_clock_in_summer(tmp_path, housed, hour):
    write_studio(tmp_path, studio_text(bench_studio.studio()))
    opened = open_notebook(tmp_path if housed else None, "n.csv", TABLE)
    assert opened.table.problems == ()
    (row,) = opened.table.rows
    told = datetime.fromisoformat(row.making.conditions["exposure_start"])
    assert told == datetime(2026, 6, 21, hour, tzinfo=UTC)
