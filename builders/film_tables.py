"""Write the tables behind the colour of a coat: silver, silver iodide, CIE observer and lights.

Run from the top of the repository with the development packages installed::

    .venv/bin/python builders/film_tables.py

scipy is needed for the Dawson function, colour-science carries the CIE data. Running it again
writes the same files byte for byte.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np

TABLES = Path(__file__).resolve().parents[1] / "src" / "argentry" / "trade" / "tables"
HC_EV_NM = 1239.841984  # Planck constant times speed of light, CODATA 2018 [eV nm]

# Energy [eV], n, k: Johnson & Christy (1972), table of silver, the rows from 342 to 892 nm.
SILVER = """1.39 .04 6.312  1.51 .04 5.727  1.64 .03 5.242  1.76 .04 4.838  1.88 .05 4.483
2.01 .06 4.152  2.14 .05 3.858  2.26 .06 3.586  2.38 .05 3.324  2.50 .05 3.093  2.63 .05 2.869
2.75 .04 2.657  2.88 .04 2.462  3.00 .05 2.275  3.12 .05 2.070  3.25 .05 1.864  3.37 .07 1.657
3.50 .10 1.419  3.62 .14 1.142"""

# The model "AgI-A". Strengths, widths and the continuum are assumed; positions and n_D are not.
GAUSSIANS = ((1.2, 2.952, 0.13), (0.6, 3.757, 0.25), (0.8, 3.25, 0.50))  # strength, eV, eV
TAUC_LORENTZ = {"strength": 30.0, "centre": 5.0, "width": 3.5, "gap": 2.85}  # eV
EPSILON_INFINITE = 3.7420202  # sets n(589.3 nm) = 2.213


def gaussian(energy: np.ndarray, strength: float, centre: float, width: float) -> np.ndarray:
    """Complex permittivity of a Gaussian absorption line, Kramers-Kronig consistent."""
    from scipy.special import dawsn

    s = width / (2 * np.sqrt(np.log(2)))
    below, above = (energy - centre) / s, (energy + centre) / s
    imaginary = strength * (np.exp(-(below**2)) - np.exp(-(above**2)))
    real = 2 * strength / np.sqrt(np.pi) * (dawsn(above) - dawsn(below))
    return real + 1j * imaginary


def tauc_lorentz_imaginary(
    energy: np.ndarray, *, strength: float, centre: float, width: float, gap: float
) -> np.ndarray:
    """Imaginary permittivity of the Tauc-Lorentz line, zero below the gap (Jellison & Modine)."""
    e = np.maximum(energy, gap)
    return (
        strength
        * centre
        * width
        * (e - gap) ** 2
        / ((e**2 - centre**2) ** 2 + (width * e) ** 2)
        / e
    )


def tauc_lorentz(energy: np.ndarray) -> np.ndarray:
    """Complex permittivity of the continuum; the real part by the Kramers-Kronig integral.

    The integral is taken numerically, singularity subtracted, rather than by the long closed
    form: it is its own check of consistency.
    """
    from scipy.integrate import quad

    def imaginary(e: float) -> float:
        return float(tauc_lorentz_imaginary(np.array(e), **TAUC_LORENTZ))

    gap = TAUC_LORENTZ["gap"]
    real = np.empty_like(energy)
    for i, e in enumerate(energy):
        # principal value: quad's Cauchy weight gives PV of f(x)/(x - e)
        def over_sum(x: float, e: float = e) -> float:
            return x * imaginary(x) / (x + e)

        if e > gap - 0.05:
            top = 2 * e + 5.0
            low = min(gap, e - 0.05)
            near = quad(over_sum, low, top, weight="cauchy", wvar=e, limit=400)[0]
        else:
            top = gap
            near = 0.0

        def far_part(x: float, e: float = e) -> float:
            return x * imaginary(x) / (x * x - e * e)

        middle = 60.0
        far = (
            quad(far_part, top, middle, limit=400)[0] + quad(far_part, middle, np.inf, limit=400)[0]
        )
        real[i] = 2 / np.pi * (near + far)
    return real + 1j * tauc_lorentz_imaginary(energy, **TAUC_LORENTZ)


def silver_iodide(wavelength_nm: np.ndarray) -> np.ndarray:
    """Complex index of the model AgI-A."""
    energy = HC_EV_NM / wavelength_nm
    epsilon = EPSILON_INFINITE + sum(gaussian(energy, *line) for line in GAUSSIANS)
    return np.sqrt(epsilon + tauc_lorentz(energy))


def write(name: str, head: str, names: str, rows: list[str]) -> None:
    """Write one table with its head of comment lines."""
    comments = "".join(f"# {line}\n" for line in head.strip().splitlines())
    text = f"{comments}{names}\n" + "\n".join(rows) + "\n"
    (TABLES / f"{name}.csv").write_text(text, encoding="utf-8")


def write_silver() -> None:
    cells = [float(cell) for cell in SILVER.split()]
    points = sorted((HC_EV_NM / e, n, k) for e, n, k in zip(*[iter(cells)] * 3, strict=True))
    write(
        "silver_johnson_christy",
        """source: P. B. Johnson & R. W. Christy, Phys. Rev. B 6, 4370 (1972), table of silver
