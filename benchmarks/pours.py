"""Pour every pair and every triple of what is shipped, in every order: none passes unrefused.

What is forbidden is judged apart, from the classes of the names alone.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, permutations

from argentry.errors import BadInput
from argentry.trade.chemistry.pouring import Step, check_order, rules
from argentry.trade.facts import toml
from argentry.trade.recipes import recipes
from argentry.trade.refusals import refusals, substances

WAYS = {
    "each apart, then one after the other into the last": [
        Step("dissolve", 1), Step("dissolve", 2), Step("dissolve", 3),
        Step("pour", 1, 3), Step("pour", 2, 3),
    ],
    "each apart, then the first into the second and both into the last": [
        Step("dissolve", 1), Step("dissolve", 2), Step("dissolve", 3),
        Step("pour", 1, 2), Step("pour", 2, 3),
    ],
    "all dissolved in the water of the first": [
        Step("dissolve", 1), Step("dissolve", 2, 1), Step("dissolve", 3, 1),
    ],
}  # fmt: skip


def shipped() -> list[str]:
    """Return every substance that the trade's data name, and one of each class that is refused."""
    names = {*toml("substances")["names"]}
    names |= {name for bath in recipes() for p in bath.parts for name in (p.substance, p.solvent)}
    names |= {stuff["words"][0] for stuff in toml("stock")["stuff"]}
    # one of each class of the refusals too, so that something is there to be refused
    refused = toml("refusals")["substances"].values()
    return sorted(names | {entry["formulas"][0] for entry in refused if entry["formulas"]})


class Judge:
    """Says from the classes alone whether some names may ever stand in one vessel."""

    def __init__(self) -> None:
        self.known: dict[tuple[frozenset[str], ...], bool] = {}

    def forbids(self, names: Sequence[str]) -> bool:
        """Return True when one name for each class of a refusal is among them."""
        held = tuple(sorted((substances(name) for name in names), key=sorted))
        if held not in self.known:
            self.known[held] = any(
                all(cls in held[i] for cls, i in zip(one.classes, some, strict=True))
                for one in refusals()
                for some in permutations(range(len(held)), len(one.classes))
            )
        return self.known[held]


def stopped(names: Sequence[str], way: Sequence[Step]) -> tuple[bool, bool]:
    """Pour; return whether it was stopped, and whether by a rule of order alone."""
    steps = [one for one in way if one.part <= len(names) and one.into <= len(names)]
    try:
        check_order("bath", [(name,) for name in names], steps)
    except BadInput as no:
        return True, any(rule.why in str(no) for rule in rules())
    return False, False


def pour(names: Sequence[str], way: Sequence[Step], *, bad: bool) -> str:
    """Return "" for a pour that ended as it must, else what is wrong with how it ended."""
    ended, by_order = stopped(names, way)
    if bad and not ended:
        return "passed"
    return "refused in vain" if ended and not bad and not by_order else ""


def pair_ways() -> list[list[Step]]:
    """Return the ways in which two are joined."""
    return [
        [Step("dissolve", 1), Step("dissolve", 2), Step("pour", 1, 2)],
        [Step("dissolve", 1), Step("dissolve", 2, 1)],
    ]


def run() -> Iterator[tuple[str, str]]:
    """Pour all of them."""
    names, judge = shipped(), Judge()
    for count, ways in ((2, pair_ways()), (3, list(WAYS.values()))):
        poured, bad, wrong = 0, 0, []
        for some in combinations(names, count):
            # what is forbidden once two of three are joined is forbidden with the third as well
            forbidden = judge.forbids(some)
            bad += forbidden
            for order in permutations(some):
                for way in ways:
                    poured += 1
                    if said := pour(order, way, bad=forbidden):
                        wrong.append((said, order))
        sets = sum(1 for _ in combinations(names, count))
        what = f"{sets:,} sets of {count} of {len(names)} substances, {bad:,} of them forbidden"
        yield what, f"{poured:,} pours"
        passed = sum(said == "passed" for said, _ in wrong)
        vain = len(wrong) - passed
        yield "    passed that must not, refused that need not be", f"{passed}, {vain}"
        assert not wrong, wrong[:5]
