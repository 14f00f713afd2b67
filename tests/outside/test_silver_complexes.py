"""The speciation against a general solver on the full mass balance, and against solubilities.

Sources
-------
`scipy.optimize.root` on all species at once, as an independent solution. Solubility of silver
iodide in water from its product: 9.2e-9 mol/L. E. Valenta's solubilities of silver iodide in
hypo, 1894: 0.15, 0.30, 0.40, 0.60 g in 100 g at 5, 10, 15, 20 % (recalled). Closed form for one
complex: x / (S - 2x) = sqrt(Ksp beta2).
"""

import numpy as np
import pytest
from scipy.optimize import root

from argentry import trade
from argentry.physics.baths.speciation import complexes, silver_held, speciation

KSP = 10.0 ** trade.value("baths", "log_ksp_iodide")


def general(totals, constants="in_bath"):
    """Solve for the logarithms of all species: three balances and one law for each complex."""
    holds, ln_beta = complexes(constants)

    def residuals(logs):
        free, bound = logs[:3], logs[3:]
        amounts = np.exp(free) + holds.T @ np.exp(bound)
        return np.concatenate([np.log(amounts / totals), bound - ln_beta - holds @ free])

    free = np.log(totals)
    free[0] -= 25.0
    start = np.concatenate([free, ln_beta + holds @ free])
    return root(residuals, start, method="hybr", options={"maxfev": 20000})


@pytest.mark.parametrize("constants", ["in_bath", "log_beta"])
def test_against_the_general_solver(constants):
    rng = np.random.default_rng(14)
    hypo = 10.0 ** rng.uniform(-2.0, 0.3, 60)
    silver = hypo * 10.0 ** rng.uniform(-5.0, -0.5, 60)
    iodide = silver * 10.0 ** rng.uniform(-1.0, 1.0, 60)
    ours = speciation(silver, hypo, iodide, constants)
    agreed = 0
    for i, totals in enumerate(np.stack([silver, hypo, iodide]).T):
        theirs = general(totals, constants)
        if not theirs.success:
            continue
        agreed += 1
        want = np.exp(theirs.x)
        got = [ours.silver[i], ours.thiosulfate[i], ours.iodide[i], *ours.complexes[:, i]]
        assert got == pytest.approx(want, rel=1e-3)
    assert agreed >= 50


def test_silver_iodide_in_water():
    assert silver_held(0.0) == pytest.approx(9.2e-9, rel=0.05)


@pytest.mark.parametrize(("percent", "per_100_g"), [(5, 0.15), (10, 0.30), (15, 0.40), (20, 0.60)])
def test_valentas_solubilities(percent, per_100_g):
    # g of silver iodide in 100 g of solution; densities of hypo 1.025 to 1.105
    litre = 10.0 * (1.0 + 0.0052 * percent)
    molar = percent * litre / 248.17
    held = float(silver_held(molar)) * 234.77 / litre
    assert held == pytest.approx(per_100_g, rel=0.17)


def test_thin_solution_holds_more_than_valenta_found():
    assert silver_held(0.4, "log_beta") > 1.7 * silver_held(0.4)


@pytest.mark.parametrize("hypo", [0.1, 0.2, 0.6, 1.0])
def test_against_the_closed_form_for_one_complex(hypo):
    k = np.sqrt(KSP * 10.0**13.0)
    assert silver_held(hypo) == pytest.approx(k * hypo / (1.0 + 2.0 * k), rel=0.01)


def test_the_second_constant_is_the_textbooks():
    beta = next(row for row in trade.toml("baths")["species"] if row["key"] == "Ag(S2O3)2")
    assert 10.0 ** beta["log_beta"] == pytest.approx(2.9e13, rel=0.02)  # Zumdahl, Chemistry
