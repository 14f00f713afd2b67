"""The order is enforced step by step; nothing forbidden meets, in whatever order it is poured."""

from itertools import combinations, permutations

import pytest

from argentry.errors import BadInput
from argentry.trade.chemistry.pouring import Step, check_order, read_sequence, rules
from argentry.trade.facts import toml
from argentry.trade.recipes import recipes
from argentry.trade.refusals import refusals, substances

GOLD, HYPO, SULFITE = "HAuCl4.3H2O", "Na2S2O3.5H2O", "Na2SO3"


def poured(order):
    """Return steps that dissolve each part apart and pour them in this order into the last."""
    steps = [Step("dissolve", part) for part in order]
    return [*steps, *(Step("pour", part, order[-1]) for part in order[:-1])]


def test_gold_goes_into_thiosulfate_and_never_the_other_way():
    parts = [(GOLD, "distilled water"), (HYPO, "distilled water")]
    check_order("bath", parts, poured((1, 2)))
    with pytest.raises(BadInput, match=r"bath, step 3: .*dark powder; pour the gold into"):
        check_order("bath", parts, poured((2, 1)))


def test_sulfite_is_dissolved_first():
    parts = [(SULFITE,), (HYPO,)]
    check_order("bath", parts, [Step("dissolve", 1), Step("dissolve", 2, 1)])
    with pytest.raises(BadInput, match="dissolve the sulfite first"):
        check_order("bath", parts, [Step("dissolve", 2), Step("dissolve", 1, 2)])


@pytest.mark.parametrize("bath", recipes(), ids=lambda bath: bath.key)
def test_every_shipped_order_is_the_only_way_round(bath):
    """Turned round, a pour of two unlike parts breaks a rule; the words say what the data say."""
    held = [(part.substance,) for part in bath.parts]
    check_order(bath.key, held, bath.sequence)
    pours = [step for step in bath.sequence if step.do == "pour"]
    for step in pours:
        turned = [
            Step("pour", step.into, step.part) if one == step else one for one in bath.sequence
        ]
        with pytest.raises(BadInput):
            check_order(bath.key, held, turned)
    assert bool(pours) == ("pour" in bath.order.replace("pour each change", ""))
    assert ("filter" in bath.order) == any(step.do == "filter" for step in bath.sequence)


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ([Step("dissolve", 3)], "no such part"),
        ([Step("dissolve", 0)], "no such part"),
        ([Step("dissolve", 1, 9)], "no such part"),
        ([Step("dissolve", 1), Step("dissolve", 1)], "dissolved already"),
        ([Step("dissolve", 1, 2)], "vessel is empty"),
        ([Step("pour", 1, 2)], "vessel is empty"),
        ([Step("filter", 2)], "vessel is empty"),
        ([Step("dissolve", 1), Step("pour", 1, 1)], "nothing to pour into"),
        ([Step("dissolve", 1), Step("pour", 1, 2)], "nothing to pour into"),
        ([Step("dissolve", 1)], "do not join all parts"),
        ([Step("dissolve", 1), Step("dissolve", 2)], "do not join all parts"),
        ([], "do not join all parts"),
    ],
)
def test_orders_that_do_not_end_in_one_bath(steps, words):
    with pytest.raises(BadInput, match=words):
        check_order("bath", [("Na2CO3",), ("Al2O3",)], steps)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"do": "boil", "part": 1}, "is not done here"),
        ({"do": "dissolve"}, "not a whole number"),
        ({"do": "pour", "part": 1, "into": "two"}, "not a whole number"),
        ({"do": "pour", "part": True, "into": 2}, "not a whole number"),
        ({"do": "dissolve", "part": 1, "at": "noon"}, "not a step"),
        ("dissolve", "not a step"),
    ],
)
def test_steps_that_cannot_be_read(row, words):
    with pytest.raises(BadInput, match=words):
        read_sequence("bath", [row])


def shipped():
    """Every substance that the trade's data name: salts, solvents, stock."""
    names = {*toml("substances")["names"]}
    names |= {name for bath in recipes() for p in bath.parts for name in (p.substance, p.solvent)}
    names |= {stuff["words"][0] for stuff in toml("stock")["stuff"]}
    # one of each class of the refusals too, so that something is there to be refused
    names |= {entry["formulas"][0] for entry in toml("refusals")["substances"].values()
              if entry["formulas"]}  # fmt: skip
    return sorted(names)


def forbidden(names):
    """Judge a mixture from the classes alone: one name for each class of a refusal."""
    held = [substances(name) for name in names]
    return any(
        any(
            all(cls in held[i] for cls, i in zip(one.classes, some, strict=True))
            for some in permutations(range(len(held)), len(one.classes))
        )
        for one in refusals()
    )


def test_no_pours_of_two_or_three_reach_a_forbidden_mixture_unrefused():
    names = shipped()
    assert len(names) > 50
    pairs = {frozenset(p): forbidden(p) for p in combinations(names, 2)}
    assert 300 < sum(pairs.values()) < len(pairs)
    spoiled = 0
    for order in [*permutations(names, 2)][::7]:
        spoiled += _reaches(order, bad=pairs[frozenset(order)])
    assert spoiled > 0
    mixed = list(combinations(names, 3))
    assert len(mixed) > 20_000
    for trio in mixed[::97]:
        within = any(pairs[frozenset(p)] for p in combinations(trio, 2))
        for order in permutations(trio):
            _reaches(order, bad=within or forbidden(trio))


def _reaches(order, *, bad):
    """Pour in this order; return whether it was stopped, which it must be when it is bad."""
    parts = [(name,) for name in order]
    said = ""
    try:
        check_order("bath", parts, poured(tuple(range(1, len(order) + 1))))
    except BadInput as no:
        said = str(no)
    turned = any(rule.why in said for rule in rules())
    assert bad == bool(said and not turned) or turned, (order, said)
    return bool(said)
