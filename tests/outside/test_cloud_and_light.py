"""The sun's beam by global light and cloud amount together, held against two stations' years.

Source: the typical years of Sand Point, Alaska, and Greensboro, North Carolina, that pvlib carries
for its own examples (Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008).
Their direct light is by model where it was not measured; the hours taken here are those whose cloud
amount an observer saw (source A).
"""

from __future__ import annotations

from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from argentry.keeping.weather import read_weather
from argentry.sky.place import Place
from argentry.sky.weather.hours import sky_with_file

FOLDER = Path(find_spec("pvlib").origin).parent / "data"
PLACES = {"703165TY.csv": (55.317, -160.517, 7.0), "723170TYA.CSV": (36.1, -79.95, 273.0)}
HIGH_DEG = 15.0


def missed(name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return what the split and both together miss of the beam's share, and the cloud seen."""
    import pandas as pd

    raw = pd.read_csv(FOLDER / name, skiprows=1)
    year = replace(read_weather(FOLDER / name), kind="measured")
    place = Place(*PLACES[name], time_zone="UTC", horizon=(), albedo=0.2, haze_aod=None, name=name)
    ends = year.start_utc.astype("datetime64[s]")[[30, -30]]
    unknown = np.full(year.start_utc.size, np.nan)
    light = replace(year, dni_w_m2=unknown, dhi_w_m2=unknown, sunshine_share=unknown)
    true, both, split = (
        sky_with_file(one, place, ends)[1]
        for one in (year, light, replace(light, cloud_share=unknown))
    )
    seen = (raw["TotCld source"] == "A").to_numpy()[true.rows]
    lit = (true.highest_deg > HIGH_DEG) & seen & true.known & split.known
    beam = np.clip(true.shares.beam_share[lit], 0.0, 1.0)
    off = [np.clip(one.shares.beam_share[lit], 0.0, 1.0) - beam for one in (split, both)]
    return off[0], off[1], year.cloud_share[true.rows][lit]


@pytest.mark.parametrize("name", sorted(PLACES))
def test_cloud_seen_beside_global_light_tells_more_of_the_sun(name):
    split, both, cloud = missed(name)
    assert cloud.size > 500

    def size(off):
        return float(np.sqrt(np.mean(off**2)))

    assert size(both) < 0.8 * size(split)
    clear = cloud < 0.3
    assert size(both[clear]) < 0.6 * size(split[clear])
    # the split alone calls such hours a tenth darker than they are
    assert split[clear].mean() < -0.08 < -0.04 < both[clear].mean() < 0.04
