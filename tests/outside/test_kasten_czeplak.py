"""Cloud share to light.

Source: F. Kasten, G. Czeplak, "Solar and terrestrial radiation dependent on the amount and type of
cloud", Solar Energy 24 (1980) 177-189: G/G0 = 1 - 0.75 (N/8)^3.4, D/G = 0.3 + 0.7 (N/8)^2.
Figures worked by hand from those formulas; the formulas themselves are recalled.
"""

import pytest

from argentry.physics.lights import cloud


@pytest.mark.parametrize(("okta", "share"), [(0, 1.0), (4, 0.929), (6, 0.718), (8, 0.250)])
def test_global_light(okta, share):
    assert cloud.kasten_global_share(okta / 8) == pytest.approx(share, abs=5e-4)


@pytest.mark.parametrize("okta", range(9))
def test_agrees_with_measured_hours(okta):
    # The table's measured hours (Deutscher Wetterdienst stations), over their cloudless mean.
    from argentry import trade

    columns = trade.table("okta_sky").columns
    measured = columns["global_mean"][okta] / columns["global_mean"][0]
    assert cloud.kasten_global_share(okta / 8) == pytest.approx(measured, abs=0.085)


@pytest.mark.parametrize("okta", range(9))
def test_the_middle_agrees_with_measured_hours(okta):
    # half of the table's hours are darker; at eight oktas the mean is a sixth above them
    from argentry import trade

    columns = trade.table("okta_sky").columns
    measured = columns["global_p50"][okta] / columns["global_mean"][0]
    assert cloud.middle_global_share(okta) == pytest.approx(measured, abs=0.045)
    assert cloud.middle_global_share(okta) <= cloud.kasten_global_share(okta / 8)
