"""80 % ranges of exposure, development and fuming against a truth drawn by other forms.

Written without reading the model: the truth has its own clear sky, clouds with heavy tails, plates,
lamps and boxes (`truth`), from what is published about their spreads. Each draw asks the public
functions one question and looks whether the true minutes lie in the range they give: for a studio
that is new, and for one with 100 plates in its table. A range keeps its promise at 80 %; 75 to 85 %
is taken as kept. What is judged and not published is marked so in `truth`.
"""

from __future__ import annotations

DRAWS, SEED = 1000, 20261127


def run(draws=DRAWS, seed=SEED):
    """Return the share of draws within the range for every kind of question."""
    from benchmarks.coverage.ask import rows

    return rows(draws, seed)
