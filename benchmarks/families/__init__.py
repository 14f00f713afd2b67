"""Studios that argentry was not built for: everything a maker reads, scored in other forms.

Seven families of simulated studios (`forms`): cliffs, pairs of things, hazards that go on acting,
bottles and bad lots, columns of the maker's own, causes outside every list, and mere luck. Half of
the makers book no stages; cells are missing, grades are wrong, and looks follow the trade's table
in one family only. It was written without reading how argentry learns, asks only at the doors that
a maker has (`doors`), and is not to be fitted to it: whoever changes `argentry.learn` leaves this
folder alone.

``python -m benchmarks.families --studios 7 --sizes 60 --measures odds causes`` is a small run.
"""

from __future__ import annotations

STUDIOS = 42  # of each size, over all families


def run():
    """Return (what, found) of everything, for `python -m benchmarks families`."""
    from benchmarks.families.report import Wanted, table

    for plates, what, asked, found in table(Wanted()):
        yield f"{plates} plates: {what}", f"{found}" + (f"  (asked: {asked})" if asked else "")
