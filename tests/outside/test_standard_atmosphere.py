"""Air against the tables of the US Standard Atmosphere 1976 (recalled)."""

import pytest

from argentry.physics.room import air


@pytest.mark.parametrize(
    ("metres", "pascal"), [(0, 101325), (1000, 89874.6), (2000, 79495.2), (5000, 54019.9)]
)
def test_pressure_with_height(metres, pascal):
    assert air.pressure_at_elevation_pa(metres) == pytest.approx(pascal, rel=1e-4)


def test_viscosity_and_conductivity_at_sea_level():
    """288.15 K: kinematic viscosity 1.4607e-5 m2/s, conductivity 2.5326e-2 W/(m K), 1.225 kg/m3."""
    assert air.kinematic_viscosity_m2_s(288.15) == pytest.approx(1.4607e-5, rel=1e-4)
    conductivity = air.thermal_diffusivity_m2_s(288.15) * 1.2250 * 1004.68
    assert conductivity == pytest.approx(2.5326e-2, rel=2e-3)
