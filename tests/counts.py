"""How much is drawn by chance: few here, all of it by `python -m benchmarks whole_tests`."""

import os


def few(count, whole):
    """Return `count`; or `whole`, where all that a promise rests on is asked for."""
    return whole if "ARGENTRY_WHOLE" in os.environ else count
