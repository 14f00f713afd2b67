"""What each formula takes and what it refuses: its ends are the last values that it takes."""

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.physics import colour
from argentry.physics.coat_colour import candidates, coat_lab
from argentry.physics.development import MOST_STOPS, development_dose_j_m2, ripening
from argentry.physics.durations import drying_factor
from argentry.physics.evenness import evenness
from argentry.physics.exposure import magnification
from argentry.physics.iodine_box import THICKEST_NM
from argentry.physics.plating import layer_g, layer_um
from argentry.physics.sky import HIGHEST_AOD, Atmosphere
from argentry.physics.solutions import blend, rounded
from argentry.physics.speciation import silver_held
from argentry.physics.water import at_25c

DAYLIGHT = colour.light("D65")
LAST_TAKEN_FIRST_NOT = {
    "volume": (lambda x: blend(2.0, 1.0, 1.5, x), 1e6, 1.001e6),
    "strong solution": (lambda x: blend(x, 1.0, 1.5, 10.0), 1e4, 1.001e4),
    "plated area": (lambda x: layer_um(0.1, x), 0.01, 0.0099),
    "silver": (lambda x: layer_g(x, 100.0), 0.0, -0.001),
    "thick silver": (lambda x: layer_g(x, 100.0), 5000.0, 5001.0),
    "warm water": (lambda x: at_25c(500.0, x), 60.0, 60.1),
    "haze": (lambda x: Atmosphere(aod500=x), HIGHEST_AOD, HIGHEST_AOD + 0.01),
    "under": (lambda x: development_dose_j_m2(None, x), -MOST_STOPS, -MOST_STOPS - 0.1),
    "coat": (lambda x: evenness(20.0, thickness_nm=x), THICKEST_NM, THICKEST_NM + 1.0),
    "focal length": (lambda x: magnification(x, 20.0), 20.0, 19.9),
    "hypo": (silver_held, 10.0, 10.1),
    "reference humidity": (lambda x: drying_factor(50.0, x), 98.0, 98.1),
    "L*": (lambda x: candidates((x, 1.0, 5.0), DAYLIGHT), 95.0, 400.0),
}


@pytest.mark.parametrize("name", LAST_TAKEN_FIRST_NOT)
def test_the_last_value_is_taken_and_the_next_refused(name):
    of, last, beyond = LAST_TAKEN_FIRST_NOT[name]
    of(last)
    with pytest.raises(BadInput):
        of(beyond)


def test_a_coat_is_looked_at_straight_unless_an_angle_is_given():
    assert coat_lab(25.0, DAYLIGHT).tolist() == coat_lab(25.0, DAYLIGHT, angle_deg=0.0).tolist()
    assert coat_lab(25.0, DAYLIGHT).tolist() != coat_lab(25.0, DAYLIGHT, angle_deg=1.0).tolist()


def test_a_plate_lies_level_unless_a_tilt_is_given():
    assert evenness(20.0) == evenness(20.0, tilt_mm=0.0) != evenness(20.0, tilt_mm=1.0)


def test_an_amount_is_told_to_the_step_of_its_balance():
    told = [(1.0272, 0.05, 1.05), (12.4, 5.0, 10.0), (12.5, 5.0, 15.0), (0.3, 0.1, 0.3)]
    assert [rounded(x, step) for x, step, _ in told] == pytest.approx([y for *_, y in told])


def test_a_plate_ripe_at_the_very_end_of_the_light_is_ripe():
    received = 60.0 * np.arange(601.0)  # of one watt, by minute
    found = ripening(received, 0.0, np.full(3, 6000.0), 100.0)
    assert found.end_index == pytest.approx(100.0)
