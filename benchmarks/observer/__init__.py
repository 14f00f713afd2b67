"""What an observer would reach who knows the laws of the studios that argentry must learn.

What one who knows all that acts does not reach cannot be had there by anybody. The programme for
advice was first written without reading how argentry decides; who knows the laws by what stands in
columns, and the observers of `next` and of causes, came after its rules had been read.
"""

from __future__ import annotations

ADVICE, NEXT, CAUSES = 28, 28, 25  # studios; of advice, of each kind; of causes, of each size
FIRST = 2600  # seed of the causes' studios: those of docs/decisions/learning-families.md


def run():
    """Yield (what, found): advice, `next`, causes."""
    from benchmarks.families.forms import FAMILIES
    from benchmarks.observer import advice, causes, following

    for kind in ("usual", "a third of polishes fail"):
        yield from advice.rows([advice.of_studio(kind, seed) for seed in range(ADVICE)])
    names = list(FAMILIES)
    some = [(names[n % len(names)], 4100 + n // len(names)) for n in range(NEXT)]
    yield from following.rows([following.of_studio(*one) for one in some])
    for plates in causes.SIZES:
        some = [(causes.WRONG[n % 5], FIRST + n // 5) for n in range(CAUSES)]
        yield from causes.rows(plates, [causes.of_studio(*one, plates) for one in some])
