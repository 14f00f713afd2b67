"""The order is enforced step by step; nothing forbidden meets, in whatever order it is poured."""

from itertools import combinations, cycle, permutations

import pytest
from benchmarks.pours import WAYS, Judge, pair_ways, pour, shipped

from argentry.errors import BadInput
from argentry.trade.chemistry.pouring import Step, check_order, read_sequence
from argentry.trade.recipes import recipes
from argentry.trade.refusals import substances

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


def test_no_pair_reaches_a_forbidden_mixture_unrefused():
    """All of them in every order; `python -m benchmarks pours` does the same for all triples."""
    names, judge = shipped(), Judge()
    pairs = {some: judge.forbids(some) for some in combinations(names, 2)}
    assert len(names) > 50
    assert 300 < sum(pairs.values()) < len(pairs)
    for some, bad in pairs.items():
        for order in permutations(some):
            for way in pair_ways():
                assert not pour(order, way, bad=bad), order


def test_no_triple_of_classes_reaches_a_forbidden_mixture_unrefused():
    """One name stands for all of its classes, which are all that a refusal looks at."""
    names, judge = {substances(name): name for name in shipped()}.values(), Judge()
    mixed = list(combinations(names, 3))
    assert len(mixed) > 2000
    ways = cycle(WAYS.values())
    for some in mixed:
        bad = judge.forbids(some)
        for order in permutations(some):
            assert not pour(order, next(ways), bad=bad), order


def test_the_judge_of_pours_is_heard():
    """What is told as wrong really is: the same pours, judged the other way round."""
    acid, cyanide = "HCl", "KCN"
    both = pair_ways()[0]
    assert pour((acid, cyanide), both, bad=True) == ""
    assert pour((acid, cyanide), both, bad=False) == "refused in vain"
    assert pour(("Na2CO3", HYPO), both, bad=True) == "passed"