basis: published
The paper's photon energies turned into wavelength with hc = 1239.841984 eV nm.""",
        "wavelength_nm,n,k",
        [f"{w:.2f},{n:g},{k:g}" for w, n, k in points],
    )


def write_silver_iodide() -> None:
    wavelength = np.arange(340.0, 901.0)
    index = silver_iodide(wavelength)
    n_d = float(np.real(silver_iodide(np.array([589.3]))[0]))
    print(f"silver iodide: n(589.3 nm) = {n_d:.5f}, to be 2.213")
    write(
        "silver_iodide_model_a",
        """source: model AgI-A, builders/film_tables.py
basis: computed
From literature: exciton lines at 2.952 and 3.757 eV (J. Appl. Phys. 2006, doi 10.1063/1.2353238),
n = 2.213 at 589.3 nm (mineral tables of iodargyrite, isotropic mean). Assumed: strengths, widths
and the continuum. The tail beyond 450 nm comes from the line shape, not from data.""",
        "wavelength_nm,n,k",
        [
            f"{w:.0f},{i.real:.5f},{max(i.imag, 0.0):.3e}"
            for w, i in zip(wavelength, index, strict=True)
        ],
    )


CIE_NOTE = """basis: published
Values as carried by colour-science 0.4.7. The CIE publishes its data sets under a Creative Commons
licence (CC BY-SA 4.0, recalled, to be checked before they are passed on alone)."""


def write_cie() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    grid = np.arange(360, 831, 5)
    write(
        "cie_observer_1931",
        f"source: CIE 1931 observer, 2 degrees (ISO/CIE 11664-1), every 5 nm\n{CIE_NOTE}",
        "wavelength_nm,x_bar,y_bar,z_bar",
        [f"{w}," + ",".join(f"{v:.9g}" for v in observer[float(w)]) for w in grid],
    )
    lights = {
        "illuminant_d65": ("D65", "CIE standard illuminant D65 (ISO/CIE 11664-2), daylight"),
        "illuminant_a": ("A", "CIE standard illuminant A (ISO/CIE 11664-2), tungsten at 2856 K"),
        "illuminant_led": (
            "LED-B3",
            "CIE illuminant LED-B3 (CIE 015:2018), a white LED near 4100 K",
        ),
    }
    for name, (key, title) in lights.items():
        light = colour.SDS_ILLUMINANTS[key]
        rows = zip(light.wavelengths, light.values, strict=True)
        write(
            name,
            f"source: {title}, relative power, every 5 nm\n{CIE_NOTE}",
            "wavelength_nm,relative_power",
            [f"{w:.0f},{v:.9g}" for w, v in rows],
        )


if __name__ == "__main__":
    write_silver()
    write_silver_iodide()
    write_cie()
