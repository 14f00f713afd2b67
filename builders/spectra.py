"""Write trade/tables/generic_spectra.csv: generic filters, glass, lamps and meters.

    python builders/spectra.py

Filters and lens follow the laws and facts of light.toml; lamps are Planck's law and a bell curve by
the facts of development.toml; the eye is the CIE 1931 table that is shipped. Glass panes, silicon
and selenium are a few points from memory, joined by straight lines, and marked so in spectra.toml.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from argentry import trade
from argentry.physics.lights.bands import filter_passes
from argentry.physics.lights.lamp import lamp_spectrum

OUT = Path(__file__).parents[1] / "src" / "argentry" / "trade" / "tables" / "generic_spectra.csv"
HEAD = """\
# Generic spectra: transmission [1], or power and response per nm over their largest value [1].
# source: written by builders/spectra.py; each column's own source stands in trade/data/spectra.toml
# basis: computed
"""
FLOOR = 1e-5  # what a dyed filter still passes where it blocks: a starting value, density 5
# wavelength [nm], value: from memory, a pane of 4 mm, and two panes with plastic between them
FLOAT_PANE = ((300, 0.0), (320, 0.12), (340, 0.58), (360, 0.79), (380, 0.86), (400, 0.88),
              (500, 0.9), (600, 0.89), (700, 0.86), (800, 0.82), (1000, 0.8), (1100, 0.8),
)  # fmt: skip
LAMINATED = ((300, 0.0), (370, 0.0), (380, 0.03), (390, 0.3), (400, 0.68), (410, 0.82),
             (430, 0.86), (500, 0.88), (600, 0.87), (700, 0.83), (1100, 0.74))  # fmt: skip
# response per watt over the largest, from memory
SILICON = ((300, 0.1), (350, 0.18), (400, 0.3), (500, 0.5), (600, 0.66), (700, 0.79), (800, 0.9),
           (900, 0.98), (950, 1.0), (1000, 0.9), (1050, 0.5), (1100, 0.18))  # fmt: skip
SELENIUM = ((300, 0.2), (350, 0.35), (400, 0.5), (450, 0.67), (500, 0.83), (550, 0.97), (570, 1.0),
            (600, 0.9), (630, 0.6), (660, 0.3), (700, 0.1), (750, 0.02), (800, 0.0), (1100, 0.0),
)  # fmt: skip


def main() -> None:
    """Write the table."""
    at = np.arange(300.0, 1101.0, 2.0)
    eye = trade.table("cie_observer_1931").columns

    def lines(points: tuple[tuple[float, float], ...]) -> np.ndarray:
        return np.interp(at, *zip(*points, strict=True))

    columns = {"wavelength_nm": at}
    for edge in (520, 550, 590, 600, 620):
        columns[f"long_pass_{edge}"] = np.maximum(FLOOR, filter_passes(at, float(edge), 0.9))
    start, full = (trade.value("light", f"lens_cut_{end}") for end in ("start", "full"))
    clear = trade.value("light", "lens_transmission")
    columns["crown_lens"] = clear * np.clip((at - start) / (full - start), 0.0, 1.0)
    columns["float_pane"] = lines(FLOAT_PANE)
    columns["laminated_pane"] = lines(LAMINATED)
    for kind in ("halogen", "red led"):
        power = lamp_spectrum(kind, at)
        columns[kind.replace(" ", "_")] = power / power.max()
    columns["eye"] = np.interp(at, eye["wavelength_nm"], eye["y_bar"], right=0.0)
    columns["silicon"] = lines(SILICON)
    columns["selenium"] = lines(SELENIUM)
    rows = [",".join(columns)]
    rows += [
        ",".join(f"{value:.4g}" for value in row) for row in zip(*columns.values(), strict=True)
    ]
    OUT.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    print(f"wrote {OUT.name}: {len(at)} rows of {len(columns) - 1} spectra")


if __name__ == "__main__":
    main()
